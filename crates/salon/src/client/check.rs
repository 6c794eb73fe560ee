//! Every fault of a client's file at once, or the facts it states.

mod body;
mod consultation;

use super::facts::{ClientFacts, ColourAsked, LastSite, PieceFacts, Prices};
use super::file::{ClientFile, ColourSection, HeadSection, PiecesSection, PricesSection, nearest_key};
use crate::fault::Fault;
use colour::Lab;
use craft::suitability::answers::{Goal, HotTools, Part, Style, TiesUp};
use craft::suitability::plausible as usual;
use head::{Marks, Measures};
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

/// The hair words of a client's file, by key, in the order they are offered.
#[must_use]
pub fn words_of(key: &str) -> &'static [&'static str] {
    match key {
        "goal" => Goal::WORDS,
        "fullness" => &["light", "natural", "full"],
        "styles" => Style::WORDS,
        "part" => Part::WORDS,
        "ties_up" => TiesUp::WORDS,
        "hot_tools" => HotTools::WORDS,
        "strand" => &["fine", "medium", "coarse"],
        "measured_by" => &["optical", "calliper", "weighed"],
        "texture" => &["straight", "wavy", "curly", "coily"],
        "oil" => &["dry", "normal", "oily"],
        "processed" => &["none", "coloured", "bleached", "relaxed"],
        "ends" => &["blunt", "soft"],
        "hair_under_tape" => &["parted", "smooth", "full", "none"],
        "care" => &["careful", "usual", "bold"],
        "side" => &["left", "centre", "right"],
        "zone" => &["nape", "occipital", "crown", "parietal", "temple", "frontal"],
        "seen" => &["clear", "reacted"],
        _ => &[],
    }
}

#[derive(Default)]
struct Check {
    faults: Vec<Fault>,
    warnings: Vec<String>,
}

impl Check {
    fn fault(&mut self, place: &str, what: impl Into<String>, rule: &str, cure: impl Into<String>) {
        self.faults.push(Fault::new(what, place, rule, cure));
    }

    fn warn(&mut self, words: impl Into<String>) {
        self.warnings.push(words.into());
    }

    /// A number inside the range of a rule of plausibility.
    fn number(&mut self, place: &str, value: Option<f64>, rule: &Rule) -> Option<f64> {
        let value = value?;
        let (low, high) = rule.range;
        if (low..=high).contains(&value) {
            return Some(value);
        }
        let what = if value.is_finite() {
            format!("{value} {} is outside {low} to {high} {}", rule.unit, rule.unit)
        } else {
            "this is no number".into()
        };
        let cure = slip_of_unit(value, rule).unwrap_or_else(|| format!("Measure or read it again and write it in {}.", rule.unit));
        self.fault(place, what, rule.id, cure);
        None
    }

    fn whole(&mut self, place: &str, value: Option<f64>, rule: &Rule) -> Option<u32> {
        let value = self.number(place, value, rule)?;
        if value.fract() == 0.0 {
            return Some(value as u32);
        }
        self.fault(place, format!("{value} is not a whole number"), rule.id, "Write a whole number.");
        None
    }

    /// A length in millimetres, inside the range of a rule.
    fn length(&mut self, place: &str, value: Option<f64>, rule: &Rule) -> Option<Length> {
        self.number(place, value, rule).map(Length::mm)
    }

