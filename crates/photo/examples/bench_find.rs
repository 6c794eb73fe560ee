//! Looks for the chart in scenes made of real pictures' charts on made surroundings:
//! `cargo run --release -p photo --example bench_find -- [--each] [--quick] [--save OUT] [FOLDER]`
//!
//! FOLDER is as for `bench_real_photos`. The charts of its pictures, cut out with their
//! frames, are laid by a plane transform on wood, dark cloth, carpet, plain boards and a
//! desk full of things, at turns of 0 to 45 degrees, upright, on its side and upside down,
//! tilted, large and small, darker and too bright. Scenes without a chart have the same
//! surroundings, tiles, keys, chequers, colours in six by four places that are not the
//! chart's, the chart's colours in another order, seen in a mirror, and the chart with
//! patches covered; and each real picture with its chart covered by what lies beside it.
//! `--quick` makes every seventh scene. Printed: found, missed and wrong by surroundings and by turn, and the time.

#[path = "real_cases/mod.rs"]
mod real_cases;

use measure::linear::inverse;
use photo::open_photo;
use reading::{Loss, Picture, find_chart_at, find_charts, linear_to_srgb, srgb_to_linear};
use real_cases::{corners, mean};
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::time::Instant;

type Point = [f64; 2];

const WIDE: usize = 1200;
const HIGH: usize = 900;

/// Draws of a seeded generator (Knuth's constants).
struct Chance(u64);

impl Chance {
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn within(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    fn pick(&mut self, n: usize) -> usize {
        ((self.unit() * n as f64) as usize).min(n - 1)
    }
}

/// Light of every pixel, red, green and blue.
struct Scene(Vec<[f64; 3]>);

/// Smooth noise: between whole places it goes evenly.
struct Smooth(Vec<f64>);

impl Smooth {
    fn new(chance: &mut Chance) -> Self {
        Self((0..4096).map(|_| chance.unit()).collect())
    }

