//! From a photograph with marks to the colour of the hair.

use crate::chart_fit::{Fit, Patch, check_neutrals, patches, points};
use crate::fault::PhotoFault;
use crate::flat::{Board, Flat};
use crate::hair::{Tress, mean, tones};
use crate::marks::Marks;
use crate::open::{Photo, open_photo};
use crate::tone_curve::{Neutral, ToneCurve};
use colour::chart::{NEUTRALS, neutral_reflectance};
use colour::pigment::level_of;
use colour::{D50, D65, Lab, Light};
use serde::{Deserialize, Serialize};

/// One tone in the hair.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ReadTone {
    /// Its share of the hair, 0 to 1.
    pub share: f64,
    /// Its colour under D65.
    pub lab_d65: Lab,
    /// Its colour under D50.
    pub lab_d50: Lab,
}

/// What the photograph says of itself: the grounds of the uncertainty.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Residuals {
    /// How far the chart's patches near the hair's colour stay from theirs, in dE00.
    pub chart_de00: f64,
    /// Relative error of the grey patches after the tone curve was undone.
    pub grey_error: f64,
    /// Strength of the tone curve found, 0 for the standard one.
    pub curve_strength: f64,
    /// Largest over smallest light between chart and hair; 1 when no board was used.
    pub light_range: f64,
    /// Spread of the board about an even one, relative.
    pub board_spread: f64,
    /// Share of clipped pixels in the hair.
    pub clipped: f64,
}

/// The colour of the hair.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// Mean colour under D50.
    pub lab_d50: Lab,
    /// Mean colour under D65.
    pub lab_d65: Lab,
    /// The tones, largest share first.
    pub tones: Vec<ReadTone>,
    /// Nine readings in ten are no further off than this, in dE00.
    pub uncertainty_de00: f64,
    /// The level, 1 to 10, with parts.
    pub level: f64,
    /// Plain sentences for the technician.
    pub warnings: Vec<String>,
    /// What the uncertainty rests on.
    pub residuals: Residuals,
}

/// Grey patches further off than this, relative, cannot be read.
const WORST_GREY: f64 = 0.25;

/// Patches near the hair's colour further off than this, in dE00, cannot be read.
const WORST_CHART: f64 = 6.0;

/// Light that changes by more than this factor between chart and hair cannot be read.
const WORST_LIGHT: f64 = 2.5;

/// Opens a photograph and reads the hair's colour.
///
/// *Accuracy*: `uncertainty_de00` covers nine readings in ten of synthetic
/// photographs; a curl, a gloss on the chart or a phone's local contrast is not in it.
///
/// *Errors*: bytes, marks or light that cannot be read, each with what to do.
pub fn read_photo(bytes: &[u8], marks: &Marks) -> Result<Reading, PhotoFault> {
    read_open_photo(&open_photo(bytes)?, marks)
}

