//! What is kept of a photo and of a reading, as documents of the records.

use crate::web::page::Trouble;
use colour::Lab;
use craft::matching::{Reflectance, Target, Tone};
use photo::Format;
use reading::{Flaw, Marks, Swatch};
use serde::{Deserialize, Serialize};
use desk::{PhotoId, PhotoNote, Salon, DeskFault};

/// Where things lie in a photo, as far as it is known.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct PhotoFacts {
    /// Pixels across and down, upright.
    pub size: (usize, usize),
    /// The format it is kept in.
    #[serde(default)]
    pub format: Format,
    /// The chart as the program found it.
    #[serde(default)]
    pub found: Option<[[f64; 2]; 4]>,
    /// The chart's corners as they were last set.
    #[serde(default)]
    pub chart: Option<[[f64; 2]; 4]>,
    /// The ends' corners as they were last set.
    #[serde(default)]
    pub hair: Option<[[f64; 2]; 4]>,
    /// The swatches, as they were last set: those beside the ends, or the ring's.
    #[serde(default)]
    pub swatches: Vec<Swatch>,
    /// What the swatches of the ring came to.
    #[serde(default)]
    pub measured: Vec<Measured>,
    /// The reading that this photo looks at again under another light.
    #[serde(default)]
    pub second_of: Option<String>,
    /// The camera that took it, as its file or the browser said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub camera: Option<String>,
    /// The phone it was taken with, once that is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub phone: Option<String>,
    /// What was wrong when it was last read, each with its place.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub flaws: Vec<Flaw>,
}

/// One swatch of the ring, read in a photo.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Measured {
    /// Its code.
    pub code: String,
    /// Its colour and how sure that is.
    #[serde(default)]
    pub colour: Option<(Lab, f64)>,
    /// Why it could not be read.
    #[serde(default)]
    pub refused: String,
    /// What the chart's patches near its colour were off by.
    #[serde(default)]
    pub chart_de00: f64,
}

/// A swatch that lay beside the ends in the same photo.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SwatchBeside {
    /// Its code.
    pub code: String,
    /// Its colour in this photo.
    pub lab_d65: Lab,
    /// How far that may be off.
    pub uncertainty_de00: f64,
}

/// The colour of a client's ends as it was read.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "by", rename_all = "snake_case")]
pub enum KeptReading {
    /// From a photo beside the chart.
    Photo {
        /// What was read.
        reading: Box<reading::Reading>,
        /// Where it was read.
        marks: Marks,
        /// The swatch in the same photo; of several, the nearest to her ends.
        #[serde(default)]
        swatch: Option<SwatchBeside>,
        /// Several swatches in the same photo, the nearest first.
        #[serde(default)]
        ranking: Vec<reading::Ranked>,
        /// Those of them that could not be read.
        #[serde(default)]
        unread: Vec<reading::Unread>,
        /// The reading that this one looks at again under another light.
        #[serde(default)]
        second_of: Option<String>,
        /// What is wrong in the picture, each with its place.
        #[serde(default)]
        flaws: Vec<Flaw>,
    },
    /// From an instrument's file.
    Instrument {
        /// The name it has in the file.
        sample: String,
        /// Its colour under D65.
        lab_d65: Lab,
        /// Its spectrum, where the file holds one.
        #[serde(default)]
        reflectance: Option<Reflectance>,
        /// Whether the numbers were carried over from another light or observer.
        #[serde(default)]
        carried: bool,
    },
}

impl KeptReading {
    /// The ends' colour under D65.
    pub fn lab_d65(&self) -> Lab {
        match self {
            Self::Photo { reading, .. } => reading.lab_d65,
            Self::Instrument { lab_d65, .. } => *lab_d65,
        }
    }

    /// How far it may be off; nothing when nobody can say.
    pub fn uncertainty(&self) -> Option<f64> {
        match self {
            Self::Photo { reading, .. } => Some(reading.uncertainty_de00),
            Self::Instrument { .. } => None,
        }
    }

    /// What the chart's patches near the hair's colour were off by, from a photo.
    pub fn chart_off(&self) -> Option<f64> {
        match self {
            Self::Photo { reading, .. } => Some(reading.residuals.chart_de00),
            Self::Instrument { .. } => None,
        }
    }

    /// Whether it was read to look at an earlier one under another light.
    pub fn second_of(&self) -> Option<&str> {
        match self {
            Self::Photo { second_of, .. } => second_of.as_deref(),
            Self::Instrument { .. } => None,
        }
    }