    fn at(&self, x: f64, y: f64) -> f64 {
        let (i, j) = (x.floor(), y.floor());
        let (p, q) = (x - i, y - j);
        let place = |a: f64, b: f64| self.0[((a as i64).wrapping_mul(73) ^ (b as i64).wrapping_mul(151)).rem_euclid(4096) as usize];
        let row = |b: f64| place(i, b) * (1.0 - p) + place(i + 1.0, b) * p;
        row(j) * (1.0 - q) + row(j + 1.0) * q
    }
}

const SURROUNDINGS: [&str; 6] = ["wood", "dark cloth", "carpet", "plain light", "plain grey", "desk"];

fn surroundings(kind: &str, chance: &mut Chance) -> Scene {
    let smooth = Smooth::new(chance);
    let tint = chance.within(0.7, 1.3);
    let turn = chance.within(0.0, 3.0);
    let (c, s) = (turn.cos(), turn.sin());
    let mut pixels = Vec::with_capacity(WIDE * HIGH);
    for i in 0..WIDE * HIGH {
        let (x, y) = ((i % WIDE) as f64, (i / WIDE) as f64);
        let (u, v) = (c * x + s * y, c * y - s * x);
        let grain = chance.unit();
        pixels.push(match kind {
            "wood" => {
                let ring = smooth.at(u / 140.0, v / 14.0) * 9.0;
                let l = 0.12 + 0.16 * (0.5 + 0.5 * (ring * 3.0 + 2.0 * smooth.at(u / 9.0, v / 2.5)).sin()) * tint + 0.03 * grain;
                [l * 1.25, l * 0.75, l * 0.42]
            }
            "dark cloth" => {
                let weave = (u / 2.1).sin() * (v / 2.3).sin();
                let l = 0.02 + 0.012 * weave + 0.02 * smooth.at(x / 160.0, y / 160.0) + 0.008 * grain;
                [l, l * 0.95, l * 1.15]
            }
            "carpet" => {
                let l = 0.1 + 0.14 * smooth.at(x / 3.0, y / 3.0) * tint + 0.08 * smooth.at(x / 11.0, y / 9.0) + 0.05 * grain;
                [l * 1.1, l * 0.95, l * 0.75]
            }
            "plain light" => {
                let l = 0.75 * (1.0 - 0.1 * y / HIGH as f64) + 0.01 * grain;
                [l, l * 0.99, l * 0.96]
            }
            "plain grey" => {
                let l = 0.2 * (1.0 - 0.2 * x / WIDE as f64) + 0.006 * grain;
                [l, l, l]
            }
            _ => {
                let l = 0.3 + 0.1 * smooth.at(u / 300.0, v / 20.0) + 0.02 * grain;
                [l * 1.1, l * 0.9, l * 0.7]
            }
        });
    }
    let mut scene = Scene(pixels);
    if kind == "desk" {
        for _ in 0..26 {
            let colour = [chance.unit(), chance.unit(), chance.unit()].map(|v| 0.02 + 0.8 * v * v);
            let (w, h) = (chance.within(20.0, 260.0), chance.within(15.0, 180.0));
            let at = [chance.within(0.0, WIDE as f64), chance.within(0.0, HIGH as f64)];
            scene.fill(&turned(at, w, h, chance.within(0.0, 3.1)), colour);
        }
        for _ in 0..8 {
            scene.blob([chance.within(0.0, WIDE as f64), chance.within(0.0, HIGH as f64)], chance.within(30.0, 120.0))
        }
    }
    scene
}

/// A rectangle about its middle.
fn turned(at: Point, w: f64, h: f64, turn: f64) -> [Point; 4] {
    let (c, s) = (turn.cos(), turn.sin());
    [(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)].map(|(x, y)| [at[0] + c * x * w - s * y * h, at[1] + s * x * w + c * y * h])
}

/// From the unit square to four corners (closed form), as a function.
fn onto(c: [Point; 4]) -> [[f64; 3]; 3] {
    let d1 = [c[1][0] - c[2][0], c[1][1] - c[2][1]];
    let d2 = [c[3][0] - c[2][0], c[3][1] - c[2][1]];
    let s = [0, 1].map(|k| c[0][k] - c[1][k] + c[2][k] - c[3][k]);
    let det = d1[0] * d2[1] - d2[0] * d1[1];
    let (g, h) = ((s[0] * d2[1] - d2[0] * s[1]) / det, (d1[0] * s[1] - s[0] * d1[1]) / det);
    [
        [c[1][0] - c[0][0] + g * c[1][0], c[3][0] - c[0][0] + h * c[3][0], c[0][0]],
        [c[1][1] - c[0][1] + g * c[1][1], c[3][1] - c[0][1] + h * c[3][1], c[0][1]],
        [g, h, 1.0],
    ]
}

fn apply(m: &[[f64; 3]; 3], [u, v]: Point) -> Point {
    let row = |r: [f64; 3]| r[0] * u + r[1] * v + r[2];
    [row(m[0]) / row(m[2]), row(m[1]) / row(m[2])]
}

impl Scene {
    /// Something laid on a quadrilateral: its light by place in the unit square.
    fn lay(&mut self, corners: [Point; 4], light: impl Fn(Point) -> Option<[f64; 3]>) {
        let Some(back) = inverse(&onto(corners)) else { return };
        let end = |k: usize, pick: fn(f64, f64) -> f64| corners.iter().map(|p| p[k]).reduce(pick).unwrap_or(0.0);
        let (low, high) = ([end(0, f64::min), end(1, f64::min)], [end(0, f64::max), end(1, f64::max)]);
        for y in low[1].max(0.0) as usize..=(high[1].max(0.0) as usize).min(HIGH - 1) {
            for x in low[0].max(0.0) as usize..=(high[0].max(0.0) as usize).min(WIDE - 1) {
                let (mut sum, mut count) = ([0.0; 3], 0.0);
                for k in 0..9 {
                    let at = [x as f64 + f64::from(k % 3) / 3.0 - 0.33, y as f64 + f64::from(k / 3) / 3.0 - 0.33];
                    let place = apply(&back, at);
                    if place.iter().all(|v| (0.0..=1.0).contains(v))
                        && let Some(light) = light(place)
                    {
                        (0..3).for_each(|c| sum[c] += light[c]);
                        count += 1.0;
                    }
                }
                if count > 0.0 {
                    let own = &mut self.0[y * WIDE + x];
                    (0..3).for_each(|c| own[c] = (sum[c] + (9.0 - count) * own[c]) / 9.0);
                }
            }
        }
    }

    fn fill(&mut self, corners: &[Point; 4], colour: [f64; 3]) {
        self.lay(*corners, |_| Some(colour));
    }

