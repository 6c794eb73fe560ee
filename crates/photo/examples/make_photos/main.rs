//! Makes photographs of a chart and a tress with known truth, for the bench:
//! `cargo run --release -p photo --example make_photos -- FOLDER SEED`.
//!
//! Writes 12 easy, 12 hard, 6 dyed, 8 loose and 24 grey photographs, PNG and JPEG, and
//! `cases.json`. The dyed ones are easy photographs of hair whose colour is no
//! melanin; the loose ones pair cameras and lights that no recipe pairs; the grey
//! ones are of grey and white hair, partly with dark strands between.
//! Spectra are published (chart averages, melanin, CIE lights, measured cameras);
//! geometry, shading, gloss, noise and curves are drawn by chance from the seed.
//! What is not in it: curls, skin, fluorescence, shine on the chart, and the
//! local contrast of a phone's own processing.

mod cameras;
mod chance;
mod hairs;
mod recipes;
mod sensor;

use chance::Chance;
use colour::tables::chart::PATCHES;
use colour::tables::spectral::STEPS;
use colour::{D50, D65, Light, Mixture, Observer, Spectrum};
use hairs::{Kind, tones};
use image::RgbImage;
use jpeg_encoder::{ChromaSubsamplingMethod, ColorType, Encoder, SamplingFactor};
use measure::linear;
use recipes::{EASY, HARD, Recipe, loose};
use sensor::{Look, Sensor};
use serde_json::{Value, json};

/// As phones and picture libraries write a JPEG: one chroma for two by two pixels
/// (4:2:0), their mean.
const QUALITY: u8 = 90;

const WIDTH: usize = 800;
const HEIGHT: usize = 600;

/// Where a point lies in a quadrilateral, 0 to 1 across and along, by a few
/// steps of Newton's method on the projective map.
struct Plane([f64; 9]);

impl Plane {
    fn new(c: &[[f64; 2]; 4]) -> Self {
        let (d1, d2) = ([c[1][0] - c[2][0], c[1][1] - c[2][1]], [c[3][0] - c[2][0], c[3][1] - c[2][1]]);
        let s = [c[0][0] - c[1][0] + c[2][0] - c[3][0], c[0][1] - c[1][1] + c[2][1] - c[3][1]];
        let det = d1[0] * d2[1] - d2[0] * d1[1];
        let (g, h) = ((s[0] * d2[1] - d2[0] * s[1]) / det, (d1[0] * s[1] - s[0] * d1[1]) / det);
        let forward = [
            [c[1][0] - c[0][0] + g * c[1][0], c[3][0] - c[0][0] + h * c[3][0], c[0][0]],
            [c[1][1] - c[0][1] + g * c[1][1], c[3][1] - c[0][1] + h * c[3][1], c[0][1]],
            [g, h, 1.0],
        ];
        let back = linear::inverse(&forward).expect("four corners of a real outline");
        Self([back[0][0], back[0][1], back[0][2], back[1][0], back[1][1], back[1][2], back[2][0], back[2][1], back[2][2]])
    }
    fn find(&self, x: f64, y: f64) -> Option<(f64, f64)> {
        let m = &self.0;
        let w = m[6] * x + m[7] * y + m[8];
        let (u, v) = ((m[0] * x + m[1] * y + m[2]) / w, (m[3] * x + m[4] * y + m[5]) / w);
        ((0.0..1.0).contains(&u) && (0.0..1.0).contains(&v)).then_some((u, v))
    }
}

struct Strand {
    tone: usize,
    shade: f64,
    shine: f64,
}

struct Band {
    at: f64,
    width: f64,
    white: f64,
    own: f64,
    shift: f64,
}

fn turned(middle: [f64; 2], half: [f64; 2], angle: f64, lean: f64, chance: &mut Chance) -> [[f64; 2]; 4] {
    [[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]].map(|[sx, sy]| {
        let (x, y) = (sx * half[0] + chance.either(lean), sy * half[1] + chance.either(lean));
        [middle[0] + x * angle.cos() - y * angle.sin(), middle[1] + x * angle.sin() + y * angle.cos()]
    })
}

/// The tress: strands side by side and bands of gloss across them.
struct Tress {
    looks: Vec<Look>,
    strands: Vec<Strand>,
    bands: Vec<Band>,
    wave: Wave,
    plain: Look,
}

/// How strands sway to and fro on their way down: neighbours nearly alike, those
/// further off more or less and sooner or later.
struct Wave {
    turns: f64,
    phase: f64,
    strands: f64,
    /// How much more it is, and how much later, from one edge to the other: up to a whole turn.
    changes: [f64; 2],
}

