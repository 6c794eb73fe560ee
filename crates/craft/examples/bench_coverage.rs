//! Speed and error of the coverage tracing: run with `--release`.
//!
//! Prints the worst relative error against each closed form on sphere and
//! spheroid, and for each style on one head the time to build its flow, to look
//! a bond up, and to paint the heat map of the head's mesh.

use craft::coverage::{CheckStyle, CoverageCase, Part, Style, StyleFlow, SurfaceCase, check_coverage};
use craft::hair::{Hair, HairFacts, Strand, scalp_area_of};
use head::{Head, Marks, Measures, SkinPoint, fit};
use measure::real::{cos, sin, tan};
use measure::{Density, Length, RuleBook};
use std::hint::black_box;
use std::time::Instant;

fn main() {
    closed_forms();
    let measures = Measures::of_circumference(Length::mm(560.0));
    let Ok(fit) = fit(&measures) else { return eprintln!("the measures give no head") };
    let Ok(head) = Head::new(&fit, &Marks::default()) else { return eprintln!("the marks give no head") };
    let book = RuleBook::standard();
    let facts = HairFacts { density: Some(Density::per_cm2(180.0)), strand: Some(Strand::Medium), ..HairFacts::default() };
    let Ok(hair) = Hair::from_facts(&facts, scalp_area_of(measures.circumference, &book), &book) else {
        return eprintln!("the facts give no hair");
    };
    for style in Style::ALL {
        let parts: &[Part] = if style == Style::Down { &[Part::Centre, Part::Left, Part::None] } else { &[Part::Centre] };
        for part in parts {
            on_a_head(&head, style, *part, &hair, &book);
        }
    }
}

fn on_a_head(head: &Head, style: Style, part: Part, hair: &Hair, book: &RuleBook) {
    let (mut build, mut paint) = (f64::INFINITY, f64::INFINITY);
    let mut lookup = 0.0;
    for _ in 0..5 {
        let started = Instant::now();
        let flow = StyleFlow::new(head, style, part, hair, book);
        build = build.min(started.elapsed().as_secs_f64());
        let started = Instant::now();
        black_box(flow.coverage_by_vertex(head.mesh()));
        paint = paint.min(started.elapsed().as_secs_f64());
        let places: Vec<SkinPoint> = head.mesh().vertices().iter().map(|p| SkinPoint(*p)).filter(|p| head.bears_hair(*p)).collect();
        let started = Instant::now();
        for place in &places {
            black_box(flow.at(*place));
        }
        lookup = started.elapsed().as_secs_f64() / places.len() as f64;
    }
    println!(
        "{:14} {part:?}: flow {:.1} ms, heat map of {} corners {:.1} ms, one lookup {:.2} us",
        style.word(),
        build * 1e3,
        head.mesh().vertices().len(),
        paint * 1e3,
        lookup * 1e6
    );
}

fn closed_forms() {
    let base = CoverageCase {
        surface: SurfaceCase { sphere_radius_mm: Some(90.0), spheroid_mm: None },
        style: CheckStyle::Tied,
        density_per_cm2: 180.0,
        diameter_um: 70.0,
        hairline_angle_rad: Some(1.75),
        slice_angle_rad: None,
        bond_angle_rad: None,
        part_distance_rad: None,
        latitude_rad: None,
    };
    let worst = |name: &str, cases: &mut dyn Iterator<Item = (CoverageCase, f64)>| {
        let mut worst: f64 = 0.0;
        let mut count = 0;
        for (case, closed) in cases {
            match check_coverage(&case) {
                Ok(answer) => worst = worst.max((answer.covering_flux_per_cm / closed - 1.0).abs()),
                Err(fault) => println!("{name}: {fault}"),
            }
            count += 1;
        }
        println!("{name}: worst of {count} {:.6} %", worst * 100.0);
    };
    let grid = |from: f64, to: f64| (0..60).map(move |i| from + (to - from) * f64::from(i) / 59.0);
    let rho_r = 1620.0;
    worst(
        "1 tail on a sphere",
        &mut grid(0.05, 1.74).map(|th| (CoverageCase { bond_angle_rad: Some(th), ..base }, rho_r * (cos(th) - cos(1.75)) / sin(th))),
    );
    worst(
        "2 bond in a tail",
        &mut grid(0.15, 1.74).map(|th| {
            let bond = th - 0.5 / 9.0;
            let case = CoverageCase { slice_angle_rad: Some(th), bond_angle_rad: Some(bond), ..base };
            (case, rho_r * (cos(th) - cos(1.75)) / sin(bond))
        }),
    );
    let whorl = CoverageCase { style: CheckStyle::Whorl, hairline_angle_rad: None, ..base };
    worst(
        "3 fall from a whorl",
        &mut grid(0.03, 2.6).map(|th| (CoverageCase { bond_angle_rad: Some(th), ..whorl }, rho_r * tan(th / 2.0))),
    );
    let parted = CoverageCase { style: CheckStyle::Parted, ..whorl };
    worst(
        "4 off a part",
        &mut grid(0.03, 2.6).flat_map(|th| [-1.0, 0.0, 0.5, 1.1].map(|l| (th, l))).map(|(th, latitude)| {
            let case = CoverageCase { part_distance_rad: Some(th), latitude_rad: Some(latitude), ..parted };
            (case, rho_r * cos(latitude) * th)
        }),
    );
    let spheroid = SurfaceCase { sphere_radius_mm: None, spheroid_mm: Some([78.0, 105.0]) };
    let band = |from: f64, to: f64| {
        let step = (to - from) / 4000.0;
        (0..4000)
            .map(|i| {
                let u = from + (f64::from(i) + 0.5) * step;
                let (x, z) = (7.8 * cos(u), 10.5 * sin(u));
                7.8 * sin(u) * (x * x + z * z).sqrt() * step
            })
            .sum::<f64>()
    };
    worst(
        "5 tail on a spheroid",
        &mut grid(0.05, 1.69).map(|th| {
            let case = CoverageCase { surface: spheroid, hairline_angle_rad: Some(1.7), bond_angle_rad: Some(th), ..base };
            (case, 180.0 * band(th, 1.7) / (7.8 * sin(th)))
        }),
    );
    worst(
        "5 fall on a spheroid",
        &mut grid(0.03, 2.6)
            .map(|th| (CoverageCase { surface: spheroid, bond_angle_rad: Some(th), ..whorl }, 180.0 * band(0.0, th) / (7.8 * sin(th)))),
    );
    worst(
        "5 part on a spheroid",
        &mut grid(0.03, 2.6).map(|th| {
            let case = CoverageCase { surface: spheroid, part_distance_rad: Some(th), latitude_rad: Some(0.6), ..parted };
            (case, 180.0 * 7.8 * cos(0.6) * th)
        }),
    );
}
