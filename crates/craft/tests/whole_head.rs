//! Laws of the plan on fitted heads: mirror in, mirror out; the order in which
//! things are named never matters; no layout is much better than the plan.

mod judge;

use craft::coverage::{Part, Style, StyleFlow, TiesUp, floors};
use craft::hair::{Hair, HairFacts, Strand};
use craft::piece::{Piece, Tab};
use craft::placement::{Anchor, Avoid, LayoutLimits, Placed, Placement, Request, Symmetry, WORTH_ALONE, WORTH_NEAT, WORTH_SPREAD, place};
use head::{CrownMark, Head, Marks, Measures, Side, Zone, fit};
use measure::{Area, Density, Grams, Length, RuleBook};
use proptest::prelude::*;

/// A client on a fitted head.
struct Client {
    head: Head,
    hair: Hair,
    styles: Vec<Style>,
    flows: Vec<StyleFlow>,
    rules: RuleBook,
}

impl Client {
    fn new(around: f64, density: f64, styles: &[Style], part: Part, crown_right: f64) -> Self {
        let fitted = fit(&Measures::of_circumference(Length::mm(around))).unwrap();
        let crown = CrownMark { behind_tape: Length::mm(62.0), to_the_right: Length::mm(crown_right) };
        let head = Head::new(&fitted, &Marks { crown: Some(crown), ..Marks::default() }).unwrap();
        let facts = HairFacts { density: Some(Density::per_cm2(density)), strand: Some(Strand::Medium), ..HairFacts::default() };
        let rules = RuleBook::standard();
        let hair = Hair::from_facts(&facts, Area::cm2(600.0), &rules).unwrap();
        let flows = StyleFlow::all(&head, styles, part, &hair, &rules);
        Self { head, hair, styles: styles.to_vec(), flows, rules }
    }

    fn request(&self, grams: f64) -> Request<'_> {
        let tab = Tab { width: Length::mm(40.0), height: Length::mm(9.0) };
        let limits = LayoutLimits::of(floors(&self.styles, TiesUp::Sometimes, &self.rules), &self.rules);
        let piece = Piece::new(tab, Grams::g(2.5), Length::mm(500.0)).unwrap();
        Request::first(&self.head, &self.hair, &self.flows, piece, Grams::g(grams), limits, &self.rules)
    }
}

/// Where the sandwiches are, to a hundredth of a millimetre, in order; seen in
/// the mirror when `turned`.
fn places(placement: &Placement, turned: bool) -> Vec<(i64, i64, i64)> {
    let hundredth = |l: Length| (l.to_mm() * 100.0).round() as i64;
    let sign = if turned { -1 } else { 1 };
    let mut all: Vec<_> =
        placement.sites.iter().map(|s| (hundredth(s.above_nape), sign * hundredth(s.along), hundredth(s.piece.tab.width))).collect();
    all.sort_unstable();
    all
}

