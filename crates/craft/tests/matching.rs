//! Whole-piece mixes against exhaustive search, and the words that go with them.

use colour::{D65, Lab, Mixture, ciede2000};
use craft::matching::*;
use measure::RuleBook;
use proptest::prelude::*;
use std::collections::BTreeMap;

fn ring_of(labs: &[Lab]) -> Ring {
    let shade = |(i, lab): (usize, &Lab)| Shade {
        code: format!("S{i:02}"),
        name: String::new(),
        lab_d65: Some(*lab),
        xyz_d65: None,
        reflectance: None,
        measured_by: None,
        uncertainty_de00: None,
    };
    Ring { shades: labs.iter().enumerate().map(shade).collect() }
}

fn matched(target: &Target, ring: &Ring, pieces: u32) -> Match {
    match_ring(target, ring, pieces, &BTreeMap::new(), &RuleBook::standard()).unwrap()
}

/// Every set of up to three shades, every way of sharing, no pruning: the ten
/// least differences, and the least with one, two and three shades, of all and
/// of shades no further apart than the rule allows.
fn by_hand(target: Lab, labs: &[Lab], pieces: u32) -> (Vec<f64>, [[f64; 3]; 2]) {
    let xyz: Vec<_> = labs.iter().map(|lab| lab.to_xyz(D65)).collect();
    let mut all = Vec::new();
    let mut least = [[f64::INFINITY; 3]; 2];
    let n = labs.len();
    for i in 0..n {
        for j in i..n {
            for k in j..n {
                if i == j && j != k {
                    continue;
                }
                let calm = [(i, j), (i, k), (j, k)].iter().all(|(p, q)| ciede2000(labs[*p], labs[*q]) <= PARTS_APART.value);
                for p in 0..=pieces {
                    for q in 0..=(pieces - p) {
                        let counts = [p, q, pieces - p - q];
                        let wanted = [true, j != i, k != j].map(|part| part);
                        if counts.iter().zip(wanted).any(|(c, w)| (*c > 0) != w) {
                            continue;
                        }
                        let mixture = [i, j, k].iter().zip(counts).fold(Mixture::new(), |m, (s, c)| m.with(xyz[*s], f64::from(c)));
                        let de00 = ciede2000(target, mixture.lab(D65).unwrap());
                        let shades = counts.iter().filter(|c| **c > 0).count();
                        for least in &mut least[..1 + usize::from(calm)] {
                            least[shades - 1] = least[shades - 1].min(de00);
                        }
                        all.push(de00);
                    }
                }
            }
        }
    }
    all.sort_by(f64::total_cmp);
    all.truncate(10);
    (all, least)
}

prop_compose! {
    fn shade()(l in 12.0..80.0f64, a in -5.0..25.0f64, b in -12.0..30.0f64) -> Lab { Lab::new(l, a, b) }
}

prop_compose! {
    /// Shades of which many are near enough to be mixed without stripes.
    fn like()(l in 40.0..46.0f64, a in 3.0..16.0f64, b in 8.0..26.0f64) -> Lab { Lab::new(l, a, b) }
}

prop_compose! {
    /// Colours that no hair has.
    fn far()(l in 0.0..100.0f64, a in -60.0..60.0f64, b in -60.0..60.0f64) -> Lab { Lab::new(l, a, b) }
}

/// A ring by a fixed rule, spread over the colours of hair.
fn spread_ring(count: u32) -> Vec<Lab> {
    let turn = |i: u32, by: f64, low: f64, high: f64| low + (high - low) * (f64::from(i) * by).fract();
    (0..count).map(|i| Lab::new(turn(i, 0.618_034, 14.0, 70.0), turn(i, 0.754_878, 1.0, 18.0), turn(i, 0.569_84, 3.0, 32.0))).collect()
}

#[test]
fn a_large_ring_is_searched_as_exactly() {
    let labs = spread_ring(26);
    for target in [Lab::new(38.0, 9.0, 19.0), Lab::new(20.0, 2.0, -20.0), Lab::new(40.0, 45.0, 20.0), Lab::new(95.0, 0.0, 3.0)] {
        let found = matched(&Target::of(target), &ring_of(&labs), 9);
        let (wanted, _) = by_hand(target, &labs, 9);
        assert_eq!(found.mixes.len(), wanted.len());
        for (mix, de00) in found.mixes.iter().zip(&wanted) {
            assert!((mix.de00 - de00).abs() < 1e-9, "{target:?}: {} is not {de00}", mix.de00);
        }
    }
}

