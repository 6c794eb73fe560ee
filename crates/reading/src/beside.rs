//! Swatches beside the ends in one photo: ranked by what they differ by.
//!
//! Legend: `d` difference between two readings of one picture; `k` how alike two colours
//! are to the camera's own errors.
//!
//! What a camera's rendering is off by at one colour it is off by at the next: of two
//! colours near each other in the same picture the difference is known better than
//! either. With k = exp(-d^2 / 2 l^2) the part of the chart's error that does not cancel
//! is 2 (1 - k) of its square, as errors that are alike over colours go; gloss, light and
//! clipping belong to each place and do not cancel.

use crate::fault::{OutlineFault, ReadFault};
use crate::marks::{Marks, check_hair};
use crate::picture::Picture;
use crate::read::{MOST_SWATCHES, Reading, Swatch, read_hair};
use crate::ways::Ways;
use colour::{Lab, ciede2000};
use measure::real::exp;
use serde::{Deserialize, Serialize};

/// The difference at which a camera's errors are no longer alike, in dE00.
const ALIKE: f64 = 15.0;

/// What the difference of two places in one picture is not known better than, in dE00.
const LEAST: f64 = 0.5;

/// One swatch beside the ends.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Ranked {
    /// Its code.
    pub code: String,
    /// How far its colour is from the ends', in this picture.
    pub de00: f64,
    /// Nine differences in ten are no further off than this, in dE00.
    pub sure_to: f64,
    /// How far it is from the nearest swatch, in this picture; 0 for that one.
    pub from_first_de00: f64,
    /// Whether this picture tells it from the nearest swatch.
    pub told_from_first: bool,
    /// Its colour under D65 by itself.
    pub lab_d65: Lab,
    /// How far that may be off.
    pub uncertainty_de00: f64,
}

/// A swatch that could not be read.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Unread {
    /// Its code.
    pub code: String,
    /// Why, and what to do.
    pub why: String,
}

/// The ends and the swatches beside them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Beside {
    /// The ends.
    #[serde(flatten)]
    pub reading: Reading,
    /// The swatches, the nearest first.
    pub ranking: Vec<Ranked>,
    /// Swatches that could not be read.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub unread: Vec<Unread>,
}

/// How far the difference of two readings of one picture may be off, in dE00.
///
/// ```
/// # mod drawn { include!(concat!(env!("CARGO_MANIFEST_DIR"), "/examples/shared/drawn.rs")); }
/// use reading::{read, sure_of_difference};
/// let (photo, marks, _) = drawn::chart_beside_hair(0.85);
/// let reading = read(&photo, &marks).unwrap();
/// assert!(sure_of_difference(&reading, &reading) > 0.0);
/// ```
#[must_use]
pub fn sure_of_difference(one: &Reading, other: &Reading) -> f64 {
    let apart = ciede2000(one.lab_d50, other.lab_d50);
    let uncancelled = 2.0 * (1.0 - exp(-apart * apart / (2.0 * ALIKE * ALIKE)));
    let square = |v: f64| v * v;
    let own = |reading: &Reading| {
        let parts = &reading.uncertainty_parts;
        square(parts.light) + square(parts.clipping) + square(parts.gloss)
    };
    let chart = |reading: &Reading| {
        let parts = &reading.uncertainty_parts;
        square(parts.chart) + square(parts.accounts) + square(parts.greys)
    };
    (LEAST * LEAST + own(one) + own(other) + uncancelled * (chart(one) + chart(other)) / 2.0).sqrt()
}

/// Reads the ends and the swatches that lie beside them, and ranks the swatches by
/// their difference from the ends.
///
/// *Errors*: as [`crate::read`], and too many swatches. A swatch that cannot be read is
/// said apart.
///
/// ```
/// # mod drawn { include!(concat!(env!("CARGO_MANIFEST_DIR"), "/examples/shared/drawn.rs")); }
/// use reading::{Swatch, read_beside};
/// let (photo, marks, _) = drawn::chart_beside_hair(0.85);
/// // The hair itself, taken for a swatch, lies nearest to the hair.
/// let swatch = Swatch { code: "S1".to_owned(), outline: marks.hair.clone() };
/// let beside = read_beside(&photo, &marks, &[swatch]).unwrap();
/// assert_eq!(beside.ranking[0].code, "S1");
/// ```
pub fn read_beside(photo: &Picture, marks: &Marks, swatches: &[Swatch]) -> Result<Beside, ReadFault> {
    let (width, height) = photo.size();
    marks.check(width, height)?;
    if swatches.len() > MOST_SWATCHES {
        return Err(ReadFault::Hair(OutlineFault::OneOfTooManyBeside));
    }
    let checks: Vec<Result<(), ReadFault>> =
        swatches.iter().map(|swatch| check_hair(&swatch.outline, &marks.chart_corners, width, height)).collect();
    let outlines: Vec<&[[f64; 2]]> = std::iter::once(marks.hair.as_slice())
        .chain(swatches.iter().zip(&checks).filter(|(_, check)| check.is_ok()).map(|(swatch, _)| swatch.outline.as_slice()))
        .collect();
    let ways = Ways::find(photo, &marks.chart_corners, &outlines, &marks.leave_out)?;
    let reading = read_hair(photo, &ways, &marks.hair)?;
    let (mut read, mut unread) = (Vec::new(), Vec::new());
    for (swatch, check) in swatches.iter().zip(checks) {
        match check.and_then(|()| read_hair(photo, &ways, &swatch.outline)) {
            Ok(found) => read.push((ciede2000(found.lab_d50, reading.lab_d50), swatch.code.clone(), found)),
            Err(fault) => unread.push(Unread { code: swatch.code.clone(), why: fault.to_string() }),
        }
    }
    read.sort_by(|p, q| p.0.total_cmp(&q.0));
    let ranking = read
        .iter()
        .map(|(de00, code, found)| {
            let first = &read[0].2;
            let from_first = ciede2000(found.lab_d50, first.lab_d50);
            Ranked {
                code: code.clone(),
                de00: *de00,
                sure_to: sure_of_difference(&reading, found),
                from_first_de00: from_first,
                told_from_first: from_first > sure_of_difference(first, found),
                lab_d65: found.lab_d65,
                uncertainty_de00: found.uncertainty_de00,
            }
        })
        .collect();
    Ok(Beside { reading, ranking, unread })
}
