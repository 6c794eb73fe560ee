//! Makes photographs of a chart and a tress with known truth, for the bench:
//! `cargo run --release -p photo --example make_photos -- FOLDER SEED`.
//!
//! Writes 12 easy and 12 hard photographs, PNG and JPEG, and `cases.json`.
//! Spectra are published (chart averages, melanin, CIE lights, measured cameras);
//! geometry, shading, gloss, noise and curves are drawn by chance from the seed.
//! What is not in it: curls, skin, fluorescence, shine on the chart, and the
//! local contrast of a phone's own processing.

mod cameras;

use colour::tables::chart::PATCHES;
use colour::tables::spectral::STEPS;
use colour::pigment::Pigment;
use colour::{D50, D65, Light, Mixture, Observer, Spectrum, white};
use image::{RgbImage, codecs::jpeg::JpegEncoder};
use serde_json::{Value, json};

const WIDTH: usize = 800;
const HEIGHT: usize = 600;

struct Chance(u64);

impl Chance {
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }
    fn within(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }
    fn either(&mut self, size: f64) -> f64 {
        self.within(-size, size)
    }
    fn bell(&mut self) -> f64 {
        (-2.0 * (1.0 - self.unit()).ln()).sqrt() * (std::f64::consts::TAU * self.unit()).cos()
    }
    fn pick<T: Copy>(&mut self, list: &[T]) -> T {
        list[((self.unit() * list.len() as f64) as usize).min(list.len() - 1)]
    }
}

/// Natural hair of about this lightness under D65, found by halving.
fn hair(lightness: f64, ratio: f64) -> Spectrum {
    let (mut low, mut high) = (0.005, 3.0_f64);
    let make = |eumelanin: f64| Pigment { eumelanin, pheomelanin: eumelanin * ratio, surface: 0.014 }.spectrum();
    for _ in 0..50 {
        let middle = (low * high).sqrt();
        if make(middle).under(Light::D65, Observer::TwoDegrees).to_lab(D65).l > lightness { low = middle } else { high = middle }
    }
    make((low * high).sqrt())
}

/// The camera under one light: response to a reflectance, balanced and brought
/// to screen primaries by a factory matrix made from other colours.
struct Sensor {
    camera: cameras::Camera,
    power: [f64; STEPS],
    balance: [f64; 3],
    matrix: [[f64; 3]; 3],
}

impl Sensor {
    fn new(chance: &mut Chance, hard: bool) -> Self {
        // 14 of 24 by the first camera, 2 by the second, 8 by a phone-like relative
        // of the first: shifted by up to 10 nm and a little sharper.
        let draw = chance.unit() * 24.0;
        let mut camera = if draw < 2.0 { cameras::SECOND } else { cameras::FIRST };
        if draw > 16.0 {
            let shift = chance.pick(&[-2_i32, -1, 1, 2]);
            let source = camera;
            for (i, row) in camera.iter_mut().enumerate() {
                let from = source[(i as i32 + shift).clamp(0, STEPS as i32 - 1) as usize];
                *row = from.map(|v| v.max(0.0).powf(1.15));
            }
        }
        let names: &[&str] = if hard {
            &["A", "FL2", "FL8", "FL11", "LED-B1", "LED-B2", "LED-BH1", "LED-RGB1", "LED-V2", "D75"]
        } else {
            &["D65", "D65", "D50", "D50", "D55", "A", "FL11", "LED-B3", "LED-B4", "LED-V1"]
        };
        let light = Light::named(chance.pick(names)).expect("a light of the table");
        let mut sensor = Self { camera, power: *light.power(), balance: [1.0; 3], matrix: [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]] };
        let plain = sensor.raw(&[1.0; STEPS]);
        sensor.balance = plain.map(|v| 1.0 / v);
        sensor.matrix = sensor.factory(chance);
        let error = if hard { 0.12 } else { 0.04 };
        sensor.balance[0] *= 1.0 + chance.either(error);
        sensor.balance[2] *= 1.0 + chance.either(error);
        sensor
    }

    fn raw(&self, reflectance: &[f64; STEPS]) -> [f64; 3] {
        let mut sum = [0.0; 3];
        for ((r, e), s) in reflectance.iter().zip(&self.power).zip(&self.camera) {
            for c in 0..3 {
                sum[c] += r * e * s[c] * self.balance[c];
            }
        }
        sum
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
            let seen = self.raw(&spectrum);
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

    fn see(&self, reflectance: &[f64; STEPS]) -> [f64; 3] {
        white::apply(&self.matrix, self.raw(reflectance))
    }
}

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
        let back = white::inverse(&forward).expect("four corners of a real outline");
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

