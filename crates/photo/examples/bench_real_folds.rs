//! Chooses the reader's numbers in folds by camera, and says what they come to:
//! `cargo run --release -p photo --example bench_real_folds -- [--doubt] [--each] [FOLDER]`
//!
//! FOLDER is as for `bench_real_photos`. Pictures of one source count as one camera. For
//! each camera in turn the numbers of `reading::Chosen` are chosen on all the others and
//! judged on that one; then it is printed what each fold chose, what the folds come to
//! together, and beside it what the numbers that a reading takes come to. Where the two
//! are alike nothing was won by having seen the pictures. `--doubt` leaves out the first part,
//! `--each` prints the grounds of every reading.
//!
//! First the numbers that move a colour (one is changed at a time), by the mean over
//! cameras of what hair-like patches are off by, none counted beyond 8 dE00. Then those of
//! the doubt, by the loss of a 90 % bound (`SHARE` of what an error lies above it, the rest
//! of what it lies below), a refusal costing one of `REFUSED`: the first makes a reader
//! that would rather refuse, the last one that would rather read.
//!
//! *Source* of that loss: key `koenker1978`.

#[path = "real_cases/mod.rs"]
mod real_cases;

use colour::ciede2000;
use photo::open_photo;
use reading::{Chosen, Marks, Residuals, doubt_by, read_by};
use real_cases::{HAIR_LIKE, below, copies, corners, mean};
use serde_json::Value;
use std::path::{Path, PathBuf};

const SHARE: f64 = 0.9;
const REFUSED: [f64; 4] = [1.0, 1.5, 2.0, 2.5];
const WORST: f64 = 8.0;

/// One patch read by one choice of numbers.
struct Row {
    camera: usize,
    off: f64,
    found: Residuals,
    l: f64,
}

