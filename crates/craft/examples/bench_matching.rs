//! Times whole-piece mixes: `cargo run --release -p craft --example bench_matching -- [PIECES] [SHADES] [RINGS]`.
//!
//! Over random rings of hair colours: targets among them, and targets that no
//! mix of hair reaches. Prints the median and the worst of each kind, by the clock
//! and, where the system tells it, by the time the processor spent on it.

use colour::Lab;
use craft::matching::{Ring, Shade, Target, match_ring};
use measure::RuleBook;
use std::{collections::BTreeMap, time::Instant};

fn main() {
    let mut given = std::env::args().skip(1).filter_map(|n| n.parse::<u32>().ok());
    let (pieces, count, rings) = (given.next().unwrap_or(60), given.next().unwrap_or(60), given.next().unwrap_or(5));
    let mut state = 7_u64;
    let mut next = |low: f64, high: f64| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        low + (high - low) * (state >> 11) as f64 / (1_u64 << 53) as f64
    };
    let far = [
        Lab::new(20.0, 2.0, -20.0),
        Lab::new(95.0, 0.0, 3.0),
        Lab::new(40.0, 45.0, 20.0),
        Lab::new(3.0, 0.0, 0.0),
        Lab::new(50.0, -40.0, 30.0),
        Lab::new(55.0, 5.0, 70.0),
        Lab::new(60.0, 0.0, 0.0),
        Lab::new(30.0, 30.0, -30.0),
    ];
    let mut times: BTreeMap<&str, Vec<[f64; 2]>> = BTreeMap::new();
    for _ in 0..rings {
        let mut lab = || Lab::new(next(14.0, 70.0), next(1.0, 18.0), next(3.0, 32.0));
        let shade = |i: u32, lab: Lab| Shade {
            code: format!("S{i:02}"),
            name: String::new(),
            lab_d65: Some(lab),
            xyz_d65: None,
            reflectance: None,
            measured_by: None,
            uncertainty_de00: None,
        };
        let ring = Ring { shades: (0..count).map(|i| shade(i, lab())).collect() };
        let targets = (0..8).map(|_| ("hair", lab())).chain(far.map(|lab| ("out of reach", lab)));
        for (kind, lab) in targets.collect::<Vec<_>>() {
            let (start, before) = (Instant::now(), busy());
            let found = match_ring(&Target::of(lab), &ring, pieces, &BTreeMap::new(), &RuleBook::standard());
            let ms = start.elapsed().as_secs_f64() * 1e3;
            let own = (busy() - before) * 1e3;
            times.entry(kind).or_default().push([ms, own]);
            match found {
                Ok(found) => println!(
                    "{kind:13} {:5.1} {:5.1} {:5.1}: {ms:7.1} ms, busy {own:6.1} ms, best {:.4}, {} shades",
                    lab.l,
                    lab.a,
                    lab.b,
                    found.mixes[0].de00,
                    found.mixes[0].pieces.len()
                ),
                Err(fault) => println!("{kind}: {fault}"),
            }
        }
    }
    for (kind, all) in times {
        for (k, measure) in ["clock", "busy"].into_iter().enumerate() {
            let mut all: Vec<f64> = all.iter().map(|both| both[k]).collect();
            all.sort_by(f64::total_cmp);
            println!(
                "{pieces} pieces, {count} shades, {kind}, {measure}: median {:.1} ms, worst {:.1} ms of {}",
                all[all.len() / 2],
                all[all.len() - 1],
                all.len()
            );
        }
    }
}

/// Seconds that this thread, which does all the work, has run; 0 where the
/// system does not say.
fn busy() -> f64 {
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").unwrap_or_default();
    told.split(' ').next().and_then(|ns| ns.parse::<f64>().ok()).unwrap_or(0.0) / 1e9
}
