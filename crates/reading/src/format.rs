//! The formats that photographs come in.

use serde::{Deserialize, Serialize};

/// A format that photographs come in.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Format {
    /// JPEG.
    #[default]
    Jpeg,
    /// PNG.
    Png,
    /// WebP.
    WebP,
}

impl Format {
    /// Its name on the web.
    #[must_use]
    pub fn media_type(self) -> &'static str {
        match self {
            Self::Jpeg => "image/jpeg",
            Self::Png => "image/png",
            Self::WebP => "image/webp",
        }
    }

    /// How the name of such a file ends.
    #[must_use]
    pub fn suffix(self) -> &'static str {
        match self {
            Self::Jpeg => ".jpg",
            Self::Png => ".png",
            Self::WebP => ".webp",
        }
    }
}
