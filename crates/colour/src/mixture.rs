//! What hair of several colours looks like together.

use crate::lab::Lab;
use crate::xyz::Xyz;

/// Colours laid side by side too fine to tell apart, by weight.
///
/// Light adds, so the mean is taken of X, Y, Z. Means of L*a*b* or of screen
/// values are wrong by up to 9 units of difference for hair shades.
///
/// ```
/// use colour::{D65, Lab, Mixture};
/// let [dark, fair] = [Lab::new(20.0, 4.0, 6.0), Lab::new(62.0, 8.0, 25.0)].map(|lab| lab.to_xyz(D65));
/// let half = Mixture::new().with(dark, 1.0).with(fair, 1.0).lab(D65).unwrap();
/// assert!(half.l > 41.0, "light adds, lightness does not: {half:?}");
/// assert_eq!(Mixture::new().lab(D65), None);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Mixture {
    sum: Xyz,
    weight: f64,
}

impl Mixture {
    /// Nothing in it yet.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// The mixture with so much more of a colour.
    #[must_use]
    pub fn with(self, colour: Xyz, weight: f64) -> Self {
        Self { sum: self.sum + colour * weight, weight: self.weight + weight }
    }

    /// The mean colour, or nothing when the mixture is empty.
    #[must_use]
    pub fn colour(self) -> Option<Xyz> {
        (self.weight > 0.0).then(|| self.sum * (1.0 / self.weight))
    }

    /// The mean colour in L*a*b*, or nothing when the mixture is empty.
    #[must_use]
    pub fn lab(self, white: Xyz) -> Option<Lab> {
        self.colour().map(|colour| colour.to_lab(white))
    }
}
