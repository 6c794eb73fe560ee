//! Times CIEDE2000 on many pairs: `cargo run --release -p colour --example bench_difference -- [PAIRS]`.
//! `benches/reference_difference.py` prints the same for the reference library.

use colour::{Lab, ciede2000, ciede2000_batch};
use std::time::Instant;

fn main() {
    let count: usize = std::env::args().nth(1).and_then(|n| n.parse().ok()).unwrap_or(10_000_000);
    let mut state = 1_u64;
    let mut next = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1_u64 << 53) as f64
    };
    let mut lab = || Lab::new(100.0 * next(), 200.0 * next() - 100.0, 200.0 * next() - 100.0);
    let pairs: Vec<[Lab; 2]> = (0..count).map(|_| [lab(), lab()]).collect();
    let mut best = f64::INFINITY;
    for round in 1..=5 {
        let start = Instant::now();
        let found = ciede2000_batch(&pairs);
        let seconds = start.elapsed().as_secs_f64();
        let sum: f64 = found.iter().sum();
        best = best.min(seconds);
        println!("batch, round {round}: {count} pairs in {seconds:.3} s, mean difference {:.6}", sum / count as f64);
    }
    println!("batch, best round: {best:.3} s");
    let part = &pairs[..count.min(1_000_000)];
    let start = Instant::now();
    let sum: f64 = part.iter().map(|[p, q]| ciede2000(*p, *q)).sum();
    let seconds = start.elapsed().as_secs_f64();
    println!("one by one, published steps: {} pairs in {seconds:.3} s, mean {:.6}", part.len(), sum / part.len() as f64);
}
