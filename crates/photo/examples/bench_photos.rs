//! Reads every photograph of folders with truth and prints the errors of each
//! method, from no chart at all to what a reading does:
//! `cargo run --release -p photo --example bench_photos -- [--each] [--full] [--quick] FOLDER...`
//!
//! Each FOLDER holds `cases.json`: `cases[]` with `set` (`easy`, `hard`, others
//! are counted apart), `png`, `jpg`, `chart_corners`, `hair_polygon` and `truth`.
//! Errors are CIEDE2000 to the true colour under D50; of tones, from each true
//! one to the nearest read one. `--each` adds a line for every photograph;
//! `--full` leaves the lesser methods out, `--quick` what is not reading.

#[path = "shared/off.rs"]
mod off;

use colour::{Lab, ciede2000};
use off::off_in_words;
use photo::{open_photo, stripped};
use reading::{Chart, Marks, Method, Picture, Reading, find_chart, read, read_with};
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::time::Instant;

/// The methods, each with one step more.
const METHODS: [(&str, Method); 8] = [
    ("no chart", Method { chart: Chart::Ignored, bands: false, even: false, straight: false }),
    ("grey only", Method { chart: Chart::GreyOnly, bands: false, even: false, straight: false }),
    ("3x3", Method { chart: Chart::Linear, bands: false, even: false, straight: false }),
    ("3x3, gloss", Method { chart: Chart::Linear, bands: true, even: false, straight: false }),
    ("  and board", Method { chart: Chart::Linear, bands: true, even: true, straight: false }),
    ("  and curve", Method { chart: Chart::Linear, bands: true, even: true, straight: true }),
    ("  weighted", Method { chart: Chart::Weighted, bands: true, even: true, straight: true }),
    ("a reading", Method::FULL),
];

struct Case {
    name: String,
    set: String,
    jpeg: bool,
    photo: Picture,
    path: PathBuf,
    marks: Marks,
    truth: Value,
    /// Camera and light, where the folder tells.
    maker: [String; 2],
}

struct Row {
    set: String,
    jpeg: bool,
    error: f64,
    sure: f64,
    share: f64,
    tones: ToneErrors,
    seconds: f64,
}

/// How the tones of one photograph came out.
struct ToneErrors {
    wanted: usize,
    found: usize,
    /// Of each true tone, the difference of the nearest read tone.
    de00: Vec<f64>,
}

fn main() {
    let (flags, folders): (Vec<String>, Vec<String>) = std::env::args().skip(1).partition(|a| a.starts_with("--"));
    if folders.is_empty() {
        eprintln!("give folders that hold cases.json");
        std::process::exit(2);
    }
    let each = flags.iter().any(|flag| flag == "--each");
    let only_full = flags.iter().any(|flag| flag == "--full");
    let cases: Vec<Case> = folders.iter().flat_map(|folder| open_all(Path::new(folder))).collect();
    println!("{} photographs; mean / median / p95 / worst of dE00 (png), mean / p95 / worst (jpg)", cases.len());
    println!(
        "{:13}{:24}{:24}{:24}{:20}{:>8}{:>10}{:>16}{:>7}",
        "", "easy", "hard", "easy and hard", "jpg", "shares", "covers %", "sure to", "ms"
    );
    for (name, method) in METHODS {
        let full = method == Method::FULL;
        if only_full && !full {
            continue;
        }
        let rows: Vec<Row> = cases.iter().filter_map(|case| measure(case, method, each && full)).collect();
        let pick = |jpeg: bool, sets: &[&str]| rows.iter().filter(|r| r.jpeg == jpeg && sets.contains(&r.set.as_str())).collect::<Vec<_>>();
        let (easy, hard, both, jpg) =
            (pick(false, &["easy"]), pick(false, &["hard"]), pick(false, &["easy", "hard"]), pick(true, &["easy", "hard"]));
        let n = rows.len().max(1) as f64;
        println!(
            "{name:13}{:24}{:24}{:24}{:20}{:8.3}{:>10}{:>16}{:7.1}",
            four(&easy),
            four(&hard),
            four(&both),
            three(&jpg),
            mean(both.iter().map(|r| r.share)),
            if full { format!("{}/{}", covered(&both), covered(&jpg)) } else { String::new() },
            if full { widths(&easy, &hard) } else { String::new() },
            1000.0 * rows.iter().map(|r| r.seconds).sum::<f64>() / n,
        );
        if rows.len() < cases.len() {
            println!("  {} of {} photographs refused", cases.len() - rows.len(), cases.len());
        }
        if full {
            println!("  tones, png: {}", toned(&both));
            println!("  tones, jpg: {}", toned(&jpg));
        }
        let mut others: Vec<&str> = rows.iter().map(|r| r.set.as_str()).filter(|set| !["easy", "hard"].contains(set)).collect();
        others.sort_unstable();
        others.dedup();
        for set in others.into_iter().filter(|_| full) {
            let (png, jpg) = (pick(false, &[set]), pick(true, &[set]));
            println!("  {set:11}{}, covers {}; jpg {}, covers {}", four(&png), covered(&png), three(&jpg), covered(&jpg));
        }
    }
    if flags.iter().any(|flag| flag == "--quick") {
        return;
    }
    kept_again(&cases);
    chart_finding(&cases);
    end_to_end(&cases);
}

