//! What it wins to match a reading against readings of the same phone, not against values
//! of a catalogue:
//! `cargo run --release -p photo --example bench_same_phone -- FOLDER...`
//!
//! FOLDER holds `cases.json`, of real pictures (`copied`, as `bench_real_photos` has it; two
//! pictures are of one phone when their `id` begins with the same two letters) or of those
//! that `make_photos` writes (`camera`, `light`). In each picture the hair-like patches of
//! the chart are laid beside it by copying their pixels and read, each left out of the fit.
//!
//! Each line is over pairs of pictures of one kind: *catalogue* is how far the reading in the
//! first is from the patch's own colour, *reading* how far it is from the reading in the
//! second. Two swatches that are one colour should come out 0 apart, so the smaller is the
//! better way to match. *profile* is the reading against the patch's own colour again, less what
//! the phone was off by at like colours in the second picture: whether a phone's own profile
//! would make readings better. The last columns say how often a bound holds what two readings of one
//! colour differ by, and how wide it is: the two uncertainties as those of *strangers*, that
//! of *the less sure* of the two, and the bound of *differences* within one picture.

use colour::{Lab, ciede2000};
use photo::open_photo;
use reading::{Marks, Picture, Reading, read, sure_of_difference};
use serde_json::Value;
use std::path::Path;

const HAIR_LIKE: [usize; 8] = [0, 1, 6, 8, 11, 20, 21, 22];

/// One picture with what was read in it, patch by patch.
struct Seen {
    phone: String,
    light: String,
    read: Vec<Option<(Reading, Lab)>>,
}

fn main() {
    let folders: Vec<String> = std::env::args().skip(1).collect();
    println!(
        "{:44}{:>6}{:>26}{:>26}{:>26}{:>18}{:>18}{:>18}",
        "", "pairs", "catalogue mean/med/p95", "reading mean/med/p95", "profile mean/med/p95", "strangers", "the less sure", "differences"
    );
    for folder in &folders {
        let folder = Path::new(folder);
        let text = std::fs::read_to_string(folder.join("cases.json")).expect("cases.json");
        let all: Value = serde_json::from_str(&text).expect("cases.json is JSON");
        let seen: Vec<Seen> = all["cases"].as_array().expect("cases").iter().filter_map(|case| look(folder, case)).collect();
        println!("{}: {} pictures", folder.file_name().unwrap_or_default().to_string_lossy(), seen.len());
        let same_phone = |p: &Seen, q: &Seen| !p.phone.is_empty() && p.phone == q.phone;
        line("one phone, one light", &seen, |p, q| same_phone(p, q) && p.light == q.light);
        line("one phone, another light", &seen, |p, q| same_phone(p, q) && p.light != q.light);
        line("another phone", &seen, |p, q| !same_phone(p, q));
    }
}

/// Opens a picture and reads its patches; nothing where it has none to copy.
fn look(folder: &Path, case: &Value) -> Option<Seen> {
    let text = |key: &str| case[key].as_str().unwrap_or("").to_owned();
    let real = case["copied"]["patches"].as_array();
    let file = if real.is_some() { text("file") } else { text("jpg") };
    let corners = if case["chart_corners"].is_array() { &case["chart_corners"] } else { &case["chart"]["corners"] };
    let chart_corners: [[f64; 2]; 4] = serde_json::from_value(corners.clone()).ok()?;
    let picture = open_photo(&std::fs::read(folder.join(file)).ok()?).ok()?;
    let truth = colour::chart::patches_under(colour::Light::D50).map(|colour| colour.to_lab(colour::D50));
    let read_one = |index: usize| {
        let (source, to, side, truth) = match real {
            Some(patches) => {
                let patch = patches.iter().find(|patch| patch["patch"].as_u64() == Some(index as u64))?;
                let lab: [f64; 3] = serde_json::from_value(patch["lab_d50"].clone()).ok()?;
                let to: [f64; 2] = serde_json::from_value(case["copied"]["to"].clone()).ok()?;
                (serde_json::from_value(patch["src"].clone()).ok()?, to, case["copied"]["side"].as_u64()? as usize, Lab::from(lab))
            }
            None => {
                let hair: Vec<[f64; 2]> = serde_json::from_value(case["hair_polygon"].clone()).ok()?;
                let middle = [0, 1].map(|k| hair.iter().map(|p| p[k]).sum::<f64>() / hair.len() as f64);
                (patch_place(&chart_corners, index), middle.map(|v| v.floor() - 24.0), 48, truth[index])
            }
        };
        let (copy, hair) = with_copy(&picture, source, to, side);
        let marks = Marks { chart_corners, hair, strands: None, leave_out: vec![index] };
        read(&copy, &marks).ok().map(|reading| (reading, truth))
    };
    let phone = if real.is_some() { text("id").chars().take(2).collect() } else { text("camera") };
    Some(Seen { phone, light: text("light"), read: HAIR_LIKE.map(read_one).into_iter().collect() })
}

/// Middle and side of a patch, in a chart that is hardly tilted.
fn patch_place(chart: &[[f64; 2]; 4], index: usize) -> [f64; 3] {
    let (u, v) = (((index % 6) as f64 + 0.5) / 6.0, ((index / 6) as f64 + 0.5) / 4.0);
    let at = |k: usize| (1.0 - v) * ((1.0 - u) * chart[0][k] + u * chart[1][k]) + v * ((1.0 - u) * chart[3][k] + u * chart[2][k]);
    [at(0), at(1), reading::patch_pitch(chart) * 0.5]
}

