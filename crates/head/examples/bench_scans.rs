//! The model fitted to two tapes laid on scanned heads, held against the scans.
//!
//! `cargo run --release -p head --example bench_scans -- TABLE.txt ...`: tables
//! of `tools/scalp_of_scan.py`; with none, those that the tests use.

#[path = "shared/scan.rs"]
mod scan;

use scan::Scan;

fn main() {
    let mut paths: Vec<String> = std::env::args().skip(1).collect();
    if paths.is_empty() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data");
        paths = std::fs::read_dir(folder)
            .map(|all| all.flatten().map(|file| file.path().display().to_string()).filter(|path| path.contains("scalp_")).collect())
            .unwrap_or_default();
        paths.sort();
    }
    for path in paths {
        let read = std::fs::read_to_string(&path).map_err(|error| error.to_string());
        let name = path.rsplit('/').next().unwrap_or(&path);
        match read.and_then(|text| Scan::read(&text)?.held()) {
            Ok(held) => {
                let [around, over] = held.model;
                println!(
                    "{name}: tapes {:.1} and {:.1} mm, on the model {around:.1} and {over:.1}; rms {:.2} mm, p95 {:.2}, over {:.0} % of the hair-bearing region; moved {:.1} mm, {:.1} degrees",
                    held.circumference,
                    held.ear_to_ear,
                    held.rms,
                    held.p95,
                    100.0 * held.seen.min(1.0),
                    held.shift,
                    held.turn
                );
            }
            Err(fault) => println!("{name}: {fault}"),
        }
    }
}
