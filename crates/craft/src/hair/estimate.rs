//! Density and diameter from what was said and measured, weighed together.

use super::facts::{HairFacts, HairFault, MeasuredBy, NINE_IN_TEN, Strand, Texture};
use super::rules::{
    CALLIPER_SPREAD, CLASS_SPREAD, COARSE, COUNT_SPREAD, DENSITY_LEAST, DENSITY_MOST, DENSITY_SPREAD, DENSITY_START, DIAMETER_SPREAD,
    DIAMETER_START, ELLIPSE_COILY, ELLIPSE_STRAIGHT, ELLIPSE_WAVY, FINE, MEDIUM, OPTICAL_SPREAD, PACKING, PACKING_SPREAD, WEIGHED_SPREAD,
};
use crate::words::Message;
use measure::real::{exp, ln};
use measure::text::number;
use measure::{Area, Density, Estimate, Length, RuleBook};
use std::f64::consts::PI;

pub(super) fn faults_of(facts: &HairFacts, scalp_area: Area) -> Vec<HairFault> {
    // `contains` is false for "not a number", so that is refused as well.
    let mut faults = Vec::new();
    if let Some(density) = facts.density.map(Density::to_per_cm2)
        && !(30.0..=400.0).contains(&density)
    {
        faults.push(HairFault::Density(density));
    }
    if let Some(tied) = facts.tied_circumference.map(Length::to_mm)
        && !(15.0..=250.0).contains(&tied)
    {
        faults.push(HairFault::TiedCircumference(tied));
    }
    if let Some(um) = facts.diameter.map(|(diameter, _)| diameter.to_um())
        && !(17.0..=181.0).contains(&um)
    {
        faults.push(HairFault::Diameter(um));
    }
    if let Some(own) = facts.own_length.map(Length::to_mm)
        && !(5.0..=2000.0).contains(&own)
    {
        faults.push(HairFault::OwnLength(own));
    }
    if !(200.0..=1200.0).contains(&scalp_area.to_cm2()) {
        faults.push(HairFault::ScalpArea(scalp_area.to_cm2()));
    }
    faults
}

/// A value on the logarithmic scale with its variance.
#[derive(Clone, Copy)]
struct Belief {
    mean: f64,
    variance: f64,
}

impl Belief {
    fn percent(value: f64, spread: f64) -> Self {
        Self { mean: ln(value), variance: spread * spread * 1e-4 }
    }

    fn with(self, other: Self) -> Self {
        let precision = 1.0 / self.variance + 1.0 / other.variance;
        let mean = (self.mean / self.variance + other.mean / other.variance) / precision;
        Self { mean, variance: 1.0 / precision }
    }

    fn range(self) -> Estimate<f64> {
        let half = NINE_IN_TEN * self.variance.sqrt();
        Estimate::new(exp(self.mean), exp(self.mean - half), exp(self.mean + half))
    }
}

fn density_alone(facts: &HairFacts, book: &RuleBook) -> Belief {
    match facts.density {
        Some(counted) => Belief::percent(counted.to_per_cm2(), book.value(&COUNT_SPREAD)),
        None => {
            let start = book.value(&DENSITY_START);
            Belief::percent(start, 100.0 * book.value(&DENSITY_SPREAD) / start)
        }
    }
}

fn diameter_alone(facts: &HairFacts, book: &RuleBook) -> Belief {
    let class = facts.strand.map(|strand| {
        let middle = match strand {
            Strand::Fine => &FINE,
            Strand::Medium => &MEDIUM,
            Strand::Coarse => &COARSE,
        };
        Belief::percent(book.value(middle), book.value(&CLASS_SPREAD))
    });
    let reading = facts.diameter.map(|(diameter, by)| match by {
        MeasuredBy::Optical => {
            let width = diameter.to_um() / ellipse_of(facts.texture.unwrap_or_default(), book).sqrt();
            Belief::percent(width, book.value(&OPTICAL_SPREAD))
        }
        MeasuredBy::Calliper => Belief::percent(diameter.to_um(), book.value(&CALLIPER_SPREAD)),
        MeasuredBy::Weighed => Belief::percent(diameter.to_um(), book.value(&WEIGHED_SPREAD)),
    });
    match (class, reading) {
        (Some(class), Some(reading)) => class.with(reading),
        (Some(one), None) | (None, Some(one)) => one,
        (None, None) => Belief::percent(book.value(&DIAMETER_START), book.value(&DIAMETER_SPREAD)),
    }
}

