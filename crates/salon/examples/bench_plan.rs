//! Measures the making of whole plans, and the parts that take longest.
//!
//! `cargo run --release -p salon --example bench_plan -- RING.json STOCK.json CLIENT.toml…`
//! For every client the first plan of the process (tables still to be made, for
//! the first client), the median and the worst of the rest; then head, flows
//! and map by themselves, the ways on from a plan that stops short, and the
//! answers to a dragged sandwich and to a tap on a free place (the slowest of a
//! grid over the back of the head).

use craft::coverage::StyleFlow;
use craft::hair::{Hair, scalp_area_of};
use craft::matching::Ring;
use head::Head;
use measure::{Length, RuleBook};
use salon::client::ClientFile;
use salon::make::head_model::StandingSandwich;
use salon::make::{Supplies, head_model, make, stops_short, ways};
use salon::stock::Order;
use std::time::Instant;

/// Plans made of each client after the first.
const REPEATS: usize = 15;

/// Milliseconds by the clock, and of processor time where the system tells
/// (which other work on the machine does not lengthen).
#[derive(Clone, Copy)]
struct Spent {
    clock: f64,
    processor: f64,
}

fn processor_ms() -> f64 {
    let told = std::fs::read_to_string("/proc/self/schedstat").ok();
    told.and_then(|t| t.split_whitespace().next().and_then(|n| n.parse::<f64>().ok())).map_or(f64::NAN, |n| n / 1e6)
}

fn spent(run: &mut dyn FnMut()) -> Spent {
    let (start, before) = (Instant::now(), processor_ms());
    run();
    Spent { clock: start.elapsed().as_secs_f64() * 1e3, processor: processor_ms() - before }
}

/// Median and worst by the clock; mean processor time.
fn repeated(run: &mut dyn FnMut()) -> (Spent, f64) {
    let mut all: Vec<f64> = Vec::new();
    let whole = spent(&mut || {
        for _ in 0..REPEATS {
            all.push(spent(run).clock);
        }
    });
    all.sort_by(f64::total_cmp);
    (Spent { clock: all[all.len() / 2], processor: whole.processor / REPEATS as f64 }, all[all.len() - 1])
}

fn middle_and_slowest(all: &mut [f64]) -> (f64, f64) {
    all.sort_by(f64::total_cmp);
    (all.get(all.len() / 2).copied().unwrap_or(f64::NAN), all.last().copied().unwrap_or(f64::NAN))
}

impl std::fmt::Display for Spent {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:.1} ms (processor {:.1})", self.clock, self.processor)
    }
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut args = std::env::args().skip(1);
    let (Some(ring), Some(stock)) = (args.next(), args.next()) else {
        return Err("give the ring, the stock and at least one client".into());
    };
    let ring: Ring = serde_json::from_str(&std::fs::read_to_string(ring)?)?;
    let shelf: Order = serde_json::from_str(&std::fs::read_to_string(stock)?)?;
    let supplies = Supplies { ring: Some(&ring), shelf: Some(&shelf), reading: None, observed: None, hers: None };
    let book = RuleBook::standard();
    let mut medians = Vec::new();
    for path in args {
        let client: ClientFile = toml::from_str(&std::fs::read_to_string(&path)?)?;
        let facts = client.check().map_err(|faults| format!("{path}: {faults:?}"))?;
        let mut sites = 0;
        let mut run = || {
            let made = make(&facts, &supplies, 1, &book);
            sites = made.as_ref().map_or(0, |made| made.plan.sites.len());
            std::hint::black_box(made.is_ok());
        };
        let first = spent(&mut run);
        let (middle, worst) = repeated(&mut run);
        println!("{path}: first {first}, then median {middle}, worst {worst:.1} ms, {sites} sites");
        if sites == 0 {
            continue;
        }
        medians.push(middle.clock);
        let fit = head::fit(&facts.head.measures).map_err(|faults| format!("{faults:?}"))?;
        let marks = facts.head.marks.clone();
        let head = Head::new(&fit, &marks)?;
        let hair = Hair::from_facts(&facts.hair, scalp_area_of(facts.head.measures.circumference, &book), &book)
            .map_err(|faults| format!("{faults:?}"))?;
        let (made, _) = repeated(&mut || {
            std::hint::black_box(Head::new(&fit, &marks).is_ok());
        });
        let (drawn, _) = repeated(&mut || {
            if let Ok(head) = Head::new(&fit, &marks) {
                std::hint::black_box(head.panel_outlines());
            }
        });
        println!("  head {made}, head and map {drawn}");
        for &style in &facts.wish.styles {
            let (flow, _) = repeated(&mut || {
                std::hint::black_box(StyleFlow::new(&head, style, facts.wish.part, &hair, &book));
            });
            println!("  flow {}: {flow}", style.word());
        }
        let plan = make(&facts, &supplies, 1, &book).map_err(|faults| format!("{faults:?}"))?.plan;
        if stops_short(&plan) {
            let mut told = 0;
            let on = spent(&mut || told = ways(&client, &supplies, &plan, 1, &book).map_or(0, |ways| ways.len()));
            println!("  {told} ways on: {on}");
        }
        let model = head_model(&facts, &book).map_err(|faults| format!("{faults:?}"))?;
        let standing: Vec<StandingSandwich> = plan.sites.iter().map(StandingSandwich::of).collect();
        let (mut tapped, mut dragged) = (Vec::new(), Vec::new());
        for up in (20..220).step_by(10) {
            let above_nape = Length::mm(f64::from(up));
            for place in model.parting(above_nape).iter().step_by(3) {
                tapped.push(spent(&mut || _ = std::hint::black_box(model.why_not(place.at_mm, &standing))).clock);
            }
            if let Some((moved, others)) = standing.split_first() {
                let at = StandingSandwich { above_nape, ..*moved };
                dragged.push(spent(&mut || _ = std::hint::black_box(model.judge(at, others))).clock);
            }
        }
        let (middle, slowest) = middle_and_slowest(&mut tapped);
        println!("  why not here, {} taps: median {middle:.2}, slowest {slowest:.2} ms", tapped.len());
        let (middle, slowest) = middle_and_slowest(&mut dragged);
        println!("  one dragged sandwich, {} places: median {middle:.2}, slowest {slowest:.2} ms", dragged.len());
    }
    medians.sort_by(f64::total_cmp);
    if let Some(middle) = medians.get(medians.len() / 2) {
        println!("all: median {middle:.1} ms");
    }
    Ok(())
}
