//! The sites on this head, in the plan's own shape.

use super::head_model::{DecidedLayout, HeadModel};
use super::shown::{pair, plan_side, read_pair};
use crate::Fault;
use crate::client::ClientFacts;
use crate::plan::rim::{combed, rounded, weighed};
use crate::plan::{
    CautionPlan, EndMark, KeptFree, OtherLayout, OtherSite, RowEnd, RowPlan, RowStart, RowZone, SitePiece, SitePlan, StartLine,
};
use crate::words::Message;
use craft::hair::Hair;
use craft::load::SliceCase;
use craft::piece::Setting;
use craft::placement::{self, HeadPart, Layout, Placement, Row, Site};
use craft::retape::first_day_over;
use head::{Head, Panel, Side};
use measure::text::number;
use measure::{Days, Grams, Length, RuleBook};

/// Everything that stands on the head.
pub struct PlacedSet {
    /// The rows, as they are worked.
    pub rows: Vec<RowPlan>,
    /// The sites, as they are worked.
    pub sites: Vec<SitePlan>,
    /// What the models mark.
    pub cautions: Vec<CautionPlan>,
    /// Other layouts.
    pub others: Vec<OtherLayout>,
    /// What could not be had.
    pub faults: Vec<Fault>,
    /// The placement itself.
    pub placement: Placement,
    /// Her hair.
    pub hair: Hair,
    /// Two pieces to a slice, or one.
    pub setting: Setting,
}

impl PlacedSet {
    /// The first day on which a slice bears more than it may, as the bond grows
    /// out and shed hairs leave it.
    pub fn load_limit(&self, site: &Site, growth: craft::growth::Growth, book: &RuleBook) -> Option<Days> {
        let case = SliceCase::new(&self.hair, site.zone, &site.piece, self.setting, book);
        first_day_over(&case, site.slice.thickness, growth, book)
    }
}

/// Places the wish on the head, around what stands.
///
/// *Errors*: nothing can be placed; the limits that bind.
pub fn place(model: &HeadModel, state: &DecidedLayout, seed: u64) -> Result<PlacedSet, Vec<Fault>> {
    let placement = model.place(state, seed)?;
    let head = model.head();
    Ok(PlacedSet {
        rows: placement.rows.iter().map(|row| row_plan(head, row)).collect(),
        sites: placement.sites.iter().map(|site| model.shown(site)).collect(),
        cautions: placement.cautions.iter().map(caution_plan).collect(),
        others: placement.runners_up.iter().map(|layout| other_layout(layout, placement.points)).collect(),
        faults: once_each(&placement.faults),
        placement,
        hair: model.hair().clone(),
        setting: model.wanted().setting,
    })
}

fn other_layout(layout: &Layout, points: f64) -> OtherLayout {
    let mut sites: Vec<OtherSite> = layout
        .sites
        .iter()
        .map(|site| OtherSite {
            above_nape: combed(site.above_nape),
            along: combed(site.along),
            width: combed(site.piece.tab.width),
            cut: site.piece.cut,
        })
        .collect();
    sites.sort_by(|a, b| a.above_nape.to_mm().total_cmp(&b.above_nape.to_mm()).then(a.along.to_mm().total_cmp(&b.along.to_mm())));
    OtherLayout { points_more: rounded(layout.points - points, 10.0), sites }
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
    CautionPlan { site: caution.site.clone(), what: caution.what.clone(), rule: caution.rule.to_owned(), degree: caution.degree }
}

fn fault(fault: &placement::Fault) -> Fault {
    Fault::new(fault.what.clone(), fault.place.clone(), fault.rule, fault.cure.clone())
}

fn row_plan(head: &Head, row: &Row) -> RowPlan {
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
        site: site.id.clone(),
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

/// What to say where one side of the head carries more than the other by a
/// sandwich or more.
pub(super) fn heavier_side(sites: &[SitePlan]) -> Option<String> {
    let on = |sign: f64| {
        let of_side = sites.iter().filter(move |site| site.along.to_mm() * sign > 0.5);
        of_side.map(|site| site.hanging_mass().to_g()).sum::<f64>()
    };
    let (left, right) = (on(-1.0), on(1.0));
    let one = sites.iter().map(|site| site.hanging_mass().to_g()).fold(0.0, f64::max);
    if sites.is_empty() || (left - right).abs() < one - 1e-6 {
        return None;
    }
    let (heavier, more, less) = if left > right { ("left", left, right) } else { ("right", right, left) };
    let (more, less) = (number(more, 0), number(less, 0));
    Some(Message::OneSideHeavier { heavier: heavier.to_owned(), more, less }.to_string())
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
