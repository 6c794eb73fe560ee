//! Measures the placement on whole heads: time, rows, sites, and whether the
//! layout is proved best on its partings.
//!
//! `cargo run --release -p craft --example bench_placement -- [REPEATS [map]]`
//! With `map` every site is listed.

use craft::coverage::{Part, Style, StyleFlow, TiesUp, floors};
use craft::hair::{Hair, HairFacts, Strand};
use craft::piece::{Piece, Tab};
use craft::placement::{Anchor, LayoutLimits, Placed, Placement, Request, Symmetry, judge, place};
use head::{Head, Marks, Measures, fit};
use measure::{Area, Density, Grams, Length, RuleBook};
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

struct Case {
    name: &'static str,
    circumference: f64,
    density: f64,
    strand: Strand,
    styles: &'static [Style],
    part: Part,
    grams: f64,
    piece_grams: f64,
}

const CASES: &[Case] = &[
    Case {
        name: "down, medium",
        circumference: 560.0,
        density: 180.0,
        strand: Strand::Medium,
        styles: &[Style::Down],
        part: Part::Centre,
        grams: 100.0,
        piece_grams: 2.5,
    },
    Case {
        name: "tied low, medium",
        circumference: 555.0,
        density: 190.0,
        strand: Strand::Medium,
        styles: &[Style::Down, Style::LowPonytail],
        part: Part::Left,
        grams: 100.0,
        piece_grams: 2.5,
    },
    Case {
        name: "tied high, medium",
        circumference: 550.0,
        density: 200.0,
        strand: Strand::Medium,
        styles: &[Style::Down, Style::HighPonytail],
        part: Part::None,
        grams: 80.0,
        piece_grams: 2.0,
    },
    Case {
        name: "every style, coarse",
        circumference: 575.0,
        density: 220.0,
        strand: Strand::Coarse,
        styles: &Style::ALL,
        part: Part::Right,
        grams: 120.0,
        piece_grams: 2.5,
    },
    Case {
        name: "half-up, fine",
        circumference: 545.0,
        density: 160.0,
        strand: Strand::Fine,
        styles: &[Style::Down, Style::HalfUp],
        part: Part::Centre,
        grams: 50.0,
        piece_grams: 1.2,
    },
    Case {
        name: "tied high, fine",
        circumference: 545.0,
        density: 140.0,
        strand: Strand::Fine,
        styles: &[Style::HighPonytail],
        part: Part::Centre,
        grams: 60.0,
        piece_grams: 1.2,
    },
];

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut args = std::env::args().skip(1);
    let repeats: usize = args.next().map_or(Ok(5), |a| a.parse())?;
    let listed = args.next().is_some();
    let start = Instant::now();
    let rules = RuleBook::standard();
    let mut all = Vec::new();
    for case in CASES {
        let fitted = fit(&Measures::of_circumference(Length::mm(case.circumference))).map_err(|f| format!("{f:?}"))?;
        let head = Head::new(&fitted, &Marks::default())?;
        let facts = HairFacts { density: Some(Density::per_cm2(case.density)), strand: Some(case.strand), ..HairFacts::default() };
        let hair = Hair::from_facts(&facts, Area::cm2(600.0), &rules).map_err(|f| format!("{f:?}"))?;
        let before = spent(start);
        let flows: Vec<StyleFlow> = case.styles.iter().map(|s| StyleFlow::new(&head, *s, case.part, &hair, &rules)).collect();
        let flows_ms = spent(start) - before;
        let tab = Tab { width: Length::mm(40.0), height: Length::mm(9.0) };
        let piece = Piece::new(tab, Grams::g(case.piece_grams), Length::mm(500.0)).map_err(|f| format!("{f:?}"))?;
        let limits = LayoutLimits::of(floors(case.styles, TiesUp::Sometimes, &rules), &rules);
        let request = Request::first(&head, &hair, &flows, piece, Grams::g(case.grams), limits, &rules);
        let mut times = Vec::new();
        let mut last = None;
        for _ in 0..repeats.max(1) {
            let before = spent(start);
            for _ in 0..AT_ONCE {
                last = Some(place(&request));
            }
            times.push((spent(start) - before) / AT_ONCE as f64);
        }
        times.sort_by(f64::total_cmp);
        all.extend_from_slice(&times);
        println!("{}: flows {flows_ms:.0} ms, placing {:.1} ms (worst {:.1})", case.name, times[times.len() / 2], times[times.len() - 1]);
        match last {
            Some(Ok(placement)) => tell(&request, &placement, listed, start),
            Some(Err(faults)) => faults.iter().for_each(|f| println!("  refused: {} [{}] {}", f.what, f.rule, f.cure)),
            None => {}
        }
    }
    all.sort_by(f64::total_cmp);
    println!("all: median {:.1} ms, worst {:.1} ms", all[all.len() / 2], all[all.len() - 1]);
    Ok(())
}

