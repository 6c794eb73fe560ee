//! Every fault of a client's file at once, or the facts it states.

mod body;
mod consultation;

use super::fact::{Fact, Section, words_of};
use super::facts::{ClientFacts, ColourAsked, LastSite, PieceFacts, Prices};
use super::file::{ClientFile, ColourSection, HeadSection, PiecesSection, PricesSection, nearest_key};
use crate::fault::{Fault, Place};
use crate::words::Message;
use colour::Lab;
use craft::suitability::{Answers, plausible as usual};
use head::{Marks, MeasureFault, Measures, Tape};
use measure::text::number;
use measure::{Currency, Grams, Length, Money, Rule};
use serde::Deserialize;
use serde::de::IntoDeserializer;
use serde::de::value::Error as WordError;

impl ClientFile {
    /// Turns the file into facts.
    ///
    /// *Errors*: everything that is wrong, all at once, each with its place and
    /// cure. Head measures that no head has are left to [`head::fit`], which
    /// knows heads; here they need only be numbers above zero.
    pub fn check(&self) -> Result<ClientFacts, Vec<Fault>> {
        let mut check = Check::default();
        let facts = check.facts(self);
        match facts {
            Some(mut facts) if check.faults.is_empty() => {
                facts.warnings = check.warnings;
                Ok(facts)
            }
            _ => Err(check.faults),
        }
    }

    /// What the rules of suitability hear of a file, be it whole or not.
    ///
    /// *Meaning*: an answer that cannot be right is left out, as if it had not been asked.
    #[must_use]
    pub fn answers(&self) -> Answers {
        let mut check = Check::default();
        let hair = check.hair(&self.hair.clone().unwrap_or_default());
        let said = self.consultation.clone().unwrap_or_default();
        let styles = check.styles(said.styles.as_ref());
        let mut answers = check.answers(&said, &hair, styles);
        answers.age_years = check.whole(Fact::Age, self.client.as_ref().and_then(|client| client.age_years), &usual::AGE);
        answers
    }
}

impl HeadSection {
    /// The tape measures of a file that holds a head and nothing else.
    ///
    /// *Errors*: everything that is no measure, all at once; whether a head has
    /// such measures [`head::fit`] knows.
    pub fn measures(&self) -> Result<Measures, Vec<Fault>> {
        let mut check = Check::default();
        match check.head(self) {
            Some(facts) if check.faults.is_empty() => Ok(facts.measures),
            _ => Err(check.faults),
        }
    }

    /// What else was seen or taped on the head.
    ///
    /// *Errors*: everything that no head has, all at once.
    pub fn marks(&self) -> Result<Marks, Vec<Fault>> {
        let mut check = Check::default();
        let marks = check.marks(self);
        if check.faults.is_empty() { Ok(marks) } else { Err(check.faults) }
    }
}

/// The tape measures that no head has, as faults at their facts.
#[must_use]
pub fn of_the_tapes(faults: Vec<MeasureFault>) -> Vec<Fault> {
    faults.into_iter().map(|fault| Fault::new(fault.what, fact_of(fault.tape), "head-measure", fault.cure)).collect()
}

/// The fact that a tape measure is.
const fn fact_of(tape: Tape) -> Fact {
    match tape {
        Tape::Circumference => Fact::Around,
        Tape::EarToEarOverCrown => Fact::OverCrown,
        Tape::FrontHairlineToTape => Fact::FrontToTape,
        Tape::TapeToNapeHairline => Fact::TapeToNape,
        Tape::EarToEarBehind => Fact::Behind,
        Tape::Length => Fact::HeadLength,
        Tape::Breadth => Fact::HeadBreadth,
    }
}

#[derive(Default)]
struct Check {
    faults: Vec<Fault>,
    warnings: Vec<String>,
}

impl Check {
    fn fault(&mut self, place: impl Into<Place>, message: &Message, rule: &str) {
        self.faults.push(Fault::of(message, place, rule));
    }

    fn warn(&mut self, message: &Message) {
        self.warnings.push(message.to_string());
    }

    /// A number inside the range of a rule of plausibility.
    fn number(&mut self, place: impl Into<Place>, value: Option<f64>, rule: &Rule) -> Option<f64> {
        let value = value?;
        let (low, high) = rule.range;
        if (low..=high).contains(&value) {
            return Some(value);
        }
        let unit = rule.unit.to_owned();
        let message = if value.is_finite() {
            let (value, low, high, likely) = (value.to_string(), low.to_string(), high.to_string(), slip_of_unit(value, rule));
            match likely {
                Some((likely, millimetres)) => Message::NumberInAnotherUnit { value, unit, low, high, likely, millimetres },
                None => Message::NumberOutside { value, unit, low, high },
            }
        } else {
            Message::NumberNone { unit }
        };
        self.fault(place, &message, rule.id);
        None
    }

