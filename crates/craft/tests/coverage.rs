//! Coverage on a whole head: conservation, strands drawn by lot, laws, and the
//! trade's own clearances.
//!
//! What is judged against outside: on a closed line round a tie the strands
//! that pass must be all that are rooted beyond it (counted over the triangles
//! of the head's mesh, which the tracing never uses); and strands rooted by lot
//! on a sphere and laid along great circles must be counted over a bond as the
//! tracing says.

use craft::coverage::{CheckStyle, CoverageCase, HAIRLINE_RAMP, Part, Style, StyleFlow, SurfaceCase, THRESHOLD, check_coverage};
use craft::hair::{Hair, HairFacts, Strand, scalp_area_of};
use head::{Head, Marks, Measures, SkinPoint, SmoothSkin, fit};
use measure::vector::{cross, dot, norm, unit};
use measure::{Density, Length, RuleBook};
use proptest::prelude::*;
use std::sync::OnceLock;

fn head() -> &'static Head {
    static HEAD: OnceLock<Head> = OnceLock::new();
    HEAD.get_or_init(|| {
        let fit = fit(&Measures::of_circumference(Length::mm(560.0))).unwrap();
        Head::new(&fit, &Marks::default()).unwrap()
    })
}

fn hair(density: f64, strand: Strand) -> Hair {
    let book = RuleBook::standard();
    let facts = HairFacts { density: Some(Density::per_cm2(density)), strand: Some(strand), ..HairFacts::default() };
    Hair::from_facts(&facts, scalp_area_of(Length::mm(560.0), &book), &book).unwrap()
}

fn flow(style: Style, part: Part, hair: &Hair) -> StyleFlow {
    StyleFlow::new(head(), style, part, hair, &RuleBook::standard())
}

fn on_midline(above_nape: f64) -> SkinPoint {
    head().parting(Length::mm(above_nape)).unwrap().at(Length::ZERO).unwrap()
}

/// The end of a straight way over the skin, walked in tenths of a millimetre.
fn walk(skin: &impl SmoothSkin, from: [f64; 3], direction: [f64; 3], length: f64) -> [f64; 3] {
    let mut p = skin.project(from);
    let mut t = direction;
    let steps = (length / 0.1).round() as usize;
    for _ in 0..steps {
        let n = skin.normal(p);
        let lean = dot(t, n);
        t = unit([0, 1, 2].map(|i| t[i] - lean * n[i]));
        p = skin.project([0, 1, 2].map(|i| p[i] + 0.1 * t[i]));
    }
    p
}

/// Strands that stand on the head outside a ring seen from inside, by triangles.
fn rooted_outside(hair: &Hair, ring: &[[f64; 3]], axis: [f64; 3], e1: [f64; 3], e2: [f64; 3]) -> f64 {
    let head = head();
    let centre = head.shape().centre();
    let seen = |p: [f64; 3]| {
        let ray = unit([0, 1, 2].map(|i| p[i] - centre[i]));
        (dot(ray, e2).atan2(dot(ray, e1)).rem_euclid(std::f64::consts::TAU), dot(ray, axis).clamp(-1.0, 1.0).acos())
    };
    let mut rim: Vec<(f64, f64)> = ring.iter().map(|p| seen(*p)).collect();
    rim.sort_by(|a, b| a.0.total_cmp(&b.0));
    let ramp = Length::mm(HAIRLINE_RAMP.value);
    head.mesh()
        .faces()
        .iter()
        .map(|face| {
            let [a, b, c] = face.map(|v| head.mesh().vertices()[v as usize]);
            let middle = [0, 1, 2].map(|i| (a[i] + b[i] + c[i]) / 3.0);
            let (round, away) = seen(middle);
            let next = rim.partition_point(|r| r.0 < round) % rim.len();
            if away < rim[next].1 {
                return 0.0;
            }
            let sides = cross([0, 1, 2].map(|i| b[i] - a[i]), [0, 1, 2].map(|i| c[i] - a[i]));
            let area_cm2 = 0.5 * norm(sides) / 100.0;
            let place = SkinPoint(head.shape().project(middle));
            head.hair_share(place, ramp) * hair.density_in(head.zone(place)).value.to_per_cm2() * area_cm2
        })
        .sum()
}