fn tones(chance: &mut Chance, hard: bool) -> Vec<(f64, Spectrum)> {
    const LEVELS: [f64; 10] = [15.0, 17.5, 20.0, 24.5, 29.5, 35.5, 42.5, 50.0, 57.5, 65.0];
    let single = chance.unit() < if hard { 0.42 } else { 0.75 };
    let count = if single { 1 } else if chance.unit() < 0.7 { 2 } else { 3 };
    let mut level = (chance.unit() * (10 - 2 * (count - 1)) as f64) as usize;
    let shares: &[f64] = [&[1.0][..], &[0.65, 0.35], &[0.45, 0.33, 0.22]][count - 1];
    let mut list = Vec::new();
    for share in shares {
        list.push((*share, hair(LEVELS[level.min(9)], chance.pick(&[0.1, 0.4, 0.8, 1.5]))));
        level += 2;
    }
    list
}

#[allow(clippy::too_many_lines, reason = "one photograph, drawn from its parts in order")]
fn photograph(chance: &mut Chance, hard: bool) -> (RgbImage, Value) {
    let sensor = Sensor::new(chance, hard);
    let left = chance.unit() < 0.5;
    let (chart_x, hair_x) = if left { (215.0, 590.0) } else { (585.0, 210.0) };
    let tilt = if hard { 0.28 } else { 0.12 };
    let angle = chance.either(tilt);
    let corners = turned([chart_x, 300.0 + chance.either(25.0)], [165.0, 108.0], angle, if hard { 14.0 } else { 6.0 }, chance);
    let angle = chance.either(0.06);
    let outline = turned([hair_x + chance.either(8.0), 303.0], [chance.within(85.0, 105.0), 218.0], angle, 8.0, chance);
    let tones = tones(chance, hard);
    let seen: Vec<[f64; 3]> = tones.iter().map(|(_, s)| sensor.see(s.values())).collect();
    let mut strands = Vec::new();
    let (spread, gaps) = if hard { (0.15, 0.08) } else { (0.06, 0.0) };
    while strands.len() < 160 {
        let mut draw = chance.unit();
        let tone = tones.iter().position(|(share, _)| { draw -= share; draw < 0.0 }).unwrap_or(0);
        for _ in 0..1 + (chance.unit() * 3.0) as usize {
            let gap = if chance.unit() < gaps { 0.45 } else { 1.0 };
            strands.push(Strand { tone, shade: gap * (1.0 + spread * chance.bell()).max(0.2), shine: chance.within(0.5, 1.5) });
        }
    }
    let mean_shade = strands.iter().map(|s| s.shade).sum::<f64>() / strands.len() as f64;
    strands.iter_mut().for_each(|s| s.shade /= mean_shade);
    let bands: Vec<Band> = (0..if hard { 1 + (chance.unit() * 2.99) as usize } else { 1 })
        .map(|_| Band {
            at: chance.within(0.15, 0.85),
            width: chance.within(0.04, 0.08),
            white: if hard { chance.within(0.2, 0.6) } else { chance.within(0.08, 0.2) },
            own: if hard { chance.within(0.3, 0.9) } else { chance.within(0.05, 0.2) },
            shift: chance.either(0.1),
        })
        .collect();
    let plain = sensor.see(&[1.0; STEPS]);
    let patches: Vec<[f64; 3]> = PATCHES
        .iter()
        .map(|(_, r)| {
            let off = if hard { 1.0 + 0.012 * chance.bell() } else { 1.0 };
            sensor.see(&r.map(|v| v * off))
        })
        .collect();
    let frame = sensor.see(&[0.045; STEPS]);
    let board = chance.within(0.22, 0.35);
    let blotches: Vec<[f64; 4]> = (0..14).map(|_| [chance.within(2.0, 9.0), chance.within(2.0, 9.0), chance.within(0.0, 6.3), chance.bell()]).collect();
    let gradient = [chance.either(1.0), chance.either(1.0)];
    let size = (gradient[0] * gradient[0] + gradient[1] * gradient[1]).sqrt().max(0.2);
    let fall = if hard { 0.18 } else { 0.05 };
    let gradient = gradient.map(|g| g / size * fall);
    let (vignette, veil, well) = if hard { (0.14, 0.012, 2500.0) } else { (0.05, 0.003, 8000.0) };
    let exposure = if hard { chance.within(0.45, 0.95) } else { chance.within(0.75, 0.93) } / 0.91;
    let strength = if hard { chance.pick(&[0.3, 0.3, 0.3, 0.45]) } else { 0.0 };
    let (chart_plane, hair_plane) = (Plane::new(&corners), Plane::new(&outline));
    let wave = [chance.within(1.0, 4.0), chance.within(0.0, 6.3), chance.within(0.0, 2.5)];
    let mut light = vec![[0.0; 3]; WIDTH * HEIGHT];
    let mut total = [0.0; 3];
    let mut shares = vec![0.0; tones.len()];
    for y in 0..HEIGHT {
        for x in 0..WIDTH {
            let mut sum = [0.0; 3];
            for (dx, dy) in [(-0.25, -0.25), (0.25, -0.25), (-0.25, 0.25), (0.25, 0.25)] {
                let (px, py) = (x as f64 + dx, y as f64 + dy);
                let colour = if let Some((u, v)) = chart_plane.find(px, py) {
                    let (cu, cv) = (u * 6.0, v * 4.0);
                    let edge = (cu.fract() - 0.5).abs().max((cv.fract() - 0.5).abs());
                    if edge < 0.4 { patches[cv as usize * 6 + cu as usize] } else { frame }
                } else if let Some((u, v)) = hair_plane.find(px, py) {
                    let at = (u * 158.0 + wave[2] * (wave[0] * v + wave[1]).sin() + 1.0).rem_euclid(160.0) as usize;
                    let strand = &strands[at.min(strands.len() - 1)];
                    shares[strand.tone] += 1.0;
                    let bell = |at: f64, width: f64| (-((v - at) / width).powi(2) / 2.0).exp();
                    let own: f64 = bands.iter().map(|b| b.own * bell(b.at + b.shift, 1.7 * b.width)).sum();
                    let shine: f64 = bands.iter().map(|b| b.white * bell(b.at, b.width)).sum();
                    [0, 1, 2].map(|c| seen[strand.tone][c] * strand.shade * (1.0 + own) + plain[c] * shine * strand.shine)
                } else {
                    let rough = if hard { 0.015 * blotches.iter().map(|b| b[3] * (b[0] * px / 400.0 + b[1] * py / 400.0 + b[2]).sin()).sum::<f64>() } else { 0.0 };
                    plain.map(|p| p * board * (1.0 + rough))
                };
                for c in 0..3 {
                    sum[c] += colour[c] / 4.0;
                }
            }
            let (gx, gy) = (x as f64 / WIDTH as f64 * 2.0 - 1.0, y as f64 / HEIGHT as f64 * 2.0 - 1.0);
            let even = (1.0 + gradient[0] * gx + gradient[1] * gy) * (1.0 - vignette * (gx * gx + gy * gy) / 2.0);
            light[y * WIDTH + x] = sum.map(|s| s * even);
            for c in 0..3 {
                total[c] += sum[c] / (WIDTH * HEIGHT) as f64;
            }
        }
    }
    let mut picture = RgbImage::new(WIDTH as u32, HEIGHT as u32);
    for (place, l) in light.iter().enumerate() {
        let code = [0, 1, 2].map(|c| {
            let clean = exposure * (l[c] + veil * total[c] / 0.3);
            let noisy = clean + (clean.max(0.0) / well + 1e-6).sqrt() * chance.bell();
            let v = noisy.clamp(0.0, 1.0);
            let x = if v <= 0.003_130_8 { 12.92 * v } else { 1.055 * v.powf(1.0 / 2.4) - 0.055 };
            ((x + strength * (3.0 * x * x - 2.0 * x * x * x - x)) * 255.0).round() as u8
        });
        picture.put_pixel((place % WIDTH) as u32, (place / WIDTH) as u32, image::Rgb(code));
    }
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
    (picture, json!({"set": if hard { "hard" } else { "easy" }, "chart_corners": corners, "hair_polygon": outline, "truth": truth}))
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
    for i in 0..24 {
        let (picture, mut case) = photograph(&mut chance, i >= 12);
        let id = format!("{}{:02}s{seed}", if i < 12 { 'e' } else { 'h' }, i % 12 + 1);
        picture.save(format!("{folder}/{id}.png")).expect("png");
        let mut bytes = Vec::new();
        JpegEncoder::new_with_quality(&mut bytes, 90).encode_image(&picture).expect("jpeg");
        std::fs::write(format!("{folder}/{id}.jpg"), bytes).expect("jpg");
        case["id"] = json!(id);
        case["png"] = json!(format!("{id}.png"));
        case["jpg"] = json!(format!("{id}.jpg"));
        cases.push(case);
    }
    std::fs::write(format!("{folder}/cases.json"), serde_json::to_string(&json!({ "cases": cases })).expect("json")).expect("cases.json");
}