    fn whole(&mut self, place: impl Into<Place>, value: Option<f64>, rule: &Rule) -> Option<u32> {
        let place = place.into();
        let value = self.number(place.clone(), value, rule)?;
        if value.fract() == 0.0 {
            return Some(value as u32);
        }
        self.fault(place, &Message::NumberNotWhole { value: value.to_string() }, rule.id);
        None
    }

    /// A length in millimetres, inside the range of a rule.
    fn length(&mut self, place: impl Into<Place>, value: Option<f64>, rule: &Rule) -> Option<Length> {
        self.number(place, value, rule).map(Length::mm)
    }

    /// One of the words that a fact has, at its place.
    fn word<T>(&mut self, place: impl Into<Place>, word: Option<&String>, read: impl Fn(&str) -> Option<T>) -> Option<T> {
        let word = word?;
        if let Some(value) = read(word) {
            return Some(value);
        }
        let place = place.into();
        let known = match &place {
            Place::Fact(fact) | Place::Answer(fact, _) => words_of(*fact),
            _ => &[],
        };
        let near = nearest_key(word, known).map(str::to_owned);
        let (word, known) = (word.clone(), known.join(", "));
        let message = match near {
            Some(near) => Message::WordMisspelt { word, known, near },
            None => Message::WordUnknown { word, known },
        };
        self.fault(place, &message, "word-known");
        None
    }

    fn facts(&mut self, file: &ClientFile) -> Option<ClientFacts> {
        let consultation = file.consultation.clone().unwrap_or_default();
        let client = file.client.clone().unwrap_or_default();
        let hair_section = file.hair.clone().unwrap_or_default();
        let hair = self.hair(&hair_section);
        let wish = self.wish(&consultation, hair.own_length);
        let styles = wish.as_ref().map(|wish| wish.styles.clone()).unwrap_or_default();
        let mut answers = self.answers(&consultation, &hair, styles);
        answers.age_years = self.whole(Fact::Age, client.age_years, &usual::AGE);
        let head = self.head(&file.head.clone().unwrap_or_default());
        let colour = self.colour(&file.colour.clone().unwrap_or_default());
        let pieces = self.pieces(&file.pieces.clone().unwrap_or_default());
        let prices = self.prices(&file.prices.clone().unwrap_or_default());
        let budget = self.budget(consultation.budget_minor, prices.currency);
        let last_sites = self.last_sites(file);
        Some(ClientFacts {
            name: client.name.map(|name| name.trim().to_owned()).filter(|name| !name.is_empty()),
            answers,
            wish: wish?,
            hair,
            head: head?,
            colour: colour?,
            pieces,
            last_sites,
            prices,
            budget,
            warnings: Vec::new(),
        })
    }

    fn colour(&mut self, section: &ColourSection) -> Option<ColourAsked> {
        let said = usize::from(section.lab_d65.is_some()) + usize::from(section.shade.is_some()) + usize::from(section.photo.is_some());
        if said != 1 {
            let message = if said == 0 { Message::ColourMissing } else { Message::ColourTwice };
            self.fault(Section::Colour, &message, "colour-once");
        }
        if section.photo.is_some() && section.marks.is_none() {
            self.fault(Fact::Marks, &Message::PhotoWithoutMarks, "photo-marks");
        }
        if section.marks.is_some() && section.photo.is_none() {
            self.fault(Fact::Photo, &Message::MarksWithoutPhoto, "photo-marks");
        }
        if said != 1 {
            return None;
        }
        if let Some(lab) = &section.lab_d65 {
            return self.lab(lab);
        }
        if let Some(shade) = &section.shade {
            let code = shade.trim();
            if code.is_empty() {
                self.fault(Fact::Shade, &Message::ShadeEmpty, "colour-once");
                return None;
            }
            return Some(ColourAsked::Shade(code.to_owned()));
        }
        let (photo, marks) = (section.photo.clone()?, section.marks.clone()?);
        Some(ColourAsked::Photo { photo, marks })
    }

    fn lab(&mut self, lab: &[f64]) -> Option<ColourAsked> {
        let sane = match *lab {
            [l, a, b] if Lab::new(l, a, b).is_in_range() => Some([l, a, b]),
            _ => None,
        };
        if sane.is_none() {
            self.fault(Fact::Lab, &Message::ColourNone { numbers: format!("{lab:?}") }, "colour-range");
        }
        sane.map(ColourAsked::LabD65)
    }

