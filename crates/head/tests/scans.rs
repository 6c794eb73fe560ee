//! The model fitted to two tapes, held against scanned heads that had no part in it.

#[path = "../examples/shared/scan.rs"]
mod scan;

use head::{ScalpShape, SmoothSkin};
use measure::real;
use scan::Scan;
use std::f64::consts::PI;
use std::fmt::Write as _;

/// A table of the radii of some skin, 4 degrees apart.
fn table(radius: impl Fn([f64; 3]) -> f64) -> String {
    let mut text = String::new();
    for i in 0..=45 {
        let (sine, cosine) = real::sincos(PI * f64::from(i) / 45.0);
        for j in 0..90 {
            let (s, c) = real::sincos(PI * f64::from(j) / 45.0);
            let _ = write!(text, "{:.3} ", radius([sine * c, sine * s, cosine]));
        }
        text.push('\n');
    }
    text
}

#[test]
fn two_tapes_give_the_scalps_of_scanned_heads() {
    // One man's head and a mean of several: see the data folder's README.
    for (name, text) in [("one man", include_str!("data/scalp_one_man.txt")), ("mean", include_str!("data/scalp_mean.txt"))] {
        let held = Scan::read(text).unwrap().held().unwrap();
        assert!(held.rms <= 2.2, "{name}: {:.2} mm", held.rms);
        assert!(held.p95 <= 2.5 * held.rms, "{name}: a few places {:.1} mm off carry the error", held.p95);
        // The tapes are met to the error that the fit grants them.
        assert!(
            (held.circumference - held.model[0]).abs() < 6.4 && (held.ear_to_ear - held.model[1]).abs() < 9.0,
            "{name}: {:?}",
            held.model
        );
        // No more than landmarks on a scan may be off.
        assert!(held.shift < 10.0 && held.turn < 15.0, "{name}: moved {:.1} mm, {:.1} degrees", held.shift, held.turn);
        assert!(held.seen > 0.95, "{name}: the scan shows {} of the hair-bearing region", held.seen);
    }
}

#[test]
fn tapes_on_a_sphere_are_as_long_as_its_circles() {
    const R: f64 = 92.0;
    let ball = Scan::read(&table(|_| R)).unwrap();
    assert!((ball.circumference() - 2.0 * PI * R).abs() < 0.2, "{}", ball.circumference());
    // The ear-to-ear tape's plane holds the x axis and the way up; the ball's
    // centre lies beside it, and above the ears' level.
    let (up, centre) = (ScalpShape::up(), [0.0, 12.0, 40.0]);
    let height = centre[1] * up[1] + centre[2] * up[2];
    let beside = centre[1] * up[2] - centre[2] * up[1];
    let r = (R * R - beside * beside).sqrt();
    let arch = 2.0 * r * (PI - real::acos(height / r));
    assert!((ball.ear_to_ear() - arch).abs() < 0.2, "{} for {arch}", ball.ear_to_ear());
}

#[test]
fn a_scan_of_the_model_itself_lies_on_the_model() {
    let shape = ScalpShape::template().stretched([1.03, 1.02, 1.04]);
    let c = [0.0, 12.0, 40.0];
    let radius = |u: [f64; 3]| {
        let (mut low, mut high) = (0.0, 250.0);
        for _ in 0..40 {
            let middle = 0.5 * (low + high);
            let p = [0, 1, 2].map(|k| c[k] + middle * u[k]);
            let out = |q: [f64; 3]| (0..3).map(|k| (q[k] - shape.centre()[k]) * (q[k] - shape.centre()[k])).sum::<f64>();
            if out(p) < out(shape.project(p)) { low = middle } else { high = middle }
        }
        low
    };
    let held = Scan::read(&table(radius)).unwrap().held().unwrap();
    // What is left is what two tapes cannot tell of three stretches.
    assert!(held.rms < 0.8, "{:.2} mm", held.rms);
}

#[test]
fn a_ball_is_told_from_a_head() {
    let held = Scan::read(&table(|_| 89.0)).unwrap().held().unwrap();
    assert!(held.rms > 2.2, "{:.2} mm", held.rms);
}

#[test]
fn a_broken_table_is_refused_in_words() {
    assert!(Scan::read("").is_err_and(|fault| fault.contains("rows")));
    assert!(Scan::read("1 2 x\n").is_err_and(|fault| fault.contains("\"x\"")));
    assert!(Scan::read(&table(|_| 80.0).replacen("80.000 ", "", 1)).is_err());
}