    /// One of the words of a list.
    fn word<T>(&mut self, place: &str, key: &str, word: Option<&String>, read: impl Fn(&str) -> Option<T>) -> Option<T> {
        let word = word?;
        if let Some(value) = read(word) {
            return Some(value);
        }
        let known = words_of(key);
        let list = known.join(", ");
        let near = nearest_key(word, known).map_or_else(String::new, |near| format!("Did you mean \"{near}\"? "));
        self.fault(place, format!("\"{word}\" is no answer here"), "word-known", format!("{near}Write one of: {list}."));
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
        answers.age_years = self.whole("client.age_years", client.age_years, &usual::AGE);
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
            let what = if said == 0 { "the colour of her ends is missing" } else { "the colour is said in more than one way" };
            let cure = "Keep exactly one of lab_d65 = [L, a, b], shade = \"…\" and photo = \"…\" with marks = \"…\".";
            self.fault("colour", what, "colour-once", cure);
        }
        if section.photo.is_some() && section.marks.is_none() {
            let cure = "Write marks = \"marks.json\": where the chart and the hair are in the photo.";
            self.fault("colour.marks", "the photo has no marks", "photo-marks", cure);
        }
        if section.marks.is_some() && section.photo.is_none() {
            let cure = "Write photo = \"…\", or leave marks out.";
            self.fault("colour.photo", "marks are given without a photo", "photo-marks", cure);
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
                self.fault("colour.shade", "the shade is empty", "colour-once", "Write the code of a shade of the ring.");
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
            let what = format!("{lab:?} is no colour: three numbers, lightness 0 to 100, the others within 128 of zero");
            self.fault("colour.lab_d65", what, "colour-range", "Write lab_d65 = [L, a, b] as the instrument shows it.");
        }
        sane.map(ColourAsked::LabD65)
    }

    fn pieces(&mut self, section: &PiecesSection) -> PieceFacts {
        let mut lengths: Vec<Length> = Vec::new();
        if section.lengths_mm.as_ref().is_some_and(Vec::is_empty) {
            let cure = "List the lengths on sale, or leave the key out.";
            self.fault("pieces.lengths_mm", "the list of lengths is empty", "piece-length", cure);
        }
        for (at, &value) in section.lengths_mm.iter().flatten().enumerate() {
            let place = format!("pieces.lengths_mm[{at}]");
            if let Some(length) = self.length(&place, Some(value), &usual::PIECE_LENGTH)
                && !lengths.contains(&length)
            {
                lengths.push(length);
            }
        }
        lengths.sort_by(|one, other| one.to_mm().total_cmp(&other.to_mm()));
        for (key, value) in [("ring", &section.ring), ("stock", &section.stock)] {
            if value.as_ref().is_some_and(|path| path.trim().is_empty()) {
                let place = format!("pieces.{key}");
                self.fault(&place, "the file name is empty", "file-named", "Write the file's name, or leave the key out.");
            }
        }
        PieceFacts {
            tab_width: self.length("pieces.tab_width_mm", section.tab_width_mm, &usual::TAB_WIDTH),
            tab_height: self.length("pieces.tab_height_mm", section.tab_height_mm, &usual::TAB_HEIGHT),
            mass: self.number("pieces.mass_g", section.mass_g, &usual::PIECE_MASS).map(Grams::g),
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
                let what = format!("\"{code}\" is no currency");
                self.fault("prices.currency", what, "currency", "Write its three capital letters, as in \"EUR\".");
            }
            currency
        });
        let mut amount = |key: &str, minor: Option<i64>| {
            let minor = minor?;
            let place = format!("prices.{key}");
            if minor < 0 {
                self.fault(&place, format!("{minor} is less than nothing"), "price", "Write an amount of zero or more.");
                return None;
            }
            if section.currency.is_none() {
                let cure = "Write currency = \"EUR\" (or another) in [prices].";
                self.fault(&place, "an amount stands without a currency", "currency", cure);
            }
            currency.map(|currency| Money::minor(minor, currency))
        };
        let hour = amount("hour_minor", section.hour_minor);
        let tape_tab = amount("tape_tab_minor", section.tape_tab_minor);
        Prices { currency, hour, tape_tab }
    }

    fn budget(&mut self, minor: Option<i64>, currency: Option<Currency>) -> Option<Money> {
        let minor = minor?;
        let place = "consultation.budget_minor";
        if minor <= 0 {
            self.fault(place, format!("a budget of {minor} buys nothing"), "price", "Write it in minor units, or leave it out.");
            return None;
        }
        if currency.is_none() && self.faults.iter().all(|fault| fault.place != "prices.currency") {
            self.fault(place, "the budget has no currency", "currency", "Write currency = \"EUR\" (or another) in [prices].");
        }
        currency.map(|currency| Money::minor(minor, currency))
    }

    fn last_sites(&mut self, file: &ClientFile) -> Vec<LastSite> {
        let mut sites = Vec::new();
        let entries = file.last_visit.as_ref().and_then(|visit| visit.sites.as_ref());
        for (at, entry) in entries.into_iter().flatten().enumerate() {
            let place = format!("last_visit.sites[{at}]");
            let above = self.length(&format!("{place}.above_nape_mm"), entry.above_nape_mm, &usual::ABOVE_NAPE);
            let along = self.length(&format!("{place}.along_mm"), entry.along_mm, &usual::ALONG);
            let width = self.length(&format!("{place}.width_mm"), entry.width_mm, &usual::TAB_WIDTH);
            if entry.above_nape_mm.is_none() || entry.along_mm.is_none() || entry.width_mm.is_none() {
                let cure = "Write { above_nape_mm = …, along_mm = …, width_mm = … }.";
                self.fault(&place, "a slice of the last visit is not complete", "last-visit-complete", cure);
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

/// What was likely meant when a number is right in another unit.
fn slip_of_unit(value: f64, rule: &Rule) -> Option<String> {
    if rule.unit != "mm" || !value.is_finite() || value <= 0.0 {
        return None;
    }
    let (low, high) = rule.range;
    let units = [("centimetres", 10.0), ("inches", 25.4), ("micrometres", 0.001)];
    // A slip is likely only when the value is right in that unit.
    let (unit, factor) = units.into_iter().find(|(_, factor)| (low..=high).contains(&(value * factor)))?;
    Some(format!("Did you read {unit}? In millimetres it is {:.0}.", value * factor))
}
