//! Measures the layout search on a folder of instances with known optima.
//!
//! `cargo run --release -p craft --example bench_layout -- FOLDER [SEEDS [RESTARTS ROUNDS PATTERNS LABELS]]`

use craft::placement::LayoutInstance;
use craft::placement::search::{Effort, Signal, search};
use std::time::Instant;

/// Milliseconds of processor time this thread has had; of the clock where the
/// system does not tell.
fn spent(start: Instant) -> f64 {
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let nanoseconds = told.and_then(|t| t.split_whitespace().next().and_then(|n| n.parse::<f64>().ok()));
    nanoseconds.map_or_else(|| start.elapsed().as_secs_f64() * 1e3, |n| n / 1e6)
}

/// Runs measured together: the system tells processor time every few milliseconds only.
const AT_ONCE: usize = 4;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let start = Instant::now();
    let mut args = std::env::args().skip(1);
    let folder = args.next().ok_or("give the folder of instances")?;
    let seeds: u64 = args.next().map_or(Ok(3), |s| s.parse())?;
    let usual = Effort::default();
    let mut number = |or: usize| args.next().map_or(Ok(or), |s| s.parse::<usize>());
    let effort = Effort {
        restarts: number(usual.restarts)?,
        rounds: number(usual.rounds)?,
        patterns: number(usual.patterns)?,
        labels: number(usual.labels)?,
        ..usual
    };
    let mut files: Vec<_> = std::fs::read_dir(folder)?.filter_map(|f| f.ok().map(|f| f.path())).collect();
    files.retain(|f| f.extension().is_some_and(|e| e == "json"));
    files.sort();
    let (mut gaps, mut times, mut proved) = (Vec::new(), Vec::new(), 0);
    for file in &files {
        let value: serde_json::Value = serde_json::from_str(&std::fs::read_to_string(file)?)?;
        let instance: LayoutInstance = serde_json::from_value(value.clone())?;
        let optimum = value["optimum"]["objective"].as_i64();
        let board = instance.board();
        let mut line = String::new();
        for seed in 0..seeds {
            let before = spent(start);
            for _ in 1..AT_ONCE {
                std::hint::black_box(search(&board, seed, effort, &mut |_| Signal::GoOn)?);
            }
            let found = search(&board, seed, effort, &mut |_| Signal::GoOn)?;
            let ms = (spent(start) - before) / AT_ONCE as f64;
            for (i, &a) in found.best.places.iter().enumerate() {
                for &b in &found.best.places[i + 1..] {
                    assert!(!board.clash(&board.places[a], &board.places[b]), "{file:?}: places {a} and {b} clash");
                }
            }
            assert_eq!(board.layout(found.best.places.clone()).objective, found.best.objective);
            times.push(ms);
            proved += usize::from(found.is_proved());
            let best = optimum.unwrap_or(found.bound);
            assert!(found.bound <= best, "{file:?}: bound {} above the optimum {best}", found.bound);
            let gap = 100.0 * (found.best.objective - best) as f64 / best as f64;
            gaps.push(gap);
            line += &format!(" {gap:.2}%{}{ms:.1}ms", if found.is_proved() { "* " } else { "  " });
        }
        println!("{} {} places:{line}", file.file_name().unwrap_or_default().to_string_lossy(), board.places.len());
    }
    times.sort_by(f64::total_cmp);
    let n = gaps.len().max(1) as f64;
    println!(
        "runs {}: gap mean {:.4} % worst {:.3} %, optimal {:.1} %, proved {:.1} %; ms median {:.1} p90 {:.1} worst {:.1}",
        gaps.len(),
        gaps.iter().sum::<f64>() / n,
        gaps.iter().copied().fold(0.0, f64::max),
        100.0 * gaps.iter().filter(|g| **g <= 1e-9).count() as f64 / n,
        100.0 * proved as f64 / n,
        times.get(times.len() / 2).unwrap_or(&0.0),
        times.get(times.len() * 9 / 10).unwrap_or(&0.0),
        times.last().unwrap_or(&0.0)
    );
    Ok(())
}