/// The picture with a patch copied elsewhere, laid to and fro, and the copy's outline.
fn with_copy(picture: &Picture, [x, y, size]: [f64; 3], to: [f64; 2], side: usize) -> (Picture, Vec<[f64; 2]>) {
    let (width, height) = picture.size();
    let size = (size as usize).min(side);
    let (x0, y0) = ((x - size as f64 / 2.0) as usize, (y - size as f64 / 2.0) as usize);
    let mut pixels = picture.rgb_bytes().to_vec();
    let fold = |v: usize| {
        let v = v % (2 * size);
        if v < size { v } else { 2 * size - 1 - v }
    };
    for (i, j) in (0..side).flat_map(|j| (0..side).map(move |i| (i, j))) {
        let codes = picture.codes(x0 + fold(i), y0 + fold(j));
        let at = 3 * ((to[1] as usize + j) * width + to[0] as usize + i);
        pixels[at..at + 3].copy_from_slice(&codes);
    }
    let copy = Picture::new((width as u32, height as u32), pixels, *picture.decoding(), picture.loss()).expect("as many pixels");
    let (x, y, s) = (to[0] + 1.0, to[1] + 1.0, side as f64 - 2.0);
    (copy, vec![[x, y], [x + s, y], [x + s, y + s], [x, y + s]])
}

fn line(what: &str, seen: &[Seen], belongs: impl Fn(&Seen, &Seen) -> bool) {
    let (mut catalogue, mut readings) = (Vec::new(), Vec::new());
    let mut corrected = Vec::new();
    let (mut strangers, mut larger, mut same) = (Vec::new(), Vec::new(), Vec::new());
    let mut pairs = 0;
    for (i, p) in seen.iter().enumerate() {
        for q in seen.iter().enumerate().filter(|(j, q)| i != *j && belongs(p, q)).map(|(_, q)| q) {
            pairs += 1;
            for (at, (one, truth)) in p.read.iter().enumerate().filter_map(|(at, one)| Some((at, one.as_ref()?))) {
                corrected.push(ciede2000(by_profile(one.lab_d50, &q.read, at), *truth));
            }
            for ((one, truth), (other, _)) in p.read.iter().zip(&q.read).filter_map(|(one, other)| Some((one.as_ref()?, other.as_ref()?))) {
                let apart = ciede2000(one.lab_d50, other.lab_d50);
                catalogue.push(ciede2000(one.lab_d50, *truth));
                readings.push(apart);
                let bound = one.uncertainty_de00.hypot(other.uncertainty_de00);
                strangers.push((f64::from(u8::from(apart <= bound)), bound));
                let bound = one.uncertainty_de00.max(other.uncertainty_de00);
                larger.push((f64::from(u8::from(apart <= bound)), bound));
                let bound = sure_of_difference(one, other);
                same.push((f64::from(u8::from(apart <= bound)), bound));
            }
        }
    }
    if pairs == 0 {
        return;
    }
    let bound = |list: &[(f64, f64)]| {
        let n = list.len().max(1) as f64;
        format!(
            "{:.0} %, {:.1}",
            100.0 * list.iter().map(|(held, _)| held).sum::<f64>() / n,
            list.iter().map(|(_, sure)| sure).sum::<f64>() / n
        )
    };
    println!(
        "{what:44}{pairs:>6}{:>26}{:>26}{:>26}{:>18}{:>18}{:>18}",
        three(catalogue),
        three(readings),
        three(corrected),
        bound(&strangers),
        bound(&larger),
        bound(&same)
    );
}

/// How near in colour a patch must be to say what the phone does at another, in dE00, and how
/// much is believed of it: against one patch of that very colour.
const NEAR: f64 = 15.0;
const HELD: f64 = 0.5;

/// A reading less what the phone was off by at like colours in another picture; the patch that
/// is read is not asked.
fn by_profile(lab: Lab, other: &[Option<(Reading, Lab)>], left_out: usize) -> Lab {
    let (mut sum, mut weights) = ([0.0; 3], HELD);
    for (reading, truth) in other.iter().enumerate().filter(|(at, _)| *at != left_out).filter_map(|(_, read)| read.as_ref()) {
        let far = ciede2000(*truth, lab) / NEAR;
        let weight = (-far * far / 2.0).exp();
        let (found, wanted): ([f64; 3], [f64; 3]) = (reading.lab_d50.into(), (*truth).into());
        (0..3).for_each(|k| sum[k] += weight * (found[k] - wanted[k]));
        weights += weight;
    }
    let own: [f64; 3] = lab.into();
    Lab::from([0, 1, 2].map(|k| own[k] - sum[k] / weights))
}

fn three(mut list: Vec<f64>) -> String {
    if list.is_empty() {
        return "none read".to_owned();
    }
    list.sort_by(f64::total_cmp);
    let place = |share: f64| list[(share * (list.len() - 1) as f64).round() as usize];
    format!("{:.2} / {:.2} / {:.2}", list.iter().sum::<f64>() / list.len() as f64, place(0.5), place(0.95))
}
