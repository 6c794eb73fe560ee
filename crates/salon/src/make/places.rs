//! The sites on this head, in the plan's own shape.

use super::head_model::{DecidedLayout, HeadModel};
use crate::Fault;
use crate::make::shown::{caution_plan, once_each, row_plan};
use crate::plan::rim::{combed, rounded};
use crate::plan::{CautionPlan, OtherLayout, OtherSite, RowPlan, SitePlan};
use crate::words::Message;
use craft::hair::Hair;
use craft::load::SliceCase;
use craft::piece::Setting;
use craft::placement::{Layout, Placement, Site};
use craft::retape::first_day_over;
use measure::text::number;
use measure::{Days, RuleBook};

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