fn tell(request: &Request, placement: &Placement, listed: bool, start: Instant) {
    println!(
        "  {} rows, {} sites, {:.1} g short, {:.0} points, runners-up {:?}",
        placement.rows.len(),
        placement.sites.len(),
        placement.short.to_g(),
        placement.points,
        placement.runners_up.iter().map(|l| l.points.round()).collect::<Vec<_>>()
    );
    for fault in &placement.faults {
        println!("  {} [{}] {}", fault.what, fault.rule, fault.cure);
    }
    if let Some(site) = placement.sites.first() {
        let moved = Placed { above_nape: site.above_nape + Length::mm(1.0), along: site.along + Length::mm(2.0), piece: site.piece };
        let before = spent(start);
        for _ in 0..50 {
            std::hint::black_box(judge(request, &moved));
        }
        let ms = (spent(start) - before) / 50.0;
        let judged = judge(request, &moved);
        println!("  one dragged site judged in {ms:.2} ms: {:?}", judged.faults.iter().map(|f| (f.rule, &f.what)).collect::<Vec<_>>());
    }
    let in_already: Vec<Placed> =
        placement.sites.iter().map(|s| Placed { above_nape: s.above_nape, along: s.along, piece: s.piece }).collect();
    let half = in_already.len() / 2;
    let again = |name: &str, request: &Request| {
        let before = spent(start);
        for _ in 0..AT_ONCE {
            std::hint::black_box(place(request).is_ok());
        }
        let ms = (spent(start) - before) / AT_ONCE as f64;
        match place(request) {
            Ok(p) => println!("  {name}: {ms:.1} ms, {} sites, {:.1} g short, {:.0} points", p.sites.len(), p.short.to_g(), p.points),
            Err(faults) => println!("  {name}: {ms:.1} ms, refused by {:?}", faults.iter().map(|f| f.rule).collect::<Vec<_>>()),
        }
    };
    let copy = |placed: Vec<Placed>, earlier: Vec<Vec<Anchor>>, symmetry| Request {
        scalp: request.scalp,
        hair: request.hair,
        styles: request.styles.clone(),
        pieces: request.pieces.clone(),
        setting: request.setting,
        wish: request.wish,
        limits: request.limits.clone(),
        earlier,
        placed,
        left_out: Vec::new(),
        symmetry,
        rules: request.rules,
        seed: request.seed,
    };
    let anchors =
        placement.sites.iter().map(|s| Anchor { above_nape: s.above_nape, along: s.along, width: s.slice.length }).collect::<Vec<_>>();
    again("half of it in already", &copy(in_already[..half].to_vec(), Vec::new(), Symmetry::Mirrored));
    again("each side as it comes", &copy(Vec::new(), Vec::new(), Symmetry::Free));
    again("on hair used at the last visit", &copy(Vec::new(), vec![anchors.clone()], Symmetry::Mirrored));
    again("on hair used at two visits", &copy(Vec::new(), vec![anchors.clone(), anchors], Symmetry::Mirrored));
    if !listed {
        return;
    }
    for row in &placement.rows {
        println!(
            "  row {} {:?} {:?} {:.0} mm up, {:.0} mm long, {:?}",
            row.row,
            row.part,
            row.zone,
            row.above_nape.to_mm(),
            row.length.to_mm(),
            row.setting
        );
        for site in placement.sites.iter().filter(|s| s.row == row.row) {
            let least = site.coverage.values().copied().fold(1.0, f64::min);
            println!(
                "    {} at {:.1} mm, tab {:.0} mm, slice {:.1} x {:.1} mm, cover {least:.3}, {:.0} mm from {:?}, index {:.0}",
                site.id,
                site.along.to_mm(),
                site.piece.tab.width.to_mm(),
                site.slice.length.to_mm(),
                site.slice.thickness.to_mm(),
                site.clearance.to_mm(),
                site.clearance_to,
                site.slice.traction.index.value
            );
        }
    }
}
