//! Lays out one head and prints what it costs and what it gives.
use head::{Head, Marks, Measures, SkinPoint, fit};
use measure::Length;
use std::time::Instant;

fn main() {
    let measures = Measures::of_circumference(Length::mm(560.0));
    let Ok(fit) = fit(&measures) else { return };
    let Ok(head) = Head::new(&fit, &Marks::default()) else { return };
    let mut best = f64::INFINITY;
    for _ in 0..10 {
        let started = Instant::now();
        let again = Head::new(&fit, &Marks::default());
        best = best.min(started.elapsed().as_secs_f64());
        assert!(again.is_ok());
    }
    println!("Head::new {:.2} ms", best * 1e3);
    let started = Instant::now();
    let mut sum = 0.0;
    for v in head.mesh().vertices() {
        sum += head.height_above_nape(SkinPoint(*v)).to_mm();
    }
    println!("height_above_nape {:.0} ns (sum {sum:.0})", started.elapsed().as_secs_f64() * 1e9 / head.mesh().vertices().len() as f64);
    let started = Instant::now();
    for h in 1..=30 {
        let parting = head.parting(Length::mm(10.0 * f64::from(h)));
        if let Some(p) = parting {
            let (_, end) = p.extent();
            let e = p.points()[p.points().len() - 1].0;
            println!("  parting {:3.0} mm above the nape: {:5.1} mm long, {} points, ends {:.0} {:.0} {:.0}, zone {:?}, middle {:?} {:.1}", p.above_nape().to_mm(), p.length().to_mm(), p.points().len(), e[0], e[1], e[2], head.zone(SkinPoint(e)), p.at(Length::ZERO).map(|p| (head.zone(p), p.0.map(|c| c.round()))), end.to_mm());
        }
    }
    println!("30 partings {:.2} ms", started.elapsed().as_secs_f64() * 1e3);
    let l = head.landmarks();
    for (name, p) in [("crown", l.crown), ("occipital", l.occipital), ("vertex", l.vertex), ("tied low", l.tied_low), ("tied mid", l.tied_mid), ("tied high", l.tied_high)] {
        println!("  {name}: {:?} height {:.1} map {:?} sigma {:.1}", p.0.map(|c| c.round()), head.height_above_nape(p).to_mm(), head.to_map(p), head.sigma_at(p).to_mm());
    }
    for (name, line) in [("nape", &l.nape_hairline), ("front", &l.front_hairline), ("right ear", &l.right_ear), ("horseshoe", &l.horseshoe), ("ear to ear", &l.ear_to_ear)] {
        println!("  {name} {} points", line.len());
        for p in line.iter().skip(if name == "right ear" { 0 } else { line.len() / 2 }).step_by(6) {
            let m = head.to_map(*p);
            println!("     {:?} map {:.0} {:.0}", p.0.map(|c| c.round()), m.x, m.y);
        }
    }
    let started = Instant::now();
    println!("distortion {:?} in {:.1} ms", head.map_distortion(), started.elapsed().as_secs_f64() * 1e3);
    for w in head.warnings() {
        println!("  warning: {w}");
    }
}
