//! The client's own hair: how many strands, how thick, how long, and how sure.
//!
//! Legend: `rho` strands per area; `d` strand diameter; `phi` the share of a
//! tied tail's cross-section that is hair and not air; `C` its circumference;
//! `N` strands on the head. A tail of circumference C holds
//! `N = phi C^2 / (pi^2 d^2)` strands.
//!
//! Density and diameter are estimated together. Each starts from what people
//! have at large; a count or a reading takes the place of that start, and the
//! tied circumference, which knows only `rho d^2`, narrows both. Where she
//! comes from is never asked: groups overlap far more than they differ.

mod rules;

pub use rules::*;

use head::Zone;
use measure::real::{exp, ln};
use measure::{Area, Density, Estimate, Grams, Length, RuleBook};
use serde::{Deserialize, Serialize};
use std::f64::consts::PI;

/// The half width of a range that holds nine chances in ten, in standard deviations.
const NINE_IN_TEN: f64 = 1.645;

/// Strand class by touch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Strand {
    /// Under 60 um.
    Fine,
    /// 60 to 80 um.
    Medium,
    /// Over 80 um.
    Coarse,
}

impl Strand {
    /// The class that a diameter falls into.
    #[must_use]
    pub fn of_diameter(diameter: Length) -> Self {
        let um = diameter.to_um();
        if um < FINE.range.1 {
            Self::Fine
        } else if um <= MEDIUM.range.1 {
            Self::Medium
        } else {
            Self::Coarse
        }
    }
}

/// How a strand diameter was measured; the same hair reads differently.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum MeasuredBy {
    /// A width seen in a microscope or camera: the long axis of the section.
    Optical,
    /// Pinched in a calliper.
    Calliper,
    /// From the mass of a counted bundle of known length.
    Weighed,
}

/// Curl of the hair.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Texture {
    /// No wave.
    #[default]
    Straight,
    /// Waves.
    Wavy,
    /// Curls.
    Curly,
    /// Tight coils.
    Coily,
}

/// Oil on scalp and hair.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Oil {
    /// Dry.
    Dry,
    /// Neither dry nor oily.
    #[default]
    Normal,
    /// Oily within a day or two of washing.
    Oily,
}

/// Chemical services that the hair has had.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Processed {
    /// None.
    #[default]
    None,
    /// Coloured, not lightened.
    Coloured,
    /// Bleached.
    Bleached,
    /// Relaxed or permanently straightened.
    Relaxed,
}

/// How the ends are cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Ends {
    /// A straight blunt line.
    Blunt,
    /// Soft: layered, thinned or grown out.
    #[default]
    Soft,
}

/// What is known of the client's hair; every fact may be missing.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct HairFacts {
    /// Strands per area over the whole head, counted or judged.
    pub density: Option<Density>,
    /// Circumference of all the hair tied tightly in one tail, at the tie.
    pub tied_circumference: Option<Length>,
    /// Strand class by touch.
    pub strand: Option<Strand>,
    /// A measured strand diameter, and how.
    pub diameter: Option<(Length, MeasuredBy)>,
    /// Length of her own hair from the nape.
    pub own_length: Option<Length>,
    /// Curl.
    pub texture: Option<Texture>,
    /// Oil.
    pub oil: Option<Oil>,
    /// Chemical services.
    pub processed: Option<Processed>,
    /// How the ends are cut.
    pub ends: Option<Ends>,
}

/// What cannot be true of anybody's hair.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum HairFault {
    /// A density outside what any scalp has.
    #[error("hair: a density of {0} strands per cm2 is outside 30 to 400: count again over one square centimetre")]
    Density(f64),
    /// A tied circumference outside what any tail has.
    #[error("hair: a tied circumference of {0} mm is outside 15 to 250 mm: measure at the tie, in millimetres")]
    TiedCircumference(f64),
    /// A strand diameter outside what any hair has.
    #[error("hair: a strand diameter of {0} um is outside 17 to 181 um: give micrometres")]
    Diameter(f64),
    /// A length outside what hair grows to.
    #[error("hair: an own length of {0} mm is outside 5 to 2000 mm: measure from the nape, in millimetres")]
    OwnLength(f64),
    /// A hair-bearing area outside what any head has.
    #[error("hair: a hair-bearing area of {0} cm2 is outside 200 to 1200 cm2: check the head's measures")]
    ScalpArea(f64),
}

/// The client's hair as the other chapters use it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Hair {
    /// Strands per area over the whole head.
    pub density: Estimate<Density>,
    /// Strand diameter over the whole head.
    pub diameter: Estimate<Length>,
    /// Hair-bearing area of the scalp.
    pub scalp_area: Area,
    /// Length from the nape, when known.
    pub own_length: Option<Length>,
    /// Curl; straight when not told.
    pub texture: Texture,
    /// Oil; normal when not told.
    pub oil: Oil,
    /// Chemical services; none when not told.
    pub processed: Processed,
    /// How the ends are cut; soft when not told.
    pub ends: Ends,
    /// How the strands thin out towards the ends.
    pub taper: Taper,
    /// What was assumed, and facts that do not fit together, in plain words.
    pub warnings: Vec<String>,
    regions: Regions,
    fibre_mass: f64,
}