fn main() {
    let (flags, folders): (Vec<String>, Vec<String>) = std::env::args().skip(1).partition(|a| a.starts_with("--"));
    let folder = folders.first().map_or_else(|| Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/real"), PathBuf::from);
    let text = std::fs::read_to_string(folder.join("cases.json")).expect("cases.json");
    let all: Value = serde_json::from_str(&text).expect("cases.json is JSON");
    let cases: Vec<&Value> = all["cases"].as_array().expect("cases").iter().filter(|case| case["copied"].is_object()).collect();
    let mut cameras: Vec<&str> = cases.iter().filter_map(|case| case["source"]["repo"].as_str()).collect();
    cameras.sort_unstable();
    cameras.dedup();
    let mut tried = colours_tried();
    if flags.iter().any(|flag| flag == "--doubt") {
        tried.truncate(1);
    }
    let mut rows: Vec<Vec<Row>> = tried.iter().map(|_| Vec::new()).collect();
    for case in cases {
        let bytes = std::fs::read(folder.join(case["file"].as_str().expect("file"))).expect("a picture");
        let picture = open_photo(&bytes).expect("a picture that opens");
        let camera = cameras.iter().position(|name| case["source"]["repo"] == **name).expect("a source");
        for patch in copies(case, &picture).filter(|patch| HAIR_LIKE.contains(&patch.index)) {
            let marks = Marks { chart_corners: corners(case), hair: patch.hair.clone(), strands: None, leave_out: vec![patch.index] };
            for ((_, chosen), rows) in tried.iter().zip(&mut rows) {
                if let Ok(reading) = read_by(&patch.picture, &marks, chosen) {
                    rows.push(Row { camera, off: ciede2000(reading.lab_d50, patch.truth), found: reading.residuals, l: reading.lab_d50.l });
                }
            }
        }
    }
    println!("{} cameras, {} patches", cameras.len(), rows[0].len());
    if flags.iter().any(|flag| flag == "--each") {
        for row in &rows[0] {
            let f = &row.found;
            println!(
                "  {} off {:.2} l {:.1} chart {:.2} accounts {:.2} greys {:.4} strength {:.2} light {:.3} {:.3} board {:.3} clipped {:.2} black {:.2} gloss {:.2} {:.3}",
                row.camera,
                row.off,
                row.l,
                f.chart_de00,
                f.accounts_de00,
                f.grey_error,
                f.curve_strength,
                f.light_doubt,
                f.light_colour,
                f.board_spread,
                f.clipped,
                f.at_black,
                f.gloss,
                f.gloss_doubt
            );
        }
    }
    colours_in_folds(&tried, &rows, &cameras);
    REFUSED.iter().for_each(|refused| doubts_in_folds(&rows[0], &cameras, *refused));
}

/// The chosen numbers, and each changed alone.
fn colours_tried() -> Vec<(String, Chosen)> {
    let base = Chosen::IN_FOLDS;
    let mut tried = vec![("as chosen".to_owned(), base)];
    let mut add = |name: &str, value: f64, with: Chosen| tried.push((format!("{name} {value}"), with));
    for v in [0.1, 2.0] {
        add("held_slope", v, Chosen { held_slope: v, ..base })
    }
    for v in [0.3, 1.0, 6.0] {
        add("held_bend", v, Chosen { held_bend: v, ..base })
    }
    for v in [0.003, 0.03] {
        add("held_roots", v, Chosen { held_roots: v, ..base })
    }
    for v in [0.04, 0.15, 0.3] {
        add("own", v, Chosen { own: v, ..base })
    }
    for v in [13.0, 22.0] {
        add("alike", v, Chosen { alike: v, ..base })
    }
    for v in [0.04, 0.2, 0.5] {
        add("patience", v, Chosen { patience: v, ..base })
    }
    for v in [0.7, 0.8, 1.0, 1.1, 1.3] {
        add("knows_hair", v, Chosen { knows_hair: v, ..base })
    }
    tried
}

/// The mean over cameras of what patches are off by, one camera left out or none.
fn off(rows: &[Row], cameras: usize, without: Option<usize>) -> f64 {
    let one = |camera: usize| mean(rows.iter().filter(|row| row.camera == camera).map(|row| row.off.min(WORST)));
    mean((0..cameras).filter(|camera| Some(*camera) != without).map(one))
}

fn colours_in_folds(tried: &[(String, Chosen)], rows: &[Vec<Row>], cameras: &[&str]) {
    println!("\none number changed: off by (mean over cameras), of each camera; 95 in 100 below");
    for ((name, _), rows) in tried.iter().zip(rows) {
        let each: Vec<String> = (0..cameras.len())
            .map(|camera| format!("{:.2}", mean(rows.iter().filter(|row| row.camera == camera).map(|row| row.off))))
            .collect();
        println!(
            "  {name:18}{:.3}   {}   {:.2}",
            off(rows, cameras.len(), None),
            each.join(" "),
            below(rows.iter().map(|row| row.off).collect(), 0.95)
        );
    }
    let mut together = Vec::new();
    for (camera, name) in cameras.iter().enumerate() {
        let cost = |i: usize| off(&rows[i], cameras.len(), Some(camera));
        let best = (0..tried.len()).min_by(|p, q| cost(*p).total_cmp(&cost(*q))).expect("some");
        let on = |i: usize| mean(rows[i].iter().filter(|row| row.camera == camera).map(|row| row.off));
        println!("  without {name}: {} is best on the others; on it {:.2}, as chosen {:.2}", tried[best].0, on(best), on(0));
        together.extend(rows[best].iter().filter(|row| row.camera == camera).map(|row| row.off));
    }
    let chosen: Vec<f64> = rows[0].iter().map(|row| row.off).collect();
    println!(
        "  in folds together {:.2}, {:.2} for half, 95 in 100 below {:.2}",
        mean(together.iter().copied()),
        below(together.clone(), 0.5),
        below(together, 0.95)
    );
    println!(
        "  as chosen         {:.2}, {:.2} for half, 95 in 100 below {:.2}",
        mean(chosen.iter().copied()),
        below(chosen.clone(), 0.5),
        below(chosen, 0.95)
    );
}

/// The choices of the doubt's numbers.
fn doubts_tried() -> Vec<Chosen> {
    let mut tried = vec![Chosen::IN_FOLDS];
    for least in [0.6, 1.2, 1.8, 2.4] {
        for times_chart in (0..16).map(|k| 0.85 + 0.05 * f64::from(k)) {
            for steeper in [0.0, 0.25, 0.5] {
                for times_accounts in [0.9, 1.2, 1.5, 1.8] {
                    for times_greys in [0.25, 0.5, 1.0] {
                        tried.push(Chosen { least, times_chart, steeper, times_accounts, times_greys, ..Chosen::IN_FOLDS });
                    }
                }
            }
        }
    }
    tried
}

/// The loss of the bound over some rows.
fn loss<'a>(rows: impl Iterator<Item = &'a Row>, chosen: &Chosen, refused: f64) -> f64 {
    mean(rows.map(|row| match doubt_by(&row.found, row.l, chosen) {
        Some(doubt) if row.off > doubt => SHARE * (row.off - doubt),
        Some(doubt) => (1.0 - SHARE) * (doubt - row.off),
        None => refused,
    }))
}

