//! Slices against worked values, a drawn-lot judge of the tug, and their laws.
//!
//! The worked values were computed apart from this code from the same formulas
//! (numpy); the Monte Carlo here draws the slack of every strand.

use craft::growth::Growth;
use craft::hair::Processed;
use craft::load::{
    Band, Limit, Proposal, Pull, SliceCase, choose_slice, contact, hairs, judge_slice, limit_share, see_through, traction, window,
};
use craft::piece::{Piece, Setting, Tab};
use craft::retape::first_day_over;
use head::Zone;
use measure::{Area, Days, Density, Grams, Length, RuleBook};
use proptest::prelude::*;

fn book() -> RuleBook {
    RuleBook::standard()
}

fn case(density: f64, um: f64, sandwich: f64) -> SliceCase {
    let tab = Tab { width: Length::mm(40.0), height: Length::mm(9.0) };
    SliceCase {
        density: Density::per_cm2(density),
        diameter: Length::um(um),
        piece: Piece::new(tab, Grams::g(sandwich / 2.0), Length::cm(50.0)).unwrap(),
        setting: Setting::Sandwich,
        pull: Pull::WithGrowth,
        off_scalp: Length::mm(5.0),
        limit_share: 1.0,
        end_share: 1.0,
        care: 1.0,
    }
}

fn index(case: &SliceCase, mm: f64) -> f64 {
    traction(case, Length::mm(mm), &book()).index.value
}

#[test]
fn a_medium_slice_of_3_mm_as_worked() {
    // 180/70, 3 mm, 5 g: N 162, c .3148, A .7639, Rs .486055, peak 15.27131 gf,
    // Re .787181, index 63.66177.
    let case = case(180.0, 70.0, 5.0);
    let slice = judge_slice(&case, Length::mm(3.0), &book());
    assert!((slice.hairs - 162.0).abs() < 1e-9);
    assert!((1.0 - slice.see_through - 0.3148).abs() < 5e-5);
    assert!((slice.contact - 0.7639).abs() < 5e-5);
    assert!((slice.traction.hanging - 0.486_055).abs() < 1e-6);
    assert!((slice.traction.tug_on_worst.to_gf() - 15.271_31).abs() < 1e-5);
    assert!((slice.traction.tug - 0.787_181).abs() < 1e-6);
    assert!((slice.traction.index.value - 63.661_77).abs() < 1e-5);
    assert_eq!(slice.traction.band, Band::Green);
    // 5 g on 162 strands: 30.9 mg each; a sandwich of 5 g on 150: 33.3 mg.
    assert!((slice.load_per_hair.to_mg() - 5000.0 / 162.0).abs() < 1e-9);
}

#[test]
fn medium_slices_from_1_to_5_mm_as_worked() {
    let case = case(180.0, 70.0, 5.0);
    let rows = [
        (1.0, 54.0, 0.88, 0.911),
        (2.0, 108.0, 0.78, 0.833),
        (3.0, 162.0, 0.69, 0.764),
        (4.0, 216.0, 0.60, 0.703),
        (5.0, 270.0, 0.53, 0.649),
    ];
    for (mm, n, through, meets) in rows {
        let t = Length::mm(mm);
        assert!((hairs(&case, t, &book()) - n).abs() < 1e-9);
        assert!((see_through(&case, t) - through).abs() < 0.006);
        assert!((contact(&case, t, &book()) - meets).abs() < 6e-4);
    }
}

#[test]
fn indices_of_fine_to_coarse_hair_as_worked() {
    for (density, um, full, light) in [
        (120.0, 50.0, 119.7, 69.8),
        (120.0, 70.0, 84.7, 52.3),
        (180.0, 50.0, 87.0, 51.6),
        (180.0, 70.0, 63.7, 40.0),
        (180.0, 90.0, 54.1, 35.2),
        (250.0, 90.0, 44.0, 28.9),
    ] {
        assert!((index(&case(density, um, 5.0), 3.0) - full).abs() < 0.06);
        assert!((index(&case(density, um, 2.5), 3.0) - light).abs() < 0.06);
    }
}