/// The factors of the regions, from the values in force.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
struct Regions {
    nape: f64,
    occipital: f64,
    crown: f64,
    parietal: f64,
    temporal: f64,
    frontal: f64,
    nape_diameter: f64,
}

impl Regions {
    fn of(book: &RuleBook) -> Self {
        Self {
            nape: book.value(&NAPE_DENSITY),
            occipital: book.value(&OCCIPITAL_DENSITY),
            crown: book.value(&CROWN_DENSITY),
            parietal: book.value(&PARIETAL_DENSITY),
            temporal: book.value(&TEMPORAL_DENSITY),
            frontal: book.value(&FRONTAL_DENSITY),
            nape_diameter: book.value(&NAPE_DIAMETER),
        }
    }

    fn density(&self, zone: Zone) -> f64 {
        match zone {
            Zone::Nape => self.nape,
            Zone::Occipital => self.occipital,
            Zone::Crown => self.crown,
            Zone::Parietal => self.parietal,
            Zone::Temporal => self.temporal,
            Zone::Frontal => self.frontal,
        }
    }
}

impl Hair {
    /// The hair from its facts, on a scalp of a hair-bearing area.
    ///
    /// *Meaning*: facts that are missing widen the ranges and are named in
    /// `warnings`; no fact ever widens a range.
    ///
    /// *Errors*: every fact that no hair has, all at once.
    pub fn from_facts(facts: &HairFacts, scalp_area: Area, book: &RuleBook) -> Result<Self, Vec<HairFault>> {
        let faults = faults_of(facts, scalp_area);
        if !faults.is_empty() {
            return Err(faults);
        }
        let (density, diameter) = estimate(facts, scalp_area, book);
        let ends = facts.ends.unwrap_or_default();
        Ok(Self {
            density,
            diameter,
            scalp_area,
            own_length: facts.own_length,
            texture: facts.texture.unwrap_or_default(),
            oil: facts.oil.unwrap_or_default(),
            processed: facts.processed.unwrap_or_default(),
            ends,
            taper: Taper::of_ends(ends, book),
            warnings: warnings_of(facts, scalp_area, book),
            regions: Regions::of(book),
            fibre_mass: book.value(&FIBRE_MASS),
        })
    }

    /// Strands per area in a region.
    #[must_use]
    pub fn density_in(&self, zone: Zone) -> Estimate<Density> {
        let factor = self.regions.density(zone);
        self.density.map(|density| density * factor)
    }

    /// Strand diameter in a region.
    #[must_use]
    pub fn diameter_in(&self, zone: Zone) -> Estimate<Length> {
        let factor = if zone == Zone::Nape { self.regions.nape_diameter } else { 1.0 };
        self.diameter.map(|diameter| diameter * factor)
    }

    /// The strand class that the diameter falls into.
    #[must_use]
    pub fn strand(&self) -> Strand {
        Strand::of_diameter(self.diameter.value)
    }

    /// Mass of one strand of a length.
    #[must_use]
    pub fn strand_mass(&self, length: Length) -> Estimate<Grams> {
        self.diameter.map(|diameter| strand_mass_of(diameter, length, self.fibre_mass))
    }

    /// Strands on the whole head.
    #[must_use]
    pub fn strands(&self) -> Estimate<f64> {
        self.density.map(|density| density * self.scalp_area)
    }

    /// Mass of her own hair, tapered as her ends are; nothing when its length
    /// is not known.
    #[must_use]
    pub fn natural_mass(&self) -> Option<Estimate<Grams>> {
        let mean_length = self.own_length? * self.taper.mean();
        let one = self.strand_mass(mean_length);
        let all = self.strands();
        Some(Estimate::new(one.value * all.value, one.low * all.low, one.high * all.high))
    }

    /// Circumference of all her hair tied in one tail at the root.
    #[must_use]
    pub fn tied_circumference(&self, book: &RuleBook) -> Length {
        tied_circumference(self.strands().value, self.diameter.value, book.value(&PACKING))
    }
}

/// How many of the strands reach a distance along the hair.
///
/// *Meaning*: all of them up to `full_to` of the length, then fewer in a
/// straight line down to `end_share` at the very end, and none beyond.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Taper {
    /// Share of the length that every strand reaches.
    pub full_to: f64,
    /// Share of strands that reach the end.
    pub end_share: f64,
}

impl Taper {
    /// Every strand as long as the whole.
    pub const NONE: Self = Self { full_to: 1.0, end_share: 1.0 };

