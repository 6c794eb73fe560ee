//! From the engines' answers to the plan's own shapes.

use crate::Fault;
use crate::client::ClientFacts;
use crate::plan::rim::{combed, rounded, weighed};
use crate::plan::{
    CautionPlan, ColourPlan, EndMark, HairPlan, HeadPlan, KeptFree, LandmarksPlan, MapPair, NearShade, PanelPlan, PanelRow, PanelsPlan,
    PlanSide, RowEnd, RowPlan, RowStart, RowZone, SitePiece, SitePlan, SkinTriple, StartLine,
};
use craft::coverage::Style;
use craft::hair::Hair;
use craft::matching::{Match, Mix, Ring};
use craft::piece::Setting;
use craft::placement::{self, HeadPart, Row, Site};
use head::{Fit, Head, Landmarks, MapPoint, Panel, PanelOutline, Side, SkinPoint};
use measure::{Grams, Length};
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

/// The faults without those that say the same of another region.
pub(super) fn once_each(faults: &[placement::Fault]) -> Vec<Fault> {
    let mut told: Vec<Fault> = Vec::new();
    for one in faults.iter().map(fault) {
        if !told.iter().any(|other| other.rule == one.rule && other.cure == one.cure) {
            told.push(one);
        }
    }
    told
}

/// A caution in the plan's own shape.
pub(super) fn caution_plan(caution: &placement::Caution) -> CautionPlan {
    CautionPlan { site: caution.site, what: caution.what.clone(), rule: caution.rule.to_owned(), degree: caution.degree }
}

fn fault(fault: &placement::Fault) -> Fault {
    Fault::new(fault.what.clone(), fault.place.clone(), fault.rule, fault.cure.clone())
}

pub(super) fn row_plan(head: &Head, row: &Row) -> RowPlan {
    let parting = head.parting(row.above_nape);
    let up_ear = row.up_ear_line.unwrap_or(Length::ZERO);
    let (start, end) = match row.part {
        HeadPart::Back => {
            let start = RowStart { on: StartLine::Midline, up: combed(row.above_nape) };
            (start, RowEnd { from: EndMark::EarTop, away: combed(up_ear) })
        }
        HeadPart::Left | HeadPart::Right => {
            let start = RowStart { on: StartLine::EarToEarLine, up: combed(up_ear) };
            let from_ear = parting.as_ref().and_then(|parting| head.from_ear_front(parting));
            (start, RowEnd { from: EndMark::EarFront, away: from_ear.map_or(Length::ZERO, combed) })
        }
    };
    RowPlan {
        row: row.row,
        name: format!("{}{}", row.part.letter(), row.in_section),
        section: Some(row.part),
        start: Some(start),
        end: Some(end),
        ends_behind_ear: row.ends_behind_ear,
        zone: RowZone::of(row.part, row.zone),
        parting_above_nape: combed(row.above_nape),
        up_midline: Some(combed(row.above_nape)),
        length: combed(row.length),
        setting: row.setting,
    }
}

pub(super) fn site_plan(head: &Head, site: &Site, setting: Setting, length: Length) -> SitePlan {
    SitePlan {
        site: site.id,
        row: site.row,
        section: Some(site.part),
        from_line: Some(combed(site.from_line)),
        panel: Some(panel_of(site.part)),
        side: plan_side(site.side),
        along: combed(site.along),
        above_nape: combed(site.above_nape),
        width: combed(site.piece.tab.width),
        piece: SitePiece {
            shade: String::new(),
            under_shade: None,
            length: combed(length),
            mass: weighed(site.piece.mass, 100.0),
            cut: site.cut,
        },
        setting,
        slice_width: combed(site.slice.length),
        slice: combed(site.slice.thickness),
        hairs: rounded(site.slice.hairs, 1.0),
        load_per_hair: Grams::mg(rounded(site.slice.load_per_hair.to_mg(), 10.0)),
        traction_index: rounded(site.slice.traction.index.value, 10.0),
        coverage: site.coverage.iter().map(|(style, share)| (*style, rounded(*share, 1000.0))).collect(),
        gaps: site.gaps.iter().map(|(style, gaps)| (*style, rounded(*gaps, 100.0))).collect(),
        clearance: combed(site.clearance),
        clearance_to: site.clearance_to,
        sigma: combed(site.sigma),
        why: site.why.iter().map(|reason| reason.rule.to_owned()).collect(),
        because: site.why.iter().map(|reason| reason.says.clone()).collect(),
        ends_mm: site.ends.map(|p| p.0.map(|v| rounded(v, 1000.0))),
        chance_of_showing: Some(rounded(site.chance, 1000.0)),
        map_mm: [-0.5, 0.5].map(|share| {
            let along = site.along + site.slice.length * share;
            read_pair(head, panel_of(site.part), site.above_nape, along)
        }),
    }
}

/// The panel that a section is drawn on.
pub(super) const fn panel_of(part: HeadPart) -> Panel {
    match part {
        HeadPart::Back => Panel::Back,
        HeadPart::Left => Panel::Left,
        HeadPart::Right => Panel::Right,
    }
}

/// How far apart the points stand that find the outline of a region kept free.
const SWEEP: Length = Length::mm(4.0);

/// The regions kept free as outlines on the panels: the first and last place of
/// the region on partings swept upward.
pub(super) fn kept_free(facts: &ClientFacts, head: &Head, panel: Panel) -> Vec<KeptFree> {
    facts
        .head
        .avoid
        .iter()
        .flat_map(|avoid| {
            let sides = match avoid.side {
                Side::Centre => vec![Side::Left, Side::Right],
                side => vec![side],
            };
            sides.into_iter().filter_map(|side| {
                let (mut lower, mut upper) = (Vec::new(), Vec::new());
                let mut height = SWEEP;
                while let Some(parting) = head.parting(height) {
                    let inside: Vec<_> = parting
                        .points()
                        .iter()
                        .copied()
                        .filter(|&p| head.zone(p) == avoid.zone && head.side_of(p) == side && head.panel_of(p) == panel)
                        .collect();
                    if let (Some(&first), Some(&last)) = (inside.first(), inside.last()) {
                        lower.extend(pair(head, panel, first));
                        upper.extend(pair(head, panel, last));
                    }
                    height += SWEEP;
                }
                upper.reverse();
                lower.extend(upper);
                (lower.len() > 2).then(|| KeptFree { reason: avoid.reason.clone(), outline: lower })
            })
        })
        .collect()
}
