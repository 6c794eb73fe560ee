//! The colour of the ends, the mix that meets it, and the shade of every site.

use super::shown::colour_plan;
use super::supplies::Supplies;

use crate::Fault;
use crate::book::target_of;
use crate::client::{ClientFacts, ColourAsked, Fact, Section};
use crate::plan::rim::rounded;
use crate::plan::{ColourPlan, Plan, SitePlan, hanging_halves, whole_pieces};
use crate::stock::Order;
use crate::words::Message;
use colour::Lab;
use craft::matching::{ACCEPTABLE, Mix, Ring, Target, match_ring};
use craft::piece::Setting;
use craft::spread::{Spot, spread};
use measure::RuleBook;
use std::collections::BTreeMap;

/// What stands for the shade where there is no ring to choose from.
const BY_EYE: &str = "to match";

/// The colour that is asked for.
#[derive(Debug, Clone)]
pub enum WantedColour {
    /// A colour to be met.
    Colour(Box<Target>),
    /// A shade that was chosen by eye.
    Shade(String),
}

/// The colour that is asked for, checked against the ring.
///
/// *Errors*: a shade that is not on the ring; a photo that was not read; a ring that cannot be used.
pub fn asked(facts: &ClientFacts, supplies: &Supplies) -> Result<WantedColour, Vec<Fault>> {
    if let Some(ring) = supplies.ring {
        ring.colours().map_err(|f| vec![Fault::new(f.to_string(), Fact::Ring, "ring", "Mend the ring and try again.")])?;
    }
    match &facts.colour {
        ColourAsked::LabD65([l, a, b]) => Ok(WantedColour::Colour(Box::new(Target::of(Lab { l: *l, a: *a, b: *b })))),
        ColourAsked::Shade(code) => match supplies.ring {
            Some(ring) if !ring.shades.iter().any(|shade| &shade.code == code) => {
                let known: Vec<&str> = ring.shades.iter().map(|shade| shade.code.as_str()).collect();
                let near = crate::client::nearest_key(code, &known).map(str::to_owned);
                let code = code.clone();
                let message = match near {
                    Some(near) => Message::ShadeNearOneOnRing { code, near },
                    None => Message::ShadeNotOnRing { code },
                };
                Err(vec![Fault::of(&message, Fact::Shade, "ring")])
            }
            _ => Ok(WantedColour::Shade(code.clone())),
        },
        ColourAsked::Photo { .. } => {
            let Some(reading) = supplies.reading else {
                return Err(vec![Fault::of(&Message::PhotoUnread, Fact::Photo, "colour")]);
            };
            Ok(WantedColour::Colour(Box::new(target_of(reading))))
        }
    }
}

/// Gives every site its shades and writes the colour section.
///
/// *Errors*: a ring or a number of pieces that cannot be matched.
pub fn dress(plan: &mut Plan, facts: &ClientFacts, supplies: &Supplies, asked: &WantedColour, book: &RuleBook) -> Result<(), Vec<Fault>> {
    let pieces = plan.quantity.pieces;
    plan.colour = match (asked, supplies.ring) {
        (WantedColour::Shade(code), ring) => chosen_by_eye(code, ring, pieces),
        (WantedColour::Colour(target), Some(ring)) => matched(plan, target, ring, supplies, pieces, book)?,
        (WantedColour::Colour(target), None) => {
            plan.warnings.push(Message::NoRing.to_string());
            ColourPlan { lab_d65: Some(lab_of(target.lab_d65)), ..ColourPlan::default() }
        }
    };
    if let Some(reading) = supplies.reading.filter(|_| matches!(facts.colour, ColourAsked::Photo { .. })) {
        plan.colour.notes.extend(reading.warnings.iter().cloned());
    }
    assign(plan);
    let whole = whole_pieces(&plan.sites);
    plan.quantity.pieces = whole.values().sum();
    // As it is set: where single pieces are halved, a shade's odd half takes a piece of its own.
    plan.colour.mix.values_mut().for_each(|pieces| *pieces = 0);
    for ((shade, _), pieces) in whole {
        if let Some(of_shade) = plan.colour.mix.get_mut(&shade) {
            *of_shade += pieces;
        }
    }
    plan.colour.mix.retain(|_, pieces| *pieces > 0);
    if let (WantedColour::Colour(target), Some(ring)) = (asked, supplies.ring) {
        let hangs = ring.mixed_from(&hanging_halves(&plan.sites), target.lab_d65);
        plan.colour.mix_de00 = hangs.map(|de00| rounded(de00, 1000.0));
    }
    Ok(())
}

fn lab_of(lab: Lab) -> [f64; 3] {
    [lab.l, lab.a, lab.b].map(|v| rounded(v, 100.0))
}

fn chosen_by_eye(code: &str, ring: Option<&Ring>, pieces: u32) -> ColourPlan {
    let mut colour = ColourPlan { mix: BTreeMap::from([(code.to_owned(), pieces)]), ..ColourPlan::default() };
    colour.notes.push(Message::ShadeByEye.to_string());
    if let Some(shade) = ring.and_then(|ring| ring.shades.iter().find(|shade| shade.code == code)) {
        colour.shade_names.insert(code.to_owned(), shade.name.clone());
        if let Ok(xyz) = shade.colour() {
            let lab = lab_of(xyz.to_lab(colour::D65));
            colour.lab_d65 = Some(lab);
            colour.shades_lab_d65.insert(code.to_owned(), lab);
        }
    }
    colour
}

fn matched(
    plan: &mut Plan,
    target: &Target,
    ring: &Ring,
    supplies: &Supplies,
    pieces: u32,
    book: &RuleBook,
) -> Result<ColourPlan, Vec<Fault>> {
    let mut on_hand = supplies.shelf.map(Order::by_shade).unwrap_or_default();
    for own in supplies.hers.iter().flat_map(|hers| &hers.again) {
        *on_hand.entry(own.shade.clone()).or_default() += own.halves / 2;
    }
    let found = match_ring(target, ring, pieces.max(1), &on_hand, book)
        .map_err(|f| vec![Fault::new(f.to_string(), Section::Colour, "matching", "Mend the colour or the ring.")])?;
    let set: Option<&Mix> = found.taken();
    if !found.reachable {
        plan.faults.push(Fault::of(&Message::NoMixNear, Section::Colour, ACCEPTABLE.id));
    }
    let uncertainty = (target.uncertainty_de00 > 0.0).then_some(target.uncertainty_de00);
    Ok(colour_plan(lab_of(target.lab_d65), uncertainty, &found, ring, set))
}

/// Spreads the mix over the sites.
fn assign(plan: &mut Plan) {
    spread_mix(&plan.colour.mix, &mut plan.sites);
}

/// Spreads a mix of shades over sites; with more or fewer pieces than the mix
/// has, its counts are shares.
pub fn spread_mix(mix: &BTreeMap<String, u32>, sites: &mut [SitePlan]) {
    let codes: Vec<&String> = mix.keys().collect();
    if codes.is_empty() {
        for site in sites {
            site.piece.shade = BY_EYE.to_owned();
        }
        return;
    }
    let counts: Vec<u32> = mix.values().copied().collect();
    let spots: Vec<Spot> = sites
        .iter()
        .map(|site| Spot { row: site.row, along: site.along, pieces: if site.piece.cut.is_half() { 1 } else { site.setting.pieces() } })
        .collect();
    for (site, [over, under]) in sites.iter_mut().zip(spread(&spots, &counts)) {
        site.piece.shade = codes[over].clone();
        site.piece.under_shade = (under != over && site.setting == Setting::Sandwich).then(|| codes[under].clone());
    }
}
