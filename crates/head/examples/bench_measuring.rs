//! What the measuring page asks of a head at every key: the fit, the courses of
//! the tapes, what one more measure brings, and the outline from three sides.
//!
//! `cargo run --release -p head --example bench_measuring`
use head::{Courses, FacedSkin, Marks, Measures, View, fit, outlook};
use measure::{Angle, Length};
use std::hint::black_box;
use std::time::Instant;

fn main() {
    const ROUNDS: u32 = 200;
    let mut spent = [0.0; 4];
    for round in 0..ROUNDS {
        let mut measures = Measures::of_circumference(Length::mm(520.0 + 0.4 * f64::from(round)));
        measures.ear_to_ear_over_crown = Some(Length::mm(343.0));
        let mut started = Instant::now();
        let mut lap = |part: &mut f64| {
            *part += started.elapsed().as_secs_f64();
            started = Instant::now();
        };
        let Ok(fitted) = fit(&measures) else { continue };
        lap(&mut spent[0]);
        let Ok(courses) = Courses::of(&fitted, &Marks::default()) else { continue };
        lap(&mut spent[1]);
        black_box(outlook(&fitted));
        lap(&mut spent[2]);
        let skin = FacedSkin::new(courses.shape());
        for (turn, rise) in [(0.0, 0.0), (90.0, 0.0), (0.0, 90.0)] {
            black_box(View::new(Angle::deg(turn), Angle::deg(rise)).outline(&skin, 112));
        }
        lap(&mut spent[3]);
    }
    for (name, time) in ["fit", "courses", "outlook", "three outlines"].iter().zip(spent) {
        println!("{name}: {:.0} us", time / f64::from(ROUNDS) * 1e6);
    }
}