#[test]
fn windows_as_worked() {
    // Thinnest by hanging and by tug at 5 g and 2.5 g, thickest by contact .7, mm.
    let rows = [
        (120.0, 50.0, 4.29, 2.26, 2.14, 0.56, 8.51),
        (120.0, 70.0, 2.19, 2.26, 1.09, 0.56, 6.08),
        (180.0, 50.0, 2.86, 0.85, 1.43, 0.35, 5.68),
        (180.0, 70.0, 1.46, 0.85, 0.73, 0.35, 4.05),
        (180.0, 90.0, 0.88, 0.85, 0.44, 0.35, 3.15),
        (250.0, 70.0, 1.05, 0.54, 0.52, 0.24, 2.92),
        (250.0, 90.0, 0.64, 0.54, 0.32, 0.24, 2.27),
    ];
    for (density, um, hang, tug, hang_light, tug_light, most) in rows {
        let full = window(&case(density, um, 5.0), &book());
        let light = window(&case(density, um, 2.5), &book());
        for (found, expected) in
            [(full.hanging, hang), (full.tug, tug), (light.hanging, hang_light), (light.tug, tug_light), (full.contact, most)]
        {
            assert!((found.to_mm() - expected).abs() < 0.0065, "{density}/{um}: {found:?} for {expected}");
        }
    }
}

#[test]
fn sensitivities_as_worked() {
    // Medium 63.7: stiffness 100/400 gives 52.9/81.4, tug 250/1000 gf 52.1/80.0.
    let with = |rule, value| {
        let mut book = book();
        book.set(rule, value).unwrap();
        traction(&case(180.0, 70.0, 5.0), Length::mm(3.0), &book).index.value
    };
    for (rule, value, expected) in [
        (&craft::load::STIFFNESS, 100.0, 52.9),
        (&craft::load::STIFFNESS, 400.0, 81.4),
        (&craft::load::TUG, 250.0, 52.1),
        (&craft::load::TUG, 1000.0, 80.0),
    ] {
        assert!((with(rule, value) - expected).abs() < 0.06);
    }
}

#[test]
fn a_half_with_half_the_margin_bears_as_a_full_one() {
    let full = case(180.0, 70.0, 5.0);
    let half = SliceCase { piece: full.piece.half(), ..full };
    assert!((index(&half, 3.0) - 63.662).abs() < 5e-4);
}

#[test]
fn growing_out_raises_the_index_as_worked() {
    // Medium, 0.35 mm a day, days 0/42/56/84: 63.7/69.9/71.9/75.9.
    let growth = Growth::per_day(Length::mm(0.35));
    for (day, expected) in [(0.0, 63.7), (42.0, 69.9), (56.0, 71.9), (84.0, 75.9)] {
        let then = case(180.0, 70.0, 5.0).after(Days::days(day), growth, &book());
        assert!((index(&then, 3.0) - expected).abs() < 0.06, "{day}: {}", index(&then, 3.0));
    }
    assert_eq!(first_day_over(&case(180.0, 70.0, 5.0), Length::mm(3.0), growth, &book()), None);
    // Fine and sparse at 2.75 mm: 4.29 / 2.75 = 1.56 times the mark, and shed hairs bring it to 1.6.
    let first = first_day_over(&case(120.0, 50.0, 5.0), Length::mm(2.75), growth, &book()).unwrap();
    assert!((1.0..84.0).contains(&first.to_days()));
}

#[test]
fn the_tug_agrees_with_strands_drawn_one_by_one() {
    // (force gf, strands, slack mm): each strand taut after its own slack,
    // spread evenly; 400 draws each. The closed form is for the mean draw.
    let mut state = 0x2545_f491_4f6c_dd1d_u64;
    let mut chance = || {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state >> 11) as f64 / (1_u64 << 53) as f64
    };
    for (density, mm, um) in [(180.0, 3.0, 70.0), (60.0, 3.0, 70.0), (33.0, 2.5, 70.0)] {
        let case = case(density, um, 5.0);
        let n = hairs(&case, Length::mm(mm), &book()).round() as usize;
        let slack = 0.3 + mm * 0.5 + 0.3 * 0.5;
        let force = 500.0 * 9.806_65e-3;
        let k = 0.190; // N per mm
        let mut sum = 0.0;
        for _ in 0..400 {
            let mut free: Vec<f64> = (0..n).map(|_| chance() * slack).collect();
            free.sort_by(f64::total_cmp);
            // Give x: the taut strands carry k (x - free) each.
            let (mut low, mut high) = (0.0, 1000.0);
            for _ in 0..60 {
                let x = (low + high) / 2.0;
                let held: f64 = free.iter().map(|f| k * (x - f).max(0.0)).sum();
                if held < force { low = x } else { high = x }
            }
            sum += k * (low - free[0]);
        }
        let drawn = sum / 400.0 / 9.806_65e-3;
        let closed = traction(&case, Length::mm(mm), &book()).tug_on_worst.to_gf();
        assert!((closed / drawn - 1.0).abs() < 0.05, "{n} strands: {closed} for {drawn}");
    }
}

