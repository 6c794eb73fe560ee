//! Why a picture cannot be read.

use crate::patch_words::patch_list;
use crate::words::Message;
use measure::text::number;
use measure::words::Sentence;
use std::fmt;

/// Why a picture cannot be read.
///
/// *Meaning*: what is wrong is told apart by its kind; its words are its `Display`.
#[derive(Debug, Clone, PartialEq)]
pub enum ReadFault {
    /// Nothing to see.
    Black,
    /// The four corners do not make a chart.
    Corners(CornersFault),
    /// Patches to be left out that cannot be.
    LeftOut(LeftOutFault),
    /// Not a chart, or turned.
    NoChart(ChartFault),
    /// The hair outline is unusable.
    Hair(OutlineFault),
    /// The picture says nothing sure of this hair.
    Unsure(UnsureFault),
    /// Too many patches do not look like themselves.
    Covered(Vec<usize>),
    /// The swatch that was asked for by name was not read.
    Swatch {
        /// Its code.
        code: String,
        /// Why, in words.
        why: String,
    },
}

/// What is wrong with the chart's four corners.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CornersFault {
    /// They lie outside the photo.
    Outside,
    /// Their sides cross, or bend inwards.
    Crossing,
    /// They run the wrong way round.
    Turned,
    /// They lie too close together.
    Close,
}

/// What is wrong with the patches to be left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LeftOutFault {
    /// The chart has no such patch.
    Unknown,
    /// Too few are left.
    TooMany,
}

/// What is wrong with what lies under the corners.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ChartFault {
    /// The chart, begun at another corner.
    Turned,
    /// No chart.
    Missing,
    /// A chart whose patches cannot be told apart.
    TooAlike,
}

/// What is wrong with the outline of the hair.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OutlineFault {
    /// Too few corners, or too many.
    Corners,
    /// It lies outside the photo.
    Outside,
    /// It crosses itself.
    Crossing,
    /// Too little hair.
    Small,
    /// It lies on the chart.
    OnChart,
    /// No pixel in it counts.
    Empty,
    /// The strands run in words not known.
    Strands,
    /// One of too many swatches of a ring.
    OneOfTooMany,
    /// One of too many swatches beside the ends.
    OneOfTooManyBeside,
}

/// Why nothing sure can be said.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum UnsureFault {
    /// The hair is darker than the camera's noise.
    TooDark,
    /// The light changes too much between chart and hair.
    Light,
    /// Nearly all of the hair is at the top of the scale.
    TooBright,
    /// What is unsure comes to too much, most of it by one cause.
    Together {
        /// Nine errors in ten are no larger, in dE00.
        units: f64,
        /// The cause.
        worst: Worst,
    },
}

/// The cause of most of what is unsure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Worst {
    /// The chart does not come out true.
    Chart,
    /// Noise has changed the greys.
    Greys,
    /// The light is not the same on chart and hair.
    Light,
    /// The hair is at the end of what the camera can show.
    Clipping,
    /// Gloss hides the hair.
    Gloss,
}

impl Worst {
    const fn message(self) -> Message {
        match self {
            Self::Chart => Message::WorstChart,
            Self::Greys => Message::WorstGreys,
            Self::Light => Message::WorstLight,
            Self::Clipping => Message::WorstClipping,
            Self::Gloss => Message::WorstGloss,
        }
    }
}

impl ReadFault {
    fn message(&self) -> Message {
        match self {
            Self::Black => Message::Black,
            Self::Corners(CornersFault::Outside) => Message::CornersOutside,
            Self::Corners(CornersFault::Crossing) => Message::CornersCross,
            Self::Corners(CornersFault::Turned) => Message::CornersTurned,
            Self::Corners(CornersFault::Close) => Message::CornersClose,
            Self::LeftOut(LeftOutFault::Unknown) => Message::LeftOutUnknown,
            Self::LeftOut(LeftOutFault::TooMany) => Message::LeftOutTooMany,
            Self::NoChart(ChartFault::Turned) => Message::ChartTurned,
            Self::NoChart(ChartFault::Missing) => Message::ChartMissing,
            Self::NoChart(ChartFault::TooAlike) => Message::ChartTooAlike,
            Self::Hair(OutlineFault::Corners) => Message::OutlineCorners,
            Self::Hair(OutlineFault::Outside) => Message::OutlineOutside,
            Self::Hair(OutlineFault::Crossing) => Message::OutlineCrosses,
            Self::Hair(OutlineFault::Small) => Message::OutlineSmall,
            Self::Hair(OutlineFault::OnChart) => Message::OutlineOnChart,
            Self::Hair(OutlineFault::Empty) => Message::OutlineEmpty,
            Self::Hair(OutlineFault::Strands) => Message::OutlineStrands,
            Self::Hair(OutlineFault::OneOfTooMany) => Message::OutlineOfRing,
            Self::Hair(OutlineFault::OneOfTooManyBeside) => Message::OutlineBeside,
            Self::Unsure(UnsureFault::TooDark) => Message::TooDark,
            Self::Unsure(UnsureFault::Light) => Message::LightTooUneven,
            Self::Unsure(UnsureFault::TooBright) => Message::TooBright,
            Self::Unsure(UnsureFault::Together { units, worst }) => {
                Message::TooUnsure { units: number(*units, 0), worst: worst.message().says() }
            }
            Self::Covered(patches) => Message::PatchesCovered { patches: patch_list(patches) },
            Self::Swatch { code, why } => Message::SwatchUnread { code: code.clone(), why: why.clone() },
        }
    }
}

impl fmt::Display for ReadFault {
    /// What is wrong and what to do.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message().says())
    }
}

impl std::error::Error for ReadFault {}
