//! Holds whole-head plans against integer programming on the same places.
//!
//! `cargo run --release -p craft --example bench_judge -- [SECONDS [CLIENTS]]`
//!
//! The judge (tests/judge) shares nothing with the planner's search. Printed:
//! the plan's points, the judge's, and whether the judge could prove its own
//! within the seconds (60 unless told): for four cases, then for so many clients
//! drawn at random (24 unless told; the same ones each time).

#[path = "../tests/judge/mod.rs"]
mod judge;

use craft::coverage::{Part, Style, StyleFlow, TiesUp, floors};
use craft::hair::{Hair, HairFacts, Strand};
use craft::piece::{Piece, Tab};
use craft::placement::{LayoutLimits, Request, Symmetry, WORTH_ALONE, WORTH_NEAT, WORTH_SPREAD, place};
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
    Case {
        name: "fine, tied high",
        around: 552.0,
        density: 150.0,
        strand: Strand::Fine,
        styles: &[Style::Down, Style::HighPonytail],
        grams: 30.0,
        piece: 1.5,
    },
    Case {
        name: "half-up, fine",
        around: 545.0,
        density: 160.0,
        strand: Strand::Fine,
        styles: &[Style::Down, Style::HalfUp],
        grams: 30.0,
        piece: 1.2,
    },
    Case {
        name: "tied low, medium",
        around: 555.0,
        density: 190.0,
        strand: Strand::Medium,
        styles: &[Style::Down, Style::LowPonytail],
        grams: 60.0,
        piece: 2.5,
    },
    Case { name: "down, medium", around: 560.0, density: 180.0, strand: Strand::Medium, styles: &[Style::Down], grams: 100.0, piece: 2.5 },
];

/// Clients drawn at random: the same ones each time.
fn drawn(count: usize) -> Vec<Case> {
    let mut state = 0x5eed_u64;
    let mut draw = |from: f64, to: f64| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        from + (to - from) * ((state >> 11) as f64 / (1_u64 << 53) as f64)
    };
    const WORN: [&[Style]; 5] = [
        &[Style::Down],
        &[Style::Down, Style::LowPonytail],
        &[Style::Down, Style::HalfUp],
        &[Style::Down, Style::HighPonytail],
        &[Style::Down, Style::MidPonytail],
    ];
    (0..count)
        .map(|_| {
            let strand = [Strand::Fine, Strand::Medium, Strand::Coarse][draw(0.0, 3.0) as usize];
            Case {
                name: "drawn",
                around: draw(540.0, 575.0).round(),
                density: draw(130.0, 230.0).round(),
                strand,
                styles: WORN[draw(0.0, 5.0) as usize],
                grams: draw(15.0, 110.0).round(),
                piece: (draw(1.0, 2.6) * 10.0).round() / 10.0,
            }
        })
        .collect()
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let seconds: u64 = std::env::args().nth(1).map_or(Ok(60), |a| a.parse())?;
    let clients: usize = std::env::args().nth(2).map_or(Ok(24), |a| a.parse())?;
    let mut rules = RuleBook::standard();
    // The judge knows nothing of tidiness.
    for term in [&WORTH_NEAT, &WORTH_ALONE, &WORTH_SPREAD] {
        rules.set(term, 0.0)?;
    }
    let mut over = Vec::new();
    for case in CASES.iter().chain(&drawn(clients)) {
        over.extend(judged(case, &rules, seconds)?);
    }
    over.sort_by(f64::total_cmp);
    let mean = over.iter().sum::<f64>() / over.len().max(1) as f64;
    println!("{} proved: on average {mean:+.2} % from the best, worst {:+.2} %", over.len(), over.last().copied().unwrap_or(0.0));
    Ok(())
}

/// How far a case's plan lies from the best layout, %; nothing when there is no
/// plan or no proof.
fn judged(case: &Case, rules: &RuleBook, seconds: u64) -> Result<Option<f64>, Box<dyn std::error::Error>> {
    let fitted = fit(&Measures::of_circumference(Length::mm(case.around))).map_err(|f| format!("{f:?}"))?;
    let head = Head::new(&fitted, &Marks::default())?;
    let facts = HairFacts { density: Some(Density::per_cm2(case.density)), strand: Some(case.strand), ..HairFacts::default() };
    let hair = Hair::from_facts(&facts, Area::cm2(600.0), rules).map_err(|f| format!("{f:?}"))?;
    let flows = StyleFlow::all(&head, case.styles, Part::Centre, &hair, rules);
    let tab = Tab { width: Length::mm(40.0), height: Length::mm(9.0) };
    let piece = Piece::new(tab, Grams::g(case.piece), Length::mm(500.0)).map_err(|f| format!("{f:?}"))?;
    let limits = LayoutLimits { halves: false, ..LayoutLimits::of(floors(case.styles, TiesUp::Sometimes, rules), rules) };
    let mut request =
        Request { symmetry: Symmetry::Free, ..Request::first(&head, &hair, &flows, piece, Grams::g(case.grams), limits, rules) };
    request.limits.row_spacing = Length::mm(20.0);
    let started = Instant::now();
    let plan = match place(&request) {
        Ok(plan) => plan,
        Err(faults) => {
            println!("{}: refused by {:?}", case.name, faults.iter().map(|f| f.rule).collect::<Vec<_>>());
            return Ok(None);
        }
    };
    let planned = started.elapsed().as_secs_f64() * 1e3;
    let points = judge::points_of(&request, &plan);
    println!(
        "{} ({:.0} mm round, {:.0}/cm2, {:?}, {:?}, {:.0} g of {:.1} g): {} sandwiches in {} rows, {:.1} g short, {points:.1} points in {planned:.0} ms",
        case.name,
        case.around,
        case.density,
        case.strand,
        case.styles,
        case.grams,
        case.piece,
        plan.sites.len(),
        plan.rows.len(),
        plan.short.to_g(),
    );
    let started = Instant::now();
    let Some(best) = judge::best(&request, &head, &plan, seconds) else {
        println!("  judge: no answer in {seconds} s");
        return Ok(None);
    };
    let over = 100.0 * (points / best.points - 1.0);
    println!(
        "  judge, of {} places: {:.1} points in {:.1} s, {}; the plan lies {over:+.2} % from it",
        best.places,
        best.points,
        started.elapsed().as_secs_f64(),
        if best.proved { "proved best".to_owned() } else { format!("not proved, gap {:.2} %", 100.0 * best.gap.unwrap_or(f64::NAN)) },
    );
    Ok(best.proved.then_some(over))
}
