//! A camera under a light.

use crate::cameras;
use crate::chance::Chance;
use colour::tables::spectral::STEPS;
use colour::{Light, Observer, Spectrum, white};

/// The camera under one light, or two that mix across the picture: response to a
/// reflectance, balanced, and the factory matrix to screen primaries, made from
/// other colours.
pub struct Sensor {
    /// Camera and light, for whoever looks into an error.
    pub names: [&'static str; 2],
    camera: cameras::Camera,
    powers: [[f64; STEPS]; 2],
    balance: [f64; 3],
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
    pub fn new(chance: &mut Chance, hard: bool) -> Self {
        // 14 of 24 by the first camera, 2 by the second, 8 by a phone-like relative
        // of the first: shifted by up to 10 nm and a little sharper.
        let draw = chance.unit() * 24.0;
        let mut camera = if draw < 2.0 { cameras::SECOND } else { cameras::FIRST };
        let camera_name = if draw < 2.0 { "second" } else if draw > 16.0 { "phone-like" } else { "first" };
        if draw > 16.0 {
            let shift = chance.pick(&[-2_i32, -1, 1, 2]);
            let source = camera;
            for (i, row) in camera.iter_mut().enumerate() {
                let from = source[(i as i32 + shift).clamp(0, STEPS as i32 - 1) as usize];
                *row = from.map(|v| v.max(0.0).powf(1.15));
            }
        }
        let names: &[&'static str] = if hard {
            &["A", "A", "FL2", "FL8", "FL11", "LED-B1", "LED-B2", "LED-BH1", "LED-RGB1", "LED-V2", "D75", "D65+A"]
        } else {
            &["D65", "D65", "D65", "D50", "D50", "D50", "D55", "A", "FL11", "LED-B3", "LED-B4", "LED-V1"]
        };
        let name = chance.pick(names);
        let power = |name: &str| {
            let power = Light::named(name).expect("a light of the table").power();
            let green: f64 = power.iter().zip(&camera).map(|(e, s)| e * s[1]).sum();
            power.map(|e| e / green)
        };
        let powers = match name.split_once('+') {
            Some((first, second)) => [power(first), power(second)],
            None => [power(name); 2],
        };
        let mut sensor = Self { names: [camera_name, name], camera, powers, balance: [1.0; 3], matrix: [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]] };
        sensor.balance = sensor.raw(&[1.0; STEPS]).at(0.5).map(|v| 1.0 / v);
        sensor.matrix = sensor.factory(chance);
        let error = if hard { 0.12 } else { 0.04 };
        // The balance is off in the picture's own red and blue, not before the matrix,
        // which could turn a small error into a white that is deep blue.
        for (row, off) in [(0, chance.either(error)), (2, chance.either(error))] {
            sensor.matrix[row] = sensor.matrix[row].map(|v| v * (1.0 + off));
        }
        sensor
    }

    /// The balanced response to a reflectance.
    pub fn raw(&self, reflectance: &[f64; STEPS]) -> Look {
        let [first, second] = self.powers.map(|power| {
            let mut sum = [0.0; 3];
            for ((r, e), s) in reflectance.iter().zip(&power).zip(&self.camera) {
                for c in 0..3 {
                    sum[c] += r * e * s[c] * self.balance[c];
                }
            }
            sum
        });
        Look(first, second)
    }

    fn factory(&self, chance: &mut Chance) -> [[f64; 3]; 3] {
        const TO_SCREEN: [[f64; 3]; 3] = [[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]];
        let mut normal = [[0.0; 3]; 3];
        let mut right = [[0.0; 3]; 3];
        for _ in 0..80 {
            let (middle, width, base, height) = (chance.within(380.0, 740.0), chance.within(30.0, 120.0), chance.within(0.02, 0.4), chance.either(0.5));
            let spectrum: [f64; STEPS] = std::array::from_fn(|i| {
                let off = (380.0 + 5.0 * i as f64 - middle) / width;
                (base + height * (-off * off).exp()).clamp(0.01, 0.95)
            });
            let seen = self.raw(&spectrum).at(0.5);
            let wanted = white::apply(&TO_SCREEN, Spectrum::on_table_steps(spectrum).under(Light::D65, Observer::TwoDegrees).into());
            for i in 0..3 {
                for j in 0..3 {
                    normal[i][j] += seen[i] * seen[j];
                    right[i][j] += wanted[i] * seen[j];
                }
            }
        }
        let back = white::inverse(&normal).expect("eighty colours span the space");
        std::array::from_fn(|i| white::apply(&back, right[i]))
    }
}