impl Wave {
    fn new(chance: &mut Chance) -> Self {
        Self {
            turns: chance.within(1.0, 4.0),
            phase: chance.within(0.0, 6.3),
            strands: chance.within(0.0, 2.5),
            changes: [chance.either(0.8), chance.either(7.0)],
        }
    }

    /// How many strands to the side at a place, across and along.
    fn at(&self, (u, v): (f64, f64)) -> f64 {
        let [more, later] = self.changes.map(|change| change * (u - 0.5));
        self.strands * (1.0 + more) * (self.turns * v + self.phase + later).sin()
    }
}

impl Tress {
    fn new(chance: &mut Chance, sensor: &Sensor, tones: &[(f64, Spectrum)], hard: bool) -> Self {
        let mut strands = Vec::new();
        let (spread, gaps) = if hard { (0.15, 0.08) } else { (0.06, 0.0) };
        while strands.len() < 160 {
            let mut draw = chance.unit();
            let tone = tones
                .iter()
                .position(|(share, _)| {
                    draw -= share;
                    draw < 0.0
                })
                .unwrap_or(0);
            for _ in 0..1 + (chance.unit() * 3.0) as usize {
                let gap = if chance.unit() < gaps { 0.45 } else { 1.0 };
                strands.push(Strand { tone, shade: gap * (1.0 + spread * chance.bell()).max(0.2), shine: chance.within(0.5, 1.5) });
            }
        }
        let mean_shade = strands.iter().map(|s| s.shade).sum::<f64>() / strands.len() as f64;
        strands.iter_mut().for_each(|s| s.shade /= mean_shade);
        // Each band of white gloss has a second one beside it, wider and in the
        // hair's own colour: light that went through the strands.
        let (with_it, shift) = (chance.within(1.6, 2.6), chance.within(0.04, 0.08));
        let bands = (0..if hard { 2 + (chance.unit() * 2.0) as usize } else { 1 })
            .map(|_| {
                let white = if hard { chance.within(0.2, 0.6) } else { chance.within(0.08, 0.2) };
                Band { at: chance.within(0.15, 0.85), width: chance.within(0.04, 0.07), white, own: with_it * white, shift }
            })
            .collect();
        let wave = Wave::new(chance);
        Self { looks: tones.iter().map(|(_, s)| sensor.raw(s.values())).collect(), strands, bands, wave, plain: sensor.raw(&[1.0; STEPS]) }
    }

    /// Tone and look at a place, across and along.
    fn at(&self, (u, v): (f64, f64), second: f64) -> (usize, [f64; 3]) {
        let place = (u * 158.0 + self.wave.at((u, v)) + 1.0).rem_euclid(160.0) as usize;
        let strand = &self.strands[place.min(self.strands.len() - 1)];
        let bell = |at: f64, width: f64| (-((v - at) / width).powi(2) / 2.0).exp();
        let own: f64 = self.bands.iter().map(|b| b.own * bell(b.at - b.shift, 1.7 * b.width)).sum();
        let shine: f64 = self.bands.iter().map(|b| b.white * bell(b.at, b.width)).sum();
        let (look, plain) = (self.looks[strand.tone].at(second), self.plain.at(second));
        (strand.tone, [0, 1, 2].map(|c| look[c] * strand.shade * (1.0 + own) + plain[c] * shine * strand.shine))
    }
}

/// Light on the board: falling off to one side and to the corners, and blotches.
struct Fall {
    gradient: [f64; 2],
    vignette: f64,
    blotches: Vec<[f64; 4]>,
}

impl Fall {
    fn new(chance: &mut Chance, recipe: &Recipe) -> Self {
        let hard = recipe.hard;
        let blotches = (0..14)
            .map(|_| [chance.within(2.0, 9.0), chance.within(2.0, 9.0), chance.within(0.0, 6.3), recipe.blotches * chance.bell()])
            .collect();
        let gradient = [chance.either(1.0), chance.either(1.0)];
        let size = (gradient[0] * gradient[0] + gradient[1] * gradient[1]).sqrt().max(0.2);
        Self { gradient: gradient.map(|g| g / size * if hard { 0.18 } else { 0.05 }), vignette: if hard { 0.14 } else { 0.05 }, blotches }
    }

    fn board(&self, x: f64, y: f64) -> f64 {
        1.0 + self.blotches.iter().map(|b| b[3] * (b[0] * x / 400.0 + b[1] * y / 400.0 + b[2]).sin()).sum::<f64>()
    }

    fn light(&self, x: usize, y: usize) -> f64 {
        let (x, y) = (x as f64 / WIDTH as f64 * 2.0 - 1.0, y as f64 / HEIGHT as f64 * 2.0 - 1.0);
        (1.0 + self.gradient[0] * x + self.gradient[1] * y) * (1.0 - self.vignette * (x * x + y * y) / 2.0)
    }
}