fn ellipse_of(texture: Texture, book: &RuleBook) -> f64 {
    match texture {
        Texture::Straight => book.value(&ELLIPSE_STRAIGHT),
        Texture::Wavy => book.value(&ELLIPSE_WAVY),
        Texture::Curly => (book.value(&ELLIPSE_WAVY) + book.value(&ELLIPSE_COILY)) / 2.0,
        Texture::Coily => book.value(&ELLIPSE_COILY),
    }
}

/// What the tied circumference says: `ln rho + 2 ln d`, with its variance.
fn tail_alone(facts: &HairFacts, scalp_area: Area, book: &RuleBook) -> Option<Belief> {
    let circumference = facts.tied_circumference?.to_um();
    let product = book.value(&PACKING) * circumference * circumference / (PI * PI * scalp_area.to_cm2());
    Some(Belief::percent(product, book.value(&PACKING_SPREAD)))
}

/// Density and diameter with all facts: a Gaussian on the logarithms, updated
/// once by the tied circumference `x + 2 y = t`.
pub(super) fn estimate(facts: &HairFacts, scalp_area: Area, book: &RuleBook) -> (Estimate<Density>, Estimate<Length>) {
    let mut x = density_alone(facts, book);
    let mut y = diameter_alone(facts, book);
    if let Some(tail) = tail_alone(facts, scalp_area, book) {
        let total = x.variance + 4.0 * y.variance + tail.variance;
        let surprise = tail.mean - (x.mean + 2.0 * y.mean);
        let (gain_x, gain_y) = (x.variance / total, 2.0 * y.variance / total);
        x = Belief { mean: x.mean + gain_x * surprise, variance: x.variance * (1.0 - gain_x) };
        y = Belief { mean: y.mean + gain_y * surprise, variance: y.variance * (1.0 - 2.0 * gain_y) };
    }
    (x.range().map(Density::per_cm2), y.range().map(Length::um))
}

pub(super) fn warnings_of(facts: &HairFacts, scalp_area: Area, book: &RuleBook) -> Vec<String> {
    let mut warnings = Vec::new();
    if let Some(density) = facts.density.map(Density::to_per_cm2) {
        let (least, most) = (book.value(&DENSITY_LEAST), book.value(&DENSITY_MOST));
        if !(least..=most).contains(&density) {
            let [density, least, most] = [density, least, most].map(|value| number(value, 0));
            warnings.push(Message::RareDensity { density, least, most });
        }
    } else if facts.tied_circumference.is_none() {
        warnings.push(Message::AmountUnknown);
    }
    if facts.strand.is_none() && facts.diameter.is_none() {
        warnings.push(Message::StrandUnknown);
    }
    if facts.own_length.is_none() {
        warnings.push(Message::OwnLengthUnknown);
    }
    if let Some((_, MeasuredBy::Optical)) = facts.diameter {
        warnings.push(Message::OpticalReadsWider);
    }
    let alone = [density_alone(facts, book), diameter_alone(facts, book)];
    if let Some(tail) = tail_alone(facts, scalp_area, book) {
        let expected = alone[0].mean + 2.0 * alone[1].mean;
        let spread = (alone[0].variance + 4.0 * alone[1].variance + tail.variance).sqrt();
        if (tail.mean - expected).abs() > 2.5 * spread {
            warnings.push(Message::HairDoesNotFit);
        }
    }
    warnings.into_iter().map(String::from).collect()
}
