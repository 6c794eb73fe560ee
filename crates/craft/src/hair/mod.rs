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

mod estimate;
mod facts;
mod rules;
mod strand;

use estimate::{estimate, faults_of, warnings_of};
pub use facts::{Ends, HairFacts, HairFault, MeasuredBy, Oil, Processed, Strand, Texture};
pub use rules::*;
use strand::strand_mass_of;
pub use strand::{Taper, diameter_from_bundle, strand_mass, strands_in_tail, tied_circumference};

use head::Zone;
use measure::{Area, Density, Estimate, Grams, Length, RuleBook};
use serde::Serialize;

/// The client's hair as the other chapters use it.
///
/// ```
/// use craft::hair::{Hair, HairFacts};
/// use measure::{Area, RuleBook};
/// let book = RuleBook::standard();
/// let hair = Hair::from_facts(&HairFacts::default(), Area::cm2(600.0), &book).unwrap();
/// assert!(hair.strands().low < hair.strands().value);
/// // The nape bears its own share of the density.
/// assert!(hair.density_in(head::Zone::Nape).value.to_per_cm2() > 0.0);
/// ```
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

/// Hair-bearing area of a head of a circumference, when nothing better is known.
///
/// ```
/// use craft::hair::scalp_area_of;
/// use measure::{Length, RuleBook};
/// let area = scalp_area_of(Length::mm(560.0), &RuleBook::standard()).to_cm2();
/// assert!((400.0..800.0).contains(&area));
/// ```
#[must_use]
pub fn scalp_area_of(circumference: Length, book: &RuleBook) -> Area {
    let ratio = circumference.to_cm() / 55.0;
    Area::cm2(book.value(&SCALP_AREA) * ratio * ratio)
}
