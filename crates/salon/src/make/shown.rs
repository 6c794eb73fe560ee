//! From the engines' answers to the plan's own shapes.

use super::places::{kept_free, panel_of};
use crate::client::ClientFacts;
use crate::plan::rim::{combed, rounded};
use crate::plan::{
    ColourPlan, HairPlan, HeadPlan, LandmarksPlan, MapPair, NearShade, PanelPlan, PanelRow, PanelsPlan, PlanSide, SkinTriple,
};
use craft::coverage::Style;
use craft::hair::Hair;
use craft::matching::{Match, Mix, Ring};
use craft::placement::Row;
use head::{Fit, Head, Landmarks, MapPoint, Panel, PanelOutline, Side, SkinPoint};
use measure::Length;
use std::collections::BTreeMap;

fn triple(p: SkinPoint) -> SkinTriple {
    p.0.map(|v| rounded(v, 1000.0))
}

fn triples(points: &[SkinPoint]) -> Vec<SkinTriple> {
    points.iter().copied().map(triple).collect()
}

/// A place on a panel of the map; none off the partings.
#[must_use]
pub fn pair(head: &Head, panel: Panel, p: SkinPoint) -> Option<MapPair> {
    head.on_panel(panel, p).map(paired)
}

/// The place on a panel that is read so far up the middle and so far along.
#[must_use]
pub fn read_pair(head: &Head, panel: Panel, above_nape: Length, along: Length) -> MapPair {
    head.read_on_panel(panel, above_nape, along).map_or([0.0; 2], paired)
}

fn paired(p: MapPoint) -> MapPair {
    [rounded(p.x, 100.0), rounded(p.y, 100.0)]
}

fn paired_all(points: &[MapPoint]) -> Vec<MapPair> {
    points.iter().copied().map(paired).collect()
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

/// The landmarks on the skin.
#[must_use]
pub fn landmarks_plan(marks: &Landmarks) -> LandmarksPlan {
    LandmarksPlan {
        nape_hairline: triples(&marks.nape_hairline),
        left_behind_ear: triples(&marks.left_behind_ear),
        right_behind_ear: triples(&marks.right_behind_ear),
        ear_to_ear_line: triples(&marks.ear_to_ear_line),
        ear_tops: triples(&marks.ear_tops),
        front_hairline: triples(&marks.front_hairline),
        left_ear: triples(&marks.left_ear),
        right_ear: triples(&marks.right_ear),
        crown: triple(marks.crown),
        tied_low: triple(marks.tied_low),
        tied_mid: triple(marks.tied_mid),
        tied_high: triple(marks.tied_high),
    }
}

/// The three panels of the map with the lines of the rows.
#[must_use]
pub fn panels_plan(facts: &ClientFacts, head: &Head, rows: &[Row], outlines: &[PanelOutline; 3]) -> PanelsPlan {
    let [back, left, right] = outlines;
    PanelsPlan {
        back: panel_plan(facts, head, rows, Panel::Back, back),
        left: panel_plan(facts, head, rows, Panel::Left, left),
        right: panel_plan(facts, head, rows, Panel::Right, right),
    }
}

fn panel_plan(facts: &ClientFacts, head: &Head, rows: &[Row], panel: Panel, outline: &PanelOutline) -> PanelPlan {
    let marks = head.landmarks();
    let ties = [(Style::LowPonytail, marks.tied_low), (Style::MidPonytail, marks.tied_mid), (Style::HighPonytail, marks.tied_high)];
    PanelPlan {
        edge: paired_all(&outline.edge),
        axis: paired_all(&outline.axis),
        ears: outline.ears.iter().map(|ear| paired_all(ear)).collect(),
        crown: outline.crown.map(paired),
        ties: ties.into_iter().filter(|_| panel == Panel::Back).filter_map(|(style, p)| Some((style, pair(head, panel, p)?))).collect(),
        shape_only_from: outline.shape_only_from.is_finite().then(|| rounded(outline.shape_only_from, 10.0)),
        rows: rows
            .iter()
            .filter(|row| panel_of(row.part) == panel)
            .map(|row| PanelRow { row: row.row, line: row_line(head, panel, row) })
            .collect(),
        kept_free: kept_free(facts, head, panel),
    }
}

/// The line of a row on its panel, left to right.
fn row_line(head: &Head, panel: Panel, row: &Row) -> Vec<MapPair> {
    /// Points of a side's line; its far end bends where only the shape is shown.
    const POINTS: u32 = 12;
    let back = row.length / 2.0;
    let ends = match panel {
        Panel::Back => return vec![read_pair(head, panel, row.above_nape, -back), read_pair(head, panel, row.above_nape, back)],
        Panel::Left => (-row.section_at - row.length, -row.section_at),
        Panel::Right => (row.section_at, row.section_at + row.length),
    };
    (0..=POINTS)
        .map(|k| {
            // A hair's breadth inside, where rounding would step off the line.
            let share = (f64::from(k) / f64::from(POINTS)).clamp(0.0005, 0.9995);
            read_pair(head, panel, row.above_nape, ends.0 + (ends.1 - ends.0) * share)
        })
        .collect()
}

/// The size of the head.
#[must_use]
pub fn head_plan(fit: &Fit, head: &Head) -> HeadPlan {
    HeadPlan {
        length: combed(fit.length),
        breadth: combed(fit.breadth),
        tragion_to_top: combed(fit.tragion_to_top),
        nape_to_crown: combed(head.height_above_nape(head.landmarks().crown)),
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
        nearest: matched.nearest.iter().map(|near| NearShade { code: near.code.clone(), de00: rounded(near.de00, 1000.0) }).collect(),
        mix: set.map(|mix| mix.pieces.clone()).unwrap_or_default(),
        mix_de00: set.map(|mix| rounded(mix.de00, 1000.0)),
        shades_lab_d65,
        shade_names,
        notes: matched.warnings.clone(),
    }
}
