//! A sandwich that no plan had, set beside one that it has.

use super::super::client_event::SitePlaced;
use super::super::id::{PieceId, PlanId};
use super::pieces::PieceAt;
use super::place::{Asked, Placing, StepEvents, at_a_place, set};
use super::state::{VisitState, Year};
use super::words::{AddedAt, Step};
use crate::Fault;
use crate::words::Message;
use craft::placement::SiteId;
use craft::suitability::plausible::ALONG;
use measure::text::number;
use std::collections::BTreeMap;

/// A sandwich that is to be added.
#[derive(Debug, Clone, PartialEq)]
pub struct AskedToAdd {
    /// The place of the plan that it stands beside, on the same parting.
    pub beside: SiteId,
    /// How far from that place's middle its own lies, along the parting, mm, + to her right.
    pub by_mm: f64,
    /// The piece above and the piece below, where they were named.
    pub pieces: [Option<PieceId>; 2],
    /// The reason that was given for passing a limit.
    pub because: Option<String>,
}

/// Adds a sandwich to the plan's: of the hair of the place beside it, under the next name of its row.
///
/// *Errors*: no such place; its tab would lie over a slice that bears already (T8), unless a
/// reason is given; the pieces cannot be had.
pub fn decide_add(placing: &mut Placing, visit: &VisitState, asked: AskedToAdd) -> Result<(SiteId, StepEvents), Vec<Fault>> {
    let sites = at_a_place(placing, visit)?;
    let Some(beside) = sites.iter().find(|site| site.site == asked.beside) else {
        return Err(vec![Fault::of(&Message::NoSiteOfPlan { name: asked.beside.to_string() }, "beside", "site")]);
    };
    let along_mm = beside.along_mm + asked.by_mm;
    if !(asked.by_mm.is_finite() && asked.by_mm != 0.0 && (ALONG.range.0..=ALONG.range.1).contains(&along_mm)) {
        return Err(vec![Fault::of(&Message::AddedNowhere { by: number(asked.by_mm, 0) }, "by_mm", ALONG.id)]);
    }
    let row = row_as_set(placing, visit, sites, asked.beside);
    let near = row.iter().find(|other| (other.along_mm - along_mm).abs() < (other.width_mm + beside.width_mm) / 2.0);
    if let (Some(near), None) = (near, &asked.because) {
        return Err(vec![Fault::of(&Message::SliceBearsAlready { site: near.site.to_string() }, "by_mm", "one-slice")]);
    }
    let last = row.iter().map(|site| site.site.place()).chain(here(placing, visit, asked.beside).map(SiteId::place)).max();
    let site = SitePlaced { site: asked.beside.beside(last.unwrap_or(0) + 1), along_mm, ..beside.clone() };
    let place = Asked { site: site.site, pieces: asked.pieces, moved_mm: None, because: asked.because };
    let added = AddedAt { up_mm: site.up_mm, along_mm, width_mm: site.width_mm };
    Ok((site.site, set(placing, visit, (sites, &site), &place, Some(added))?))
}

/// The names in her hair of a place's row, of the plan that the visit goes by.
fn here<'a>(placing: &'a Placing, visit: &VisitState, of: SiteId) -> impl Iterator<Item = SiteId> + 'a {
    let by = visit.plan;
    placing.book.year.pieces.iter().filter_map(move |(_, piece)| match piece.at {
        PieceAt::Hair { site, plan, .. } if plan == by && site.is_beside(of) => Some(site),
        _ => None,
    })
}

/// The slices of a place's row that bear, or will: the plan's where they were not left free, moved as
/// they were, and those that were added.
fn row_as_set(placing: &Placing, visit: &VisitState, sites: &[SitePlaced], of: SiteId) -> Vec<SitePlaced> {
    let (moved, added) = placing.book.year.moved_and_added(visit.plan);
    let mut row: Vec<SitePlaced> = sites.iter().filter(|site| site.site.is_beside(of) && !visit.skipped(site.site)).cloned().collect();
    for site in &mut row {
        site.along_mm += moved.get(&site.site).copied().unwrap_or(0.0);
    }
    let like = row.first().or_else(|| sites.first()).cloned();
    let stands = |name: SiteId, at: AddedAt| {
        Some(SitePlaced { site: name, up_mm: at.up_mm, along_mm: at.along_mm, width_mm: at.width_mm, ..like.clone()? })
    };
    row.extend(added.into_iter().filter(|(name, _)| name.is_beside(of)).filter_map(|(name, at)| stands(name, at)));
    row
}

impl Year {
    /// How far a plan's sandwiches were moved, and those that were added to it, as visits set them.
    fn moved_and_added(&self, plan: Option<PlanId>) -> (BTreeMap<SiteId, f64>, BTreeMap<SiteId, AddedAt>) {
        let (mut moved, mut added) = (BTreeMap::new(), BTreeMap::new());
        for done in self.visits.iter().filter(|visit| visit.plan == plan).flat_map(|visit| &visit.steps) {
            match &done.step {
                Step::Placed { site, added: Some(at), .. } => {
                    added.insert(*site, *at);
                }
                Step::Placed { site, moved_mm, .. } => {
                    moved.insert(*site, moved_mm.unwrap_or(0.0));
                }
                Step::TakenOut { site, .. } => {
                    added.remove(site);
                }
                _ => {}
            }
        }
        (moved, added)
    }
}
