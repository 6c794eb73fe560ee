//! Reads every photograph of a folder with truth and prints the errors:
//! `cargo run --release -p photo --example bench_photos -- FOLDER`.
//!
//! FOLDER holds `cases.json`: `cases[]` with `set`, `png`, `jpg`,
//! `chart_corners`, `hair_polygon` and `truth`.

use colour::{Lab, ciede2000};
use photo::{Marks, Reading, find_chart, open_photo, read_photo};
use serde_json::Value;
use std::path::Path;
use std::time::Instant;

struct Row {
    set: String,
    kind: &'static str,
    error: f64,
    sure: f64,
    share: f64,
}

fn main() {
    let Some(folder) = std::env::args().nth(1) else {
        eprintln!("give the folder that holds cases.json");
        std::process::exit(2);
    };
    let folder = Path::new(&folder);
    let text = std::fs::read_to_string(folder.join("cases.json")).expect("cases.json");
    let cases: Value = serde_json::from_str(&text).expect("cases.json is JSON");
    let mut rows = Vec::new();
    let (mut found, mut tried, mut slowest) = (0, 0, 0.0_f64);
    for case in cases["cases"].as_array().expect("cases") {
        let marks: Marks = serde_json::from_value(serde_json::json!({"chart_corners": case["chart_corners"], "hair": case["hair_polygon"]})).expect("marks");
        for kind in ["png", "jpg"] {
            let Some(name) = case[kind].as_str() else { continue };
            let bytes = std::fs::read(folder.join(name)).expect("photo");
            let start = Instant::now();
            let read = read_photo(&bytes, &marks);
            slowest = slowest.max(start.elapsed().as_secs_f64());
            match read {
                Ok(reading) => rows.push(judge(case, kind, &reading)),
                Err(fault) => println!("{name}: refused: {fault}"),
            }
            if let Ok(photo) = open_photo(&bytes) {
                tried += 1;
                let off = |corners: [[f64; 2]; 4]| {
                    let apart = |(p, q): (&[f64; 2], &[f64; 2])| ((p[0] - q[0]).powi(2) + (p[1] - q[1]).powi(2)).sqrt();
                    corners.iter().zip(&marks.chart_corners).map(apart).fold(0.0, f64::max)
                };
                found += usize::from(find_chart(&photo).is_some_and(|corners| off(corners) < 12.0));
            }
        }
    }
    for (title, set, kind) in [("all png", "", "png"), ("all jpg", "", "jpg"), ("easy png", "easy", "png"), ("easy jpg", "easy", "jpg"), ("hard png", "hard", "png"), ("hard jpg", "hard", "jpg")] {
        let chosen: Vec<&Row> = rows.iter().filter(|r| r.kind == kind && (set.is_empty() || r.set == set)).collect();
        if chosen.is_empty() {
            continue;
        }
        let mut errors: Vec<f64> = chosen.iter().map(|r| r.error).collect();
        errors.sort_by(f64::total_cmp);
        let n = errors.len() as f64;
        let place = 0.95 * (n - 1.0);
        let (low, high) = (errors[place.floor() as usize], errors[place.ceil() as usize]);
        let covered = chosen.iter().filter(|r| r.error <= r.sure).count() as f64 / n;
        let widest = chosen.iter().map(|r| r.sure).fold(0.0, f64::max);
        println!(
            "{title}: {} photos, mean {:.3}, p95 {:.3}, worst {:.3}; covered {:.0} %, widest {widest:.2}; shares off by {:.3}",
            chosen.len(), errors.iter().sum::<f64>() / n, low + place.fract() * (high - low), errors[errors.len() - 1], covered * 100.0,
            chosen.iter().map(|r| r.share).sum::<f64>() / n,
        );
    }
    println!("chart found by itself in {found} of {tried}; slowest reading {slowest:.3} s");
}

fn judge(case: &Value, kind: &'static str, reading: &Reading) -> Row {
    let lab = |value: &Value| Lab::from(serde_json::from_value::<[f64; 3]>(value.clone()).expect("three numbers"));
    let error = ciede2000(reading.lab_d50, lab(&case["truth"]["lab_d50"]));
    let truth: Vec<(f64, Lab)> = case["truth"]["tones"].as_array().expect("tones").iter().map(|t| (t["share"].as_f64().expect("share"), lab(&t["lab_d50"]))).collect();
    // Each true tone against the read tones nearest to it.
    let mut got = vec![0.0; truth.len()];
    for tone in &reading.tones {
        let near = (0..truth.len()).min_by(|p, q| ciede2000(tone.lab_d50, truth[*p].1).total_cmp(&ciede2000(tone.lab_d50, truth[*q].1)));
        got[near.expect("at least one tone")] += tone.share;
    }
    let share = truth.iter().zip(&got).map(|((wanted, _), got)| (wanted - got).abs()).fold(0.0, f64::max);
    let r = &reading.residuals;
    println!(
        "{} {kind}: off {error:.3} (dL {:+.2} da {:+.2} db {:+.2}), sure to {:.2}, tones {}/{}, share off {share:.3}; chart {:.2} grey {:.3} S {:.3} range {:.2} board {:.3} clipped {:.2}",
        case["id"].as_str().unwrap_or("?"),
        reading.lab_d50.l - lab(&case["truth"]["lab_d50"]).l, reading.lab_d50.a - lab(&case["truth"]["lab_d50"]).a, reading.lab_d50.b - lab(&case["truth"]["lab_d50"]).b,
        reading.uncertainty_de00, reading.tones.len(), truth.len(), r.chart_de00, r.grey_error, r.curve_strength, r.light_range, r.board_spread, r.clipped,
    );
    Row { set: case["set"].as_str().unwrap_or("").to_owned(), kind, error, sure: reading.uncertainty_de00, share }
}
