//! How long buying takes: invented orders of a dozen needs, six suppliers and
//! three pack sizes each.
//!
//! `cargo run --release -p salon --example bench_buy -- [ORDERS] [SOLVED]`; the first
//! SOLVED orders, 3 of them, are given to a general solver of integer programs too,
//! for [`LONGEST`] at most each.

#[path = "../tests/optimised/mod.rs"]
mod optimised;

use salon::stock::{Need, Order, Pack, StockLength, Supplier, buy};
use std::time::{Duration, Instant};

/// How long the general solver may take for an order.
const LONGEST: Duration = Duration::from_secs(60);

/// A small mixing generator, so that the orders are the same every time.
struct Mixer(u64);

impl Mixer {
    fn below(&mut self, bound: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % bound
    }
}

fn invented(seed: u64) -> Option<Order> {
    let mut mixer = Mixer(seed);
    let length = StockLength::mm(500.0)?;
    let names = ["ash", "birch", "cedar", "elm", "fir", "oak"];
    let suppliers = names
        .iter()
        .map(|id| Supplier {
            id: (*id).into(),
            shipping_minor: 600 + 100 * mixer.below(15) as i64,
            free_over_minor: (mixer.below(5) > 0).then(|| 15_000 + 1000 * mixer.below(30) as i64),
        })
        .collect();
    let mut need = Vec::new();
    let mut packs = Vec::new();
    for key in 0..12 {
        let shade = format!("S{key:02}");
        need.push(Need { shade: shade.clone(), length_mm: length, pieces: 4 + mixer.below(30) as u32 });
        let piece = 350 + mixer.below(250) as i64;
        for supplier in names {
            for pieces in [4_u32, 10, 20] {
                let rebate = 100 - i64::from(pieces) / 2 + mixer.below(20) as i64 - 10;
                packs.push(Pack {
                    id: format!("{supplier}-{shade}-{pieces}"),
                    supplier: supplier.into(),
                    shade: shade.clone(),
                    length_mm: length,
                    pieces,
                    price_minor: piece * i64::from(pieces) * rebate / 100,
                    available: (mixer.below(4) == 0).then(|| 1 + mixer.below(3) as u32),
                });
            }
        }
    }
    Some(Order { need, on_hand: Vec::new(), packs, suppliers, currency: measure::Currency::new("EUR")? })
}

fn main() {
    let orders: u64 = std::env::args().nth(1).and_then(|word| word.parse().ok()).unwrap_or(100);
    let mut times = Vec::new();
    let mut proved = 0;
    for order in (0..orders).filter_map(invented) {
        let start = Instant::now();
        let answer = buy(&order);
        times.push(start.elapsed().as_secs_f64() * 1e3);
        proved += u64::from(answer.is_ok_and(|purchase| purchase.proved_least));
    }
    times.sort_by(f64::total_cmp);
    let at = |share: f64| times.get(((times.len() as f64 - 1.0) * share) as usize).copied().unwrap_or(0.0);
    println!("our search: orders {} proved {proved} median {:.2} ms p90 {:.2} ms max {:.2} ms", times.len(), at(0.5), at(0.9), at(1.0));
    let solved: u64 = std::env::args().nth(2).and_then(|word| word.parse().ok()).unwrap_or(3);
    for order in (0..solved).filter_map(invented) {
        let ours = buy(&order).map_or(0, |purchase| purchase.cost_minor);
        let start = Instant::now();
        let theirs = optimised::least_cost(&order, Some(LONGEST)).map_or("nothing".to_owned(), |cost| cost.to_string());
        println!("a general solver: {theirs} (ours {ours}) after {:.0} ms", start.elapsed().as_secs_f64() * 1e3);
    }
}