/// What the lens makes of light: each point a bell this wide, in pixels.
fn softened(light: &[[f64; 3]], width: f64) -> Vec<[f64; 3]> {
    let bell: [f64; 5] = std::array::from_fn(|i| (-((i as f64 - 2.0) / width).powi(2) / 2.0).exp());
    let all: f64 = bell.iter().sum();
    let gathered = |from: &[[f64; 3]], place: usize, step: usize, at: usize, count: usize| {
        let mut sum = [0.0; 3];
        for (i, weight) in bell.iter().enumerate() {
            let off = (at + i).saturating_sub(2).min(count - 1);
            for (sum, value) in sum.iter_mut().zip(from[place + off * step - at * step]) {
                *sum += weight / all * value;
            }
        }
        sum
    };
    let across: Vec<[f64; 3]> = (0..light.len()).map(|place| gathered(light, place, 1, place % WIDTH, WIDTH)).collect();
    (0..light.len()).map(|place| gathered(&across, place, WIDTH, place / WIDTH, HEIGHT)).collect()
}

/// How far a pixel takes on its neighbours' noise when the colours between the
/// sensor's own are filled in: a bell this wide, in pixels.
const NOISE_SHARED: f64 = 0.45;

/// Light to codes: lens veil, noise of the sensor, factory matrix, curve.
fn develop(chance: &mut Chance, sensor: &Sensor, light: &[[f64; 3]], recipe: &Recipe) -> RgbImage {
    let exposure = chance.within(recipe.white.0, recipe.white.1) / 0.91;
    let veil = if recipe.hard { 0.012 } else { 0.003 };
    let strength = recipe.curve;
    let mean = [0, 1, 2].map(|c| light.iter().map(|l| l[c]).sum::<f64>() / light.len() as f64);
    let noise: Vec<[f64; 3]> = light.iter().map(|_| [0.0; 3].map(|_: f64| chance.bell())).collect();
    let noise = softened(&noise, NOISE_SHARED);
    let mut picture = RgbImage::new(WIDTH as u32, HEIGHT as u32);
    for (place, l) in light.iter().enumerate() {
        let noisy = [0, 1, 2].map(|c| {
            let clean = exposure * (l[c] + veil * mean[c]);
            clean + (clean.max(0.0) / (recipe.well * sensor.strength[c])).sqrt() * noise[place][c]
        });
        let code = linear::apply(&sensor.matrix, noisy).map(|v| {
            let v = v.clamp(0.0, 1.0);
            let x = if v <= 0.003_130_8 { 12.92 * v } else { 1.055 * v.powf(1.0 / 2.4) - 0.055 };
            ((x + strength * (3.0 * x * x - 2.0 * x * x * x - x)) * 255.0).round() as u8
        });
        picture.put_pixel((place % WIDTH) as u32, (place / WIDTH) as u32, image::Rgb(code));
    }
    picture
}

/// Corners of chart and hair.
fn layout(chance: &mut Chance, recipe: &Recipe) -> ([[f64; 2]; 4], [[f64; 2]; 4]) {
    let left = chance.unit() < 0.5;
    let (chart_x, hair_x) = if left { (215.0, 590.0) } else { (585.0, 210.0) };
    let hard = recipe.hard;
    let tilt = chance.either(if hard { 0.28 } else { 0.12 }) + if recipe.on_side { 95_f64.to_radians() } else { 0.0 };
    let corners = turned([chart_x, 300.0 + chance.either(25.0)], [165.0, 108.0], tilt, if hard { 14.0 } else { 6.0 }, chance);
    let tilt = chance.either(0.06);
    let outline = turned([hair_x + chance.either(8.0), 303.0], [chance.within(85.0, 105.0), 218.0], tilt, 8.0, chance);
    (corners, outline)
}

