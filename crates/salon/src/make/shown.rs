//! From the engines' answers to the plan's own shapes.

use crate::plan::{
    ColourPlan, HairPlan, HeadPlan, KeptFree, LandmarksPlan, MapPair, MapPlan, NearShade, PlanSide, SkinTriple,
};
use craft::hair::Hair;
use craft::matching::{Match, Mix, Ring};
use head::{Border, Fit, Head, Landmarks, Parting, Side, SkinPoint};
use measure::Length;
use std::collections::BTreeMap;

/// A length in millimetres to a tenth, as fine as anyone can comb.
#[must_use]
pub fn tenth(length: Length) -> f64 {
    rounded(length.to_mm(), 10.0)
}

/// A number rounded to one part in `parts`.
#[must_use]
pub fn rounded(value: f64, parts: f64) -> f64 {
    let sharp = (value * parts).round() / parts;
    // No "-0" on a paper.
    if sharp == 0.0 { 0.0 } else { sharp }
}

fn triple(p: SkinPoint) -> SkinTriple {
    p.0.map(|v| rounded(v, 1000.0))
}

fn triples(points: &[SkinPoint]) -> Vec<SkinTriple> {
    points.iter().copied().map(triple).collect()
}

/// A place on the flat map.
#[must_use]
pub fn pair(head: &Head, p: SkinPoint) -> MapPair {
    let on_map = head.to_map(p);
    [rounded(on_map.x, 100.0), rounded(on_map.y, 100.0)]
}

fn pairs(head: &Head, points: &[SkinPoint]) -> Vec<MapPair> {
    points.iter().map(|&p| pair(head, p)).collect()
}

/// The client's own side in the plan's words.
#[must_use]
pub const fn plan_side(side: Side) -> PlanSide {
    match side {
        Side::Left => PlanSide::Left,
        Side::Centre => PlanSide::Centre,
        Side::Right => PlanSide::Right,
    }
}

/// A border in words.
#[must_use]
pub const fn border_words(border: Border) -> &'static str {
    match border {
        Border::NapeHairline => "the nape hairline",
        Border::FrontHairline => "the front hairline",
        Border::LeftEar => "the client's left ear",
        Border::RightEar => "the client's right ear",
    }
}

/// The landmarks on the skin.
#[must_use]
pub fn landmarks_plan(marks: &Landmarks) -> LandmarksPlan {
    LandmarksPlan {
        nape_hairline: triples(&marks.nape_hairline),
        front_hairline: triples(&marks.front_hairline),
        left_ear: triples(&marks.left_ear),
        right_ear: triples(&marks.right_ear),
        crown: triple(marks.crown),
        tied_low: triple(marks.tied_low),
        tied_mid: triple(marks.tied_mid),
        tied_high: triple(marks.tied_high),
    }
}

/// The lines of the head map with the partings of the rows.
#[must_use]
pub fn map_plan(head: &Head, partings: &[Parting], kept_free: Vec<KeptFree>, distortion: String) -> MapPlan {
    let marks = head.landmarks();
    let ties = [("low_ponytail", marks.tied_low), ("mid_ponytail", marks.tied_mid), ("high_ponytail", marks.tied_high)];
    MapPlan {
        nape_hairline: pairs(head, &marks.nape_hairline),
        front_hairline: pairs(head, &marks.front_hairline),
        left_ear: pairs(head, &marks.left_ear),
        right_ear: pairs(head, &marks.right_ear),
        midline: pairs(head, &marks.midline),
        ear_to_ear: pairs(head, &marks.ear_to_ear),
        crown: pair(head, marks.crown),
        ties: ties.into_iter().map(|(style, p)| (style.to_owned(), pair(head, p))).collect(),
        partings: partings.iter().map(|parting| pairs(head, parting.points())).collect(),
        kept_free,
        distortion,
    }
}

/// What the flat map bends, in plain words.
#[must_use]
pub fn distortion_words(head: &Head) -> String {
    let bent = head.map_distortion();
    format!(
        "Behind the ears the map changes lengths along a parting by {:.1} % on average and across it by {:.1} %; at temples and forehead it stretches more. Measure on the head by the numbers, not off the picture.",
        100.0 * bent.along_partings,
        100.0 * bent.across_partings
    )
}

/// The size of the head.
#[must_use]
pub fn head_plan(fit: &Fit, head: &Head) -> HeadPlan {
    HeadPlan {
        length_mm: tenth(fit.length),
        breadth_mm: tenth(fit.breadth),
        tragion_to_top_mm: tenth(fit.tragion_to_top),
        nape_to_crown_mm: tenth(head.height_above_nape(head.landmarks().crown)),
    }
}

/// The hair as reckoned.
#[must_use]
pub fn hair_plan(hair: &Hair) -> HairPlan {
    let d = hair.density;
    let w = hair.diameter;
    let n = hair.strands();
    HairPlan {
        density_per_cm2: [d.value, d.low, d.high].map(|x| rounded(x.to_per_cm2(), 1.0)),
        diameter_um: [w.value, w.low, w.high].map(|x| rounded(x.to_um(), 1.0)),
        strands: [n.value, n.low, n.high].map(|x| rounded(x, 0.001)),
    }
}

/// The colour section from a match, with the mix that is set.
#[must_use]
pub fn colour_plan(lab: [f64; 3], uncertainty: Option<f64>, matched: &Match, ring: &Ring, set: Option<&Mix>) -> ColourPlan {
    let mut shades_lab_d65 = BTreeMap::new();
    let mut shade_names = BTreeMap::new();
    for shade in &ring.shades {
        if set.is_some_and(|mix| mix.pieces.contains_key(&shade.code)) {
            if let Ok(xyz) = shade.colour() {
                let lab = xyz.to_lab(colour::D65);
                shades_lab_d65.insert(shade.code.clone(), [lab.l, lab.a, lab.b].map(|v| rounded(v, 100.0)));
            }
            shade_names.insert(shade.code.clone(), shade.name.clone());
        }
    }
    ColourPlan {
        lab_d65: Some(lab.map(|v| rounded(v, 100.0))),
        uncertainty_de00: uncertainty.map(|u| rounded(u, 100.0)),
        reachable: Some(matched.reachable),
        nearest: matched
            .nearest
            .iter()
            .map(|near| NearShade { code: near.code.clone(), de00: rounded(near.de00, 1000.0) })
            .collect(),
        mix: set.map(|mix| mix.pieces.clone()).unwrap_or_default(),
        mix_de00: set.map(|mix| rounded(mix.de00, 1000.0)),
        shades_lab_d65,
        shade_names,
        notes: matched.warnings.clone(),
    }
}
