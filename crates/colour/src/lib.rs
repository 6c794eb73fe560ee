//! The science of colour: spectra, differences, adaptation, mixtures, the chart.
//!
//! Floor 1: what is true of colour for anyone. It knows nothing of heads,
//! tapes, shades on sale or image files.
//!
//! Out of scope: fluorescence, gloss, the geometry of an instrument, colour
//! appearance under anything but a moderate light.

pub mod chart;
pub mod difference;
mod difference_batch;
pub mod instrument;
pub mod lab;
pub mod light;
pub mod mixture;
pub mod pigment;
pub mod spectrum;
pub mod tables;
pub mod white;
pub mod xyz;

pub use difference::{Weights, ciede2000, ciede2000_weighted};
pub use difference_batch::{ciede2000_batch, ciede2000_quick};
pub use lab::Lab;
pub use light::Light;
pub use mixture::Mixture;
pub use spectrum::{Observer, Spectrum};
pub use white::{D50, D65, adapt_bradford};
pub use xyz::Xyz;
