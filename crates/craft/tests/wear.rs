//! The wear curve against published data and an independent library.
//!
//! *Source*: the data are carried by key `lifelines` (PyPI, MIT licence) as
//! `waltons`, `rossi` (key `rossi1980`) and `interval_diabetes`; the expected
//! values are that library's own fits of the same data (`WeibullFitter.fit` and
//! `.fit_interval_censoring`).

use craft::wear::{WearFault, check_wear};
use proptest::prelude::*;

/// (lower, upper, how many); upper -1: still going.
const WALTONS: &[(i32, i32, usize)] = &[
    (6, 6, 1),
    (7, 7, 1),
    (7, -1, 1),
    (9, 9, 3),
    (13, 13, 3),
    (15, 15, 2),
    (17, 17, 1),
    (19, 19, 3),
    (22, 22, 4),
    (26, 26, 5),
    (29, 29, 5),
    (32, 32, 1),
    (33, 33, 3),
    (36, 36, 2),
    (38, 38, 2),
    (41, 41, 7),
    (43, 43, 1),
    (45, 45, 9),
    (45, -1, 1),
    (47, 47, 1),
    (48, 48, 8),
    (51, 51, 3),
    (53, 53, 7),
    (54, 54, 2),
    (56, 56, 18),
    (58, 58, 4),
    (60, 60, 15),
    (60, -1, 1),
    (61, 61, 9),
    (61, -1, 2),
    (62, 62, 2),
    (63, 63, 9),
    (66, 66, 3),
    (68, 68, 9),
    (68, -1, 1),
    (69, 69, 12),
    (69, -1, 1),
    (75, 75, 1),
];

/// The same, in weeks to arrest.
const ROSSI: &[(i32, i32, usize)] = &[
    (1, 1, 1),
    (2, 2, 1),
    (3, 3, 1),
    (4, 4, 1),
    (5, 5, 1),
    (6, 6, 1),
    (7, 7, 1),
    (8, 8, 5),
    (9, 9, 2),
    (10, 10, 1),
    (11, 11, 2),
    (12, 12, 2),
    (13, 13, 1),
    (14, 14, 3),
    (15, 15, 2),
    (16, 16, 2),
    (17, 17, 3),
    (18, 18, 3),
    (19, 19, 2),
    (20, 20, 5),
    (21, 21, 2),
    (22, 22, 1),
    (23, 23, 1),
    (24, 24, 4),
    (25, 25, 3),
    (26, 26, 3),
    (27, 27, 2),
    (28, 28, 2),
    (30, 30, 2),
    (31, 31, 1),
    (32, 32, 2),
    (33, 33, 2),
    (34, 34, 2),
    (35, 35, 4),
    (36, 36, 3),
    (37, 37, 4),
    (38, 38, 1),
    (39, 39, 2),
    (40, 40, 4),
    (42, 42, 2),
    (43, 43, 4),
    (44, 44, 2),
    (45, 45, 2),
    (46, 46, 4),
    (47, 47, 1),
    (48, 48, 2),
    (49, 49, 5),
    (50, 50, 3),
    (52, 52, 4),
    (52, -1, 318),
];