#[test]
fn trade_slices_come_out_for_medium_hair() {
    // Common practice: 2 to 4 mm, seen through, 10 mm narrower than the tab (T8).
    let slice = choose_slice(&case(180.0, 70.0, 5.0), &book()).unwrap();
    assert!((2.0..=4.0).contains(&slice.thickness.to_mm()));
    assert!(slice.see_through >= 0.5 && slice.contact >= 0.7);
    assert_eq!(slice.length.to_mm(), 30.0);
    assert_eq!(slice.traction.band, Band::Green);
    // The published window's upper end: contact binds at 4.05 mm.
    assert_eq!((slice.window.least_by, slice.window.most_by), (Limit::TradeLeast, Limit::Contact));
    assert!((slice.window.most.to_mm() - 4.05).abs() < 0.01);
}

#[test]
fn coarse_dense_hair_is_taken_thin() {
    let slice = choose_slice(&case(250.0, 90.0, 5.0), &book()).unwrap();
    assert!(slice.thickness.to_mm() <= 2.27 && slice.window.most_by == Limit::Contact);
}

#[test]
fn fine_sparse_hair_takes_a_thicker_slice_and_refuses_only_what_nobody_sets() {
    // Worked window: 4.29 mm carry 5 g on 120/50; a slice may be 6 mm thick.
    let fine = case(120.0, 50.0, 5.0);
    let slice = choose_slice(&fine, &book()).unwrap();
    assert!(slice.thickness.to_mm() > 4.29 && slice.strain <= 1.0);
    // 8 g ask for 6.86 mm: at 6 mm the slice is marked, and set.
    let marked = choose_slice(&case(120.0, 50.0, 8.0), &book()).unwrap();
    assert!((marked.strain - 6.864 / 6.0).abs() < 0.01 && marked.strain_end < 1.0, "{}", marked.strain);
    // 12 g carry 1.7 times the mark: beyond what anyone sets.
    let none = choose_slice(&case(120.0, 50.0, 12.0), &book()).unwrap_err();
    assert_eq!(none.window.most_by, Limit::TradeMost);
    assert!(none.proposals.contains(&Proposal::SingleSided));
    let lighter = none.proposals.iter().find_map(|p| match p {
        Proposal::LighterPieces(mass) => Some(*mass),
        _ => None,
    });
    let lighter = lighter.unwrap();
    // What is proposed works, and a tenth of a gram more does not.
    let with = |mass: Grams| SliceCase { piece: Piece { mass, ..fine.piece }, ..fine };
    assert!(choose_slice(&with(lighter), &book()).is_ok());
    assert!(choose_slice(&with(lighter + Grams::g(0.1)), &book()).is_err());
}

#[test]
fn services_move_mark_and_end_age_and_colour_the_mark_alone() {
    let at = |limit_share, end_share, care| SliceCase { limit_share, end_share, care, ..case(120.0, 50.0, 8.0) };
    let strain = |c: SliceCase| judge_slice(&c, Length::mm(6.0), &book());
    let (plain, aged, bleached, bold) = (at(1.0, 1.0, 1.0), at(0.9, 1.0, 1.0), at(0.75, 0.75, 1.0), at(1.0, 1.0, 1.25));
    assert!(strain(aged).strain > strain(plain).strain && (strain(aged).strain_end - strain(plain).strain_end).abs() < 1e-9);
    assert!(strain(bleached).strain > strain(aged).strain && strain(bleached).strain_end > strain(plain).strain_end);
    assert!(strain(bold).strain < strain(plain).strain && strain(bold).strain_end < strain(plain).strain_end);
}

#[test]
fn fewer_styles_are_proposed_when_the_pull_is_what_binds() {
    // Hanging asks for 2.86 mm at rest; drawn against its growth for 1.6 times that.
    let drawn = case(120.0, 50.0, 8.0).drawn(Pull::Against);
    let none = choose_slice(&drawn, &book()).unwrap_err();
    assert!(none.proposals.contains(&Proposal::FewerStyles));
    assert!(choose_slice(&drawn.drawn(Pull::WithGrowth), &book()).is_ok());
}

