//! What is known of a head of hair, and what cannot be.

use super::rules::*;
use crate::words::Message;
use measure::{Density, Length};
use serde::{Deserialize, Serialize};

/// The half width of a range that holds nine chances in ten, in standard deviations.
pub(super) const NINE_IN_TEN: f64 = 1.645;

/// Strand class by touch.
///
/// ```
/// use craft::hair::Strand;
/// use measure::Length;
/// assert_eq!(Strand::of_diameter(Length::um(40.0)), Strand::Fine);
/// assert_eq!(Strand::of_diameter(Length::um(100.0)), Strand::Coarse);
/// ```
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
    #[error("{}", Message::DensityOutside { density: (.0).to_string() })]
    Density(f64),
    /// A tied circumference outside what any tail has.
    #[error("{}", Message::TiedOutside { round: (.0).to_string() })]
    TiedCircumference(f64),
    /// A strand diameter outside what any hair has.
    #[error("{}", Message::DiameterOutside { diameter: (.0).to_string() })]
    Diameter(f64),
    /// A length outside what hair grows to.
    #[error("{}", Message::OwnLengthOutside { length: (.0).to_string() })]
    OwnLength(f64),
    /// A hair-bearing area outside what any head has.
    #[error("{}", Message::HairAreaOutside { area: (.0).to_string() })]
    ScalpArea(f64),
}