fn open_all(folder: &Path) -> Vec<Case> {
    let text = std::fs::read_to_string(folder.join("cases.json")).expect("cases.json");
    let list: Value = serde_json::from_str(&text).expect("cases.json is JSON");
    let mut result = Vec::new();
    for case in list["cases"].as_array().expect("cases") {
        let marks: Marks =
            serde_json::from_value(serde_json::json!({"chart_corners": case["chart_corners"], "hair": case["hair_polygon"]}))
                .expect("marks");
        let maker = ["camera", "light"].map(|what| case[what].as_str().unwrap_or("").to_owned());
        for kind in ["png", "jpg"] {
            let Some(name) = case[kind].as_str() else { continue };
            let path: PathBuf = folder.join(name);
            let photo = open_photo(&std::fs::read(&path).expect("photo")).expect("a photo that opens");
            result.push(Case {
                name: name.to_owned(),
                set: case["set"].as_str().unwrap_or("").to_owned(),
                jpeg: kind == "jpg",
                photo,
                path,
                marks: marks.clone(),
                truth: case["truth"].clone(),
                maker: maker.clone(),
            });
        }
    }
    result
}

fn lab(value: &Value) -> Lab {
    Lab::from(serde_json::from_value::<[f64; 3]>(value.clone()).expect("three numbers"))
}

fn measure(case: &Case, method: Method, say: bool) -> Option<Row> {
    let start = Instant::now();
    let read = read_with(&case.photo, &case.marks, method);
    let seconds = start.elapsed().as_secs_f64();
    let reading = match read {
        Ok(reading) => reading,
        Err(fault) => {
            if say || method != Method::FULL {
                println!("{} refused: {fault}", case.name);
            }
            return None;
        }
    };
    let wanted = lab(&case.truth["lab_d50"]);
    let error = ciede2000(reading.lab_d50, wanted);
    let share = share_error(case, &reading);
    let tones = tone_errors(case, &reading);
    if say {
        let (r, p) = (&reading.residuals, &reading.uncertainty_parts);
        println!(
            "{} ({} {}): L {:.0} {} ({:.2} {:.2} {:.2} {:.2} {:.2} {:.2}), tones {}/{} share off {share:.3}; chart {:.2} grey {:.4} S {:.3} range {:.2} tint {:.3} board {:.3} clipped {:.2} black {:.2} gloss {:.2} {:.3}",
            case.name,
            case.maker[0],
            case.maker[1],
            wanted.l,
            off_in_words(&reading, wanted),
            p.least,
            p.chart,
            p.greys,
            p.light,
            p.clipping,
            p.gloss,
            reading.tones.len(),
            case.truth["tones"].as_array().map_or(0, Vec::len),
            r.chart_de00,
            r.grey_error,
            r.curve_strength,
            r.light_range,
            r.light_colour,
            r.board_spread,
            r.clipped,
            r.at_black,
            r.gloss,
            r.gloss_doubt,
        );
    }
    Some(Row { set: case.set.clone(), jpeg: case.jpeg, error, sure: reading.uncertainty_de00, share, tones, seconds })
}