    /// A hand's finger or so: skin, round, shaded.
    fn blob(&mut self, at: Point, size: f64) {
        self.lay(turned(at, 2.0 * size, 2.6 * size, at[0]), |[u, v]| {
            let off = (2.0 * u - 1.0) * (2.0 * u - 1.0) + (2.0 * v - 1.0) * (2.0 * v - 1.0);
            (off < 1.0).then(|| [0.55, 0.32, 0.22].map(|l| l * (1.0 - 0.6 * off)))
        });
    }

    /// As a camera's file: exposure, noise, codes.
    fn taken(&self, exposure: f64, chance: &mut Chance) -> Picture {
        let code = |l: f64, noise: f64| {
            (255.0 * linear_to_srgb((l * exposure + noise * 0.01 * (l * exposure).max(0.01).sqrt() * 4.0).clamp(0.0, 1.0))).round() as u8
        };
        let pixels = self
            .0
            .iter()
            .flat_map(|light| {
                light.map(|l| {
                    let noise = chance.unit() + chance.unit() - 1.0;
                    code(l, noise)
                })
            })
            .collect();
        let decoding = [std::array::from_fn(|i| srgb_to_linear(i as f64 / 255.0)); 3];
        Picture::new((WIDE as u32, HIGH as u32), pixels, decoding, Loss::None).expect("as many pixels")
    }
}

/// A real chart with its frame.
struct Card {
    name: String,
    picture: Picture,
    grown: [[f64; 3]; 3],
}

/// How much larger than its patches a chart is cut out, in patches on each side.
const FRAME: f64 = 0.3;

impl Card {
    fn of(name: &str, picture: Picture, corners: [Point; 4]) -> Self {
        let map = onto(corners);
        let (u, v) = (FRAME / 6.0, FRAME / 4.0);
        let grown = onto([[-u, -v], [1.0 + u, -v], [1.0 + u, 1.0 + v], [-u, 1.0 + v]].map(|p| apply(&map, p)));
        Self { name: name.to_owned(), picture, grown }
    }

    fn light(&self, place: Point) -> Option<[f64; 3]> {
        let [x, y] = apply(&self.grown, place);
        let (w, h) = self.picture.size();
        if x < 0.0 || y < 0.0 || x >= w as f64 || y >= h as f64 {
            return None;
        }
        let codes = self.picture.codes(x as usize, y as usize);
        Some([0, 1, 2].map(|c| self.picture.decoding()[c][usize::from(codes[c])]))
    }

