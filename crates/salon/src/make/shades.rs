//! The colour of the ends, the mix that meets it, and the shade of every site.

use super::shown::colour_plan;
use super::supplies::Supplies;

use crate::Fault;
use crate::book::target_of;
use crate::client::{ClientFacts, ColourAsked};
use crate::plan::rim::rounded;
use crate::plan::{ColourPlan, Plan, SitePlan, whole_pieces};
use crate::stock::Order;
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
        ring.colours().map_err(|f| vec![Fault::new(f.to_string(), "pieces.ring", "ring", "Mend the ring and try again.")])?;
    }
    match &facts.colour {
        ColourAsked::LabD65([l, a, b]) => Ok(WantedColour::Colour(Box::new(Target::of(Lab { l: *l, a: *a, b: *b })))),
        ColourAsked::Shade(code) => match supplies.ring {
            Some(ring) if !ring.shades.iter().any(|shade| &shade.code == code) => {
                let known: Vec<&str> = ring.shades.iter().map(|shade| shade.code.as_str()).collect();
                let near = crate::client::nearest_key(code, &known).map_or_else(String::new, |near| format!(" Did you mean {near}?"));
                let cure = format!("Choose a code of the ring.{near}");
                Err(vec![Fault::new(format!("shade {code} is not on the ring"), "colour.shade", "ring", cure)])
            }
            _ => Ok(WantedColour::Shade(code.clone())),
        },
        ColourAsked::Photo { .. } => {
            let Some(reading) = supplies.reading else {
                let cure = "Give the photo with its marks, or the colour as numbers or as a shade.";
                return Err(vec![Fault::new("the photo of the ends was not read", "colour.photo", "colour", cure)]);
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
            plan.warnings.push("No ring was given: the shades are to be matched by eye.".to_owned());
            ColourPlan { lab_d65: Some(lab_of(target.lab_d65)), ..ColourPlan::default() }
        }
    };
    if let Some(reading) = supplies.reading.filter(|_| matches!(facts.colour, ColourAsked::Photo { .. })) {
        plan.colour.notes.extend(reading.warnings.iter().cloned());
    }
    assign(plan);
    plan.quantity.pieces = whole_pieces(&plan.sites).values().sum();
    Ok(())
}

fn lab_of(lab: Lab) -> [f64; 3] {
    [lab.l, lab.a, lab.b].map(|v| rounded(v, 100.0))
}

fn chosen_by_eye(code: &str, ring: Option<&Ring>, pieces: u32) -> ColourPlan {
    let mut colour = ColourPlan { mix: BTreeMap::from([(code.to_owned(), pieces)]), ..ColourPlan::default() };
    colour.notes.push("The shade was chosen by eye at the ends; no reading was matched.".to_owned());
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
    let on_hand = supplies.shelf.map(Order::by_shade).unwrap_or_default();
    let found = match_ring(target, ring, pieces.max(1), &on_hand, book)
        .map_err(|f| vec![Fault::new(f.to_string(), "colour", "matching", "Mend the colour or the ring.")])?;
    let set: Option<&Mix> = found.taken();
    if !found.reachable {
        plan.faults.push(Fault::new(
            "no mix of this ring comes near enough to her ends",
            "colour",
            ACCEPTABLE.id,
            "Order a shade nearer to her ends, or agree on the visible difference with her before anything is bought.",
        ));
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
