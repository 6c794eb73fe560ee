//! What the wish comes to: the piece, the grams, the thickness along the length.

use crate::Fault;
use crate::client::{ClientFacts, Fact, Fullness};
use crate::plan::rim::{combed, weighed};
use crate::plan::{LevelPlan, ProfilePoint, QuantityPlan, SitePlan, whole_pieces};
use crate::words::Message;
use craft::hair::Hair;
use craft::piece::{Piece, Setting, Tab, USUAL_HEIGHT, USUAL_LENGTH, USUAL_MASS, USUAL_WIDTH};
use craft::quantity::{Amount, ENDS_AT, Level, Quantity, QuantityWish, profile, quantity, wants_softening};
use craft::spread::{LENGTH_SLACK, length_for};
use craft::suitability::Limits;
use craft::suitability::answers::Goal;
use measure::text::{fixed, millimetres};
use measure::{Grams, Length, RuleBook};

/// How far apart the points of the profile stand.
const PROFILE_STEP: Length = Length::mm(25.0);

/// The wish in pieces.
#[derive(Debug, Clone)]
pub struct Wanted {
    /// A whole piece at the nape.
    pub piece: Piece,
    /// One or two pieces to a slice.
    pub setting: Setting,
    /// The length wanted at the nape.
    pub length: Length,
    /// What she wants.
    pub wish: QuantityWish,
    /// How much it takes.
    pub quantity: Quantity,
    /// What stands against it.
    pub faults: Vec<Fault>,
}

/// What the wish comes to with the salon's pieces.
pub fn hair_wanted(facts: &ClientFacts, limits: &Limits, hair: &Hair, book: &RuleBook) -> Wanted {
    let usual = Length::mm(book.value(&USUAL_LENGTH));
    let longer = facts.wish.goal != Goal::Thickness;
    let length = match (longer, facts.wish.wanted_length) {
        (true, Some(wanted)) => wanted,
        _ => hair.own_length.unwrap_or(usual),
    };
    let shelf = &facts.pieces.lengths;
    let whole = Piece {
        tab: Tab {
            width: facts.pieces.tab_width.unwrap_or(Length::mm(book.value(&USUAL_WIDTH))),
            height: facts.pieces.tab_height.unwrap_or(Length::mm(book.value(&USUAL_HEIGHT))),
        },
        mass: facts.pieces.mass.unwrap_or(Grams::g(book.value(&USUAL_MASS))),
        length: length_for(length, 0.0, shelf, book),
        cut: craft::piece::Cut::Full,
    };
    let mut faults = Vec::new();
    let too_heavy = |setting: Setting| limits.max_sandwich.is_some_and(|most| whole.hanging_mass(setting) > most);
    let setting = match facts.pieces.single_sided {
        Some(true) => Setting::SingleSided,
        Some(false) => Setting::Sandwich,
        None if too_heavy(Setting::Sandwich) && !too_heavy(Setting::SingleSided) => Setting::SingleSided,
        None => Setting::Sandwich,
    };
    if let (true, Some(most)) = (too_heavy(setting), limits.max_sandwich) {
        let message = Message::PieceTooHeavy { grams: fixed(whole.mass.to_g(), 1), most: fixed(most.to_g() / 2.0, 1) };
        faults.push(Fault::of(&message, Fact::Mass, "load-light-sandwich"));
    }
    if longer && whole.length + Length::mm(book.value(&LENGTH_SLACK)) < length {
        let message = Message::PiecesTooShort { longest: millimetres(whole.length), short: millimetres(length - whole.length) };
        faults.push(Fault::of(&message, Fact::Lengths, LENGTH_SLACK.id));
    }
    let amount = match facts.wish.fullness {
        Fullness::Light => Amount::Level(Level::Light),
        Fullness::Natural => Amount::Level(Level::Natural),
        Fullness::Full => Amount::Level(Level::Full),
        Fullness::Added(grams) => Amount::Grams(grams),
        Fullness::EndsCircumference(ends) => Amount::Ends(ends),
    };
    let wish = QuantityWish { thicker: facts.wish.goal != Goal::Length, longer, amount };
    let quantity = quantity(&wish, hair, &whole, setting, book);
    Wanted { piece: whole, setting, length, wish, quantity, faults }
}

/// The quantity section for the sites as placed.
pub fn quantity_plan(facts: &ClientFacts, hair: &Hair, wanted: &Wanted, sites: &[SitePlan], book: &RuleBook) -> QuantityPlan {
    let sets: Vec<(Length, Grams)> = sites.iter().map(|site| (site.piece.length, site.hanging_mass())).collect();
    let added: Grams = sets.iter().map(|(_, grams)| *grams).sum();
    let mut notes = vec![Message::CircumferencesAreTied.to_string()];
    if wants_softening(hair, &sets, book) {
        notes.push(Message::EndsToSoften.to_string());
    }
    if facts.hair.density.is_none() {
        notes.push(Message::DensityReckoned.to_string());
    }
    QuantityPlan {
        added: tenth_g(added),
        wished: tenth_g(wanted.quantity.grams.value),
        wished_low: tenth_g(wanted.quantity.grams.low),
        wished_high: tenth_g(wanted.quantity.grams.high),
        pieces: whole_pieces(sites).values().sum(),
        sandwiches: sites.len() as u32,
        profile: profile(hair, &sets, PROFILE_STEP, book)
            .into_iter()
            .map(|t| ProfilePoint { at: combed(t.at), before: combed(t.before), after: combed(t.after) })
            .collect(),
        levels: levels(hair, wanted, book),
        notes,
    }
}

/// The three levels of the same wish, side by side.
fn levels(hair: &Hair, wanted: &Wanted, book: &RuleBook) -> Vec<LevelPlan> {
    Level::ALL
        .into_iter()
        .map(|level| {
            let wish = QuantityWish { amount: Amount::Level(level), ..wanted.wish };
            let q = quantity(&wish, hair, &wanted.piece, wanted.setting, book);
            let grams = wanted.piece.hanging_mass(wanted.setting) * f64::from(q.sandwiches);
            let at = wanted.piece.length * book.value(&ENDS_AT);
            let ends = profile(hair, &[(wanted.piece.length, grams)], at, book).last().map_or(Length::ZERO, |t| combed(t.after));
            LevelPlan { level, added: tenth_g(grams), pieces: q.pieces, ends_circumference: ends }
        })
        .collect()
}

fn tenth_g(grams: Grams) -> Grams {
    weighed(grams, 10.0)
}