fn photograph(chance: &mut Chance, kind: Kind, recipe: &Recipe) -> (RgbImage, Value) {
    let hard = recipe.hard;
    let sensor = Sensor::new(chance, recipe);
    let (corners, outline) = layout(chance, recipe);
    let tones = tones(chance, kind, hard);
    let tress = Tress::new(chance, &sensor, &tones, hard);
    let patches: Vec<Look> = PATCHES
        .iter()
        .map(|(_, r)| {
            let off = if hard { 1.0 + 0.012 * chance.bell() } else { 1.0 };
            sensor.raw(&r.map(|v| v * off))
        })
        .collect();
    let (frame, board) = (sensor.raw(&[0.045; STEPS]), sensor.raw(&[chance.within(0.22, 0.35); STEPS]));
    let fall = Fall::new(chance, recipe);
    let (chart_plane, hair_plane) = (Plane::new(&corners), Plane::new(&outline));
    let mut light = vec![[0.0; 3]; WIDTH * HEIGHT];
    let mut shares = vec![0.0; tones.len()];
    for y in 0..HEIGHT {
        for x in 0..WIDTH {
            let second = x as f64 / WIDTH as f64;
            let even = fall.light(x, y) / 4.0;
            for (dx, dy) in [(-0.25, -0.25), (0.25, -0.25), (-0.25, 0.25), (0.25, 0.25)] {
                let (px, py) = (x as f64 + dx, y as f64 + dy);
                let seen = if let Some((u, v)) = chart_plane.find(px, py) {
                    let (cu, cv) = (u * 6.0, v * 4.0);
                    let edge = (cu.fract() - 0.5).abs().max((cv.fract() - 0.5).abs());
                    if edge < 0.4 { patches[cv as usize * 6 + cu as usize].at(second) } else { frame.at(second) }
                } else if let Some(place) = hair_plane.find(px, py) {
                    let (tone, seen) = tress.at(place, second);
                    shares[tone] += 1.0;
                    seen
                } else {
                    board.at(second).map(|p| p * fall.board(px, py))
                };
                for c in 0..3 {
                    light[y * WIDTH + x][c] += seen[c] * even;
                }
            }
        }
    }
    let light = softened(&light, chance.within(0.6, 0.7));
    let picture = develop(chance, &sensor, &light, recipe);
    let all: f64 = shares.iter().sum();
    let lab = |s: &Spectrum, light: Light, white| s.under(light, Observer::TwoDegrees).to_lab(white);
    let mixed = |light: Light, white| {
        let sum = tones.iter().zip(&shares).fold(Mixture::new(), |m, ((_, s), n)| m.with(s.under(light, Observer::TwoDegrees), *n));
        sum.lab(white)
    };
    let listed: Vec<Value> = tones
        .iter()
        .zip(&shares)
        .map(|((_, s), n)| json!({"share": n / all, "lab_d50": lab(s, Light::D50, D50), "lab_d65": lab(s, Light::D65, D65)}))
        .collect();
    let truth = json!({"lab_d50": mixed(Light::D50, D50), "lab_d65": mixed(Light::D65, D65), "tones": listed});
    (
        picture,
        json!({"chart_corners": corners, "hair_polygon": outline, "camera": sensor.names[0], "light": sensor.names[1], "truth": truth}),
    )
}

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let (Some(folder), Some(seed)) = (arguments.first(), arguments.get(1).and_then(|s| s.parse::<u64>().ok())) else {
        eprintln!("give a folder and a seed");
        std::process::exit(2);
    };
    std::fs::create_dir_all(folder).expect("the folder");
    let mut chance = Chance(seed.wrapping_mul(0x1234_5678_9abc_def1));
    let mut cases = Vec::new();
    let rows = |list: &'static [Recipe]| list.iter().copied().map(Some);
    let sets = [
        ("easy", rows(&EASY).collect()),
        ("hard", rows(&HARD).collect()),
        ("dyed", rows(&EASY[..6]).collect()),
        ("loose", vec![None; 8]),
        ("grey", rows(&EASY).chain(rows(&HARD)).collect()),
    ];
    let all: Vec<(&str, usize, Option<Recipe>)> = sets
        .into_iter()
        .flat_map(|(set, list): (&str, Vec<_>)| list.into_iter().enumerate().map(move |(i, recipe)| (set, i, recipe)))
        .collect();
    for (set, i, recipe) in all {
        let recipe = recipe.unwrap_or_else(|| loose(&mut chance));
        let kind = match set {
            "dyed" => Kind::Dyed,
            "grey" => Kind::Grey,
            _ => Kind::Melanin,
        };
        let (picture, mut case) = photograph(&mut chance, kind, &recipe);
        let id = format!("{}{:02}s{seed}", &set[..1], i + 1);
        case["set"] = json!(set);
        picture.save(format!("{folder}/{id}.png")).expect("png");
        let mut bytes = Vec::new();
        let mut encoder = Encoder::new(&mut bytes, QUALITY);
        encoder.set_sampling_factor(SamplingFactor::F_2_2);
        encoder.set_chroma_subsampling_method(ChromaSubsamplingMethod::Average);
        encoder.encode(&picture, WIDTH as u16, HEIGHT as u16, ColorType::Rgb).expect("jpeg");
        std::fs::write(format!("{folder}/{id}.jpg"), bytes).expect("jpg");
        case["id"] = json!(id);
        case["png"] = json!(format!("{id}.png"));
        case["jpg"] = json!(format!("{id}.jpg"));
        cases.push(case);
    }
    std::fs::write(format!("{folder}/cases.json"), serde_json::to_string(&json!({ "cases": cases })).expect("json")).expect("cases.json");
}
