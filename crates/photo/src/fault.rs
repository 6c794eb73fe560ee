//! Why a photograph cannot be opened or read, in plain words.

/// Why a photograph cannot be opened, or read once it is open.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PhotoFault {
    /// An iPhone's own format.
    #[error(
        "this is a HEIC photo, which cannot be opened here: on the phone choose Settings, Camera, Formats, Most Compatible and take it again, or share it as JPEG"
    )]
    Heic,
    /// Not one of the formats.
    #[error("this is no JPEG, PNG or WebP photo: send the photo itself, not a link or a document")]
    Format,
    /// Too many bytes.
    #[error("the photo file has {megabytes} MB, more than {most} MB: send it in a smaller size")]
    TooManyBytes {
        /// Size found.
        megabytes: usize,
        /// Size allowed.
        most: usize,
    },
    /// Too many pixels.
    #[error("the photo is {width} x {height} pixels, more than can be read: send it in a smaller size")]
    TooLarge {
        /// Pixels across.
        width: u32,
        /// Pixels down.
        height: u32,
    },
    /// Too many bytes once it is kept.
    #[error("turned upright, the photo would take more than {most} MB: turn it on the phone and send it as JPEG, or in a smaller size")]
    TooManyKept {
        /// Size allowed.
        most: usize,
    },
    /// Too few pixels.
    #[error("the photo is only {width} x {height} pixels: take one where chart and hair fill the picture")]
    TooSmall {
        /// Pixels across.
        width: u32,
        /// Pixels down.
        height: u32,
    },
    /// Ink colours.
    #[error("this JPEG is made for printing (CMYK): save it as an ordinary RGB photo")]
    Cmyk,
    /// Grey only.
    #[error("the photo has no colour: take it in colour")]
    Grey,
    /// Only a part of it arrived.
    #[error("the photo is truncated: only a part of it arrived, and what is missing would be read as grey; send it again, whole")]
    CutShort,
    /// Broken.
    #[error("the photo is damaged ({0}): send it again")]
    Damaged(String),
    /// A profile that cannot be honoured.
    #[error("the photo's colour profile cannot be used ({0}): save the photo as sRGB")]
    Profile(String),
    /// Opened, but not to be read.
    #[error(transparent)]
    Unread(#[from] reading::ReadFault),
}

impl PhotoFault {
    /// What a decoder says of a broken file, shortened.
    pub(crate) fn damaged(fault: &image::ImageError) -> Self {
        Self::Damaged(fault.to_string().chars().take(80).collect())
    }
}