    fn pieces(&mut self, section: &PiecesSection) -> PieceFacts {
        let mut lengths: Vec<Length> = Vec::new();
        if section.lengths_mm.as_ref().is_some_and(Vec::is_empty) {
            self.fault(Fact::Lengths, &Message::LengthsEmpty, "piece-length");
        }
        for (at, &value) in section.lengths_mm.iter().flatten().enumerate() {
            if let Some(length) = self.length(Place::Line(Fact::Lengths, at), Some(value), &usual::PIECE_LENGTH)
                && !lengths.contains(&length)
            {
                lengths.push(length);
            }
        }
        lengths.sort_by(|one, other| one.to_mm().total_cmp(&other.to_mm()));
        for (fact, value) in [(Fact::Ring, &section.ring), (Fact::Stock, &section.stock)] {
            if value.as_ref().is_some_and(|path| path.trim().is_empty()) {
                self.fault(fact, &Message::FileUnnamed, "file-named");
            }
        }
        PieceFacts {
            tab_width: self.length(Fact::TabWidth, section.tab_width_mm, &usual::TAB_WIDTH),
            tab_height: self.length(Fact::TabHeight, section.tab_height_mm, &usual::TAB_HEIGHT),
            mass: self.number(Fact::Mass, section.mass_g, &usual::PIECE_MASS).map(Grams::g),
            lengths,
            ring: section.ring.clone(),
            stock: section.stock.clone(),
            single_sided: section.single_sided,
            tab_across_middle: section.tab_across_middle.unwrap_or(false),
        }
    }

    fn prices(&mut self, section: &PricesSection) -> Prices {
        let currency = section.currency.as_ref().and_then(|code| {
            let currency = Currency::new(code);
            if currency.is_none() {
                self.fault(Fact::Currency, &Message::CurrencyNone { code: code.clone() }, "currency");
            }
            currency
        });
        let mut amount = |fact: Fact, minor: Option<i64>| {
            let minor = minor?;
            if minor < 0 {
                self.fault(fact, &Message::AmountNegative { minor: minor.to_string() }, "price");
                return None;
            }
            if section.currency.is_none() {
                self.fault(fact, &Message::AmountWithoutCurrency, "currency");
            }
            currency.map(|currency| Money::minor(minor, currency))
        };
        let hour = amount(Fact::Hour, section.hour_minor);
        let tape_tab = amount(Fact::TapeTab, section.tape_tab_minor);
        Prices { currency, hour, tape_tab }
    }

    fn budget(&mut self, minor: Option<i64>, currency: Option<Currency>) -> Option<Money> {
        let minor = minor?;
        if minor <= 0 {
            self.fault(Fact::Budget, &Message::BudgetNothing { minor: minor.to_string() }, "price");
            return None;
        }
        if currency.is_none() && self.faults.iter().all(|fault| fault.place != Place::Fact(Fact::Currency)) {
            self.fault(Fact::Budget, &Message::BudgetWithoutCurrency, "currency");
        }
        currency.map(|currency| Money::minor(minor, currency))
    }

    fn last_sites(&mut self, file: &ClientFile) -> Vec<LastSite> {
        let mut sites = Vec::new();
        let entries = file.last_visit.as_ref().and_then(|visit| visit.sites.as_ref());
        for (at, entry) in entries.into_iter().flatten().enumerate() {
            let above = self.length(Place::Answer(Fact::LastAboveNape, at), entry.above_nape_mm, &usual::ABOVE_NAPE);
            let along = self.length(Place::Answer(Fact::LastAlong, at), entry.along_mm, &usual::ALONG);
            let width = self.length(Place::Answer(Fact::LastWidth, at), entry.width_mm, &usual::TAB_WIDTH);
            if entry.above_nape_mm.is_none() || entry.along_mm.is_none() || entry.width_mm.is_none() {
                self.fault(Place::Line(Fact::LastSites, at), &Message::LastSliceIncomplete, "last-visit-complete");
            }
            if let (Some(above_nape), Some(along), Some(width)) = (above, along, width) {
                sites.push(LastSite { above_nape, along, width });
            }
        }
        sites
    }
}

/// The value of a type that is written as one of its words.
fn named<T: for<'de> Deserialize<'de>>(word: &str) -> Option<T> {
    T::deserialize(IntoDeserializer::<WordError>::into_deserializer(word)).ok()
}

/// The unit that was likely read when a number is right in it, and the millimetres it comes to.
fn slip_of_unit(value: f64, rule: &Rule) -> Option<(String, String)> {
    if rule.unit != "mm" || !value.is_finite() || value <= 0.0 {
        return None;
    }
    let (low, high) = rule.range;
    let units = [("centimetres", 10.0), ("inches", 25.4), ("micrometres", 0.001)];
    // A slip is likely only when the value is right in that unit.
    let (unit, factor) = units.into_iter().find(|(_, factor)| (low..=high).contains(&(value * factor)))?;
    Some((unit.to_owned(), number(value * factor, 0)))
}
