//! What she agrees to: the purpose, the words that she read, and how she signed them.

use super::day::Day;
use super::id::BlobRef;
use crate::Fault;
use crate::words::Message;
use serde::{Deserialize, Serialize};

/// What she may agree to, each by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Purpose {
    /// That her health answers are kept.
    Health,
    /// That photos of her are kept.
    Photos,
    /// That she is reminded and written to.
    Contact,
    /// That tapes are set.
    Work,
}

impl Purpose {
    /// All of them by their words.
    pub const WORDS: &'static str = "health, photos, contact, work";

    /// The purpose's word; nothing when no purpose is called so.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        Some(match word {
            "health" => Self::Health,
            "photos" => Self::Photos,
            "contact" => Self::Contact,
            "work" => Self::Work,
            _ => return None,
        })
    }

    /// Its word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Health => "health",
            Self::Photos => "photos",
            Self::Contact => "contact",
            Self::Work => "work",
        }
    }
}

/// The words of a consent as they are shown, by their version.
///
/// *Meaning*: words that were shown once are never changed: other words are another version.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wording {
    /// What they are about.
    pub purpose: Purpose,
    /// Their version, as it is kept with her consent.
    pub version: &'static str,
    /// What she agrees to, in one line.
    pub title: &'static str,
    /// The words, sentence by sentence.
    pub says: &'static [&'static str],
}

/// Every wording that was ever shown; the last of a purpose is shown now.
pub const WORDINGS: &[Wording] = &[
    Wording {
        purpose: Purpose::Health,
        version: "health-1",
        title: "She agrees that her health answers are kept",
        says: &["Asked by itself, and only for those answers.", "She may take it back at any time: the answers are destroyed then."],
    },
    Wording {
        purpose: Purpose::Work,
        version: "work-1",
        title: "I agree that tapes are set in my hair",
        says: &[
            "It was explained to me how tapes are set, worn, cared for and taken out, and that they come out in time.",
            "I know that they can pull, loosen, irritate the skin or harm hair, and that I come at once when something hurts, itches or looks wrong.",
            "What I answered is true as far as I know, and I say so when it changes.",
            "I may stop at any time, also in the middle of the work.",
        ],
    },
];

impl Wording {
    /// The words of a version; nothing where they were never shown by this program.
    #[must_use]
    pub fn of(version: &str) -> Option<&'static Self> {
        WORDINGS.iter().find(|wording| wording.version == version)
    }

    /// The words that are shown now for a purpose.
    #[must_use]
    pub fn now(purpose: Purpose) -> Option<&'static Self> {
        WORDINGS.iter().rev().find(|wording| wording.purpose == purpose)
    }
}

/// How she signed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Signed {
    /// With finger, pen or mouse: the drawn lines lie in a file of their own.
    Drawn(BlobRef),
    /// By typing her name and saying that this stands for her signature.
    Typed(String),
}

/// A signature as it was drawn: lines on a pad [`Signature::WIDE`] by [`Signature::HIGH`].
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Signature {
    /// Each line from where the pen came down to where it was lifted, from the left and from above.
    pub strokes: Vec<Vec<[u16; 2]>>,
}

impl Signature {
    /// The pad's width, in its own units.
    pub const WIDE: u16 = 1000;
    /// The pad's height.
    pub const HIGH: u16 = 400;
    /// The most points of one signature.
    const MOST_POINTS: usize = 20_000;

    /// Whether it is one.
    ///
    /// *Errors*: nothing was drawn but dots; a point beside the pad; more points than a hand draws.
    pub fn checked(self) -> Result<Self, Vec<Fault>> {
        let fault = |message: &Message| Err(vec![Fault::of(message, "signature", "consent-signed")]);
        let points = self.strokes.iter().map(Vec::len).sum::<usize>();
        let beside = self.strokes.iter().flatten().any(|[x, y]| *x > Self::WIDE || *y > Self::HIGH);
        if beside || points > Self::MOST_POINTS {
            return fault(&Message::SignatureUnreadable);
        }
        let drawn = self.strokes.iter().any(|stroke| stroke.iter().any(|point| Some(point) != stroke.first()));
        if drawn { Ok(self) } else { fault(&Message::SignatureEmpty) }
    }
}

/// The longest name that stands for a signature.
const LONGEST_NAME: usize = 200;

/// A name that stands for a signature.
///
/// *Errors*: it is none.
pub fn typed_signature(name: &str) -> Result<Signed, Vec<Fault>> {
    let name = name.trim();
    if name.is_empty() || name.chars().count() > LONGEST_NAME || name.chars().any(char::is_control) {
        return Err(vec![Fault::of(&Message::SignatureEmpty, "signature", "consent-signed")]);
    }
    Ok(Signed::Typed(name.to_owned()))
}

/// A consent in force.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ConsentState {
    /// The version of the words that she read.
    pub wording: String,
    /// The day.
    pub on: Day,
    /// The minute of that day, where it was said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub minute: Option<u16>,
    /// How she signed, where she did.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub signed: Option<Signed>,
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawn(strokes: &[&[[u16; 2]]]) -> Result<Signature, Vec<Fault>> {
        Signature { strokes: strokes.iter().map(|stroke| stroke.to_vec()).collect() }.checked()
    }

    #[test]
    fn a_signature_is_a_line_on_the_pad() {
        assert!(drawn(&[&[[10, 10], [1000, 400]]]).is_ok());
        assert!(drawn(&[]).is_err() && drawn(&[&[]]).is_err());
        assert!(drawn(&[&[[10, 10]], &[[50, 50], [50, 50]]]).is_err(), "dots alone");
        assert!(drawn(&[&[[10, 10], [1001, 10]]]).is_err() && drawn(&[&[[10, 10], [10, 401]]]).is_err());
        assert!(drawn(&[&[[0, 0], [1, 1]].repeat(10_000)]).is_ok());
        assert!(drawn(&[&[[0, 0], [1, 1]].repeat(10_001)]).is_err());
        assert!(typed_signature("  ").is_err() && typed_signature("a\u{0}").is_err());
        assert_eq!(typed_signature(" Ada Example "), Ok(Signed::Typed("Ada Example".into())));
    }

    #[test]
    fn every_wording_is_found_by_its_version_and_each_version_is_one() {
        for wording in WORDINGS {
            assert_eq!(Wording::of(wording.version), Some(wording));
            assert_eq!(Purpose::from_word(wording.purpose.word()), Some(wording.purpose));
        }
        assert_eq!(Wording::now(Purpose::Work).map(|wording| wording.version), Some("work-1"));
        assert_eq!(Wording::now(Purpose::Photos), None);
    }
}
