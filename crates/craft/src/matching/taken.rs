//! Which mix of a match is taken, and how far a difference reaches on a ring.

use super::{Match, Mix, Ring};
use colour::{D65, Lab, Mixture, ciede2000};
use std::collections::BTreeMap;

/// Fewer shades than these do not say how close they usually lie. Our choice.
const FEWEST_SHADES: usize = 4;

/// How many pieces are shared out while no plan says how many. Our choice.
pub const PIECES_UNTIL_A_PLAN: u32 = 20;

impl Match {
    /// The mix that a plan takes: the advised one; where none is, the nearest of
    /// fewest shades, or the nearest there is.
    #[must_use]
    pub fn taken(&self) -> Option<&Mix> {
        self.advised.as_ref().or(self.fewest.as_ref()).or(self.mixes.first())
    }
}

impl Ring {
    /// How far shades of the ring, mixed in such parts, lie from a colour: CIEDE2000,
    /// 1:1:1. Nothing where there are no parts, or one is of a shade that the ring lacks.
    #[must_use]
    pub fn mixed_from(&self, parts: &BTreeMap<String, u32>, from: Lab) -> Option<f64> {
        let mut mixture = Mixture::new();
        for (code, part) in parts {
            let shade = self.shades.iter().find(|shade| shade.code == *code)?;
            mixture = mixture.with(shade.colour().ok()?, f64::from(*part));
        }
        Some(ciede2000(from, mixture.lab(D65)?))
    }

    /// How many steps from one shade to its nearest neighbour, as they usually lie on
    /// the ring, a difference is. Nothing where the ring has too few to say.
    #[must_use]
    pub fn steps_of(&self, de00: f64) -> Option<f64> {
        let labs: Vec<Lab> = self.colours().ok()?.into_iter().map(|colour| colour.to_lab(D65)).collect();
        let nearest = |at: usize| {
            labs.iter()
                .enumerate()
                .filter(|(other, _)| *other != at)
                .map(|(_, lab)| ciede2000(labs[at], *lab))
                .fold(f64::INFINITY, f64::min)
        };
        let mut steps: Vec<f64> = (0..labs.len()).map(nearest).filter(|step| step.is_finite() && *step > 0.0).collect();
        steps.sort_by(f64::total_cmp);
        (steps.len() >= FEWEST_SHADES).then(|| de00 / steps[steps.len() / 2])
    }
}