    /// Laid into a scene, the first row turned so far; the corners of its patches there.
    fn lay(&self, scene: &mut Scene, at: Point, wide: f64, turn: f64, tilt: f64, mirrored: bool) -> [Point; 4] {
        let (w, h) = (wide * (6.0 + 2.0 * FRAME) / 6.0, wide * (4.0 + 2.0 * FRAME) / 6.0);
        let mut corners = turned(at, w, h, turn);
        // One side further away.
        let middle = [0, 1].map(|k| (corners[0][k] + corners[1][k]) / 2.0);
        for i in [0, 1] {
            corners[i] = [0, 1].map(|k| middle[k] + (1.0 - tilt) * (corners[i][k] - middle[k]))
        }
        scene.lay(corners, |[u, v]| self.light(if mirrored { [1.0 - u, v] } else { [u, v] }));
        let map = onto(corners);
        let (u, v) = (FRAME / (6.0 + 2.0 * FRAME), FRAME / (4.0 + 2.0 * FRAME));
        [[u, v], [1.0 - u, v], [1.0 - u, 1.0 - v], [u, 1.0 - v]].map(|p| apply(&map, p))
    }
}

#[derive(Default)]
struct Tally {
    asked: usize,
    found: usize,
    wrong: usize,
}

fn main() {
    let (flags, rest): (Vec<String>, Vec<String>) = std::env::args().skip(1).partition(|a| a.starts_with("--"));
    let each = flags.iter().any(|flag| flag == "--each");
    let one_of = if flags.iter().any(|flag| flag == "--quick") { 7 } else { 1 };
    let save = flags.iter().any(|flag| flag == "--save").then(|| PathBuf::from(&rest[0]));
    let folder =
        rest.get(usize::from(save.is_some())).map_or_else(|| Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/real"), PathBuf::from);
    let text = std::fs::read_to_string(folder.join("cases.json")).expect("cases.json");
    let all: Value = serde_json::from_str(&text).expect("cases.json is JSON");
    let cases = all["cases"].as_array().expect("cases");
    let open = |case: &Value| {
        open_photo(&std::fs::read(folder.join(case["file"].as_str().expect("file"))).expect("a picture")).expect("a picture that opens")
    };
    let cards: Vec<Card> = cases
        .iter()
        .filter(|case| case["find"] == "the chart")
        .map(|case| Card::of(case["id"].as_str().unwrap_or(""), open(case), corners(case)))
        .collect();
    let mut bench = Bench { each, one_of, drawn: 0, save, chance: Chance(7), tallies: BTreeMap::new(), seconds: Vec::new(), made: 0 };
    bench.charts(&cards);
    bench.several(&cards);
    bench.none(&cards);
    for case in cases.iter().filter(|case| case["find"] == "the chart") {
        bench.covered(case["id"].as_str().unwrap_or(""), &open(case), corners(case));
    }
    bench.print();
}

struct Bench {
    each: bool,
    /// Of so many scenes one is made.
    one_of: usize,
    drawn: usize,
    save: Option<PathBuf>,
    chance: Chance,
    tallies: BTreeMap<String, Tally>,
    seconds: Vec<f64>,
    made: usize,
}

/// How far off corners are, in patches, at the most.
fn off(found: &[Point; 4], truth: &[Point; 4]) -> f64 {
    let pitch = (truth[1][0] - truth[0][0]).hypot(truth[1][1] - truth[0][1]) / 6.0;
    found.iter().zip(truth).map(|(p, q)| (p[0] - q[0]).hypot(p[1] - q[1])).fold(0.0, f64::max) / pitch
}

impl Bench {
    /// What is found in a picture.
    fn sought(&mut self, picture: &Picture, name: &str) -> Vec<[Point; 4]> {
        let start = Instant::now();
        let found = find_charts(picture);
        self.seconds.push(start.elapsed().as_secs_f64());
        self.made += 1;
        if let Some(folder) = &self.save {
            let (w, h) = picture.size();
            let mut bytes = format!("P6 {w} {h} 255\n").into_bytes();
            bytes.extend_from_slice(picture.rgb_bytes());
            std::fs::write(folder.join(format!("{:03}-{}.ppm", self.made, name.replace([' ', '/'], "-"))), bytes)
                .expect("a folder to write to");
        }
        found.into_iter().map(|chart| chart.corners).collect()
    }

    fn judge(&mut self, keys: &[String], found: &[[Point; 4]], truths: &[[Point; 4]]) {
        let right = truths.iter().filter(|truth| found.iter().any(|f| off(f, truth) < 0.25)).count();
        let wrong = found.iter().filter(|f| truths.iter().all(|truth| off(f, truth) >= 0.25)).count();
        for key in keys {
            let tally = self.tallies.entry(key.clone()).or_default();
            tally.asked += truths.len().max(1);
            tally.found += right;
            tally.wrong += wrong;
        }
        if self.each && (right < truths.len() || wrong > 0) {
            println!("  {} {}: {right} of {} found, {wrong} wrong", self.made, keys.join(", "), truths.len());
        }
    }

    fn charts(&mut self, cards: &[Card]) {
        for card in cards {
            for kind in SURROUNDINGS {
                for (k, degrees) in [0.0, 8.0, 15.0, 30.0, 45.0].into_iter().enumerate() {
                    self.drawn += 1;
                    if !self.drawn.is_multiple_of(self.one_of) {
                        continue;
                    }
                    let quarter = self.chance.pick(4) as f64 * 90.0;
                    let share = [0.22, 0.4, 0.62, 0.3, 0.5][(k + self.drawn / 5) % 5];
                    let exposure = [1.0, 0.55, 1.25, 1.0, 0.8][(k + 2 * (self.drawn / 5)) % 5];
                    let mut scene = surroundings(kind, &mut self.chance);
                    let tilt = self.chance.within(0.0, 0.18);
                    let at = [self.chance.within(0.42, 0.58) * WIDE as f64, self.chance.within(0.45, 0.55) * HIGH as f64];
                    let turn = f64::to_radians(degrees + quarter);
                    let (c, s) = (turn.cos().abs(), turn.sin().abs());
                    // As large as the picture holds it whole.
                    let most = (0.95 * WIDE as f64 / (c + 0.7 * s)).min(0.86 * HIGH as f64 / (s + 0.7 * c)) / 1.12;
                    let truth = card.lay(&mut scene, at, (share * WIDE as f64).min(most), turn, tilt, false);
                    if kind == "desk" {
                        // A hand that holds it.
                        scene.blob([0, 1].map(|k| at[k] + 1.25 * (truth[3][k] - at[k])), 30.0);
                    }
                    let picture = scene.taken(exposure, &mut self.chance);
                    let found = self.sought(&picture, &format!("{} {kind} {degrees}", card.name));
                    let keys = [
                        format!("1 on {kind}"),
                        format!("2 turned by {degrees}"),
                        format!("3 {:.0} % wide", 100.0 * share),
                        format!("4 exposure {exposure}"),
                        format!("5 {}", card.name),
                        "6 all".to_owned(),
                    ];
                    self.judge(&keys, &found, &[truth]);
                }
            }
            // A chart that fills the frame.
            let mut scene = surroundings("plain light", &mut self.chance);
            let truth = card.lay(&mut scene, [WIDE as f64 / 2.0, HIGH as f64 / 2.0], 0.93 * WIDE as f64, 0.0, 0.0, false);
            let picture = scene.taken(1.0, &mut self.chance);
            let found = self.sought(&picture, "fills");
            self.judge(&["3 93 % wide".to_owned(), "6 all".to_owned()], &found, &[truth]);
        }
    }

    fn several(&mut self, cards: &[Card]) {
        let (mut right, mut asked) = (0, 0);
        for (i, card) in cards.iter().enumerate() {
            let other = &cards[(i + 1) % cards.len()];
            let mut scene = surroundings("wood", &mut self.chance);
            let truths = [
                card.lay(&mut scene, [300.0, 300.0], 380.0, 0.2, 0.05, false),
                other.lay(&mut scene, [860.0, 600.0], 420.0, 2.6, 0.0, false),
            ];
            let picture = scene.taken(1.0, &mut self.chance);
            let found = self.sought(&picture, "two");
            self.judge(&["7 two charts".to_owned()], &found, &truths);
            for truth in &truths {
                let tapped = [0, 1].map(|k| truth.iter().map(|p| p[k]).sum::<f64>() / 4.0);
                asked += 1;
                right += usize::from(find_chart_at(&picture, tapped).is_some_and(|found| off(&found.corners, truth) < 0.25));
            }
        }
        println!("of two charts the one that was tapped: {right} of {asked}");
    }

    /// Scenes without any chart.
    fn none(&mut self, cards: &[Card]) {
        for kind in SURROUNDINGS {
            for _ in 0..3 {
                let picture = surroundings(kind, &mut self.chance).taken(1.0, &mut self.chance);
                self.nothing(&picture, kind);
            }
        }
        for kind in ["tiles", "keys", "chequers", "six by four other colours", "greys"] {
            for _ in 0..12 / self.one_of.min(4) {
                let picture = self.pattern(kind);
                self.nothing(&picture, kind);
            }
        }
        for card in cards {
            for kind in ["mirror", "shuffled", "row moved", "six covered", "half covered", "two covered"] {
                let mut scene = surroundings("plain light", &mut self.chance);
                let corners = card.lay(&mut scene, [600.0, 450.0], 600.0, 0.1, 0.0, kind == "mirror");
                self.altered(&mut scene, card, corners, kind);
                let picture = scene.taken(1.0, &mut self.chance);
                self.nothing(&picture, kind);
            }
        }
    }

    fn nothing(&mut self, picture: &Picture, kind: &str) {
        let found = self.sought(picture, kind);
        self.judge(&[format!("8 none: {kind}"), "9 none: all".to_owned()], &found, &[]);
    }

    /// A card's places in another order, or some of them covered.
    fn altered(&mut self, scene: &mut Scene, card: &Card, corners: [Point; 4], kind: &str) {
        let map = onto(corners);
        let square = |i: usize, half: f64| {
            let (u, v) = ((i % 6) as f64 + 0.5, (i / 6) as f64 + 0.5);
            [(-half, -half), (half, -half), (half, half), (-half, half)].map(|(x, y)| apply(&map, [(u + x) / 6.0, (v + y) / 4.0]))
        };
        let inner = |i: usize| [(i % 6) as f64 + 0.5 + FRAME, (i / 6) as f64 + 0.5 + FRAME];
        let light = |i: usize| {
            let [u, v] = inner(i);
            card.light([u / (6.0 + 2.0 * FRAME), v / (4.0 + 2.0 * FRAME)]).unwrap_or([0.3; 3])
        };
        let mut order: Vec<usize> = (0..24).collect();
        match kind {
            "shuffled" => (1..24).rev().for_each(|i| order.swap(i, self.chance.pick(i + 1))),
            "row moved" => order.rotate_left(6),
            "six covered" => [0, 1, 2, 6, 7, 12].into_iter().for_each(|i| scene.fill(&square(i, 0.55), [0.12, 0.2, 0.06])),
            "half covered" => (0..24).filter(|i| i % 6 > 2).for_each(|i| scene.fill(&square(i, 0.55), [0.5, 0.5, 0.48])),
            "two covered" => [7, 8].into_iter().for_each(|i| scene.fill(&square(i, 0.5), [0.9, 0.9, 0.9])),
            _ => {}
        }
        if kind == "shuffled" || kind == "row moved" {
            (0..24).for_each(|i| scene.fill(&square(i, 0.4), light(order[i])));
        }
    }

    fn pattern(&mut self, kind: &str) -> Picture {
        let mut scene = surroundings("plain grey", &mut self.chance);
        let (columns, rows) = match kind {
            "tiles" => (12, 9),
            "keys" => (14, 5),
            "chequers" => (10, 8),
            _ => (6, 4),
        };
        let pitch = (900.0 / f64::from(columns)).min(700.0 / f64::from(rows)) * self.chance.within(0.6, 1.0);
        let turn = self.chance.within(-0.6, 0.6);
        let (c, s) = (turn.cos(), turn.sin());
        for i in 0..columns * rows {
            let (x, y) = (f64::from(i % columns) - f64::from(columns - 1) / 2.0, f64::from(i / columns) - f64::from(rows - 1) / 2.0);
            let at = [600.0 + pitch * (c * x - s * y), 450.0 + pitch * (s * x + c * y)];
            let mut colour = [self.chance.unit(), self.chance.unit(), self.chance.unit()].map(|v| 0.02 + 0.85 * v * v);
            match kind {
                "keys" => colour = [0.03; 3],
                "chequers" => colour = if (i % columns + i / columns) % 2 == 0 { [0.8; 3] } else { [0.05; 3] },
                "greys" => {
                    let l = 0.9 * 0.72_f64.powi(i);
                    colour = [l; 3]
                }
                // The last row grey, as the chart's.
                _ if kind.starts_with("six") && i >= 18 => {
                    let l = 0.9 * 0.5_f64.powi(i - 18);
                    colour = [l; 3]
                }
                _ => {}
            }
            scene.fill(&turned(at, 0.8 * pitch, 0.8 * pitch, turn), colour);
            if kind == "keys" {
                scene.fill(&turned(at, 0.2 * pitch, 0.3 * pitch, turn), [0.7; 3]);
            }
        }
        scene.taken(1.0, &mut self.chance)
    }

    /// A real picture, its chart under what lies beside it.
    fn covered(&mut self, name: &str, picture: &Picture, chart: [Point; 4]) {
        let (w, h) = picture.size();
        let mut pixels = picture.rgb_bytes().to_vec();
        let end = |k: usize, pick: fn(f64, f64) -> f64| chart.iter().map(|p| p[k]).reduce(pick).unwrap_or(0.0);
        let (x0, x1, y0, y1) =
            (end(0, f64::min).max(0.0) as usize, end(0, f64::max) as usize, end(1, f64::min).max(0.0) as usize, end(1, f64::max) as usize);
        for y in y0..=y1.min(h - 1) {
            for x in x0..=x1.min(w - 1) {
                let from = 3 * (y * w + if x0 > w - x1.min(w) { x % x0.max(1) } else { (x1 + x) % w });
                let code = [0, 1, 2].map(|c| picture.rgb_bytes()[from + c]);
                pixels[3 * (y * w + x)..3 * (y * w + x) + 3].copy_from_slice(&code);
            }
        }
        let picture = Picture::new((w as u32, h as u32), pixels, *picture.decoding(), picture.loss()).expect("as many pixels");
        self.nothing(&picture, &format!("{name} without its chart"));
    }

    fn print(&self) {
        for (key, tally) in &self.tallies {
            let [_, says] = [&key[..1], &key[2..]];
            if says.starts_with("none") {
                println!("{says:40} {} of {} wrong", tally.wrong, tally.asked);
            } else {
                println!("{says:40} {} of {} found, {} wrong", tally.found, tally.asked, tally.wrong);
            }
        }
        println!(
            "{:.0} ms on average, {:.0} ms at most",
            1000.0 * mean(self.seconds.iter().copied()),
            1000.0 * self.seconds.iter().copied().fold(0.0, f64::max)
        );
    }
}
