//! A camera under a light.

use crate::cameras;
use crate::chance::Chance;
use crate::recipes::{Maker, Recipe};
use colour::chart::patches_under;
use colour::tables::chart::PATCHES;
use colour::tables::spectral::{STEP_NM, STEPS};
use colour::{D65, Light, Xyz, adapt_bradford};
use measure::linear;

/// The camera under one light, or two that mix across the picture: response to a
/// reflectance, balanced, and the factory matrix to screen primaries.
pub struct Sensor {
    /// Camera and light, for whoever looks into an error.
    pub names: [&'static str; 2],
    camera: cameras::Camera,
    powers: [[f64; STEPS]; 2],
    balance: [f64; 3],
    /// What a white sends each channel before it is balanced, as shares of the
    /// strongest: who gets less light has more noise.
    pub strength: [f64; 3],
    /// From balanced response to screen primaries.
    pub matrix: [[f64; 3]; 3],
}

/// What a thing sends the camera under the first and the second light.
#[derive(Clone, Copy)]
pub struct Look(pub [f64; 3], pub [f64; 3]);

impl Look {
    /// Under so much of the second light.
    pub fn at(&self, second: f64) -> [f64; 3] {
        [0, 1, 2].map(|c| (1.0 - second) * self.0[c] + second * self.1[c])
    }
}

impl Sensor {
    pub fn new(chance: &mut Chance, recipe: &Recipe) -> Self {
        let (camera, name) = match recipe.maker {
            Maker::First => (cameras::FIRST, "first"),
            Maker::Second => (cameras::SECOND, "second"),
            Maker::Phone => (phone_like(chance), "phone-like"),
        };
        let light = |name: &str| Light::named(name).expect("a light of the table");
        let lights = match recipe.light.split_once('+') {
            Some((first, second)) => [light(first), light(second)],
            None => [light(recipe.light); 2],
        };
        let powers = lights.map(|light| {
            let green = sums(light.power(), &camera)[1];
            light.power().map(|e| e / green)
        });
        let mut sensor = Self { names: [name, recipe.light], camera, powers, balance: [1.0; 3], strength: [1.0; 3], matrix: [[0.0; 3]; 3] };
        let seen = sensor.raw(&[1.0; STEPS]).at(0.5);
        let most = seen.iter().copied().fold(0.0, f64::max);
        sensor.strength = seen.map(|v| v / most);
        sensor.balance = seen.map(|v| 1.0 / v);
        // Makers measure under two lights and use the one that is nearer in mireds.
        let between = (mired(Light::A) + mired(Light::D65)) / 2.0;
        let warm = (mired(lights[0]) + mired(lights[1])) / 2.0 > between;
        sensor.matrix = factory(&camera, if warm { Light::A } else { Light::D65 });
        let error = if recipe.hard { 0.12 } else { 0.04 };
        let off = [1.0 + chance.either(error), 1.0, 1.0 + chance.either(error)];
        sensor.matrix = sensor.matrix.map(|row| [0, 1, 2].map(|c| row[c] * off[c]));
        sensor
    }

    /// The balanced response to a reflectance.
    pub fn raw(&self, reflectance: &[f64; STEPS]) -> Look {
        let [first, second] = self.powers.map(|power| {
            let sent: [f64; STEPS] = std::array::from_fn(|i| reflectance[i] * power[i]);
            let sum = sums(&sent, &self.camera);
            [0, 1, 2].map(|c| sum[c] * self.balance[c])
        });
        Look(first, second)
    }
}

/// What light is worth to each channel.
fn sums(light: &[f64; STEPS], camera: &cameras::Camera) -> [f64; 3] {
    [0, 1, 2].map(|c| light.iter().zip(camera).map(|(e, s)| e * s[c]).sum())
}

/// The first camera's sensitivities, red moved to the short and the others to the
/// long by 4 to 8 nm, and all sharpened.
fn phone_like(chance: &mut Chance) -> cameras::Camera {
    let moved = [chance.within(-8.0, -4.0), chance.within(4.0, 8.0), chance.within(4.0, 8.0)];
    let sharper = chance.within(1.15, 1.35);
    std::array::from_fn(|i| {
        [0, 1, 2].map(|c| {
            let from = (i as f64 - moved[c] / STEP_NM).clamp(0.0, STEPS as f64 - 1.001);
            let (place, part) = (from as usize, from.fract());
            let value = (1.0 - part) * cameras::FIRST[place][c] + part * cameras::FIRST[place + 1][c];
            value.max(0.0).powf(sharper)
        })
    })
}

/// A light's warmth: a million over its colour temperature.
///
/// *Source*: McCamy's polynomial; key `mccamy1992`.
fn mired(light: Light) -> f64 {
    let [x, y, z] = light.white().into();
    let n = (x / (x + y + z) - 0.3320) / (0.1858 - y / (x + y + z));
    1e6 / (449.0 * n * n * n + 3525.0 * n * n + 6823.3 * n + 5520.33)
}

/// The matrix a maker finds: it takes a chart's patches under a light to what they
/// look like on a screen, in the mean. Saturated colours would only add noise.
fn factory(camera: &cameras::Camera, light: Light) -> [[f64; 3]; 3] {
    const TO_SCREEN: [[f64; 3]; 3] = [[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]];
    let plain = sums(light.power(), camera);
    let mut normal = [[0.0; 3]; 3];
    let mut right = [[0.0; 3]; 3];
    for ((_, patch), colour) in PATCHES.iter().zip(patches_under(light)) {
        let sent: [f64; STEPS] = std::array::from_fn(|i| patch[i] * light.power()[i]);
        let sum = sums(&sent, camera);
        let seen = [0, 1, 2].map(|c| sum[c] / plain[c]);
        let wanted = linear::apply(&TO_SCREEN, Xyz::into(adapt_bradford(colour, light.white(), D65)));
        for i in 0..3 {
            for j in 0..3 {
                normal[i][j] += seen[i] * seen[j];
                right[i][j] += wanted[i] * seen[j];
            }
        }
    }
    let back = linear::inverse(&normal).expect("a chart's colours span the space");
    right.map(|row| linear::apply(&back, row))
}
