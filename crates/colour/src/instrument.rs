//! Readings that a colour instrument wrote to a text file.
//!
//! Two kinds are read: the keyword text of CGATS.17 / ISO 28178, and plain
//! comma-separated values with a heading row. A reading is L*a*b*, X Y Z or a
//! spectrum. L*a*b* and X Y Z mean nothing without the light and the observer
//! they were reckoned for, so a file that does not state them is refused
//! unless the caller does.
//!
//! *Source*: ISO 28178 (keywords), from memory; key `iso28178`.

use crate::lab::Lab;
use crate::light::Light;
use crate::spectrum::{Observer, Spectrum, SpectrumFault, white_of};
use crate::white::{D50, D65, adapt_bradford};
use crate::xyz::Xyz;

/// The most readings one file may hold.
pub const MOST_SAMPLES: usize = 5_000;

/// What L*a*b* and X Y Z of a file were reckoned for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Conditions {
    /// D50 or D65.
    pub light: Light,
    /// 2 or 10 degrees.
    pub observer: Observer,
}

/// One reading, brought to the 2 degree observer.
#[derive(Debug, Clone, PartialEq)]
pub struct Sample {
    /// The name the file gives it.
    pub name: String,
    /// L*a*b* under D50.
    pub lab_d50: Lab,
    /// L*a*b* under D65.
    pub lab_d65: Lab,
    /// The spectrum, where the file holds one.
    pub spectrum: Option<Spectrum>,
    /// Whether the numbers were carried from another light or observer than
    /// asked for, which is less sure than a spectrum.
    pub carried: bool,
}

