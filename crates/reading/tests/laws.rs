//! Laws that reading keeps: what goes out comes back, what does not matter does not count.

#[path = "../examples/shared/drawn.rs"]
mod drawn;

use colour::ciede2000;
use drawn::chart_beside_hair;
use proptest::prelude::*;
use reading::{FoundChart, Marks, Swatch, linear_to_srgb, patch_pitch, read, read_swatches, srgb_to_linear, sure_of_difference};

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn light_coded_and_decoded_is_the_same_light(x in 0.0..1.0_f64, y in 0.0..1.0_f64) {
        // The standard's two branches meet to about 1e-7.
        prop_assert!((srgb_to_linear(linear_to_srgb(x)) - x).abs() < 2e-7 && (linear_to_srgb(srgb_to_linear(x)) - x).abs() < 2e-6);
        prop_assert_eq!(srgb_to_linear(x) < srgb_to_linear(y), x < y);
        prop_assert!(srgb_to_linear(x) <= x && linear_to_srgb(x) >= x);
    }

    #[test]
    fn the_size_of_a_patch_follows_the_chart_wherever_it_lies(
        pitch in 10.0..80.0_f64, x in 0.0..500.0_f64, y in 0.0..500.0_f64, turn in 0.0..6.3_f64, squeezed in 0.2..1.0_f64, side in 0..4_usize,
    ) {
        let (s, c) = turn.sin_cos();
        let at = |u: f64, v: f64| [x + pitch * (c * u - s * v), y + pitch * (s * u + c * v)];
        let corners = [at(0.0, 0.0), at(6.0, 0.0), at(6.0, 4.0), at(0.0, 4.0)];
        prop_assert!((patch_pitch(&corners) - pitch).abs() < 1e-6 * pitch, "{}", patch_pitch(&corners));
        // Seen aslant, one side is the shortest: its patches are the smallest.
        let mut aslant = corners;
        for axis in 0..2 {
            let (from, to) = (corners[side][axis], corners[(side + 1) % 4][axis]);
            aslant[side][axis] = (from + to) / 2.0 + squeezed * (from - to) / 2.0;
            aslant[(side + 1) % 4][axis] = (from + to) / 2.0 + squeezed * (to - from) / 2.0;
        }
        prop_assert!((patch_pitch(&aslant) - squeezed * pitch).abs() < 1e-6 * pitch, "{} of {squeezed}", patch_pitch(&aslant));
    }

    #[test]
    fn a_point_lies_on_the_chart_or_its_frame_and_nowhere_else(pitch in 10.0..80.0_f64, turn in 0.0..6.3_f64, u in 0.0..1.0_f64, v in 0.0..1.0_f64) {
        let (s, c) = turn.sin_cos();
        let at = |u: f64, v: f64| [300.0 + 6.0 * pitch * c * (u - 0.5) - 4.0 * pitch * s * (v - 0.5), 300.0 + 6.0 * pitch * s * (u - 0.5) + 4.0 * pitch * c * (v - 0.5)];
        let found = FoundChart { corners: [at(0.0, 0.0), at(1.0, 0.0), at(1.0, 1.0), at(0.0, 1.0)], sure: 1.0 };
        prop_assert!(found.lies_under(at(u, v)));
        for beside in [at(u + 1.3, v), at(u - 1.3, v), at(u, v + 1.3), at(u, v - 1.3)] {
            prop_assert!(!found.lies_under(beside), "{beside:?}");
        }
    }

    #[test]
    fn marks_outside_the_picture_are_refused(off in 5.0..5000.0_f64, corner in 0..4_usize, axis in 0..2_usize, before in any::<bool>()) {
        let (_, marks, _) = chart_beside_hair(0.85);
        prop_assert!(marks.check(600, 360).is_ok());
        let outside = if before { -off } else { [600.0, 360.0][axis] + off };
        let why = |marks: &Marks| marks.check(600, 360).map_err(|fault| fault.to_string());
        let mut chart = marks.clone();
        chart.chart_corners[corner][axis] = outside;
        let said = why(&chart);
        prop_assert!(said.as_ref().is_err_and(|said| said.contains("chart") && said.contains("outside the photo")), "{said:?}");
        let mut hair = marks;
        hair.hair[corner][axis] = outside;
        let said = why(&hair);
        prop_assert!(said.as_ref().is_err_and(|said| said.contains("hair") && said.contains("outside the photo")), "{said:?}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 6, failure_persistence: None, ..ProptestConfig::default() })]

    /// Within what a camera holds, more or less light is no other colour.
    #[test]
    fn the_reading_does_not_depend_on_the_exposure(exposure in 0.5..0.95_f64) {
        let (photo, marks, truth) = chart_beside_hair(exposure);
        let reading = read(&photo, &marks).unwrap();
        prop_assert!(ciede2000(reading.lab_d50, truth) <= reading.uncertainty_de00, "{:?} of {truth:?}", reading.lab_d50);
        let (usual, _, _) = chart_beside_hair(0.8);
        let other = read(&usual, &marks).unwrap();
        let apart = ciede2000(reading.lab_d50, other.lab_d50);
        prop_assert!(apart < 0.5, "{exposure}: {apart}");
        prop_assert_eq!(sure_of_difference(&reading, &other), sure_of_difference(&other, &reading));
        // What both readings owe to the chart cancels between colours alike, not between others.
        let mut unlike = other.clone();
        unlike.lab_d50.l += 20.0;
        prop_assert!(sure_of_difference(&reading, &unlike) > sure_of_difference(&reading, &other));
    }
}

/// The outline's first corner and the way round it say nothing of the hair's colour.
#[test]
fn an_outline_may_begin_anywhere_and_run_either_way() {
    let (photo, marks, _) = chart_beside_hair(0.8);
    let lab = |hair: Vec<[f64; 2]>| read(&photo, &Marks { hair, ..marks.clone() }).unwrap().lab_d50;
    let own = lab(marks.hair.clone());
    for first in 1..4 {
        let mut hair = marks.hair.clone();
        hair.rotate_left(first);
        assert!(ciede2000(lab(hair.clone()), own) < 0.3, "begun at corner {first}");
        hair.reverse();
        assert!(ciede2000(lab(hair), own) < 0.3, "round the other way from {first}");
    }
}

#[test]
fn swatches_are_answered_in_the_order_they_were_asked() {
    let (photo, marks, _) = chart_beside_hair(0.8);
    let [above, below] = [70.0, 200.0].map(|y| vec![[430.0, y], [530.0, y], [530.0, y + 90.0], [430.0, y + 90.0]]);
    let swatch = |code: &str, outline: &[[f64; 2]]| Swatch { code: code.to_owned(), outline: outline.to_vec() };
    let read = |swatches: &[Swatch]| read_swatches(&photo, &marks.chart_corners, swatches).unwrap();
    let (one, other) = (read(&[swatch("A", &above), swatch("B", &below)]), read(&[swatch("B", &below), swatch("A", &above)]));
    assert_eq!((&one[0], &one[1]), (&other[1], &other[0]));
    assert_eq!((one[0].code.as_str(), one[1].code.as_str()), ("A", "B"));
}