    /// The taper of blunt or soft ends.
    #[must_use]
    pub fn of_ends(ends: Ends, book: &RuleBook) -> Self {
        let (full_to, end_share) = match ends {
            Ends::Blunt => (&BLUNT_FULL_TO, &BLUNT_END_SHARE),
            Ends::Soft => (&SOFT_FULL_TO, &SOFT_END_SHARE),
        };
        Self { full_to: book.value(full_to), end_share: book.value(end_share) }
    }

    /// Share of the strands that reach `at`, of hair of a length.
    #[must_use]
    pub fn share_at(&self, at: Length, length: Length) -> f64 {
        let x = at.to_mm() / length.to_mm();
        if !x.is_finite() || x > 1.0 {
            0.0
        } else if x <= self.full_to {
            1.0
        } else {
            1.0 - (1.0 - self.end_share) * (x - self.full_to) / (1.0 - self.full_to)
        }
    }

    /// Mean length of a strand, as a share of the longest.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.full_to + (1.0 - self.full_to) * (1.0 + self.end_share) / 2.0
    }
}

/// Mass of one round strand of a diameter and a length.
#[must_use]
pub fn strand_mass(diameter: Length, length: Length, book: &RuleBook) -> Grams {
    strand_mass_of(diameter, length, book.value(&FIBRE_MASS))
}

/// The same, from the mass of a cubic centimetre.
fn strand_mass_of(diameter: Length, length: Length, g_per_cm3: f64) -> Grams {
    let d = diameter.to_cm();
    Grams::g(PI / 4.0 * d * d * length.to_cm() * g_per_cm3)
}

/// Diameter of a round strand from the mass of a counted bundle.
#[must_use]
pub fn diameter_from_bundle(mass: Grams, strands: u32, length: Length, book: &RuleBook) -> Length {
    let volume = mass.to_g() / book.value(&FIBRE_MASS);
    let one = volume / (f64::from(strands.max(1)) * length.to_cm());
    Length::cm((4.0 * one / PI).max(0.0).sqrt())
}

/// Strands in a tied tail of a circumference.
#[must_use]
pub fn strands_in_tail(circumference: Length, diameter: Length, packing: f64) -> f64 {
    let ratio = circumference / diameter;
    packing * ratio * ratio / (PI * PI)
}

/// Circumference of a tied tail of so many strands.
#[must_use]
pub fn tied_circumference(strands: f64, diameter: Length, packing: f64) -> Length {
    diameter * (PI * (strands.max(0.0) / packing).sqrt())
}

/// Hair-bearing area of a head of a circumference, when nothing better is known.
#[must_use]
pub fn scalp_area_of(circumference: Length, book: &RuleBook) -> Area {
    let ratio = circumference.to_cm() / 55.0;
    Area::cm2(book.value(&SCALP_AREA) * ratio * ratio)
}

fn faults_of(facts: &HairFacts, scalp_area: Area) -> Vec<HairFault> {
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
fn estimate(facts: &HairFacts, scalp_area: Area, book: &RuleBook) -> (Estimate<Density>, Estimate<Length>) {
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

fn warnings_of(facts: &HairFacts, scalp_area: Area, book: &RuleBook) -> Vec<String> {
    let mut warnings = Vec::new();
    if let Some(density) = facts.density.map(Density::to_per_cm2) {
        let (least, most) = (book.value(&DENSITY_LEAST), book.value(&DENSITY_MOST));
        if !(least..=most).contains(&density) {
            warnings.push(format!("a density of {density:.0} strands per cm2 is rare (usual: {least:.0} to {most:.0}): count once more"));
        }
    } else if facts.tied_circumference.is_none() {
        warnings.push("neither density nor tied circumference is known: density is assumed and its range is wide".to_owned());
    }
    if facts.strand.is_none() && facts.diameter.is_none() {
        warnings.push("strand thickness is not known: a class by touch (fine, medium, coarse) would narrow every range".to_owned());
    }
    if facts.own_length.is_none() {
        warnings.push("the length of her own hair is not known: where it stops cannot be shown".to_owned());
    }
    if let Some((_, MeasuredBy::Optical)) = facts.diameter {
        warnings.push("an optical width reads up to 41 % wider than a calliper on the same hair: the range allows for it".to_owned());
    }
    let alone = [density_alone(facts, book), diameter_alone(facts, book)];
    if let Some(tail) = tail_alone(facts, scalp_area, book) {
        let expected = alone[0].mean + 2.0 * alone[1].mean;
        let spread = (alone[0].variance + 4.0 * alone[1].variance + tail.variance).sqrt();
        if (tail.mean - expected).abs() > 2.5 * spread {
            warnings.push(
                "tied circumference, density and strand thickness do not fit together: measure the tail at the tie once more".to_owned(),
            );
        }
    }
    warnings
}
