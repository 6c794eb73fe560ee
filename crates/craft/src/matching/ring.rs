//! The ring: the shades on sale, each with its colour.

use crate::words::Message;
use colour::spectrum::SpectrumFault;
use colour::{D65, Lab, Light, Observer, Spectrum, Xyz, ciede2000};
use serde::{Deserialize, Serialize};

/// The most shades a ring may hold.
pub const MOST_SHADES: usize = 400;

/// A shade's measured reflectance.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reflectance {
    /// Wavelengths in nanometres, rising.
    pub nm: Vec<f64>,
    /// The share of light sent back at each.
    pub value: Vec<f64>,
}

impl Reflectance {
    /// The same on the tables' wavelengths.
    ///
    /// *Errors*: lists that are no spectrum.
    pub fn spectrum(&self) -> Result<Spectrum, SpectrumFault> {
        Spectrum::from_samples(&self.nm, &self.value)
    }
}

/// One shade. At least one of the three colours is given; the spectrum counts
/// before X Y Z, and X Y Z before L*a*b*.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Shade {
    /// The code on the swatch.
    pub code: String,
    /// Its name.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub name: String,
    /// L*a*b* under D65.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lab_d65: Option<Lab>,
    /// X Y Z under D65, Y = 1 for white.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub xyz_d65: Option<Xyz>,
    /// The spectrum.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reflectance: Option<Reflectance>,
    /// How it was measured, in the technician's words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub measured_by: Option<String>,
    /// How far the measurement may be off.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub uncertainty_de00: Option<f64>,
}

/// The set of shades.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ring {
    /// The shades.
    pub shades: Vec<Shade>,
}

/// What is wrong with a ring.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RingFault {
    /// No shades.
    #[error("{}", Message::RingEmpty)]
    Empty,
    /// Too many shades.
    #[error("{}", Message::RingTooLarge { shades: (.0).to_string(), most: MOST_SHADES.to_string() })]
    TooMany(usize),
    /// Two shades of one code.
    #[error("{}", Message::ShadeTwice { code: (.0).clone() })]
    Twice(String),
    /// A shade without colour.
    #[error("{}", Message::ShadeWithoutColour { code: (.0).clone() })]
    NoColour(String),
    /// A colour that no hair has.
    #[error("{}", Message::ShadeWrong { code: code.clone(), what: what.clone() })]
    Colour {
        /// The shade.
        code: String,
        /// What is wrong, and how to mend it.
        what: String,
    },
    /// A line of a table that cannot be read.
    #[error("{}", Message::RingLine { line: line.to_string(), what: what.clone() })]
    Line {
        /// Counted from 1.
        line: usize,
        /// What is wrong, and how to mend it.
        what: String,
    },
}

impl Shade {
    /// The shade's colour under D65.
    ///
    /// *Errors*: none given, or one that no hair has.
    pub fn colour(&self) -> Result<Xyz, RingFault> {
        let wrong = |what: String| RingFault::Colour { code: self.code.clone(), what };
        let colour = if let Some(reflectance) = &self.reflectance {
            let spectrum = reflectance.spectrum().map_err(|fault| wrong(fault.to_string()))?;
            spectrum.under(Light::D65, Observer::TwoDegrees)
        } else if let Some(xyz) = self.xyz_d65 {
            xyz
        } else if let Some(lab) = self.lab_d65 {
            lab.to_xyz(D65)
        } else {
            return Err(RingFault::NoColour(self.code.clone()));
        };
        let sound = [colour.x, colour.y, colour.z].iter().all(|v| (-0.01..=1.5).contains(v));
        if sound { Ok(colour) } else { Err(wrong(Message::ColourNoHairHas.into())) }
    }
}

impl Ring {
    /// The colours of all shades under D65, in their order.
    ///
    /// *Errors*: the first fault of the ring.
    pub fn colours(&self) -> Result<Vec<Xyz>, RingFault> {
        if self.shades.is_empty() {
            return Err(RingFault::Empty);
        }
        if self.shades.len() > MOST_SHADES {
            return Err(RingFault::TooMany(self.shades.len()));
        }
        let mut codes = std::collections::BTreeSet::new();
        for shade in &self.shades {
            if !codes.insert(&shade.code) {
                return Err(RingFault::Twice(shade.code.clone()));
            }
        }
        self.shades.iter().map(Shade::colour).collect()
    }
}

/// Pairs of shades nearer to each other than their measurements are sure: they
/// may be one colour. `usual` stands where a shade's own uncertainty is unknown.
///
/// *Errors*: the first fault of the ring.
///
/// ```
/// use craft::matching::{ring_from_csv, too_close};
/// let ring = ring_from_csv("code,L,a,b\nS1,30,8,15\nS2,30.2,8,15\nS3,60,8,25\n").unwrap();
/// let close = too_close(&ring, 1.0).unwrap();
/// assert_eq!((close.len(), close[0].1.as_str()), (1, "S2"));
/// ```
pub fn too_close(ring: &Ring, usual: f64) -> Result<Vec<(String, String, f64)>, RingFault> {
    let colours = ring.colours()?;
    let mut result = Vec::new();
    for (i, first) in ring.shades.iter().enumerate() {
        for (j, second) in ring.shades.iter().enumerate().skip(i + 1) {
            let sure = |shade: &Shade| shade.uncertainty_de00.unwrap_or(usual);
            let de00 = ciede2000(colours[i].to_lab(D65), colours[j].to_lab(D65));
            if de00 < sure(first).max(sure(second)) {
                result.push((first.code.clone(), second.code.clone(), de00));
            }
        }
    }
    Ok(result)
}

