//! What a way on changes.

use craft::coverage::Style;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt;
use std::str::FromStr;

/// One thing that is changed on a way on, written as one word.
///
/// ```
/// use craft::coverage::Style;
/// use salon::plan::Lever;
/// assert_eq!(Lever::Without(Style::HalfUp).to_string(), "without_half_up");
/// assert_eq!("wish_of_60_g".parse(), Ok(Lever::WishOf(60)));
/// assert!("stronger_glue".parse::<Lever>().is_err());
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Lever {
    /// One piece with a backing strip in place of two.
    SingleSided,
    /// Pieces that weigh less.
    LighterPiece,
    /// Less careful of what the models doubt.
    Bolder,
    /// The fullness below the one that is wished for.
    LighterWish,
    /// The next shorter length on the shelf.
    OtherLength,
    /// A wish of so many grams.
    WishOf(u32),
    /// The hair no longer worn in a style.
    Without(Style),
}

/// A text that names no lever.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("\"{0}\" is nothing that a way on changes")]
pub struct NoLever(pub String);

const WORDS: [(Lever, &str); 5] = [
    (Lever::SingleSided, "single_sided"),
    (Lever::LighterPiece, "lighter_piece"),
    (Lever::Bolder, "bolder"),
    (Lever::LighterWish, "lighter_wish"),
    (Lever::OtherLength, "other_length"),
];

impl fmt::Display for Lever {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::WishOf(grams) => write!(f, "wish_of_{grams}_g"),
            Self::Without(style) => write!(f, "without_{}", style.word()),
            plain => f.write_str(WORDS.iter().find(|(lever, _)| lever == plain).map_or("", |(_, word)| word)),
        }
    }
}

impl FromStr for Lever {
    type Err = NoLever;

    /// *Errors*: a text that names no lever; a wish of no grams.
    fn from_str(text: &str) -> Result<Self, NoLever> {
        let plain = || WORDS.iter().find(|(_, word)| *word == text).map(|(lever, _)| *lever);
        let wish = || text.strip_prefix("wish_of_")?.strip_suffix("_g")?.parse().ok().filter(|grams| *grams > 0).map(Self::WishOf);
        let without = || text.strip_prefix("without_").and_then(Style::from_word).map(Self::Without);
        plain().or_else(wish).or_else(without).ok_or_else(|| NoLever(text.to_owned()))
    }
}

impl Serialize for Lever {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Lever {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        String::deserialize(from)?.parse().map_err(serde::de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lever_is_read_as_it_is_written_and_nothing_else_is_one() {
        let with_more = Style::ALL.into_iter().map(Lever::Without).chain([Lever::WishOf(1), Lever::WishOf(240)]);
        for lever in WORDS.iter().map(|(lever, _)| *lever).chain(with_more) {
            assert_eq!(lever.to_string().parse(), Ok(lever));
        }
        for text in
            ["", "without_", "without_hat", "wish_of__g", "wish_of_-3_g", "wish_of_0_g", "wish_of_NaN_g", "wish_of_60.5_g", "stronger_glue"]
        {
            assert_eq!(text.parse::<Lever>(), Err(NoLever(text.to_owned())));
        }
    }
}
