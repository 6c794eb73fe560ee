//! What laying out one head costs, and what it gives: `cargo run --release -p head --example bench_head`.
use head::{Border, Head, Marks, Measures, SkinPoint, fit};
use measure::Length;
use std::time::Instant;

/// The least of several timings, in seconds: what the work itself takes.
fn least(times: u32, mut work: impl FnMut()) -> f64 {
    (0..times).fold(f64::INFINITY, |best, _| {
        let started = Instant::now();
        work();
        best.min(started.elapsed().as_secs_f64())
    })
}

fn main() {
    let measures = Measures::of_circumference(Length::mm(560.0));
    let Ok(fitted) = fit(&measures) else { return };
    let Ok(head) = Head::new(&fitted, &Marks::default()) else { return };
    println!("fit {:.0} us", 1e6 * least(20, || drop(fit(&measures))));
    println!("Head::new {:.2} ms", 1e3 * least(20, || drop(Head::new(&fitted, &Marks::default()))));
    println!("one parting {:.0} us", 1e6 * least(20, || drop(head.parting(Length::mm(70.0)))));
    let count = head.mesh().vertices().len() as f64;
    let each = |name: &str, ask: &dyn Fn(SkinPoint)| {
        let seconds = least(5, || head.mesh().vertices().iter().for_each(|v| ask(SkinPoint(*v))));
        println!("{name} {:.0} ns", 1e9 * seconds / count);
    };
    each("height_above_nape", &|p| {
        std::hint::black_box(head.height_above_nape(p));
    });
    each("clearance from an ear", &|p| {
        std::hint::black_box(head.clearance(Border::LeftEar, p));
    });
    each("bears_hair", &|p| {
        std::hint::black_box(head.bears_hair(p));
    });
    each("normal", &|p| {
        std::hint::black_box(head::SmoothSkin::normal(head.shape(), p.0));
    });
    let fresh = Head::new(&fitted, &Marks::default());
    if let Ok(fresh) = fresh {
        println!("first place on the map {:.1} ms", 1e3 * least(1, || {
            std::hint::black_box(fresh.to_map(fresh.landmarks().crown));
        }));
    }
    for height in (1..).map(|k| 10.0 * f64::from(k)) {
        let Some(parting) = head.parting(Length::mm(height)) else { break };
        let end = parting.points()[parting.points().len() - 1];
        println!(
            "  parting {height:3.0} mm above the nape: {:5.1} mm long, ends at {:.0} {:.0} {:.0}, {:?} in the middle",
            parting.length().to_mm(), end.0[0], end.0[1], end.0[2],
            parting.at(Length::ZERO).map(|p| head.zone(p)),
        );
    }
    let marks = head.landmarks();
    for (name, p) in [("crown", marks.crown), ("occipital bone", marks.occipital), ("vertex", marks.vertex), ("tied low", marks.tied_low), ("tied mid", marks.tied_mid), ("tied high", marks.tied_high)] {
        let map = head.to_map(p);
        println!("  {name}: {:.0} {:.0} {:.0}, {:.1} mm above the nape, map {:.0} {:.0}, give or take {:.1} mm", p.0[0], p.0[1], p.0[2], head.height_above_nape(p).to_mm(), map.x, map.y, head.sigma_at(p).to_mm());
    }
    println!("  map: {:?}", head.map_distortion());
}
