//! What a photograph says of a colour: pixels come in, colours with their doubt go out.
//!
//! Floor 2, pure: no file, no clock, no chance. Who took the picture, and of whom, is
//! not known here; nor what the trade makes of a colour.
//!
//! Out of scope: fluorescence, gloss on the chart, the local contrast of a phone's
//! own processing where it differs between chart and hair.

mod beside;
mod chart_fit;
mod chosen;
mod correction;
mod fall;
mod fault;
mod fields;
mod find;
mod flat;
mod flaws;
mod format;
mod framing;
mod geometry;
mod grey_curve;
mod hair;
mod lattice;
mod lie;
mod light;
mod likely;
mod marks;
mod method;
mod noise;
mod patch;
mod patch_words;
mod picture;
mod read;
mod rooted;
mod settle;
mod shown;
mod softness;
mod strands;
mod tone_curve;
mod tones;
mod uncertainty;
mod ways;
mod words;

pub use beside::{Beside, Ranked, Unread, read_beside, sure_of_difference};
pub use fault::{ChartFault, CornersFault, LeftOutFault, OutlineFault, ReadFault, UnsureFault, Worst};
pub use find::{FoundChart, chart_at, find_chart, find_chart_at, find_chart_surely, find_charts};
pub use flaws::{Flaw, Place, SMALL_PITCH, flaws, flaws_of_refusal, patch_pitch};
pub use format::Format;
pub use framing::{Framing, framing};
pub use light::{Decoding, linear_to_srgb, srgb_to_linear};
pub use marks::Marks;
pub use patch_words::{patch_in_words, patch_list};
pub use picture::{FineCodes, Loss, Picture};
pub use read::{MOST_SWATCHES, ReadTone, Reading, Swatch, SwatchReading, read, read_swatches};
pub use shown::{LONGEST_PATCH, Shown, shown_hair};
pub use uncertainty::{Residuals, UncertaintyParts};

#[doc(hidden)]
pub use chosen::Chosen;
#[doc(hidden)]
pub use method::{Chart, Method};
#[doc(hidden)]
pub use read::{doubt_by, read_by, read_each_way, read_with};