#[test]
fn what_passes_a_ring_round_the_tie_is_what_is_rooted_beyond_it() {
    let hair = hair(180.0, Strand::Medium);
    let skin = head().shape();
    let centre = skin.centre();
    for (style, tie) in [
        (Style::MidPonytail, head().landmarks().tied_mid.0),
        (Style::HighPonytail, head().landmarks().tied_high.0),
        (Style::LowPonytail, head().landmarks().tied_low.0),
    ] {
        let flow = flow(style, Part::Centre, &hair);
        let n = skin.normal(tie);
        let e1 = unit(cross([1.0, 0.0, 0.0], n));
        let e2 = cross(n, e1);
        for distance in [25.0, 45.0] {
            let ring: Vec<[f64; 3]> = (0..720)
                .map(|i| {
                    let angle = (f64::from(i) + 0.5) / 720.0 * std::f64::consts::TAU;
                    let direction = [0, 1, 2].map(|k| angle.cos() * e1[k] + angle.sin() * e2[k]);
                    walk(skin, tie, direction, distance)
                })
                .collect();
            let passing: f64 = (0..ring.len())
                .map(|i| {
                    let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
                    let middle = skin.project([0, 1, 2].map(|k| (a[k] + b[k]) / 2.0));
                    let width = [0, 1, 2].map(|k| b[k] - a[k]);
                    flow.at(SkinPoint(middle)).flux_per_cm * norm(width) / 10.0
                })
                .sum();
            let axis = unit([0, 1, 2].map(|k| tie[k] - centre[k]));
            let rooted = rooted_outside(&hair, &ring, axis, e1, e2);
            assert!((passing / rooted - 1.0).abs() < 0.01, "{style:?} at {distance} mm: {passing} pass, {rooted} are rooted");
        }
    }
}

#[test]
fn a_hundred_thousand_strands_drawn_by_lot_lie_over_a_bond_as_traced() {
    // Roots evenly over a cap of 1.75 rad, each drawn along its meridian to the
    // pole; counted where they pass th = 0.9 within an eighth of the way round.
    let mut state = 0x1234_5678_9abc_def1_u64;
    let mut chance = || {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state >> 11) as f64 / (1_u64 << 53) as f64
    };
    let (hairline, th, count) = (1.75_f64, 0.9_f64, 100_000);
    let mut passing = 0_u32;
    for _ in 0..count {
        let cos = 1.0 - chance() * (1.0 - hairline.cos());
        let round = chance() * 8.0;
        passing += u32::from(cos < th.cos() && round < 1.0);
    }
    let area = std::f64::consts::TAU * 81.0 * (1.0 - hairline.cos());
    let width = std::f64::consts::TAU * 9.0 * th.sin() / 8.0;
    let drawn = f64::from(passing) / width * (180.0 * area / f64::from(count));
    let case = CoverageCase {
        surface: SurfaceCase { sphere_radius_mm: Some(90.0), spheroid_mm: None },
        style: CheckStyle::Tied,
        density_per_cm2: 180.0,
        diameter_um: 70.0,
        hairline_angle_rad: Some(hairline),
        slice_angle_rad: None,
        bond_angle_rad: Some(th),
        part_distance_rad: None,
        latitude_rad: None,
    };
    let traced = check_coverage(&case).unwrap().flux_per_cm;
    // Four standard deviations of the count.
    let noise = 4.0 / f64::from(passing).sqrt();
    assert!((drawn / traced - 1.0).abs() < noise, "{drawn} drawn, {traced} traced");
}

#[test]
fn gaps_of_strands_laid_by_lot_are_as_beer_and_lambert_say() {
    // Strands of 70 um at random places of a 4 m strip, 457.2 to the centimetre:
    // covered .9592541, against the coverage that the tracing reports for that flux.
    let mut state = 0x0dd0_beef_cafe_1234_u64;
    let mut chance = || {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state >> 11) as f64 / (1_u64 << 53) as f64
    };
    let (length, flux, d) = (400.0, 457.2, 0.007);
    let mut places: Vec<f64> = (0..(length * flux) as usize).map(|_| chance() * length).collect();
    places.sort_by(f64::total_cmp);
    let mut bare = 0.0;
    for pair in places.windows(2) {
        bare += (pair[1] - pair[0] - d).max(0.0);
    }
    let covered = 1.0 - bare / length;
    assert!((covered - 0.959_254).abs() < 0.002, "{covered}");
    assert!((1.0 - (-flux * d).exp() - 0.959_254_1).abs() < 1e-6);
}

#[test]
fn no_place_inside_the_hair_is_lost() {
    let hair = hair(180.0, Strand::Medium);
    for style in Style::ALL {
        for part in [Part::Centre, Part::Left, Part::Right, Part::None] {
            let flow = flow(style, part, &hair);
            let drawn_low = matches!(style, Style::LowPonytail | Style::Plait);
            let lost = head()
                .mesh()
                .vertices()
                .iter()
                .map(|p| SkinPoint(*p))
                .filter(|p| head().bears_hair(*p) && head().border_distance(*p).to_mm() > 3.0)
                // Towards a low tie the lines of both sides meet on the middle
                // before the front hairline; on that seam hair begins.
                .filter(|p| !(drawn_low && p.0[0].abs() < 15.0 && p.0[1] > 50.0))
                .filter(|p| flow.at(*p).flux_per_cm <= 0.0)
                .count();
            assert_eq!(lost, 0, "{style:?} {part:?}");
        }
    }
}

#[test]
fn a_head_worn_mirrored_is_covered_mirrored() {
    let hair = hair(180.0, Strand::Medium);
    for style in Style::ALL {
        let centre = flow(style, Part::Centre, &hair);
        let (left, right) = (flow(style, Part::Left, &hair), flow(style, Part::Right, &hair));
        for p in head().mesh().vertices().iter().step_by(7).map(|p| SkinPoint(*p)).filter(|p| head().bears_hair(*p)) {
            let same = (centre.at(p).coverage - centre.at(p.mirrored()).coverage).abs();
            let parts = (left.at(p).coverage - right.at(p.mirrored()).coverage).abs();
            assert!(same < 1e-8 && parts < 1e-8, "{style:?} {p:?} {same} {parts}");
        }
    }
}