/// The same, in years to a complication.
const DIABETES: &[(i32, i32, usize)] = &[
    (0, 26, 1),
    (1, 4, 1),
    (1, 10, 1),
    (1, 11, 2),
    (1, 13, 5),
    (1, 15, 6),
    (1, 16, 4),
    (1, 17, 1),
    (1, 18, 1),
    (1, 19, 1),
    (1, 20, 3),
    (1, 21, 1),
    (1, 22, 1),
    (1, 23, 1),
    (1, 24, 1),
    (1, 25, 2),
    (1, 29, 1),
    (2, 2, 1),
    (2, 16, 1),
    (2, 18, 2),
    (2, 19, 1),
    (2, 20, 1),
    (2, 24, 2),
    (2, 25, 2),
    (2, 28, 1),
    (2, 38, 1),
    (3, 3, 2),
    (3, 11, 1),
    (3, 12, 1),
    (3, 15, 1),
    (3, 21, 1),
    (3, 27, 1),
    (3, 28, 1),
    (3, 29, 1),
    (3, 32, 1),
    (4, 4, 2),
    (4, 16, 1),
    (4, 18, 1),
    (4, 20, 1),
    (4, 21, 2),
    (4, 22, 1),
    (4, 23, 1),
    (4, 25, 1),
    (4, 26, 1),
    (4, 27, 2),
    (4, 32, 1),
    (4, 35, 1),
    (5, 5, 4),
    (5, 18, 1),
    (5, 19, 2),
    (5, 20, 1),
    (5, 21, 1),
    (5, 22, 1),
    (5, 23, 1),
    (6, 6, 5),
    (6, 12, 1),
    (6, 16, 2),
    (6, 17, 1),
    (6, 19, 2),
    (6, 20, 1),
    (6, 21, 1),
    (6, 23, 1),
    (6, 24, 1),
    (6, 30, 1),
    (7, 7, 8),
    (7, 16, 1),
    (7, 18, 1),
    (7, 21, 1),
    (7, 22, 1),
    (7, 23, 1),
    (7, 24, 1),
    (7, 42, 1),
    (8, 8, 8),
    (8, 16, 1),
    (8, 18, 2),
    (8, 20, 1),
    (8, 22, 1),
    (8, 26, 1),
    (8, 32, 1),
    (9, 9, 23),
    (9, 15, 1),
    (9, 20, 1),
    (9, 21, 1),
    (9, 23, 2),
    (9, 24, 1),
    (10, 10, 11),
    (10, 15, 1),
    (10, 16, 1),
    (10, 19, 1),
    (10, 20, 1),
    (10, 22, 3),
    (10, 23, 1),
    (10, 29, 1),
    (11, 11, 20),
    (11, 18, 1),
    (11, 20, 1),
    (11, 22, 1),
    (11, 28, 1),
    (11, 29, 1),
    (12, 12, 36),
    (12, 19, 1),
    (12, 23, 1),
    (12, 40, 1),
    (13, 13, 38),
    (13, 23, 1),
    (13, 25, 1),
    (14, 14, 48),
    (14, 20, 1),
    (14, 23, 2),
    (15, 15, 50),
    (15, 35, 1),
    (16, 16, 37),
    (16, 22, 1),
    (16, 24, 1),
    (16, 37, 1),
    (17, 17, 46),
    (18, 18, 32),
    (18, 25, 1),
    (19, 19, 43),
    (19, 37, 1),
    (20, 20, 35),
    (20, 28, 1),
    (21, 21, 24),
    (22, 22, 20),
    (22, 32, 1),
    (23, 23, 17),
    (24, 24, 13),
    (24, 27, 1),
    (25, 25, 12),
    (25, 26, 1),
    (26, 26, 18),
    (27, 27, 7),
    (28, 28, 3),
    (29, 29, 4),
    (30, 30, 6),
    (31, 31, 4),
    (32, 32, 2),
    (33, 33, 3),
    (34, 34, 6),
    (37, 37, 1),
    (37, 39, 1),
    (38, 38, 1),
    (40, 40, 3),
    (41, 41, 1),
    (44, 44, 1),
];

fn spans(table: &[(i32, i32, usize)]) -> Vec<(f64, Option<f64>)> {
    table
        .iter()
        .flat_map(|&(lower, upper, count)| {
            let span = (f64::from(lower), (upper >= 0).then_some(f64::from(upper)));
            std::iter::repeat_n(span, count)
        })
        .collect()
}

#[track_caller]
fn assert_near(found: f64, expected: f64, tolerance: f64) {
    assert!((found / expected - 1.0).abs() < tolerance, "{found} for {expected}");
}

#[test]
fn waltons_as_lifelines_fits_it() {
    let data = spans(WALTONS);
    assert_eq!(data.len(), 163);
    let fit = check_wear(&data).unwrap();
    // lifelines stops within 2e-6 of the maximum in shape.
    assert_near(fit.shape, 3.450_510, 3e-6);
    assert_near(fit.scale_days, 55.733_08, 1e-6);
    assert_near(fit.log_likelihood, -672.062_187, 1e-9);
}

#[test]
fn rossi_as_lifelines_fits_it() {
    let data = spans(ROSSI);
    assert_eq!(data.len(), 432);
    let fit = check_wear(&data).unwrap();
    assert_near(fit.shape, 1.365_141_3, 1e-6);
    assert_near(fit.scale_days, 123.677_09, 1e-6);
    assert_near(fit.log_likelihood, -696.624_397, 1e-9);
    assert_near(fit.holding_at(measure::Days::days(20.0)), 0.920_221, 1e-6);
    // scale (-ln 0.9)^(1 / shape) of the two numbers that lifelines gives.
    assert_near(fit.day_when(0.9).to_days(), 23.789_02, 2e-6);
}

