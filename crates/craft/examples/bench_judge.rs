//! Holds whole-head plans against integer programming on the same places.
//!
//! `cargo run --release -p craft --example bench_judge -- [SECONDS]`
//!
//! The judge (tests/judge) shares nothing with the planner's search. Printed:
//! the plan's points, the judge's, and whether the judge could prove its own
//! within the seconds (60 unless told).

#[path = "../tests/judge/mod.rs"]
mod judge;

use craft::coverage::{Part, Style, StyleFlow, TiesUp, floors};
use craft::hair::{Hair, HairFacts, Strand};
use craft::piece::{Piece, Setting, Tab};
use craft::placement::{Hiding, Limits, Request, Symmetry, WORTH_ALONE, WORTH_NEAT, WORTH_SPREAD, place};
use head::{Head, Marks, Measures, fit};
use measure::{Area, Density, Grams, Length, RuleBook};
use std::time::Instant;

struct Case {
    name: &'static str,
    around: f64,
    density: f64,
    strand: Strand,
    styles: &'static [Style],
    grams: f64,
    piece: f64,
}

const CASES: &[Case] = &[
    Case { name: "fine, tied high", around: 552.0, density: 150.0, strand: Strand::Fine, styles: &[Style::Down, Style::HighPonytail], grams: 30.0, piece: 1.5 },
    Case { name: "half-up, fine", around: 545.0, density: 160.0, strand: Strand::Fine, styles: &[Style::Down, Style::HalfUp], grams: 30.0, piece: 1.2 },
    Case { name: "tied low, medium", around: 555.0, density: 190.0, strand: Strand::Medium, styles: &[Style::Down, Style::LowPonytail], grams: 60.0, piece: 2.5 },
    Case { name: "down, medium", around: 560.0, density: 180.0, strand: Strand::Medium, styles: &[Style::Down], grams: 100.0, piece: 2.5 },
];

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let seconds: u64 = std::env::args().nth(1).map_or(Ok(60), |a| a.parse())?;
    let mut rules = RuleBook::standard();
    // The judge knows nothing of tidiness.
    for term in [&WORTH_NEAT, &WORTH_ALONE, &WORTH_SPREAD] {
        rules.set(term, 0.0)?;
    }
    for case in CASES {
        let fitted = fit(&Measures::of_circumference(Length::mm(case.around))).map_err(|f| format!("{f:?}"))?;
        let head = Head::new(&fitted, &Marks::default())?;
        let facts = HairFacts { density: Some(Density::per_cm2(case.density)), strand: Some(case.strand), ..HairFacts::default() };
        let hair = Hair::from_facts(&facts, Area::cm2(600.0), &rules).map_err(|f| format!("{f:?}"))?;
        let flows = StyleFlow::all(&head, case.styles, Part::Centre, &hair, &rules);
        let tab = Tab { width: Length::mm(40.0), height: Length::mm(9.0) };
        let piece = Piece::new(tab, Grams::g(case.piece), Length::mm(500.0)).map_err(|f| format!("{f:?}"))?;
        let mut request = Request {
            scalp: &head,
            hair: &hair,
            styles: flows.iter().map(|f| f as &dyn Hiding).collect(),
            pieces: vec![piece],
            setting: Setting::Sandwich,
            wish: Grams::g(case.grams),
            limits: Limits { halves: false, ..Limits::of(floors(case.styles, TiesUp::Sometimes, &rules), &rules) },
            earlier: Vec::new(),
            placed: Vec::new(),
            left_out: Vec::new(),
            symmetry: Symmetry::Free,
            rules: &rules,
            seed: 1,
        };
        request.limits.row_spacing = Length::mm(20.0);
        let started = Instant::now();
        let plan = match place(&request) {
            Ok(plan) => plan,
            Err(faults) => {
                println!("{}: refused by {:?}", case.name, faults.iter().map(|f| f.rule).collect::<Vec<_>>());
                continue;
            }
        };
        let planned = started.elapsed().as_secs_f64() * 1e3;
        let points = judge::points_of(&request, &plan);
        println!(
            "{}: {} sandwiches in {} rows, {:.1} g short, {points:.1} points in {planned:.0} ms",
            case.name,
            plan.sites.len(),
            plan.rows.len(),
            plan.short.to_g(),
        );
        let started = Instant::now();
        match judge::best(&request, &head, &plan, seconds) {
            Some(best) => println!(
                "  judge, of {} places: {:.1} points in {:.1} s, {}; the plan lies {:+.2} % from it",
                best.places,
                best.points,
                started.elapsed().as_secs_f64(),
                if best.proved { "proved best".to_owned() } else { format!("not proved, gap {:.2} %", 100.0 * best.gap.unwrap_or(f64::NAN)) },
                100.0 * (points / best.points - 1.0)
            ),
            None => println!("  judge: no answer in {:.0} s", started.elapsed().as_secs_f64()),
        }
    }
    Ok(())
}
