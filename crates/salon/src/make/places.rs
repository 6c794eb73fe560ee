//! The sites on this head, in the plan's own shape.

use super::head_model::{DecidedLayout, HeadModel};
use super::shown::{border_words, pair, plan_side, read_pair, rounded, tenth};
use crate::Fault;
use crate::client::ClientFacts;
use crate::plan::{CautionPlan, KeptFree, OtherLayout, OtherSite, RowEnd, RowPlan, RowStart, SitePiece, SitePlan};
use crate::words::Message;
use craft::hair::Hair;
use craft::load::SliceCase;
use craft::piece::Setting;
use craft::placement::{self, HeadPart, Layout, Placement, Row, RowSetting, Site};
use craft::retape::first_day_over;
use head::{Head, Panel, Side, Zone};
use measure::text::number;
use measure::{Days, Length, RuleBook};
use std::collections::BTreeMap;

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
            above_nape_mm: tenth(site.above_nape),
            along_mm: tenth(site.along),
            width_mm: tenth(site.piece.tab.width),
            cut: site.piece.cut,
        })
        .collect();
    sites.sort_by(|a, b| a.above_nape_mm.total_cmp(&b.above_nape_mm).then(a.along_mm.total_cmp(&b.along_mm)));
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

fn zone_words(part: HeadPart, zone: Zone) -> &'static str {
    match (part, zone) {
        (HeadPart::Left | HeadPart::Right, _) => "side",
        (HeadPart::Back, Zone::Nape) => "nape",
        (HeadPart::Back, Zone::Crown) => "crown",
        (HeadPart::Back, _) => "back",
    }
}

fn row_plan(head: &Head, row: &Row) -> RowPlan {
    let parting = head.parting(row.above_nape);
    let up_ear = row.up_ear_line.unwrap_or(Length::ZERO);
    let (start, end) = match row.part {
        HeadPart::Back => {
            let start = RowStart { on: "midline".into(), mm: tenth(row.above_nape) };
            (start, RowEnd { from: "ear_top".into(), mm: tenth(up_ear) })
        }
        HeadPart::Left | HeadPart::Right => {
            let start = RowStart { on: "ear_to_ear_line".into(), mm: tenth(up_ear) };
            let from_ear = parting.as_ref().and_then(|parting| head.from_ear_front(parting));
            (start, RowEnd { from: "ear_front".into(), mm: from_ear.map_or(0.0, tenth) })
        }
    };
    RowPlan {
        row: row.row,
        name: format!("{}{}", row.part.letter(), row.in_section),
        section: Some(row.part),
        start: Some(start),
        end: Some(end),
        ends_behind_ear: row.ends_behind_ear,
        zone: zone_words(row.part, row.zone).to_owned(),
        parting_above_nape_mm: tenth(row.above_nape),
        up_midline_mm: Some(tenth(row.above_nape)),
        length_mm: tenth(row.length),
        setting: match row.setting {
            RowSetting::SideBySide => "side_by_side",
            RowSetting::Brick => "brick",
        }
        .to_owned(),
    }
}

pub(super) fn site_plan(head: &Head, site: &Site, setting: Setting, length: Length) -> SitePlan {
    SitePlan {
        site: site.id.clone(),
        row: site.row,
        section: Some(site.part),
        from_line_mm: Some(tenth(site.from_line)),
        panel: Some(panel_of(site.part)),
        side: plan_side(site.side),
        along_mm: tenth(site.along),
        above_nape_mm: tenth(site.above_nape),
        width_mm: tenth(site.piece.tab.width),
        piece: SitePiece {
            shade: String::new(),
            under_shade: None,
            length_mm: tenth(length),
            mass_g: rounded(site.piece.mass.to_g(), 100.0),
            cut: site.cut,
        },
        single_sided: setting == Setting::SingleSided,
        slice_width_mm: tenth(site.slice.length),
        slice_mm: tenth(site.slice.thickness),
        hairs: rounded(site.slice.hairs, 1.0),
        load_mg_per_hair: rounded(site.slice.load_per_hair.to_mg(), 10.0),
        traction_index: rounded(site.slice.traction.index.value, 10.0),
        coverage: site.coverage.iter().map(|(style, share)| (style.word().to_owned(), rounded(*share, 1000.0))).collect::<BTreeMap<_, _>>(),
        gaps: site.gaps.iter().map(|(style, gaps)| (style.word().to_owned(), rounded(*gaps, 100.0))).collect(),
        clearance_mm: tenth(site.clearance),
        clearance_to: border_words(site.clearance_to).to_owned(),
        sigma_mm: tenth(site.sigma),
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
        let of_side = sites.iter().filter(move |site| site.along_mm * sign > 0.5);
        of_side.map(|site| site.piece.mass_g * if site.single_sided { 1.0 } else { 2.0 }).sum::<f64>()
    };
    let (left, right) = (on(-1.0), on(1.0));
    let one = sites.iter().map(|site| site.piece.mass_g * if site.single_sided { 1.0 } else { 2.0 }).fold(0.0, f64::max);
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