/// The heading of a ring's table.
const HEADING: &str = "code,name,L,a,b,measured_by,uncertainty_de00";

/// The ring as a table with a heading row, L*a*b* under D65. Spectra have no
/// room in it; they travel in the JSON form.
///
/// *Errors*: the first fault of the ring.
///
/// ```
/// use craft::matching::{ring_from_csv, ring_to_csv};
/// let ring = ring_from_csv("code,L,a,b\nS1,30,8,15\nS2,45,9,22\n").unwrap();
/// assert_eq!(ring_from_csv(&ring_to_csv(&ring).unwrap()).unwrap(), ring);
/// ```
pub fn ring_to_csv(ring: &Ring) -> Result<String, RingFault> {
    let mut text = format!("{HEADING}\n");
    for (shade, colour) in ring.shades.iter().zip(ring.colours()?) {
        let lab = shade.lab_d65.filter(|_| shade.reflectance.is_none() && shade.xyz_d65.is_none());
        let lab = lab.unwrap_or_else(|| colour.to_lab(D65));
        let sure = shade.uncertainty_de00.map(|u| u.to_string()).unwrap_or_default();
        let by = quoted(shade.measured_by.as_deref().unwrap_or(""));
        text += &format!("{},{},{},{},{},{by},{sure}\n", quoted(&shade.code), quoted(&shade.name), lab.l, lab.a, lab.b);
    }
    Ok(text)
}

/// Reads a table as [`ring_to_csv`] writes it; columns may stand in any order,
/// and all but code, L, a and b may be missing.
///
/// *Errors*: the first line that cannot be read.
///
/// ```
/// use craft::matching::ring_from_csv;
/// let ring = ring_from_csv("code,L,a,b\nS1,30,8,15\nS2,45,9,22\n").unwrap();
/// assert_eq!(ring.shades[1].code, "S2");
/// assert!(ring_from_csv("code,L,a,b\nS1,30,8\n").unwrap_err().to_string().contains("line 2"));
/// ```
pub fn ring_from_csv(text: &str) -> Result<Ring, RingFault> {
    let fault = |line: usize, what: Message| RingFault::Line { line: line + 1, what: what.into() };
    let mut lines = text.trim_start_matches('\u{feff}').lines().enumerate().filter(|(_, line)| !line.trim().is_empty());
    let Some((_, heading)) = lines.next() else { return Err(RingFault::Empty) };
    let heading = cells(heading);
    if let Some(unknown) = heading.iter().find(|name| !HEADING.split(',').any(|own| own == name.as_str())) {
        return Err(fault(0, Message::ColumnUnknown { column: unknown.clone(), known: HEADING.to_owned() }));
    }
    let column = |name: &str| heading.iter().position(|own| own == name);
    let mut ring = Ring::default();
    for (at, line) in lines {
        let row = cells(line);
        if row.len() != heading.len() {
            return Err(fault(at, Message::ValuesMiscounted { values: row.len(), columns: heading.len().to_string() }));
        }
        let cell = |name: &str| column(name).map(|i| row[i].as_str()).filter(|text| !text.is_empty());
        let number = |name: &str| match cell(name) {
            None => Ok(None),
            Some(text) => match text.parse::<f64>() {
                Ok(value) if value.is_finite() => Ok(Some(value)),
                _ => Err(fault(at, Message::ValueNoNumber { text: text.to_owned(), column: name.to_owned() })),
            },
        };
        let needed = |name: &str| number(name)?.ok_or_else(|| fault(at, Message::ValueMissing { column: name.to_owned() }));
        ring.shades.push(Shade {
            code: cell("code").ok_or_else(|| fault(at, Message::ValueMissing { column: "code".to_owned() }))?.to_owned(),
            name: cell("name").unwrap_or("").to_owned(),
            lab_d65: Some(Lab::new(needed("L")?, needed("a")?, needed("b")?)),
            xyz_d65: None,
            reflectance: None,
            measured_by: cell("measured_by").map(str::to_owned),
            uncertainty_de00: number("uncertainty_de00")?,
        });
        if ring.shades.len() > MOST_SHADES {
            return Err(RingFault::TooMany(ring.shades.len()));
        }
    }
    ring.colours()?;
    Ok(ring)
}

fn quoted(text: &str) -> String {
    if text.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", text.replace('"', "\"\"").replace(['\n', '\r'], " "))
    } else {
        text.to_owned()
    }
}

/// The cells of one line; quotation marks hold commas.
fn cells(line: &str) -> Vec<String> {
    let mut result = vec![String::new()];
    let mut inside = false;
    let mut letters = line.trim_end().chars().peekable();
    while let Some(letter) = letters.next() {
        match letter {
            '"' if inside && letters.peek() == Some(&'"') => {
                letters.next();
                if let Some(cell) = result.last_mut() {
                    cell.push('"');
                }
            }
            '"' => inside = !inside,
            ',' if !inside => result.push(String::new()),
            _ => {
                if let Some(cell) = result.last_mut() {
                    cell.push(letter);
                }
            }
        }
    }
    result.iter().map(|cell| cell.trim().to_owned()).collect()
}