#[test]
fn no_layout_is_more_than_a_hundredth_better_than_the_plan() {
    // Against integer programming over every place of a grid, each judged by itself.
    for (around, density, styles, grams) in [
        (552.0, 170.0, &[Style::Down, Style::HighPonytail][..], 30.0),
        (545.0, 190.0, &[Style::Down, Style::HalfUp], 30.0),
        (560.0, 180.0, &[Style::Down, Style::LowPonytail], 60.0),
    ] {
        let mut client = Client::new(around, density, styles, Part::Centre, 0.0);
        for term in [&WORTH_NEAT, &WORTH_ALONE, &WORTH_SPREAD] {
            client.rules.set(term, 0.0).unwrap();
        }
        let mut request = client.request(grams);
        request.symmetry = Symmetry::Free;
        request.limits.halves = false;
        request.limits.row_spacing = Length::mm(20.0);
        let plan = place(&request).unwrap();
        let points = judge::points_of(&request, &plan);
        let best = judge::best(&request, &client.head, &plan, 300).unwrap();
        assert!(best.proved && best.places > 50, "the judge stopped {:?} short of a proof", best.gap);
        assert!(points <= 1.01 * best.points, "{around}: {points} points, {} are possible", best.points);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 6, failure_persistence: None, ..ProptestConfig::default() })]

    /// The part, the whorl, a keep-out, earlier slices and a sandwich that is
    /// in, all on the other side: the mirror image of the plan.
    #[test]
    fn the_mirror_image_of_a_head_gets_the_mirror_image_of_its_plan(
        around in 540.0..575.0_f64, density in 150.0..230.0_f64, whorl in 0.0..12.0_f64,
        height in 60.0..90.0_f64, along in 30.0..60.0_f64, free in proptest::bool::ANY,
    ) {
        let styles = [Style::Down, Style::LowPonytail];
        let plan = |sign: f64| {
            let (part, side) = if sign > 0.0 { (Part::Right, Side::Right) } else { (Part::Left, Side::Left) };
            let client = Client::new(around, density, &styles, part, sign * whorl);
            let mut request = client.request(80.0);
            request.limits.avoid = vec![Avoid { side, zone: Zone::Temporal, reason: "cowlick".into() }];
            request.earlier = vec![vec![Anchor { above_nape: Length::mm(height), along: Length::mm(sign * along), width: Length::mm(30.0) }]];
            request.placed = vec![Placed { above_nape: Length::mm(height + 30.0), along: Length::mm(-sign * along), piece: request.pieces[0] }];
            request.symmetry = if free { Symmetry::Free } else { Symmetry::Mirrored };
            place(&request)
        };
        match (plan(1.0), plan(-1.0)) {
            (Ok(right), Ok(left)) => {
                prop_assert!(right.sites.len() > 4);
                prop_assert_eq!(places(&right, true), places(&left, false));
                prop_assert_eq!(right.short, left.short);
            }
            (right, left) => prop_assert!(right.is_err() && left.is_err()),
        }
    }

    /// Styles, pieces, keep-outs, earlier slices and sandwiches that are in may
    /// be named in any order.
    #[test]
    fn the_order_in_which_things_are_named_does_not_matter(
        around in 540.0..575.0_f64, density in 150.0..230.0_f64, turn in 1..5_usize,
    ) {
        let plan = |turn: usize| {
            let mut styles = vec![Style::Down, Style::LowPonytail, Style::HalfUp];
            styles.rotate_left(turn % 3);
            let client = Client::new(around, density, &styles, Part::Centre, 0.0);
            let mut request = client.request(70.0);
            let narrow = Tab { width: Length::mm(30.0), height: Length::mm(9.0) };
            request.pieces.push(Piece::new(narrow, Grams::g(1.8), Length::mm(500.0)).unwrap());
            request.pieces.rotate_left(turn % 2);
            let whole = request.pieces[turn % 2];
            request.limits.avoid = [Side::Left, Side::Right].map(|side| Avoid { side, zone: Zone::Temporal, reason: "sore".into() }).to_vec();
            request.limits.avoid.rotate_left(turn % 2);
            let at = |above: f64, along: f64| (Length::mm(above), Length::mm(along));
            let mut earlier = [at(60.0, 40.0), at(60.0, -20.0), at(85.0, 5.0)].map(|(above_nape, along)| Anchor { above_nape, along, width: Length::mm(30.0) });
            earlier.rotate_left(turn % 3);
            request.earlier = vec![earlier.to_vec()];
            let mut placed = [at(95.0, 40.0), at(95.0, -50.0), at(118.0, 10.0)].map(|(above_nape, along)| Placed { above_nape, along, piece: whole });
            placed.rotate_left(turn % 3);
            request.placed = placed.to_vec();
            place(&request)
        };
        match (plan(0), plan(turn)) {
            (Ok(one), Ok(other)) => {
                prop_assert_eq!(places(&one, false), places(&other, false));
                prop_assert!((one.points - other.points).abs() < 1e-6);
            }
            (one, other) => prop_assert!(one.is_err() && other.is_err()),
        }
    }
}