fn doubts_in_folds(rows: &[Row], cameras: &[&str], refused: f64) {
    let tried = doubts_tried();
    let losses: Vec<Vec<f64>> = tried
        .iter()
        .map(|chosen| (0..cameras.len()).map(|camera| loss(rows.iter().filter(|row| row.camera == camera), chosen, refused)).collect())
        .collect();
    let best = |without: Option<usize>| {
        let cost = |i: usize| mean((0..cameras.len()).filter(|camera| Some(*camera) != without).map(|camera| losses[i][camera]));
        (0..tried.len()).min_by(|p, q| cost(*p).total_cmp(&cost(*q))).expect("some")
    };
    let says = |c: &Chosen| {
        format!("least {} chart {:.2} steeper {} accounts {} greys {}", c.least, c.times_chart, c.steeper, c.times_accounts, c.times_greys)
    };
    println!("\nthe doubt, {} choices, a refusal costing {refused}", tried.len());
    let mut together = Vec::new();
    for (camera, name) in cameras.iter().enumerate() {
        let chosen = &tried[best(Some(camera))];
        println!("  without {name}: {}", says(chosen));
        together.extend(rows.iter().filter(|row| row.camera == camera).map(|row| (row.off, doubt_by(&row.found, row.l, chosen))));
    }
    println!("  on all: {}", says(&tried[best(None)]));
    println!("  in folds together {}", stated(&together));
    let of = |chosen: &Chosen| rows.iter().map(|row| (row.off, doubt_by(&row.found, row.l, chosen))).collect::<Vec<_>>();
    println!("  best on all       {}", stated(&of(&tried[best(None)])));
    println!("  as chosen         {}", stated(&of(&Chosen::IN_FOLDS)));
}

fn stated(list: &[(f64, Option<f64>)]) -> String {
    let read: Vec<(f64, f64)> = list.iter().filter_map(|(off, doubt)| Some((*off, (*doubt)?))).collect();
    let share = |of: &dyn Fn(f64, f64) -> bool| 100.0 * mean(read.iter().map(|(off, doubt)| f64::from(u8::from(of(*off, *doubt)))));
    let (offs, doubts): (Vec<f64>, Vec<f64>) = read.iter().copied().unzip();
    format!(
        "read {} of {}, off by {:.2}, 95 in 100 below {:.2}; stated {:.2}, {:.2} for half, covers {:.0} %, sure but wrong {:.1} %",
        read.len(),
        list.len(),
        mean(offs.iter().copied()),
        below(offs, 0.95),
        mean(doubts.iter().copied()),
        below(doubts, 0.5),
        share(&|off, doubt| off <= doubt),
        share(&|off, doubt| off > doubt + 1.0 && off > 1.5 * doubt)
    )
}