fn true_tones(case: &Case) -> Vec<(f64, Lab)> {
    case.truth["tones"].as_array().expect("tones").iter().map(|t| (t["share"].as_f64().expect("share"), lab(&t["lab_d50"]))).collect()
}

fn tone_errors(case: &Case, reading: &Reading) -> ToneErrors {
    let truth = true_tones(case);
    let nearest = |wanted: &Lab| reading.tones.iter().map(|tone| ciede2000(tone.lab_d50, *wanted)).fold(f64::INFINITY, f64::min);
    ToneErrors { wanted: truth.len(), found: reading.tones.len(), de00: truth.iter().map(|(_, wanted)| nearest(wanted)).collect() }
}

/// Each true tone against the read tones nearest to it: the largest error of a share.
fn share_error(case: &Case, reading: &Reading) -> f64 {
    let truth = true_tones(case);
    let mut got = vec![0.0; truth.len()];
    for tone in &reading.tones {
        let near = (0..truth.len()).min_by(|p, q| ciede2000(tone.lab_d50, truth[*p].1).total_cmp(&ciede2000(tone.lab_d50, truth[*q].1)));
        got[near.expect("at least one tone")] += tone.share;
    }
    truth.iter().zip(&got).map(|((wanted, _), got)| (wanted - got).abs()).fold(0.0, f64::max)
}

fn mean(list: impl Iterator<Item = f64>) -> f64 {
    let (sum, n) = list.fold((0.0, 0.0), |(sum, n), v| (sum + v, n + 1.0));
    if n > 0.0 { sum / n } else { f64::NAN }
}

/// The value below which this share of the rows' errors lies.
fn below(rows: &[&Row], share: f64) -> f64 {
    let mut errors: Vec<f64> = rows.iter().map(|r| r.error).collect();
    errors.sort_by(f64::total_cmp);
    let Some(last) = errors.len().checked_sub(1) else { return f64::NAN };
    let place = share * last as f64;
    let (low, high) = (errors[place.floor() as usize], errors[place.ceil() as usize]);
    low + place.fract() * (high - low)
}

fn four(rows: &[&Row]) -> String {
    format!("{:.2}/{:.2}/{:.2}/{:.2}", mean(rows.iter().map(|r| r.error)), below(rows, 0.5), below(rows, 0.95), below(rows, 1.0))
}

fn three(rows: &[&Row]) -> String {
    format!("{:.2}/{:.2}/{:.2}", mean(rows.iter().map(|r| r.error)), below(rows, 0.95), below(rows, 1.0))
}

fn covered(rows: &[&Row]) -> String {
    format!("{:.0}", 100.0 * mean(rows.iter().map(|r| f64::from(u8::from(r.error <= r.sure)))))
}

/// Mean and largest stated uncertainty of the easy, largest of the hard.
fn widths(easy: &[&Row], hard: &[&Row]) -> String {
    let most = |rows: &[&Row]| rows.iter().map(|r| r.sure).fold(0.0, f64::max);
    format!("{:.1} {:.2} {:.2}", mean(easy.iter().map(|r| r.sure)), most(easy), most(hard))
}

/// Right numbers of tones, errors of shares and colours, over all photographs
/// and over those with several tones.
fn toned(rows: &[&Row]) -> String {
    let several: Vec<&&Row> = rows.iter().filter(|r| r.tones.wanted > 1).collect();
    let split = rows.iter().filter(|r| r.tones.found > r.tones.wanted).count();
    let missed = rows.iter().filter(|r| r.tones.found < r.tones.wanted).count();
    format!(
        "right number in {} of {} ({split} too many, {missed} too few); shares off {:.3}, in the {} with several tones {:.3}; tone dE00 {:.2}, there {:.2}",
        rows.len() - split - missed,
        rows.len(),
        mean(rows.iter().map(|r| r.share)),
        several.len(),
        mean(several.iter().map(|r| r.share)),
        mean(rows.iter().flat_map(|r| r.tones.de00.iter().copied())),
        mean(several.iter().flat_map(|r| r.tones.de00.iter().copied())),
    )
}

