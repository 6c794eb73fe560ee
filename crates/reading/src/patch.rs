//! A patch of the chart as the photo has it.

use crate::geometry::Point;

/// One patch as the photo shows it.
#[derive(Debug, Clone)]
pub(crate) struct Patch {
    pub middle: Point,
    /// Mean light in the photo's own primaries.
    pub light: [f64; 3],
    /// Share of pixels at the top of the scale.
    pub clipped: f64,
    /// Share of pixels at nothing, in each channel.
    pub black: [f64; 3],
    /// Share of pixels that noise may have cut off at nothing, in each channel.
    pub cut: [f64; 3],
    /// Shares of the 256 codes of each channel; a code between two is shared out.
    pub codes: Box<[[f64; 256]; 3]>,
    /// How many pixels were measured.
    pub pixels: f64,
    /// Variance of the mean code of a block of pixels, times their number, in each channel.
    pub blocks: [f64; 3],
}
