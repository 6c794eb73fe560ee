//! The same hair read more than once: over the visits, and under a second light.

use colour::{Lab, ciede2000};
use serde::Serialize;

/// How far a reading has moved from the first.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Fading {
    /// CIEDE2000 from the first reading.
    pub de00: f64,
    /// Lighter (positive) or darker.
    pub lightness: f64,
    /// More (positive) or less colour.
    pub chroma: f64,
    /// Whether the move is more than the two readings' uncertainty.
    pub seen: bool,
}

/// The readings over the visits, each as its difference from the first.
///
/// `readings` are colours under D65 with their uncertainty, oldest first.
///
/// ```
/// use colour::Lab;
/// use craft::matching::fading;
/// let seen = fading(&[(Lab::new(35.0, 8.0, 18.0), 1.0), (Lab::new(40.0, 7.0, 19.0), 1.0)]);
/// assert!(seen.last().unwrap().seen && seen.last().unwrap().lightness == 5.0);
/// ```
#[must_use]
pub fn fading(readings: &[(Lab, f64)]) -> Vec<Fading> {
    let Some(&(first, first_sure)) = readings.first() else { return Vec::new() };
    readings
        .iter()
        .map(|&(lab, sure)| {
            let de00 = ciede2000(first, lab);
            Fading {
                de00,
                lightness: lab.l - first.l,
                chroma: lab.chroma() - first.chroma(),
                seen: de00 > (sure * sure + first_sure * first_sure).sqrt(),
            }
        })
        .collect()
}

/// What a second photograph, of ends and swatch under another light, says.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LightCheck {
    /// Ends and swatch under the first light.
    pub first_de00: f64,
    /// Ends and swatch under the second light.
    pub second_de00: f64,
    /// Whether the match holds: the second is no worse than the first by more
    /// than the readings' uncertainty.
    pub holds: bool,
}

/// Compares a match under two lights, ends and swatch photographed under each.
///
/// ```
/// use colour::Lab;
/// use craft::matching::second_light;
/// let [ends, swatch] = [Lab::new(35.0, 8.0, 18.0), Lab::new(36.0, 8.0, 18.0)];
/// assert!(second_light([ends, swatch], [ends, swatch], 1.0).holds);
/// assert!(!second_light([ends, swatch], [ends, Lab::new(50.0, 8.0, 18.0)], 1.0).holds);
/// ```
#[must_use]
pub fn second_light(first: [Lab; 2], second: [Lab; 2], uncertainty_de00: f64) -> LightCheck {
    let (first_de00, second_de00) = (ciede2000(first[0], first[1]), ciede2000(second[0], second[1]));
    LightCheck { first_de00, second_de00, holds: second_de00 - first_de00 <= uncertainty_de00 }
}
