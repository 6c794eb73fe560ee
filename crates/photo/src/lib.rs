//! Opens photographs from strangers and reads colour at marked places.
//!
//! Floor 4: untrusted bytes come in here. Sizes are checked before anything is
//! decoded, of the picture and of what stands beside it. The reading itself knows nothing of clients or storage.
//!
//! Out of scope: HEIC (recognised and refused with what to do on the phone),
//! local tone mapping, fluorescence, gloss on the chart.

#[cfg(test)]
#[path = "../tests/bombs/mod.rs"]
mod bombs;
mod chart_fit;
mod correction;
mod fault;
mod find;
mod fine;
mod flat;
mod geometry;
mod hair;
mod kept;
mod likely;
mod marks;
mod method;
mod noise;
mod open;
mod parts;
mod picture;
mod profile;
mod read;
mod softness;
mod solve;
mod strands;
mod tone_curve;
mod tones;

pub use fault::PhotoFault;
pub use find::find_chart;
pub use kept::stripped;
pub use marks::Marks;
pub use open::{Format, LARGEST_FILE, LARGEST_SIDE, MOST_PIXELS, Photo, format_of, open_photo};
pub use picture::{LONGEST_PATCH, corrected_patch};
pub use read::{
    MOST_SWATCHES, ReadTone, Reading, Residuals, Swatch, SwatchReading, UncertaintyParts, read_open_photo, read_photo, read_swatches,
};

#[doc(hidden)]
pub use method::{Chart, Method};
#[doc(hidden)]
pub use read::read_with;