#[test]
fn bands_of_load_per_strand_stand_at_30_and_50_mg() {
    // One strand-share either side of the limits, at 70 um; at 55 um the limits
    // stand at (55/70)^2 = 0.62 of that.
    for (um, scale) in [(70.0, 1.0), (55.0, (55.0_f64 / 70.0).powi(2))] {
        for (mg, under, over) in [(30.0, Band::Green, Band::Amber), (50.0, Band::Amber, Band::Red)] {
            let density = |load: f64| 5000.0 / load / 0.9; // strands per cm2 on 0.9 cm2
            let band = |load: f64| judge_slice(&case(density(load), um, 5.0), Length::mm(3.0), &book()).load_band;
            assert_eq!(band(mg * scale * 0.999), under);
            assert_eq!(band(mg * scale * 1.001), over);
        }
    }
}

#[test]
fn processed_hair_and_edges_leave_less() {
    let share = |p, z| limit_share(p, z, &book());
    assert_eq!(share(Processed::None, Zone::Occipital), 1.0);
    assert_eq!(share(Processed::Relaxed, Zone::Occipital), 0.75);
    assert_eq!(share(Processed::Bleached, Zone::Occipital), 0.75);
    assert!(share(Processed::Coloured, Zone::Nape) < 1.0);
    assert!(share(Processed::None, Zone::Temporal) < 1.0);
}

#[test]
fn a_tape_bears_next_to_nothing_at_rest() {
    // 5 g over 4.0 x 0.8 cm: 153 Pa. 33.3 mg is 0.327 mN, 1/1147 of 0.375 N.
    let weight = Grams::g(5.0).to_g() * 1e-3 * 9.806_65;
    let pressure = weight / ((Length::cm(4.0) * Length::cm(0.8)).to_cm2() * 1e-4);
    assert!((pressure - 153.0).abs() < 1.0);
    assert!((0.375 / (weight / 150.0) - 1147.0).abs() < 1.0);
    assert!(Area::cm2(1.0).to_mm2() == 100.0);
}

proptest! {
    #[test]
    fn load_falls_with_thickness_and_rises_with_mass_and_distance(
        density in 60.0..320.0_f64, um in 40.0..110.0_f64, mass in 1.0..8.0_f64, mm in 0.5..5.0_f64, more in 0.05..1.0_f64,
    ) {
        let base = case(density, um, mass);
        let at = |c: &SliceCase, t: f64| judge_slice(c, Length::mm(t), &book());
        let (thin, thick) = (at(&base, mm), at(&base, mm + more));
        prop_assert!(thick.load_per_hair < thin.load_per_hair);
        prop_assert!(thick.traction.index.value < thin.traction.index.value);
        prop_assert!(thick.contact < thin.contact && thick.see_through < thin.see_through);
        let heavy = at(&case(density, um, mass + more), mm);
        prop_assert!(heavy.load_per_hair > thin.load_per_hair && heavy.traction.index.value > thin.traction.index.value);
        let far = at(&SliceCase { off_scalp: base.off_scalp + Length::mm(10.0 * more), ..base }, mm);
        prop_assert!(far.traction.index.value > thin.traction.index.value);
    }

    #[test]
    fn a_finer_strand_never_has_a_higher_limit(density in 60.0..320.0_f64, um in 40.0..100.0_f64, finer in 1.0..20.0_f64) {
        let hanging = |um| window(&case(density, um, 5.0), &book()).hanging;
        prop_assert!(hanging(um - finer) >= hanging(um));
    }

    #[test]
    fn what_is_chosen_keeps_every_limit(density in 60.0..320.0_f64, um in 40.0..110.0_f64, mass in 1.0..8.0_f64, share in 0.5..1.0_f64) {
        let case = case(density, um, mass).with_limits_at(share);
        match choose_slice(&case, &book()) {
            Ok(slice) => {
                prop_assert!(slice.strain_end <= 1.0 + 1e-6);
                // Marked only where no thickness would keep it under the mark.
                prop_assert!(slice.strain <= 1.0 + 1e-6 || slice.window.least > slice.window.most);
                prop_assert!(slice.see_through >= 0.5 - 1e-9 || slice.thickness.to_mm() <= 2.0 + 1e-9);
                prop_assert!((2.0..=6.0).contains(&slice.thickness.to_mm()));
            }
            Err(none) => {
                prop_assert!(none.window.least > none.window.most);
                // A judge that only looks: no thickness from 2 mm to the thickest is set by anyone.
                let most = none.window.most.to_mm();
                for i in 0..=40 {
                    let s = judge_slice(&case, Length::mm(2.0 + (most - 2.0) * f64::from(i) / 40.0), &book());
                    prop_assert!(s.traction.hanging.max(s.traction.tug) * 0.999 > 1.6 * share.min(1.0) || s.strain_end > 1.0 - 1e-9);
                }
            }
        }
    }
}
