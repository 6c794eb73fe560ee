//! The sections that a head is divided into.

use serde::{Deserialize, Serialize};

/// The part of the head that a site's name begins with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum HeadPart {
    /// Behind the sectioning line.
    Back,
    /// Before it, on the client's left.
    Left,
    /// Before it, on the client's right.
    Right,
}

impl HeadPart {
    /// Every section, in the order of work.
    pub const ALL: [Self; 3] = [Self::Back, Self::Left, Self::Right];

    /// The letter of its sites' names.
    #[must_use]
    pub const fn letter(self) -> char {
        match self {
            Self::Back => 'B',
            Self::Left => 'L',
            Self::Right => 'R',
        }
    }
}