/// Lights on one line, or in one plane, have a hull without inside.
#[test]
fn rings_whose_colours_lie_on_a_line_or_in_a_plane_are_searched_as_exactly() {
    let greys: Vec<Lab> = (0..7).map(|i| Lab::new(15.0 + 9.0 * f64::from(i), 0.0, 0.0)).collect();
    let (dark, warm, pale) = (Lab::new(20.0, 6.0, 9.0), Lab::new(42.0, 14.0, 25.0), Lab::new(68.0, 4.0, 20.0));
    let mixed = |p: f64, q: f64, r: f64| {
        [(dark, p), (warm, q), (pale, r)].iter().fold(Mixture::new(), |m, (lab, share)| m.with(lab.to_xyz(D65), *share))
    };
    let plane = [(1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (1.0, 1.0, 1.0), (3.0, 1.0, 2.0), (1.0, 1.0, 1.0)];
    let plane: Vec<Lab> = plane.iter().map(|(p, q, r)| mixed(*p, *q, *r).lab(D65).unwrap()).collect();
    for labs in [greys, plane] {
        for target in [Lab::new(38.0, 9.0, 19.0), Lab::new(44.3, 0.0, 0.0), Lab::new(40.0, 45.0, 20.0)] {
            let found = matched(&Target::of(target), &ring_of(&labs), 16);
            let (wanted, _) = by_hand(target, &labs, 16);
            for (mix, de00) in found.mixes.iter().zip(&wanted) {
                assert!((mix.de00 - de00).abs() < 1e-9, "{target:?}: {} is not {de00}", mix.de00);
            }
        }
    }
}

#[test]
fn a_shade_without_light_is_mixed_like_any_other() {
    let mut labs = spread_ring(6);
    labs.push(Lab::new(0.0, 0.0, 0.0));
    let target = Lab::new(9.0, 3.0, 5.0);
    let found = matched(&Target::of(target), &ring_of(&labs), 12);
    let (wanted, _) = by_hand(target, &labs, 12);
    assert!((found.mixes[0].de00 - wanted[0]).abs() < 1e-9 && found.mixes[0].pieces.contains_key("S06"));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 160, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_mix_is_better_than_the_first(
        labs in prop_oneof![prop::collection::vec(shade(), 1..8), prop::collection::vec(like(), 1..8)],
        target in prop_oneof![shade(), like(), far()],
        pieces in 1u32..14,
    ) {
        let found = matched(&Target::of(target), &ring_of(&labs), pieces);
        let (wanted, [least, calm]) = by_hand(target, &labs, pieces);
        for (mix, de00) in found.mixes.iter().zip(&wanted) {
            prop_assert!((mix.de00 - de00).abs() < 1e-9, "{} is not {}", mix.de00, de00);
            prop_assert_eq!(mix.pieces.values().sum::<u32>(), pieces);
        }
        prop_assert_eq!(found.mixes.len(), wanted.len());
        let few = (0..3).find(|i| least[*i] <= wanted[0] + 0.5).unwrap();
        let fewest = found.fewest.unwrap();
        prop_assert_eq!(fewest.pieces.len(), few + 1);
        prop_assert!((fewest.de00 - least[few]).abs() < 1e-9);
        let best = calm.into_iter().fold(f64::INFINITY, f64::min);
        let few = (0..3).find(|i| calm[*i] <= best + 0.5).unwrap();
        let advised = found.advised.unwrap();
        prop_assert_eq!(advised.pieces.len(), few + 1);
        prop_assert!((advised.de00 - calm[few]).abs() < 1e-9, "{} is not {}", advised.de00, calm[few]);
    }
}

#[test]
fn a_shade_of_the_ring_is_found_and_one_outside_is_not_reachable() {
    let ring = ring_of(&[Lab::new(30.0, 8.0, 18.0), Lab::new(50.0, 7.0, 23.0)]);
    let found = matched(&Target::of(Lab::new(50.0, 7.0, 23.0)), &ring, 20);
    assert!(found.reachable && found.nearest[0].code == "S01" && found.mixes[0].de00 < 1e-9);
    assert_eq!(found.fewest.unwrap().pieces, BTreeMap::from([("S01".to_owned(), 20)]));
    let far = matched(&Target::of(Lab::new(40.0, 40.0, 5.0)), &ring, 20);
    assert!(!far.reachable && far.warnings[0].starts_with("Not reachable"));
}

#[test]
fn stripes_are_not_advised_unless_she_has_them() {
    let (dark, light) = (Lab::new(18.0, 6.0, 8.0), Lab::new(65.0, 4.0, 20.0));
    let middle = Mixture::new().with(dark.to_xyz(D65), 1.0).with(light.to_xyz(D65), 1.0).lab(D65).unwrap();
    let ring = ring_of(&[dark, light, Lab::new(middle.l + 3.0, middle.a, middle.b)]);
    let plain = matched(&Target::of(middle), &ring, 20);
    assert!(plain.mixes[0].de00 < 1e-9 && plain.mixes[0].parts_apart_de00 > 30.0);
    assert_eq!(plain.advised.unwrap().pieces, BTreeMap::from([("S02".to_owned(), 20)]));
    let tones = vec![Tone { share: 0.5, lab_d65: dark }, Tone { share: 0.5, lab_d65: light }];
    let striped = matched(&Target { tones, ..Target::of(middle) }, &ring, 21);
    assert!(striped.advised.unwrap().pieces.contains_key("S00"));
    assert_eq!(striped.by_tone.iter().map(|tone| tone.pieces).sum::<u32>(), 21);
    assert_eq!(striped.by_tone[0].code, "S00");
}

/// Ends of two tones are answered tone by tone, in her shares: her own tones are
/// as far apart as the shades, and two shades that meet the mean alone would lose them.
#[test]
fn ends_of_two_tones_are_met_tone_by_tone() {
    let (dark, light) = (Lab::new(42.0, 9.0, 22.0), Lab::new(58.0, 4.0, 16.0));
    let between = [Lab::new(48.0, 7.0, 19.5), Lab::new(50.0, 6.5, 19.0)];
    let ring = ring_of(&[Lab::new(41.0, 9.5, 22.5), Lab::new(59.5, 3.5, 15.0), between[0], between[1]]);
    let mean = Mixture::new().with(dark.to_xyz(D65), 0.65).with(light.to_xyz(D65), 0.35).lab(D65).unwrap();
    let tones = vec![Tone { share: 0.65, lab_d65: dark }, Tone { share: 0.35, lab_d65: light }];
    let two = matched(&Target { tones, ..Target::of(mean) }, &ring, 40);
    let advised = two.advised.unwrap();
    assert_eq!(advised.pieces, BTreeMap::from([("S00".to_owned(), 26), ("S01".to_owned(), 14)]), "her shares");
    assert!(advised.de00 < 2.0);
    // Ends of one tone of the same mean take the shades between.
    let one = matched(&Target::of(mean), &ring, 40).advised.unwrap();
    assert!(!one.pieces.contains_key("S01"), "{:?}", one.pieces);
    // Where no shade is near a tone, the mean decides.
    let far = vec![Tone { share: 0.5, lab_d65: Lab::new(20.0, 3.0, 5.0) }, Tone { share: 0.5, lab_d65: light }];
    let mean_of_far = matched(&Target { tones: far, ..Target::of(mean) }, &ring, 40).advised.unwrap();
    assert_ne!(mean_of_far.pieces, advised.pieces);
}

/// Two shades on either side of the ends lie equally far from them and look
/// nothing alike: that is said, with their own difference (CIEDE2000, computed here).
#[test]
fn shades_equally_far_from_the_ends_are_not_called_alike() {
    let (darker, lighter) = (Lab::new(28.0, 8.0, 18.0), Lab::new(36.5, 8.0, 18.0));
    let ring = ring_of(&[darker, lighter]);
    let ends = Lab::new(32.0, 8.0, 18.0);
    let found = matched(&Target { uncertainty_de00: 1.0, ..Target::of(ends) }, &ring, 10);
    let apart = ciede2000(darker, lighter);
    assert!(apart > 5.0 && (ciede2000(ends, darker) - ciede2000(ends, lighter)).abs() < 1.0);
    assert!(found.cannot_tell_apart.is_empty(), "{:?}", found.cannot_tell_apart);
    assert_eq!(found.about_as_far.len(), 1);
    assert!((found.about_as_far[0].de00 - apart).abs() < 1e-9);
    let said = found.warnings.iter().find(|says| says.contains("about as far")).unwrap();
    assert!(said.contains(&format!("{apart:.1} from it")) && !said.contains("cannot tell"), "{said}");
}

#[test]
fn shades_nearer_than_the_reading_is_sure_are_said_to_be_alike() {
    let ring = ring_of(&[Lab::new(30.0, 8.0, 18.0), Lab::new(30.6, 8.0, 18.0), Lab::new(45.0, 8.0, 22.0)]);
    let target = |uncertainty_de00| Target { uncertainty_de00, ..Target::of(Lab::new(30.0, 8.0, 18.0)) };
    assert_eq!(matched(&target(1.0), &ring, 10).cannot_tell_apart, ["S01"]);
    assert!(matched(&target(0.3), &ring, 10).cannot_tell_apart.is_empty());
    let found = matched(&target(1.0), &ring, 10);
    let apart = colour::ciede2000(Lab::new(30.0, 8.0, 18.0), Lab::new(30.6, 8.0, 18.0));
    assert!((found.cannot_tell_apart_de00[0] - apart).abs() < 1e-9);
    // Two shades a unit apart, both far to one side of the reading: however unsure it is of
    // either, which of them is nearer it knows.
    let aside = ring_of(&[Lab::new(30.0, 8.0, 18.0), Lab::new(31.5, 8.0, 18.0)]);
    assert!(matched(&Target { uncertainty_de00: 2.0, ..Target::of(Lab::new(24.0, 8.0, 18.0)) }, &aside, 10).cannot_tell_apart.is_empty());
    assert_eq!(too_close(&ring, 1.0).unwrap().len(), 1);
    assert!(too_close(&ring, 0.3).unwrap().is_empty());
}

#[test]
fn a_ring_survives_table_and_json() {
    let mut ring = ring_of(&[Lab::new(30.0, 8.0, 18.0), Lab::new(45.25, 8.5, 22.0)]);
    ring.shades[0].name = "warm, \"deep\"".to_owned();
    ring.shades[1].uncertainty_de00 = Some(0.5);
    assert_eq!(ring_from_csv(&ring_to_csv(&ring).unwrap()).unwrap(), ring);
    let json = serde_json::to_string(&ring).unwrap();
    assert_eq!(serde_json::from_str::<Ring>(&json).unwrap(), ring);
    assert!(serde_json::from_str::<Ring>(r#"{"shades":[{"code":"S1","lab":[1,2,3]}]}"#).unwrap_err().to_string().contains("lab"));
}

#[test]
fn faulty_rings_say_what_and_where() {
    let says = |text: &str| ring_from_csv(text).unwrap_err().to_string();
    assert_eq!(says("code,L,a,b\nS1,30,8\n"), "line 2: 3 values where the heading names 4");
    assert_eq!(says("code,L,a,b\nS1,x,8,9\n"), "line 2: \"x\" is no number for L");
    assert_eq!(says("code,L,a,b\nS1,30,8,9\nS1,31,8,9\n"), "two shades have the code \"S1\": give each its own");
    assert!(says("code,colour\nS1,1\n").contains("no column is called \"colour\""));
    assert!(match_ring(&Target::of(Lab::new(30.0, 8.0, 18.0)), &Ring::default(), 10, &BTreeMap::new(), &RuleBook::standard()).is_err());
    let ring = ring_of(&[Lab::new(30.0, 8.0, 18.0)]);
    for pieces in [0, MOST_PIECES + 1] {
        assert!(match_ring(&Target::of(Lab::new(30.0, 8.0, 18.0)), &ring, pieces, &BTreeMap::new(), &RuleBook::standard()).is_err());
    }
    assert!(match_ring(&Target::of(Lab::new(f64::NAN, 8.0, 18.0)), &ring, 5, &BTreeMap::new(), &RuleBook::standard()).is_err());
}

#[test]
fn fading_is_told_from_the_first_reading() {
    let found = fading(&[(Lab::new(40.0, 8.0, 20.0), 0.5), (Lab::new(40.2, 8.0, 20.0), 0.5), (Lab::new(46.0, 8.0, 20.0), 0.5)]);
    assert_eq!(found.iter().map(|f| f.seen).collect::<Vec<_>>(), [false, false, true]);
    assert!((found[2].lightness - 6.0).abs() < 1e-12);
}