/// Reads the hair's colour in an opened photograph.
///
/// *Errors*: marks or light that cannot be read, each with what to do.
pub fn read_open_photo(photo: &Photo, marks: &Marks) -> Result<Reading, PhotoFault> {
    let (width, height) = photo.size();
    marks.check(width, height)?;
    let raw = patches(photo, &photo.decoding, marks);
    check_neutrals(&raw)?;
    let (curve, flat) = curve_and_flat(photo, marks, &raw);
    let decoding = curve.corrected(&photo.decoding);
    let seen = patches(photo, &decoding, marks);
    let lights = seen.map(|patch| {
        let even = flat.at(patch.middle);
        [0, 1, 2].map(|c| patch.light[c] / even[c])
    });
    let usable = seen.map(|patch| patch.clipped < 0.02);
    let tress = Tress::sample(photo, &decoding, &marks.hair, &flat);
    let matt = tress.cells_of(&tress.matt_slices(lights[NEUTRALS[1]]));
    let hair = mean(matt.iter()).ok_or(PhotoFault::Hair("holds no pixels"))?;
    let fault = || PhotoFault::NoChart("the chart's patches are too alike to be read: move into better light");
    let fit = |light: Light, white| Fit::near(&points(&lights, &usable, light), hair, white).ok_or_else(fault);
    let (d50, d65) = (fit(Light::D50, D50)?, fit(Light::D65, D65)?);
    let residuals = Residuals {
        chart_de00: d50.residual,
        grey_error: curve.grey_error,
        curve_strength: curve.strength,
        light_range: flat.range,
        board_spread: flat.blotches,
        clipped: tress.clipped,
    };
    refuse_unsure(&residuals)?;
    let tones = tones(&matt)
        .into_iter()
        .map(|(share, light)| ReadTone { share, lab_d65: d65.apply(light).to_lab(D65), lab_d50: d50.apply(light).to_lab(D50) })
        .collect();
    let lab_d65 = d65.apply(hair).to_lab(D65);
    Ok(Reading {
        lab_d50: d50.apply(hair).to_lab(D50),
        lab_d65,
        tones,
        uncertainty_de00: uncertainty(&residuals),
        level: level_of(lab_d65.l),
        warnings: warnings(&residuals, lab_d65, usable.iter().filter(|u| !**u).count()),
        residuals,
    })
}

/// Tone curve and evenness of the light, each found with the other's help.
fn curve_and_flat(photo: &Photo, marks: &Marks, raw: &[Patch; 24]) -> (ToneCurve, Flat) {
    let board = Board::sample(photo, marks);
    let reflectance = neutral_reflectance();
    let mut flat = Flat::EVEN;
    let mut curve = ToneCurve::STANDARD;
    for _ in 0..3 {
        let neutrals: Vec<Neutral> = NEUTRALS
            .iter()
            .zip(reflectance)
            .map(|(i, r)| {
                let even = flat.at(raw[*i].middle);
                Neutral { measured: raw[*i].light, expected: [0, 1, 2].map(|c| even[c] * r[c]), usable: raw[*i].clipped < 0.02 }
            })
            .collect();
        curve = ToneCurve::fit(&neutrals);
        flat = Flat::fit(&board, marks, photo.size(), &curve).unwrap_or(Flat::EVEN);
    }
    (curve, flat)
}

fn refuse_unsure(found: &Residuals) -> Result<(), PhotoFault> {
    if found.light_range > WORST_LIGHT {
        return Err(PhotoFault::Unsure("the light changes too much across the board: turn so that the window is behind you".to_owned()));
    }
    if found.grey_error > WORST_GREY || found.chart_de00 > WORST_CHART {
        return Err(PhotoFault::Unsure(format!(
            "the chart does not read true (off by {:.1}): lay it flat in even light, without shadow or shine, and take the photo again",
            found.chart_de00
        )));
    }
    Ok(())
}

/// Nine errors in ten are no larger than this.
fn uncertainty(found: &Residuals) -> f64 {
    let parts = [
        0.9,
        0.6 * found.chart_de00,
        8.0 * found.grey_error,
        10.0 * found.board_spread,
        2.0 * (found.light_range - 1.0),
        2.0 * found.curve_strength,
    ];
    parts.iter().map(|p| p * p).sum::<f64>().sqrt()
}

fn warnings(found: &Residuals, lab: Lab, unusable: usize) -> Vec<String> {
    let mut said = Vec::new();
    if found.light_range == 1.0 {
        said.push("No plain board was found round chart and hair: uneven light could not be corrected.".to_owned());
    } else if found.light_range > 1.4 {
        said.push("The light changes across the board: turn so that the window is behind you.".to_owned());
    }
    if unusable > 0 {
        said.push(format!("{unusable} patches of the chart are too bright to count: take the photo a little darker."));
    }
    if found.clipped > 0.02 {
        said.push("Parts of the hair are white with shine: turn the hair out of the light.".to_owned());
    }
    if level_of(lab.l) < 4.0 {
        said.push("Below level 4 half a level cannot be told from a photo.".to_owned());
    }
    said
}