/// What reading a photograph as it is kept differs from reading the file itself.
fn kept_again(cases: &[Case]) {
    for (kind, jpeg) in [("JPEGs", true), ("PNGs", false)] {
        let (mut moved, mut shorter) = (Vec::new(), Vec::new());
        for case in cases.iter().filter(|case| case.jpeg == jpeg) {
            let file = std::fs::read(&case.path).expect("photo");
            let kept = stripped(&file).expect("a photo that can be kept");
            let again = open_photo(&kept).expect("a kept photo that opens");
            shorter.push(kept.len() as f64 / file.len() as f64);
            if let (Ok(first), Ok(second)) = (read(&case.photo, &case.marks), read(&again, &case.marks)) {
                moved.push(ciede2000(first.lab_d50, second.lab_d50));
            }
        }
        println!(
            "kept and read again, {} {kind}: off from the first reading by {:.3} (mean), {:.3} (worst); {:.2} of the file's length",
            moved.len(),
            mean(moved.iter().copied()),
            moved.iter().copied().fold(0.0, f64::max),
            mean(shorter.into_iter()),
        );
    }
}

fn chart_finding(cases: &[Case]) {
    let mut offs = Vec::new();
    let (mut wrong, mut seconds) = (0, 0.0_f64);
    for case in cases {
        let start = Instant::now();
        let found = find_chart(&case.photo);
        seconds = seconds.max(start.elapsed().as_secs_f64());
        let Some(corners) = found else { continue };
        let apart = |(p, q): (&[f64; 2], &[f64; 2])| ((p[0] - q[0]).powi(2) + (p[1] - q[1]).powi(2)).sqrt();
        let off = corners.iter().zip(&case.marks.chart_corners).map(apart).fold(0.0, f64::max);
        if off < 20.0 { offs.push(off) } else { wrong += 1 }
    }
    offs.sort_by(f64::total_cmp);
    let at = |share: f64| offs.get((share * offs.len().saturating_sub(1) as f64) as usize).copied().unwrap_or(f64::NAN);
    println!(
        "chart found by itself in {} of {} ({wrong} wrong); worst corner off by {:.1} px (median), {:.1} (p95), {:.1} (worst); slowest {:.0} ms",
        offs.len(),
        cases.len(),
        at(0.5),
        at(0.95),
        at(1.0),
        seconds * 1000.0,
    );
}

/// A whole reading of a photo as large as a phone's, from its bytes: the first
/// one enlarged to 12 megapixels and saved as JPEG; the fastest and the slowest of five.
fn end_to_end(cases: &[Case]) {
    let Some(case) = cases.first() else { return };
    let (width, height) = case.photo.size();
    let small = image::RgbImage::from_raw(width as u32, height as u32, case.photo.rgb_bytes().to_vec()).expect("its own size");
    let large = image::imageops::resize(&small, 4000, 3000, image::imageops::FilterType::Triangle);
    let mut bytes = Vec::new();
    image::codecs::jpeg::JpegEncoder::new_with_quality(&mut bytes, 90).encode_image(&large).expect("a JPEG");
    let scale = |p: &[f64; 2]| [p[0] * 4000.0 / width as f64, p[1] * 3000.0 / height as f64];
    let marks = Marks {
        chart_corners: case.marks.chart_corners.each_ref().map(scale),
        hair: case.marks.hair.iter().map(scale).collect(),
        strands: None,
        leave_out: Vec::new(),
    };
    let times: Vec<f64> = (0..5)
        .map(|_| {
            let start = Instant::now();
            photo::read_photo(&bytes, &marks).expect("a photo that can be read");
            start.elapsed().as_secs_f64()
        })
        .collect();
    let start = Instant::now();
    let found = find_chart(&open_photo(&bytes).expect("a photo that opens"));
    let finding = start.elapsed().as_secs_f64();
    println!(
        "12 MP JPEG of {:.1} MB, opened and read: {:.0} to {:.0} ms; opened and its chart {}: {:.0} ms",
        bytes.len() as f64 / 1e6,
        1000.0 * times.iter().copied().fold(f64::INFINITY, f64::min),
        1000.0 * times.iter().copied().fold(0.0, f64::max),
        if found.is_some() { "found" } else { "sought" },
        1000.0 * finding,
    );
}