    /// What it asks of the ring.
    pub fn target(&self) -> Target {
        match self {
            Self::Photo { reading, .. } => Target {
                lab_d65: reading.lab_d65,
                uncertainty_de00: reading.uncertainty_de00,
                tones: reading.tones.iter().map(|tone| Tone { share: tone.share, lab_d65: tone.lab_d65 }).collect(),
                spectrum: None,
            },
            Self::Instrument { lab_d65, reflectance, .. } => Target {
                spectrum: reflectance.as_ref().and_then(|reflectance| reflectance.spectrum().ok()),
                ..Target::of(*lab_d65)
            },
        }
    }
}

/// A document of the records in its shape.
///
/// *Errors*: one that no longer has it is damage.
pub fn opened<T: serde::de::DeserializeOwned>(text: &str, what: &str) -> Result<T, Trouble> {
    serde_json::from_str(text).map_err(|error| Trouble::Store(DeskFault::damaged(what, &error)))
}

/// A value as a document of the records.
pub fn written<T: Serialize>(value: &T) -> Result<String, Trouble> {
    serde_json::to_string(value).map_err(|error| Trouble::Ours(error.to_string()))
}

/// What is noted of a photo.
pub fn facts_of(photo: &PhotoNote) -> Result<PhotoFacts, Trouble> {
    opened(&photo.note, "what is noted of a photo")
}

/// Notes where things lie in a photo. What was set last counts.
pub async fn note(salon: &Salon, photo: &PhotoNote, facts: &PhotoFacts) -> Result<(), Trouble> {
    salon.note_photo(photo.id, photo.version, &written(facts)?).await?;
    Ok(())
}

/// The format that a reading's photo is kept in; of one thrown away, the usual.
pub async fn format_of(salon: &Salon, photo: Option<PhotoId>) -> Result<Format, Trouble> {
    let Some(id) = photo else { return Ok(Format::default()) };
    match salon.photo(id).await {
        Ok(photo) => Ok(facts_of(&photo)?.format),
        Err(DeskFault::Unknown(_)) => Ok(Format::default()),
        Err(fault) => Err(fault.into()),
    }
}

/// The folder that a client's file names her photos in.
const FOLDER: &str = "readings/";

/// How a client's file names the photo of a reading.
pub fn file_of(reading: impl std::fmt::Display, format: Format) -> String {
    format!("{FOLDER}{reading}{}", format.suffix())
}

/// The marks that belong to a photo so named.
pub fn marks_beside(photo: &str) -> String {
    format!("{}.json", without_suffix(photo).unwrap_or(photo))
}

/// The reading that a photo so named stands for.
pub fn reading_of(photo: &str) -> Option<&str> {
    without_suffix(photo.strip_prefix(FOLDER)?)
}

fn without_suffix(photo: &str) -> Option<&str> {
    [Format::Jpeg, Format::Png, Format::WebP].iter().find_map(|format| photo.strip_suffix(format.suffix()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_photo_named_in_a_clients_file_leads_back_to_its_reading() {
        for format in [Format::Jpeg, Format::Png, Format::WebP] {
            let photo = file_of("0190b7a0-0000-7000-8000-000000000000", format);
            assert_eq!(reading_of(&photo), Some("0190b7a0-0000-7000-8000-000000000000"));
            assert_eq!(marks_beside(&photo), "readings/0190b7a0-0000-7000-8000-000000000000.json");
        }
        for other in ["ends.jpg", "readings/x.gif", "", "readings/"] {
            assert_eq!(reading_of(other), None, "{other}");
        }
    }

    #[test]
    fn a_reading_kept_before_a_later_addition_is_still_read() {
        let text = r#"{"by":"photo","reading":{"lab_d50":[30,8,18],"lab_d65":[29.5,8.5,18.5],"tones":[],"uncertainty_de00":1.5,
            "level":5.0,"warnings":[],"residuals":{"chart_de00":0.4,"grey_error":0.01,"curve_strength":0,"light_range":1.1,"board_spread":0.01,"clipped":0}},
            "marks":{"chart_corners":[[0,0],[1,0],[1,1],[0,1]],"hair":[[2,0],[3,0],[3,1]]}}"#;
        let kept: KeptReading = serde_json::from_str(text).unwrap();
        assert_eq!((kept.lab_d65().l, kept.uncertainty(), kept.second_of()), (29.5, Some(1.5), None));
    }
}
