//! The colour of undyed hair from its two melanins.
//!
//! Legend: R reflectance, s0 the share sent back without entering the hair, K
//! the constant of the albedo fit, sigma_a absorption, eu and ph the two
//! melanins' absorption (1 at 550 nm).

use crate::spectrum::Spectrum;
use crate::tables::spectral::{EUMELANIN, FIRST_NM, PHEOMELANIN, STEP_NM, STEPS};
use measure::real::exp;

/// How much of what a strand holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pigment {
    /// Eumelanin, brown-black.
    pub eumelanin: f64,
    /// Pheomelanin, red-yellow.
    pub pheomelanin: f64,
    /// The share of light sent back without entering.
    pub surface: f64,
}

/// The constant of the albedo fit for smooth hair seen from all sides.
///
/// *Source*: Chiang and others 2016; key `chiang2016`.
const ALBEDO: f64 = 5.89;

/// Absorption of eumelanin and pheomelanin in the green, per unit of amount.
///
/// *Source*: d'Eon and others 2011; key `deon2011`.
const GREEN: (f64, f64) = (0.697, 0.400);

impl Pigment {
    /// The reflectance of a tress of such strands.
    ///
    /// *Accuracy*: a model of undyed hair. Keratin's own weak absorption in the
    /// violet is our assumption.
    #[must_use]
    pub fn spectrum(self) -> Spectrum {
        let mut values = [0.0; STEPS];
        for (i, value) in values.iter_mut().enumerate() {
            let nm = FIRST_NM + STEP_NM * i as f64;
            let keratin = 0.012 * exp(-(nm - 400.0) / 60.0);
            let absorption = self.eumelanin * GREEN.0 * EUMELANIN[i] + self.pheomelanin * GREEN.1 * PHEOMELANIN[i] + keratin;
            *value = self.surface + (1.0 - self.surface) * exp(-ALBEDO * absorption.max(0.0).sqrt());
        }
        Spectrum::on_table_steps(values)
    }
}

/// Lightness under D65 of the ten levels, black to lightest blonde.
///
/// Our choice: no published measurement of the trade's level scale was found.
const LEVELS: [f64; 10] = [15.0, 17.5, 20.0, 24.5, 29.5, 35.5, 42.5, 50.0, 57.5, 65.0];

/// The level, 1 to 10 with parts, that a lightness under D65 stands for.
///
/// *Accuracy*: below level 4 a reading from a photograph cannot tell half levels.
///
/// ```
/// assert!(colour::pigment::level_of(60.0) > colour::pigment::level_of(20.0));
/// ```
#[must_use]
pub fn level_of(lightness: f64) -> f64 {
    let above = LEVELS.partition_point(|own| *own < lightness).clamp(1, LEVELS.len() - 1);
    let (low, high) = (LEVELS[above - 1], LEVELS[above]);
    (above as f64 + (lightness - low) / (high - low)).clamp(1.0, 10.0)
}
