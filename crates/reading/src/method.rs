//! Which steps of the correction are taken.
//!
//! A reading takes them all. The others exist so that a benchmark can say what
//! each step is worth, on the code that is used and not on a copy of it.

/// How camera light becomes colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Chart {
    /// The photo's own word: sRGB, no chart.
    Ignored,
    /// Scaled so that the light grey patch is grey.
    GreyOnly,
    /// One matrix fitted to all patches alike.
    Linear,
    /// Patches near the hair's colour count more.
    Weighted,
    /// As `Weighted`, and what hair can look like to this camera counts as well.
    Hair,
}

/// The steps of one reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Method {
    /// How camera light becomes colour.
    pub chart: Chart,
    /// Gloss left out by its place along the strands; otherwise by brightness.
    pub bands: bool,
    /// Light made even from the plain board.
    pub even: bool,
    /// The camera's tone curve undone.
    pub straight: bool,
}

impl Method {
    /// Every step: what a reading takes.
    pub const FULL: Self = Self { chart: Chart::Hair, bands: true, even: true, straight: true };
}