#[test]
fn diabetes_between_looks_as_lifelines_fits_it() {
    let data = spans(DIABETES);
    assert_eq!(data.len(), 731);
    let fit = check_wear(&data).unwrap();
    assert_near(fit.shape, 2.823_494, 2e-6);
    assert_near(fit.scale_days, 18.856_51, 3e-6);
    assert_near(fit.log_likelihood, -2_028.566_111, 1e-9);
}

#[test]
fn records_that_no_curve_fits_are_refused_in_words() {
    assert_eq!(check_wear(&[]), Err(WearFault::Empty));
    assert_eq!(check_wear(&[(49.0, None), (42.0, None)]), Err(WearFault::AllHolding { bonds: 2 }));
    assert_eq!(check_wear(&[(30.0, Some(30.0)), (30.0, Some(30.0))]), Err(WearFault::OneAge));
    assert_eq!(check_wear(&[(14.0, Some(28.0)), (20.0, Some(42.0)), (10.0, None)]), Err(WearFault::OneAge));
    assert!(matches!(check_wear(&[(5.0, Some(4.0))]), Err(WearFault::Order { record: 1, .. })));
    assert!(matches!(check_wear(&[(3.0, None), (-1.0, None)]), Err(WearFault::Days { record: 2, .. })));
    assert!(matches!(check_wear(&[(f64::NAN, None)]), Err(WearFault::Days { record: 1, .. })));
    assert!(matches!(check_wear(&[(0.0, Some(f64::INFINITY))]), Err(WearFault::Days { record: 1, .. })));
    assert!(matches!(check_wear(&[(0.0, Some(0.0))]), Err(WearFault::DayZero { record: 1 })));
}

/// The log likelihood written out anew, for judging the maximum.
fn judged(data: &[(f64, Option<f64>)], k: f64, lambda: f64) -> f64 {
    let h = |t: f64| (t / lambda).powf(k);
    data.iter()
        .map(|&(lower, upper)| match upper {
            None => -h(lower),
            Some(upper) if upper == lower => (k / lambda).ln() + (k - 1.0) * (lower / lambda).ln() - h(lower),
            Some(upper) => ((-h(lower)).exp() - (-h(upper)).exp()).ln(),
        })
        .sum()
}

fn any_life() -> impl Strategy<Value = (f64, Option<f64>)> {
    (1.0..80.0_f64, 0.0..40.0_f64, 0..3_u8).prop_map(|(day, later, kind)| match kind {
        0 => (day, None),
        1 => (day, Some(day)),
        _ => (day, Some(day + later + 0.5)),
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn any_sane_records_give_a_maximum_or_a_plain_fault(data in prop::collection::vec(any_life(), 1..60)) {
        match check_wear(&data) {
            Err(fault) => prop_assert!(
                matches!(fault, WearFault::AllHolding { .. } | WearFault::OneAge),
                "{fault}"
            ),
            Ok(fit) => {
                let top = judged(&data, fit.shape, fit.scale_days);
                prop_assert!((top - fit.log_likelihood).abs() < 1e-7 * (1.0 + top.abs()));
                for (k, l) in [(1.01, 1.0), (0.99, 1.0), (1.0, 1.01), (1.0, 0.99), (1.01, 1.01), (0.99, 0.99), (1.5, 1.2), (0.6, 0.8)] {
                    let beside = judged(&data, fit.shape * k, fit.scale_days * l);
                    prop_assert!(beside.is_nan() || beside <= top + 1e-9 * (1.0 + top.abs()), "{beside} above {top}");
                }
            }
        }
    }

    #[test]
    fn days_or_weeks_the_shape_is_the_same(data in prop::collection::vec(any_life(), 8..40)) {
        let weeks: Vec<_> = data.iter().map(|&(a, b)| (a / 7.0, b.map(|b| b / 7.0))).collect();
        if let (Ok(days), Ok(weeks)) = (check_wear(&data), check_wear(&weeks)) {
            prop_assert!((days.shape / weeks.shape - 1.0).abs() < 1e-6);
            prop_assert!((days.scale_days / weeks.scale_days / 7.0 - 1.0).abs() < 1e-6);
        }
    }

    #[test]
    fn the_order_of_records_does_not_matter(data in prop::collection::vec(any_life(), 8..40)) {
        let mut back = data.clone();
        back.reverse();
        if let (Ok(one), Ok(other)) = (check_wear(&data), check_wear(&back)) {
            prop_assert!((one.shape / other.shape - 1.0).abs() < 1e-7);
        }
    }
}
