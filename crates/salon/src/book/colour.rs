//! What is kept of photos and readings, and of the phones they were taken with.

use colour::Lab;
use craft::matching::{PhoneFit, ReadShade, Reflectance, Target, Tone, phone_fit};
use measure::RuleBook;
use reading::{Flaw, Format, Marks, Ranked, Reading, Swatch, Unread};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The most phones that are kept. The oldest go.
const MOST_PHONES: usize = 40;

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
        reading: Box<Reading>,
        /// Where it was read.
        marks: Marks,
        /// The swatch in the same photo; of several, the nearest to her ends.
        #[serde(default)]
        swatch: Option<SwatchBeside>,
        /// Several swatches in the same photo, the nearest first.
        #[serde(default)]
        ranking: Vec<Ranked>,
        /// Those of them that could not be read.
        #[serde(default)]
        unread: Vec<Unread>,
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
    #[must_use]
    pub fn lab_d65(&self) -> Lab {
        match self {
            Self::Photo { reading, .. } => reading.lab_d65,
            Self::Instrument { lab_d65, .. } => *lab_d65,
        }
    }

    /// How far it may be off; nothing when nobody can say.
    #[must_use]
    pub fn uncertainty(&self) -> Option<f64> {
        match self {
            Self::Photo { reading, .. } => Some(reading.uncertainty_de00),
            Self::Instrument { .. } => None,
        }
    }

    /// What the chart's patches near the hair's colour were off by, from a photo.
    #[must_use]
    pub fn chart_off(&self) -> Option<f64> {
        match self {
            Self::Photo { reading, .. } => Some(reading.residuals.chart_de00),
            Self::Instrument { .. } => None,
        }
    }

    /// Whether it was read to look at an earlier one under another light.
    #[must_use]
    pub fn second_of(&self) -> Option<&str> {
        match self {
            Self::Photo { second_of, .. } => second_of.as_deref(),
            Self::Instrument { .. } => None,
        }
    }

    /// What it asks of the ring.
    #[must_use]
    pub fn target(&self) -> Target {
        match self {
            Self::Photo { reading, .. } => target_of(reading),
            Self::Instrument { lab_d65, reflectance, .. } => {
                Target { spectrum: reflectance.as_ref().and_then(|reflectance| reflectance.spectrum().ok()), ..Target::of(*lab_d65) }
            }
        }
    }
}

/// What a photo's reading asks of the ring.
#[must_use]
pub fn target_of(reading: &Reading) -> Target {
    Target {
        uncertainty_de00: reading.uncertainty_de00,
        tones: reading.tones.iter().map(|tone| Tone { share: tone.share, lab_d65: tone.lab_d65 }).collect(),
        ..Target::of(reading.lab_d65)
    }
}

/// All phones, and which ring each reading is matched against.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Phones {
    /// The phones, in the order they were first met.
    #[serde(default)]
    pub phones: Vec<Phone>,
    /// Of a reading, the ring as read that it is matched against; the catalogue otherwise.
    #[serde(default)]
    pub against: BTreeMap<String, String>,
}

/// One phone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Phone {
    /// Its own id.
    pub id: String,
    /// What the technician calls it.
    pub name: String,
    /// What its files call it.
    #[serde(default)]
    pub camera: Option<String>,
    /// The charts it has read, oldest first.
    #[serde(default)]
    pub charts: Vec<ChartSeen>,
    /// The ring as it read it, once for each light.
    #[serde(default)]
    pub rings: Vec<ReadRing>,
}

/// One chart that a phone has read.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ChartSeen {
    /// Its photo.
    pub photo: String,
    /// When that was taken in, ms since 1970.
    pub kept_ms: i64,
    /// What its patches near the hair were off by, each left out in turn, in dE00.
    pub off_de00: f64,
}

/// The ring as one phone read it in one light.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ReadRing {
    /// Its own id.
    pub id: String,
    /// The light, in the technician's words.
    pub light: String,
    /// The shades that were read.
    pub shades: Vec<ReadShade>,
}

impl ReadRing {
    /// Phone and light in one line.
    #[must_use]
    pub fn name(&self, phone: &Phone) -> String {
        format!("{}, {}", phone.name, self.light)
    }
}

impl Phones {
    /// The phone of a photo: as it was said, or else by its camera.
    #[must_use]
    pub fn of_photo(&self, facts: &PhotoFacts) -> Option<&Phone> {
        let said = facts.phone.as_ref().and_then(|id| self.phones.iter().find(|phone| phone.id == *id));
        said.or_else(|| self.phones.iter().find(|phone| phone.camera.is_some() && phone.camera == facts.camera))
    }

    /// The phone of this name; where there is none it is met for the first time, with an id that is handed in.
    pub fn named(&mut self, name: &str, new_id: &str) -> &mut Phone {
        let same = |phone: &Phone| phone.name.to_lowercase() == name.to_lowercase();
        let at = match self.phones.iter().position(same) {
            Some(at) => at,
            None => {
                if self.phones.len() >= MOST_PHONES {
                    self.phones.remove(0);
                }
                self.phones.push(Phone {
                    id: new_id.to_owned(),
                    name: name.to_owned(),
                    camera: None,
                    charts: Vec::new(),
                    rings: Vec::new(),
                });
                self.phones.len() - 1
            }
        };
        &mut self.phones[at]
    }

    /// The ring as read of this id, with its phone.
    #[must_use]
    pub fn ring(&self, id: &str) -> Option<(&Phone, &ReadRing)> {
        self.phones.iter().find_map(|phone| phone.rings.iter().find(|ring| ring.id == id).map(|ring| (phone, ring)))
    }

    /// The ring as read that a reading is matched against.
    #[must_use]
    pub fn against(&self, reading: &str) -> Option<(&Phone, &ReadRing)> {
        self.ring(self.against.get(reading)?)
    }

    /// Lets a reading that takes the place of others be matched as they were.
    pub fn carry(&mut self, before: &[String], now: &str) {
        if let Some(ring) = before.iter().rev().find_map(|id| self.against.get(id)).cloned() {
            self.against.insert(now.to_owned(), ring);
        }
    }

    /// Forgets the chart of a photo.
    pub fn forget(&mut self, photo: &str) {
        for phone in &mut self.phones {
            phone.charts.retain(|chart| chart.photo != photo);
        }
    }
}

impl Phone {
    /// How a chart of this photo compares with those that the phone read otherwise.
    #[must_use]
    pub fn fit(&self, photo: &str) -> Option<(f64, PhoneFit)> {
        let today = self.charts.iter().find(|chart| chart.photo == photo)?;
        let others: Vec<f64> =
            self.charts.iter().filter(|chart| chart.photo != photo && chart.kept_ms <= today.kept_ms).map(|chart| chart.off_de00).collect();
        Some((today.off_de00, phone_fit(&others, today.off_de00, &RuleBook::standard())))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reading_kept_before_a_later_addition_is_still_read() {
        let text = r#"{"by":"photo","reading":{"lab_d50":[30,8,18],"lab_d65":[29.5,8.5,18.5],"tones":[],"uncertainty_de00":1.5,
            "level":5.0,"warnings":[],"residuals":{"chart_de00":0.4,"grey_error":0.01,"curve_strength":0,"light_range":1.1,"board_spread":0.01,"clipped":0}},
            "marks":{"chart_corners":[[0,0],[1,0],[1,1],[0,1]],"hair":[[2,0],[3,0],[3,1]]}}"#;
        let kept: KeptReading = serde_json::from_str(text).unwrap();
        assert_eq!((kept.lab_d65().l, kept.uncertainty(), kept.second_of()), (29.5, Some(1.5), None));
    }
}
