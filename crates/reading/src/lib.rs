//! What a photograph says of a colour: pixels come in, colours with their doubt go out.
//!
//! Floor 2, pure: no file, no clock, no chance. Who took the picture, and of whom, is
//! not known here; nor what the trade makes of a colour.
//!
//! Out of scope: fluorescence, gloss on the chart, the local contrast of a phone's
//! own processing where it differs between chart and hair.

mod chart_fit;
mod correction;
mod fault;
mod find;
mod flat;
mod geometry;
mod hair;
mod light;
mod likely;
mod marks;
mod method;
mod noise;
mod picture;
mod read;
mod shown;
mod softness;
mod solve;
mod strands;
mod tone_curve;
mod tones;

pub use fault::ReadFault;
pub use find::find_chart;
pub use light::{Decoding, linear_to_srgb, srgb_to_linear};
pub use marks::Marks;
pub use picture::{FineCodes, Loss, Picture};
pub use read::{MOST_SWATCHES, ReadTone, Reading, Residuals, Swatch, SwatchReading, UncertaintyParts, read, read_swatches};
pub use shown::{LONGEST_PATCH, Shown, shown_hair};

#[doc(hidden)]
pub use method::{Chart, Method};
#[doc(hidden)]
pub use read::read_with;