/// Why a file could not be read.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum InstrumentFault {
    /// Neither kind of text.
    #[error("this is no instrument file: it needs either BEGIN_DATA_FORMAT and BEGIN_DATA, or a heading row with L, a, b or wavelengths")]
    Unknown,
    /// A keyword block is missing or empty.
    #[error("the file has no {0}: export it again from the instrument's software")]
    Missing(&'static str),
    /// L*a*b* without light and observer.
    #[error("the file does not say {0}: state it, as D50 or D65 and 2 or 10 degrees")]
    Unstated(&'static str),
    /// A light other than the two.
    #[error("the file was made for light \"{0}\": export it for D50 or D65, or with spectra")]
    Light(String),
    /// A row with too few or too many values.
    #[error("line {line}: {found} values where the heading names {wanted}")]
    Row {
        /// Counted from 1.
        line: usize,
        /// Values in the row.
        found: usize,
        /// Fields in the heading.
        wanted: usize,
    },
    /// A value that is no number, or one no colour has.
    #[error("line {line}: \"{text}\" is no value for {field}")]
    Number {
        /// Counted from 1.
        line: usize,
        /// What stands there.
        text: String,
        /// The column.
        field: String,
    },
    /// A spectrum that is not usable.
    #[error("line {line}: {fault}")]
    Spectrum {
        /// Counted from 1.
        line: usize,
        /// Why.
        fault: SpectrumFault,
    },
    /// More readings than anyone measures.
    #[error("more than {MOST_SAMPLES} readings: split the file")]
    TooMany,
}

/// Reads an instrument's text file.
///
/// `stated` holds when the file itself says nothing of light and observer.
///
/// *Errors*: what is wrong, on which line.
///
/// ```
/// use colour::instrument::read_instrument;
/// let text = "CGATS.17\nILLUMINATION_NAME \"D50\"\nOBSERVER_ANGLE \"2\"\nNUMBER_OF_FIELDS 4\nBEGIN_DATA_FORMAT\n\
///     SAMPLE_NAME LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nNUMBER_OF_SETS 1\nBEGIN_DATA\n\
///     brown 35.9 10.6 21.7\nEND_DATA\n";
/// let samples = read_instrument(text, None).unwrap();
/// assert_eq!(samples[0].name, "brown");
/// let lab = samples[0].lab_d50;
/// assert!((lab.l - 35.9).abs() < 1e-6, "{lab:?}");
/// ```
pub fn read_instrument(text: &str, stated: Option<Conditions>) -> Result<Vec<Sample>, InstrumentFault> {
    let table = if text.lines().any(|line| line.trim() == "BEGIN_DATA") { keyword_table(text)? } else { comma_table(text)? };
    let columns = Columns::find(&table.fields).ok_or(InstrumentFault::Unknown)?;
    let conditions = table.conditions(stated)?;
    if table.rows.is_empty() {
        return Err(InstrumentFault::Missing("readings"));
    }
    if table.rows.len() > MOST_SAMPLES {
        return Err(InstrumentFault::TooMany);
    }
    table.rows.iter().enumerate().map(|(i, row)| columns.sample(&table.fields, row, i, conditions)).collect()
}

/// A file taken apart: headings, rows with their line numbers, what was said.
#[derive(Default)]
struct Table {
    fields: Vec<String>,
    rows: Vec<(usize, Vec<String>)>,
    light: Option<String>,
    observer: Option<Observer>,
}

impl Table {
    /// Light and observer, each from the file or else from the caller.
    fn conditions(&self, stated: Option<Conditions>) -> Result<Partial, InstrumentFault> {
        let light = match &self.light {
            Some(name) => {
                let known = ["D50", "D65"].into_iter().find(|own| name.to_ascii_uppercase().contains(own));
                Some(known.and_then(Light::named).ok_or_else(|| InstrumentFault::Light(name.clone()))?)
            }
            None => stated.map(|s| s.light),
        };
        Ok(Partial { light, observer: self.observer.or(stated.map(|s| s.observer)) })
    }

    /// Takes in a line that states something of the whole file.
    fn note(&mut self, line: &str) {
        let upper = line.to_ascii_uppercase();
        let angle = upper.contains("OBSERVER") || upper.contains("ANGLE") || upper.contains("DEGREE");
        if angle && !upper.contains("GEOMETRY") {
            let number: String = upper.chars().skip_while(|c| !c.is_ascii_digit()).take_while(char::is_ascii_digit).collect();
            match number.as_str() {
                "2" | "1931" => self.observer = Some(Observer::TwoDegrees),
                "10" | "1964" => self.observer = Some(Observer::TenDegrees),
                _ => {}
            }
        } else if upper.contains("ILLUMINA") || upper.contains("LIGHT") || upper.contains("WHITE_POINT") {
            let value = line.split_once([' ', '\t', ':', '=', ',']).map_or("", |(_, rest)| rest);
            let value = value.trim_matches(|c: char| c == '"' || c == ',' || c.is_whitespace());
            let value = value.rsplit([',', ' ', '\t']).next().unwrap_or(value);
            if !value.is_empty() {
                self.light = Some(value.to_owned());
            }
        }
    }
}

#[derive(Clone, Copy)]
struct Partial {
    light: Option<Light>,
    observer: Option<Observer>,
}

fn keyword_table(text: &str) -> Result<Table, InstrumentFault> {
    #[derive(PartialEq)]
    enum Part {
        Heading,
        Format,
        Readings,
    }
    let mut table = Table::default();
    let mut part = Part::Heading;
    for (i, line) in text.lines().enumerate() {
        let line = line.trim();
        match line {
            "" => {}
            "BEGIN_DATA_FORMAT" => part = Part::Format,
            "BEGIN_DATA" => part = Part::Readings,
            "END_DATA_FORMAT" | "END_DATA" => part = Part::Heading,
            _ if line.starts_with('#') && part != Part::Heading => {}
            _ => match part {
                Part::Heading => table.note(line.trim_start_matches('#').trim()),
                Part::Format => table.fields.extend(words(line)),
                Part::Readings => table.rows.push((i + 1, words(line))),
            },
        }
        if table.rows.len() > MOST_SAMPLES {
            return Err(InstrumentFault::TooMany);
        }
    }
    if table.fields.is_empty() {
        return Err(InstrumentFault::Missing("BEGIN_DATA_FORMAT"));
    }
    Ok(table)
}

/// Words parted by white space; quotation marks hold a name together.
fn words(line: &str) -> Vec<String> {
    let mut result = Vec::new();
    let mut rest = line.trim_start();
    while !rest.is_empty() {
        let (word, after) = match rest.strip_prefix('"') {
            Some(inside) => inside.split_once('"').unwrap_or((inside, "")),
            None => rest.split_once(char::is_whitespace).unwrap_or((rest, "")),
        };
        result.push(word.to_owned());
        rest = after.trim_start();
    }
    result
}

fn comma_table(text: &str) -> Result<Table, InstrumentFault> {
    let mut table = Table::default();
    for (i, line) in text.trim_start_matches('\u{feff}').lines().enumerate() {
        let line = line.trim();
        if line.is_empty() {
            continue;
        }
        if let Some(said) = line.strip_prefix('#') {
            table.note(said.trim());
            continue;
        }
        // A list with decimal commas is parted by semicolons.
        let semicolons = line.contains(';');
        let cells = line.split(if semicolons { ';' } else { ',' });
        let cells: Vec<String> = cells
            .map(|c| c.trim().trim_matches('"').to_owned())
            .map(|c| if semicolons && !table.fields.is_empty() { c.replace(',', ".") } else { c })
            .collect();
        if table.fields.is_empty() {
            table.fields = cells;
        } else {
            table.rows.push((i + 1, cells));
        }
        if table.rows.len() > MOST_SAMPLES {
            return Err(InstrumentFault::TooMany);
        }
    }
    Ok(table)
}

/// Which columns hold what.
struct Columns {
    name: Option<usize>,
    lab: Option<[usize; 3]>,
    xyz: Option<[usize; 3]>,
    /// Wavelength and column, by rising wavelength.
    bands: Vec<(f64, usize)>,
}

impl Columns {
    fn find(fields: &[String]) -> Option<Self> {
        let place = |names: &[&str]| names.iter().find_map(|name| fields.iter().position(|field| field.eq_ignore_ascii_case(name)));
        let three = |names: [&[&str]; 3]| Some([place(names[0])?, place(names[1])?, place(names[2])?]);
        let mut bands: Vec<(f64, usize)> = fields.iter().enumerate().filter_map(|(i, field)| Some((wavelength(field)?, i))).collect();
        bands.sort_by(|p, q| p.0.total_cmp(&q.0));
        let found = Self {
            name: place(&["SAMPLE_NAME", "SAMPLE_ID", "SAMPLEID", "name", "code", "id", "shade"]),
            lab: three([&["LAB_L", "L", "L*"], &["LAB_A", "a", "a*"], &["LAB_B", "b", "b*"]]),
            xyz: three([&["XYZ_X", "X"], &["XYZ_Y", "Y"], &["XYZ_Z", "Z"]]),
            bands,
        };
        (found.lab.is_some() || found.xyz.is_some() || found.bands.len() >= 8).then_some(found)
    }

    fn sample(
        &self,
        fields: &[String],
        (line, row): &(usize, Vec<String>),
        index: usize,
        conditions: Partial,
    ) -> Result<Sample, InstrumentFault> {
        let line = *line;
        if row.len() != fields.len() {
            return Err(InstrumentFault::Row { line, found: row.len(), wanted: fields.len() });
        }
        let number = |column: usize, size: f64| {
            let value = row[column].parse::<f64>().ok().filter(|v| v.is_finite() && v.abs() <= size);
            value.ok_or_else(|| InstrumentFault::Number { line, text: row[column].clone(), field: fields[column].clone() })
        };
        let name = self.name.map_or_else(|| format!("{}", index + 1), |column| row[column].clone());
        if self.bands.len() >= 8 {
            let nm: Vec<f64> = self.bands.iter().map(|(nm, _)| *nm).collect();
            let mut values = Vec::with_capacity(nm.len());
            for (_, column) in &self.bands {
                values.push(number(*column, 200.0)?);
            }
            // Some instruments write per cent: no reflectance of a whole
            // spectrum above 1.5 is anything else.
            if values.iter().any(|v| *v > 1.5) {
                values.iter_mut().for_each(|v| *v /= 100.0);
            }
            let spectrum = Spectrum::from_samples(&nm, &values).map_err(|fault| InstrumentFault::Spectrum { line, fault })?;
            let under = |light: Light, white| spectrum.under(light, Observer::TwoDegrees).to_lab(white);
            let (lab_d50, lab_d65) = (under(Light::D50, D50), under(Light::D65, D65));
            return Ok(Sample { name, lab_d50, lab_d65, spectrum: Some(spectrum), carried: false });
        }
        let light = conditions.light.ok_or(InstrumentFault::Unstated("the light"))?;
        let observer = conditions.observer.ok_or(InstrumentFault::Unstated("the observer"))?;
        let white = white_of(light, observer);
        let colour = if let Some([l, a, b]) = self.lab {
            Lab::new(number(l, 150.0)?, number(a, 200.0)?, number(b, 200.0)?).to_xyz(white)
        } else if let Some([x, y, z]) = self.xyz {
            Xyz::new(number(x, 200.0)?, number(y, 200.0)?, number(z, 200.0)?) * 0.01
        } else {
            return Err(InstrumentFault::Unknown);
        };
        let to = |other: Xyz| adapt_bradford(colour, white, other).to_lab(other);
        Ok(Sample { name, lab_d50: to(D50), lab_d65: to(D65), spectrum: None, carried: true })
    }
}

/// The wavelength a heading names: `SPECTRAL_NM_400`, `NM400`, `400 nm`, `400`.
fn wavelength(field: &str) -> Option<f64> {
    let upper = field.to_ascii_uppercase();
    let digits = upper.trim_start_matches("SPECTRAL").trim_start_matches(['_', ' ']).trim_start_matches("NM");
    let digits = digits.trim_start_matches(['_', ' ']).trim_end_matches("NM").trim_end();
    digits.parse().ok().filter(|nm| (300.0..=900.0).contains(nm))
}
