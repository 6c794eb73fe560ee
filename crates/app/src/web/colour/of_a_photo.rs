//! What is told of a photo beside its reading.

use crate::web::frame::page::moment;
use craft::matching::Ring;
use desk::{PhotoFacts, PhotoNote};

/// The day a photo was taken in, for what was measured from it.
pub fn day(photo: &PhotoNote) -> String {
    moment(photo.kept_ms).split(',').next().unwrap_or_default().to_owned()
}

/// Whether the ring holds a shade of this code.
pub fn is_on(ring: &Ring, code: &str) -> bool {
    ring.shades.iter().any(|shade| shade.code == code)
}

/// What the chart of a photo of swatches was off by, on average over them.
pub fn chart_off(facts: &PhotoFacts) -> Option<f64> {
    let offs: Vec<f64> = facts.measured.iter().filter(|measured| measured.colour.is_some()).map(|measured| measured.chart_de00).collect();
    (!offs.is_empty()).then(|| offs.iter().sum::<f64>() / offs.len() as f64)
}
