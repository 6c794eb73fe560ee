//! Laws that quantities, money, vectors and matrices keep, whatever their values.

use measure::linear::{apply, cholesky, inverse, least_squares, solve, solve_by_triangle};
use measure::statistics::{normal_below, normal_density};
use measure::vector::{Vec3, add, along, cross, distance, dot, flat, lerp, mirror, norm, scale, sub, unit};
use measure::{Angle, Area, Currency, Days, Density, Estimate, Force, Grade, Grams, Length, Money, Rule, RuleBook};
use proptest::prelude::*;

/// Whether two numbers are one but for the last digits.
fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-12 * (1.0 + a.abs().max(b.abs()))
}

fn vector() -> impl Strategy<Value = Vec3> {
    [-100.0..100.0, -100.0..100.0, -100.0..100.0]
}

fn euros(minor: i64) -> Money {
    Money::minor(minor, Currency::new("EUR").unwrap())
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_is_made_in_a_unit_is_read_in_it(x in -1e6..1e6_f64) {
        let there_and_back = [
            Length::mm(x).to_mm(), Length::cm(x).to_cm(), Length::um(x).to_um(), Length::inches(x).to_inches(),
            Area::mm2(x).to_mm2(), Area::cm2(x).to_cm2(), Grams::g(x).to_g(), Grams::mg(x).to_mg(),
            Angle::rad(x).to_rad(), Angle::deg(x).to_deg(), Days::days(x).to_days(), Days::weeks(x).to_weeks(),
            Days::hours(x).to_hours(), Days::minutes(x).to_minutes(), Force::newtons(x).to_newtons(), Force::gf(x).to_gf(),
            Density::per_cm2(x).to_per_cm2(), Density::per_mm2(x).to_per_mm2(),
        ];
        prop_assert!(there_and_back.iter().all(|read| near(*read, x)), "{there_and_back:?}");
    }

    /// *Source* of the ratios: the definitions of the units, from memory.
    #[test]
    fn units_of_one_kind_keep_their_ratio(x in -1e6..1e6_f64) {
        prop_assert!(near(Length::cm(x).to_mm(), 10.0 * x) && near(Length::mm(x).to_um(), 1000.0 * x));
        prop_assert!(near(Length::inches(x).to_cm(), 2.54 * x) && near(Area::cm2(x).to_mm2(), 100.0 * x));
        prop_assert!(near(Grams::g(x).to_mg(), 1000.0 * x) && near(Angle::deg(180.0 * x).to_rad(), std::f64::consts::PI * x));
        prop_assert!(near(Days::days(x).to_hours(), 24.0 * x) && near(Days::hours(x).to_minutes(), 60.0 * x));
        prop_assert!(near(Days::weeks(x).to_days(), 7.0 * x) && near(Density::per_mm2(x).to_per_cm2(), 100.0 * x));
        prop_assert!(near(Force::gf(1000.0 * x).to_newtons(), 9.806_65 * x));
    }

    #[test]
    fn quantities_are_ordered_and_add_as_their_numbers_do(a in -1e6..1e6_f64, b in -1e6..1e6_f64, k in 0.1..100.0_f64) {
        let (p, q) = (Length::cm(a), Length::cm(b));
        prop_assert_eq!(p < q, a < b);
        prop_assert_eq!((p.min(q), p.max(q)), if a < b { (p, q) } else { (q, p) });
        // What is left of two that nearly cancel is as sharp as they were, not as it is small.
        let summed = |length: Length, cm: f64| (length.to_cm() - cm).abs() < 1e-8;
        prop_assert!(summed(p + q, a + b) && summed(p - q, a - b));
        prop_assert_eq!(p + q, q + p);
        prop_assert!((-p).abs() == p.abs() && near(p.abs().to_cm(), a.abs()));
        prop_assert!(near((p * k).to_cm(), a * k) && near((p / k).to_cm(), a / k) && near((p * k) / p * a, a * k));
        prop_assert_eq!(k * p, p * k);
        prop_assert!(summed([p, q, p].into_iter().sum::<Length>(), a + b + a));
        let (mut more, mut less) = (p, p);
        more += q;
        less -= q;
        prop_assert_eq!((more, less), (p + q, p - q));
        // Sides make an area, a density on it a count.
        prop_assert!(near((p * q).to_cm2(), a * b) && near(Density::per_cm2(k) * (p * q), k * a * b));
    }

    #[test]
    fn a_range_holds_its_value_and_goes_through_what_only_rises_or_only_falls(v in -50.0..50.0_f64, p in -50.0..50.0_f64, q in -50.0..50.0_f64) {
        let range = Estimate::new(v, p, q);
        prop_assert!(range.low <= range.value && range.value <= range.high);
        prop_assert_eq!(range, Estimate::new(v, q, p));
        prop_assert!(range.contains(p) && range.contains(q) && range.contains(v));
        prop_assert!(!range.contains(range.high + 1.0) && !range.contains(range.low - 1.0));
        let turned = range.map(|x| -x);
        prop_assert_eq!((turned.low, turned.value, turned.high), (-range.high, -range.value, -range.low));
        prop_assert_eq!(Estimate::exact(v), Estimate::new(v, v, v));
    }

    #[test]
    fn money_is_shared_out_whole(a in -1_000_000..1_000_000_i64, b in -1_000_000..1_000_000_i64, n in 1..60_i64) {
        prop_assert_eq!(euros(a).plus(euros(b)), Some(euros(a + b)));
        prop_assert_eq!(euros(a).times(n).unwrap().minor, (0..n).map(|_| a).sum::<i64>());
        let share = euros(a).divided_rounding_up(n);
        // The shares never sum to less than the whole, nor to a minor unit each more.
        prop_assert!(share.minor * n >= a && share.minor * n < a + n);
        prop_assert_eq!(euros(a).scaled_rounding_half_up(1.0), euros(a));
        // An odd amount halved goes away from zero, whichever way it is owed.
        prop_assert_eq!(euros(a).scaled_rounding_half_up(0.5).minor, a.signum() * ((a.abs() + 1) / 2));
    }

    #[test]
    fn money_is_written_as_it_is_counted(minor in -1_000_000..1_000_000_i64) {
        let written = euros(minor).to_string();
        let (amount, code) = written.split_once(' ').unwrap();
        prop_assert_eq!((amount.replace('.', "").parse::<i64>().unwrap(), code), (minor, "EUR"));
        prop_assert_eq!(amount.split_once('.').unwrap().1.len(), 2);
    }

    #[test]
    fn a_rule_is_set_inside_its_range_and_nowhere_else(value in prop_oneof![0.0..4.0_f64, prop::sample::select(vec![1.0, 3.0, 1.0_f64.next_down(), 3.0_f64.next_up()])]) {
        const RULE: Rule = Rule { id: "law", says: "", value: 2.0, range: (1.0, 3.0), unit: "", grade: Grade::OurChoice, source: "" };
        let mut book = RuleBook::standard();
        let inside = (1.0..=3.0).contains(&value);
        prop_assert_eq!(book.set(&RULE, value).is_ok(), inside);
        prop_assert_eq!(book.value(&RULE), if inside { value } else { 2.0 });
        prop_assert_eq!(book.is_own(&RULE), inside);
        prop_assert_eq!(book.own().collect::<Vec<_>>(), if inside { vec![("law", value)] } else { Vec::new() });
    }

    #[test]
    fn products_of_vectors_keep_their_laws(a in vector(), b in vector(), c in vector(), k in -10.0..10.0_f64) {
        let across = cross(a, b);
        let size = norm(a) * norm(b);
        prop_assert!(dot(across, a).abs() <= 1e-12 * size * norm(a) && dot(across, b).abs() <= 1e-12 * size * norm(b));
        // Lagrange: the squares of both products are the square of the lengths' product.
        prop_assert!((dot(across, across) + dot(a, b) * dot(a, b) - size * size).abs() <= 1e-12 * size * size);
        prop_assert_eq!(dot(a, b), dot(b, a));
        prop_assert_eq!(dot(mirror(a), mirror(b)), dot(a, b));
        prop_assert_eq!((mirror(mirror(a)), add(a, mirror(a))), (a, [0.0, 2.0 * a[1], 2.0 * a[2]]));
        prop_assert_eq!(cross(b, a), scale(across, -1.0));
        // By the right hand: what the three span has the sign of the six products of Leibniz.
        let spanned = a[0] * b[1] * c[2] + a[1] * b[2] * c[0] + a[2] * b[0] * c[1]
            - a[2] * b[1] * c[0] - a[1] * b[0] * c[2] - a[0] * b[2] * c[1];
        prop_assert!((dot(across, c) - spanned).abs() <= 1e-12 * size * norm(c));
        prop_assert!(near(norm(scale(a, k)), k.abs() * norm(a)));
    }

    #[test]
    fn ways_between_places_keep_their_laws(a in vector(), b in vector(), c in vector(), share in 0.0..1.0_f64) {
        prop_assert!(distance(a, c) <= distance(a, b) + distance(b, c) + 1e-9);
        prop_assert_eq!(distance(a, b), distance(b, a));
        prop_assert!(near(distance(a, b), (0..3).map(|i| (a[i] - b[i]).powi(2)).sum::<f64>().sqrt()));
        prop_assert!(distance(add(b, sub(a, b)), a) < 1e-12);
        prop_assert_eq!((lerp(a, b, 0.0), lerp(a, b, 1.0)), (a, b));
        prop_assert!((distance(a, lerp(a, b, share)) - share * distance(a, b)).abs() < 1e-11);
        prop_assert!(distance(lerp(a, b, share), along(a, sub(b, a), share)) < 1e-11);
        prop_assume!(norm(a) > 1e-3);
        prop_assert!(near(norm(unit(a)), 1.0) && near(dot(unit(a), a), norm(a)));
        let laid = flat(b, unit(a));
        prop_assert!(dot(laid, unit(a)).abs() < 1e-10 && norm(laid) <= norm(b) + 1e-12);
        prop_assert!(distance(along(laid, unit(a), dot(b, unit(a))), b) < 1e-10, "only what stands upright is taken away");
    }

    #[test]
    fn a_matrix_and_its_inverse_undo_each_other(rows in [vector(), vector(), vector()], x in vector()) {
        let m = [0, 1, 2].map(|i: usize| [0, 1, 2].map(|j: usize| rows[i][j] / 100.0 + if i == j { 4.0 } else { 0.0 }));
        let back = apply(&inverse(&m).unwrap(), apply(&m, x));
        prop_assert!(distance(back, x) < 1e-10, "{back:?}");
        let solved = solve(m, apply(&m, x)).unwrap();
        prop_assert!(distance(solved, x) < 1e-10, "{solved:?}");
        // m times itself turned is symmetrical and positive: a triangle solves it too.
        let square: Vec<Vec<f64>> = m.iter().map(|p| m.iter().map(|q| dot(*p, *q)).collect()).collect();
        let lower = cholesky(square.clone()).unwrap();
        let right: Vec<f64> = square.iter().map(|row| row.iter().zip(x).map(|(a, b)| a * b).sum()).collect();
        let found = solve_by_triangle(&lower, right);
        prop_assert!(found.iter().zip(x).all(|(a, b)| (a - b).abs() < 1e-9), "{found:?}");
        for (i, j) in [(0, 0), (1, 0), (2, 0), (1, 1), (2, 1), (2, 2)] {
            let product: f64 = (0..=j).map(|k| lower[i][k] * lower[j][k]).sum();
            prop_assert!(near(product, square[i][j]));
        }
    }

    #[test]
    fn what_least_squares_leaves_stands_across_every_column(points in prop::collection::vec((vector(), 0.1..5.0_f64), 5..12)) {
        // No two at one place: there is always an answer.
        let rows: Vec<[f64; 2]> = points.iter().enumerate().map(|(i, (p, _))| [1.0, p[0] / 25.0 + 10.0 * i as f64]).collect();
        let (wanted, weights): (Vec<f64>, Vec<f64>) = points.iter().map(|(p, w)| (p[1], *w)).unzip();
        let found = least_squares(&rows, &wanted, &weights).unwrap();
        let sum = |k: usize| -> f64 {
            rows.iter().zip(&wanted).zip(&weights).map(|((row, y), w)| w * row[k] * (y - row[0] * found[0] - row[1] * found[1])).sum()
        };
        prop_assert!(sum(0).abs() < 1e-6 && sum(1).abs() < 1e-4, "{} {}", sum(0), sum(1));
    }

    #[test]
    fn the_normal_share_rises_by_its_density_and_is_even_about_the_middle(z in -6.0..6.0_f64) {
        let step = 1e-4;
        let slope = (normal_below(z + step) - normal_below(z - step)) / (2.0 * step);
        prop_assert!((slope - normal_density(z)).abs() < 1e-8, "{slope}");
        prop_assert!((normal_below(z) + normal_below(-z) - 1.0).abs() < 1e-15);
        prop_assert_eq!(normal_density(z), normal_density(-z));
    }
}