#[test]
fn medium_hair_in_a_high_tail_asks_for_about_38_mm_at_the_nape_and_fine_for_more() {
    // Common practice (T6): 38 mm; the model is to come within a centimetre.
    let needed = |density, strand| {
        let flow = flow(Style::HighPonytail, Part::Centre, &hair(density, strand));
        (10..120).map(f64::from).find(|mm| flow.at(on_midline(*mm)).optical_depth >= THRESHOLD.value).unwrap()
    };
    let (fine, medium, coarse) = (needed(120.0, Strand::Fine), needed(180.0, Strand::Medium), needed(250.0, Strand::Coarse));
    assert!((28.0..=48.0).contains(&medium), "{medium}");
    assert!(fine > medium + 10.0 && coarse < medium - 5.0, "{fine} {medium} {coarse}");
}

#[test]
fn near_the_crown_nothing_is_hidden_when_hair_falls_from_a_whorl() {
    // How "nothing above the crown" (T11) arises.
    let flow = flow(Style::Down, Part::None, &hair(180.0, Strand::Medium));
    let crown = head().height_above_nape(head().landmarks().crown).to_mm();
    assert!(flow.at(on_midline(crown - 10.0)).optical_depth < THRESHOLD.value);
    assert!(flow.at(on_midline(crown - 80.0)).optical_depth > THRESHOLD.value);
}

#[test]
fn short_hair_covers_no_more_than_it_reaches() {
    let long = hair(180.0, Strand::Medium);
    let mut short = long.clone();
    short.own_length = Some(Length::mm(30.0));
    let place = on_midline(60.0);
    for style in [Style::Down, Style::HighPonytail] {
        let (all, near) = (flow(style, Part::Centre, &long).at(place), flow(style, Part::Centre, &short).at(place));
        assert!(near.flux_per_cm < all.flux_per_cm && near.flux_per_cm > 0.0);
    }
}

#[test]
fn the_worst_place_of_a_bond_is_no_better_than_its_middle_or_ends() {
    let flow = flow(Style::HighPonytail, Part::Centre, &hair(180.0, Strand::Medium));
    let parting = head().parting(Length::mm(60.0)).unwrap();
    let (from, to) = parting.extent();
    let mut along = from + Length::mm(1.0);
    while along + Length::mm(31.0) < to {
        let ends = (parting.at(along).unwrap(), parting.at(along + Length::mm(30.0)).unwrap());
        let worst = flow.worst_over_bond(ends).optical_depth;
        for place in [ends.0, ends.1, parting.at(along + Length::mm(15.0)).unwrap()] {
            assert!(worst <= flow.at(place).optical_depth * 1.02 + 1e-9);
        }
        along += Length::mm(10.0);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn coverage_grows_with_density_and_diameter(density in 90.0..250.0_f64, more in 5.0..50.0_f64, index in 0..10_000_usize, style in 0..7_usize) {
        let style = Style::ALL[style];
        let place = SkinPoint(head().mesh().vertices()[index]);
        prop_assume!(head().bears_hair(place));
        let at = |density, strand| flow(style, Part::Centre, &hair(density, strand)).at(place);
        let (thin, dense, thick) = (at(density, Strand::Medium), at(density + more, Strand::Medium), at(density, Strand::Coarse));
        prop_assert!(dense.coverage >= thin.coverage && thick.coverage >= thin.coverage);
        prop_assert!((dense.flux_per_cm * density / (density + more) - thin.flux_per_cm).abs() < 1e-6 * (1.0 + thin.flux_per_cm));
        prop_assert!((0.0..=1.0).contains(&thin.coverage) && thin.covering_flux_per_cm >= 0.0);
    }

    #[test]
    fn towards_the_tie_coverage_only_grows(angle in 0.0..std::f64::consts::TAU, style in 0..2_usize) {
        let style = [Style::MidPonytail, Style::HighPonytail][style];
        let marks = head().landmarks();
        let tie = if style == Style::MidPonytail { marks.tied_mid.0 } else { marks.tied_high.0 };
        let n = head().shape().normal(tie);
        let e1 = unit(cross([1.0, 0.0, 0.0], n));
        let e2 = cross(n, e1);
        let direction = [0, 1, 2].map(|k| angle.cos() * e1[k] + angle.sin() * e2[k]);
        let flow = flow(style, Part::Centre, &hair(180.0, Strand::Medium));
        let mut nearer = f64::INFINITY;
        for mm in [10.0, 25.0, 40.0, 60.0, 80.0, 95.0] {
            let place = SkinPoint(walk(head().shape(), tie, direction, mm));
            if !head().bears_hair(place) {
                break;
            }
            let depth = flow.at(place).optical_depth;
            prop_assert!(depth <= nearer * 1.0001);
            nearer = depth;
        }
    }
}
