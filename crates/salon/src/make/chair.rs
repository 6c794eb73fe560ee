//! Planning on from the chair: what became of the sites so far, hair down, and
//! not enough.

use super::head_model::{DecidedLayout, HeadModel, StandingSandwich};
use super::places::PlacedSet;
use super::shades;
use crate::plan::{Plan, QuantityPlan, SiteId, SitePlan};
use crate::words::Message;
use crate::{Fault, Place};
use craft::piece::Cut;
use craft::placement::WORTH_SHORT;
use measure::Grams;
use measure::text::number;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// What became of a site at the chair.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Done {
    /// Set as planned.
    Placed,
    /// Set as planned, cut in half.
    Halved,
    /// Set at another place.
    Moved(StandingSandwich),
    /// Not set, and nothing is to go there today.
    Skipped,
}

/// The chair's state: what became of the sites of a plan, by name. Sites that
/// are not named are still to come.
pub type AtTheChair = BTreeMap<SiteId, Done>;

/// What is set on from the chair.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlannedOn {
    /// The sites to set, in the order of work, with their shades; none that is in.
    pub sites: Vec<SitePlan>,
    /// The hair they bring.
    pub added: Grams,
    /// What could not be had, and what the sandwiches that are in break.
    pub faults: Vec<Fault>,
}

impl DecidedLayout {
    /// The state of a plan's layout at the chair.
    ///
    /// *Errors*: a name that is not a site of the plan.
    pub fn at_the_chair(plan: &Plan, done: &AtTheChair) -> Result<Self, Vec<Fault>> {
        let mut state = Self::default();
        for (name, done) in done {
            let Some(site) = plan.sites.iter().find(|site| site.site == *name) else {
                return Err(vec![Fault::of(&Message::NoSiteOfPlan { name: name.to_string() }, CHAIR, CHAIR)]);
            };
            let planned = StandingSandwich::of(site);
            match done {
                Done::Placed => state.standing.push(planned),
                Done::Halved => state.standing.push(StandingSandwich { cut: Cut::Half, ..planned }),
                Done::Moved(at) => state.standing.push(*at),
                Done::Skipped => state.skipped.push(planned),
            }
        }
        Ok(state)
    }
}

/// What a layout made around what stands lacks: of what was to be added, and of
/// the wish itself, which stays what it was.
pub(super) fn shortfall(state: &DecidedLayout, placed: &PlacedSet, quantity: &QuantityPlan) -> Vec<Fault> {
    let mut faults = Vec::new();
    let asked = state.add.map_or(0.0, Grams::to_g);
    let no_room = placed.faults.iter().find(|fault| fault.rule == WORTH_SHORT.id);
    if let (true, Some(why)) = (asked > 0.0, no_room) {
        let short = placed.placement.short.to_g();
        let grams = number(asked, 0);
        let message = if asked - short < LEAST_TOLD {
            Message::NoRoomForGrams { grams }
        } else {
            Message::RoomForPartOfGrams { room: number(asked - short, 0), grams }
        };
        faults.push(Fault::new(message.to_string(), Place::WholeHead, CHAIR, why.cure.clone()));
    }
    let lacks = quantity.wished.to_g() - quantity.added.to_g();
    let smallest = placed.placement.sites.iter().map(|site| site.piece.hanging_mass(placed.setting).to_g()).fold(f64::INFINITY, f64::min);
    if lacks >= smallest.min(LEAST_TOLD) {
        let [added, wished, lacks] = [quantity.added.to_g(), quantity.wished.to_g(), lacks].map(|grams| number(grams, 0));
        let message = match no_room {
            Some(_) => Message::WishWithoutRoom { added, wished, lacks },
            None => Message::WishNotFilled { added, wished, lacks },
        };
        faults.push(Fault::of(&message, Place::WholeHead, WORTH_SHORT.id));
    }
    faults
}

/// Less than this is no shortfall worth a sentence, g. *Source*: our choice, as in the planner.
const LEAST_TOLD: f64 = 1.0;
/// The id under which the state at the chair is named.
const CHAIR: &str = "chair";

/// Plans on from the chair without touching what is in: what to add, and where.
///
/// *Meaning*: `add` is how much hair is wanted besides what is in; nothing means
/// up to the plan's wish. Places that were skipped stay free. The shades come
/// from the plan's mix. The same state and seed give the same sites.
///
/// *Errors*: a name that is not a site of the plan; nothing is in and nothing
/// can be placed.
pub fn plan_on(model: &HeadModel, plan: &Plan, done: &AtTheChair, add: Option<Grams>, seed: u64) -> Result<PlannedOn, Vec<Fault>> {
    let state = DecidedLayout { add, ..DecidedLayout::at_the_chair(plan, done)? };
    let placement = model.place(&state, seed)?;
    let new = placement.sites.iter().filter(|site| !site.already_in);
    let added = new.clone().map(|site| site.piece.hanging_mass(model.wanted().setting)).sum();
    let mut sites: Vec<SitePlan> = new.map(|site| model.shown(site)).collect();
    shades::spread_mix(&plan.colour.mix, &mut sites);
    let mut faults = super::shown::once_each(&placement.faults);
    if placement.short > Grams::ZERO && sites.is_empty() {
        faults.push(Fault::of(&Message::NoPlaceLeft, format!("{} sites are in", state.standing.len()), "chair"));
    }
    Ok(PlannedOn { sites, added, faults })
}
