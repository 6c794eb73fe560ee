//! How the quantities of a plan are written: the unit stands in the key, the
//! value is a plain number in it, and words stand for what has no number.
//!
//! Every module here is named in a `#[serde(with = …)]` of [`super::Plan`] or of
//! what it is made of; nothing else knows these shapes.

use head::Border;
use measure::{Grams, Length};
use serde::{Deserialize, Deserializer, Serializer};

/// A length to a tenth of a millimetre, as sharp as anyone can comb.
#[must_use]
pub fn combed(length: Length) -> Length {
    Length::mm(rounded(length.to_mm(), 10.0))
}

/// A mass to a part of a gram.
#[must_use]
pub fn weighed(mass: Grams, parts: f64) -> Grams {
    Grams::g(rounded(mass.to_g(), parts))
}

/// A number rounded to one part in `parts`.
#[must_use]
pub fn rounded(value: f64, parts: f64) -> f64 {
    let sharp = (value * parts).round() / parts;
    // No "-0" on a paper.
    if sharp == 0.0 { 0.0 } else { sharp }
}

/// A length, in millimetres.
pub mod mm {
    use super::{Deserialize, Deserializer, Length, Serializer};

    pub fn serialize<S: Serializer>(length: &Length, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_f64(length.to_mm())
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Length, D::Error> {
        f64::deserialize(from).map(Length::mm)
    }
}

/// A length that may not be known, in millimetres.
pub mod mm_if_known {
    use super::{Deserialize, Deserializer, Length, Serializer};

    pub fn serialize<S: Serializer>(length: &Option<Length>, to: S) -> Result<S::Ok, S::Error> {
        match length {
            Some(length) => to.serialize_some(&length.to_mm()),
            None => to.serialize_none(),
        }
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Option<Length>, D::Error> {
        Ok(Option::<f64>::deserialize(from)?.map(Length::mm))
    }
}

/// A mass, in grams.
pub mod grams {
    use super::{Deserialize, Deserializer, Grams, Serializer};

    pub fn serialize<S: Serializer>(mass: &Grams, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_f64(mass.to_g())
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Grams, D::Error> {
        f64::deserialize(from).map(Grams::g)
    }
}

/// A mass, in milligrams to a tenth: what one hair carries.
pub mod milligrams {
    use super::{Deserialize, Deserializer, Grams, Serializer, rounded};

    pub fn serialize<S: Serializer>(mass: &Grams, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_f64(rounded(mass.to_mg(), 10.0))
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Grams, D::Error> {
        f64::deserialize(from).map(Grams::mg)
    }
}

/// How a slice is held: whether one piece with a strip takes the place of two.
pub mod single_sided {
    use super::{Deserialize, Deserializer, Serializer};
    use craft::piece::Setting;

    pub fn serialize<S: Serializer>(setting: &Setting, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_bool(*setting == Setting::SingleSided)
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Setting, D::Error> {
        Ok(if bool::deserialize(from)? { Setting::SingleSided } else { Setting::Sandwich })
    }
}

/// A border of the hair, in the words of map and sheet.
pub mod border {
    use super::{Border, Deserialize, Deserializer, Serializer, border_words};
    use serde::de::Error;

    pub fn serialize<S: Serializer>(border: &Border, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(border_words(*border))
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Border, D::Error> {
        let words = String::deserialize(from)?;
        let known = Border::ALL.into_iter().find(|border| border_words(*border) == words);
        known.ok_or_else(|| D::Error::custom(format!("\"{words}\" is no border of the hair")))
    }
}

/// A border of the hair in the words of map and sheet.
#[must_use]
pub const fn border_words(border: Border) -> &'static str {
    match border {
        Border::NapeHairline => "the nape hairline",
        Border::FrontHairline => "the front hairline",
        Border::LeftEar => "the client's left ear",
        Border::RightEar => "the client's right ear",
        Border::BehindLeftEar => "the hairline behind the client's left ear",
        Border::BehindRightEar => "the hairline behind the client's right ear",
    }
}
