//! Why a picture cannot be read, in plain words.

/// Why a picture cannot be read.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ReadFault {
    /// Nothing to see.
    #[error("the photo is black, or nearly: take it again in good light")]
    Black,
    /// The four corners do not make a chart.
    #[error("the chart's corners {0}: tap them in order, brown patch, end of its row, black patch, white patch")]
    Corners(&'static str),
    /// Patches to be left out that cannot be.
    #[error("leave_out {0}")]
    LeftOut(&'static str),
    /// Not a chart, or turned.
    #[error("{0}")]
    NoChart(&'static str),
    /// The hair outline is unusable.
    #[error("the outline of the hair {0}: draw it round the ends, from the root side on")]
    Hair(&'static str),
    /// The light is too uneven, or the chart fits too badly.
    #[error("{0}")]
    Unsure(String),
}
