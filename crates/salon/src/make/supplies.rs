//! What the salon has besides the client's facts.

use crate::stock::Order;
use colour::Lab;
use craft::matching::{Ring, Tone};

/// A colour as a photo gave it.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadColour {
    /// The ends' mean colour.
    pub lab_d65: Lab,
    /// How far it may be off.
    pub uncertainty_de00: f64,
    /// The tones in it.
    pub tones: Vec<Tone>,
    /// What to know about the reading.
    pub warnings: Vec<String>,
}

/// What the salon has besides the client's facts.
#[derive(Debug, Clone, Copy, Default)]
pub struct Supplies<'a> {
    /// The ring of shades.
    pub ring: Option<&'a Ring>,
    /// What lies on the shelf and what is on sale.
    pub shelf: Option<&'a Order>,
    /// The colour read from a photo.
    pub reading: Option<&'a ReadColour>,
}