#[test]
fn what_has_no_single_answer_has_none() {
    assert_eq!(inverse(&[[1.0, 2.0, 3.0], [2.0, 4.0, 6.0], [0.0, 1.0, 1.0]]), None);
    assert_eq!(inverse(&[[f64::NAN; 3]; 3]), None);
    assert_eq!(solve([[0.0, 1.0], [0.0, 2.0]], [1.0, 1.0]), None);
    assert_eq!(solve([[1.0, 0.0], [0.0, 1.0]], [f64::INFINITY, 1.0]), None);
    assert_eq!(solve([[1.0, 1.0], [1.0, 1.0 + 2.0 * f64::EPSILON]], [1.0, 2.0]), None, "one line but for the last digits");
    assert_eq!(cholesky(vec![vec![1.0, 2.0], vec![2.0, 1.0]]), None);
    assert_eq!(least_squares(&[[1.0, 1.0], [1.0, 1.0]], &[1.0, 2.0], &[1.0, 1.0]), None);
}

#[test]
fn a_matrix_that_is_not_positive_has_no_triangle() {
    assert_eq!(cholesky(vec![vec![0.0]]), None);
    assert_eq!(cholesky(vec![vec![4.0, 2.0], vec![2.0, 1.0]]), None, "flat one way");
}

