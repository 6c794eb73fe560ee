//! Planning on from the chair: what became of the sites so far, hair down, and
//! not enough.

use super::head_model::{DecidedLayout, HeadModel, StandingSandwich};
use super::places::PlacedSet;
use super::shades;
use crate::Fault;
use crate::plan::{Plan, QuantityPlan, SitePlan};
use craft::piece::Cut;
use craft::placement::WORTH_SHORT;
use measure::Grams;
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
pub type AtTheChair = BTreeMap<String, Done>;

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
            let Some(site) = plan.sites.iter().find(|site| &site.site == name) else {
                let cure = "Name the sites as the plan does.";
                return Err(vec![Fault::new(format!("{name} is no site of this plan"), "chair", "chair", cure)]);
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
    let whole = |grams: f64| format!("{grams:.0} g");
    let asked = state.add.map_or(0.0, Grams::to_g);
    let no_room = placed.faults.iter().find(|fault| fault.rule == WORTH_SHORT.id);
    if let (true, Some(why)) = (asked > 0.0, no_room) {
        let short = placed.placement.short.to_g();
        let what = if asked - short < LEAST_TOLD {
            format!("There is no room for the {} to be added", whole(asked))
        } else {
            format!("There is room for {} of the {} to be added", whole(asked - short), whole(asked))
        };
        faults.push(Fault::new(what, "whole head", CHAIR, why.cure.clone()));
    }
    let lacks = quantity.wished.to_g() - quantity.added.to_g();
    let smallest = placed.placement.sites.iter().map(|site| site.piece.hanging_mass(placed.setting).to_g()).fold(f64::INFINITY, f64::min);
    if lacks >= smallest.min(LEAST_TOLD) {
        faults.push(Fault::new(
            format!("{} of the {} wished are placed: {} short", whole(quantity.added.to_g()), whole(quantity.wished.to_g()), whole(lacks)),
            "whole head",
            WORTH_SHORT.id,
            if no_room.is_some() {
                "Agree on this much with her, or look at the ways on."
            } else {
                "Fill up to the wish, or agree on this much with her."
            },
        ));
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
    let mut faults = super::places::once_each(&placement.faults);
    if placement.short > Grams::ZERO && sites.is_empty() {
        faults.push(Fault::new(
            "no place is left for another sandwich",
            format!("{} sites are in", state.standing.len()),
            "chair",
            "Agree that it is enough, or put in pieces that bring more hair each.",
        ));
    }
    Ok(PlannedOn { sites, added, faults })
}