#[test]
fn a_grade_is_told_by_its_own_words() {
    let grades = [Grade::Standard, Grade::Measured, Grade::Handbook, Grade::CommonPractice, Grade::OurChoice];
    let words: std::collections::BTreeSet<&str> = grades.iter().map(|grade| grade.words()).collect();
    assert!(words.len() == grades.len() && words.contains("our choice"));
    assert!(Grade::Standard < Grade::OurChoice, "the best comes first");
}

#[test]
fn a_currency_is_kept_by_its_letters_and_nothing_else_is_taken_for_one() {
    let kept = serde_json::to_string(&euros(250)).unwrap();
    assert_eq!(kept, r#"{"minor":250,"currency":"EUR"}"#);
    assert_eq!(serde_json::from_str::<Money>(&kept).unwrap(), euros(250));
    let fault = serde_json::from_str::<Currency>("\"euro\"").unwrap_err().to_string();
    assert!(fault.contains("euro") && fault.contains("three letters"), "{fault}");
}

/// *Source*: ISO 4217, from memory; key `iso4217`.
#[test]
fn currencies_have_the_places_of_their_own() {
    let places = |code: &str| Currency::new(code).unwrap().places();
    assert_eq!(["EUR", "JPY", "KWD"].map(places), [2, 0, 3]);
}
