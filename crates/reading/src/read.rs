//! From a photograph with marks to the colour of the hair.

use crate::correction::Correction;
use crate::fault::ReadFault;
use crate::geometry::Point;
use crate::hair::{Tress, mean};
use crate::marks::{Marks, check_chart, check_hair};
use crate::method::Method;
use crate::picture::Picture;
use crate::strands::{COHERENT, Strands};
use crate::tones::tones;
use colour::pigment::level_of;
use colour::{D50, D65, Lab};
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
    /// How far the light's red changes against its blue between chart and hair,
    /// as a natural logarithm.
    #[serde(default)]
    pub light_colour: f64,
    /// Spread of the board about an even one, relative.
    pub board_spread: f64,
    /// Share of clipped pixels in the hair.
    pub clipped: f64,
    /// Share of pixels at black in the darkest hair, in the worst channel.
    #[serde(default)]
    pub at_black: f64,
    /// Whether the file evened out neighbouring codes, as a JPEG does: what was cut
    /// off at black is then known less well.
    #[serde(default)]
    pub smoothed: bool,
    /// Share of the hair's length that was left out for gloss.
    #[serde(default)]
    pub gloss: f64,
    /// How far gloss leaves the hair's lightness in doubt, relative.
    #[serde(default)]
    pub gloss_doubt: f64,
}

/// The parts of the uncertainty, each in dE00; together they are the root of
/// the sum of their squares.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct UncertaintyParts {
    /// What no photo gets below: three channels do not hold a spectrum.
    pub least: f64,
    /// The chart's patches do not all come out true.
    pub chart: f64,
    /// The greys do not come out true: a tone curve not wholly undone.
    pub greys: f64,
    /// The light is uneven or changes its colour, or the board is blotchy.
    pub light: f64,
    /// Pixels at the ends of the scale, white or black.
    pub clipping: f64,
    /// Gloss over much of the hair.
    pub gloss: f64,
}

impl UncertaintyParts {
    /// All parts together.
    #[must_use]
    pub fn together(&self) -> f64 {
        let parts = [self.least, self.chart, self.greys, self.light, self.clipping, self.gloss];
        parts.iter().map(|part| part * part).sum::<f64>().sqrt()
    }

    /// Nine errors in ten are no larger than these together. Each grows with
    /// what it is named for. The factors were set on made photographs.
    fn of(found: &Residuals) -> Self {
        let root = |p: f64, q: f64, r: f64| (p * p + q * q + r * r).sqrt();
        Self {
            least: 1.2,
            chart: 0.4 * found.chart_de00,
            // More than a curve leaves is noise bent by it, most of all in the dark.
            greys: root(6.0 * found.grey_error, 1.5 * found.curve_strength, 60.0 * (found.grey_error - 0.017).max(0.0)),
            light: root(4.0 * found.board_spread, 1.2 * (found.light_range - 1.0), 2.4 * found.light_colour.min(1.0)),
            // A curve unknown at black bends what noise has cut off there.
            clipping: root(4.0 * found.clipped, if found.smoothed { 12.0 } else { 3.0 } * found.at_black * (1.0 + 2.0 * found.curve_strength.max(0.0)), 0.0),
            gloss: root(5.0 * (found.gloss - 0.7).max(0.0), 50.0 * found.gloss_doubt, 0.0),
        }
    }
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
    /// What the uncertainty is made of.
    #[serde(default)]
    pub uncertainty_parts: UncertaintyParts,
    /// The level, 1 to 10, with parts.
    pub level: f64,
    /// Plain sentences for the technician.
    pub warnings: Vec<String>,
    /// What the uncertainty rests on.
    pub residuals: Residuals,
}

/// Grey patches further off than this, relative, cannot be read: with no tone
/// curve do they come out true, as when a JPEG has smoothed away strong noise.
const WORST_GREY: f64 = 0.04;

/// Patches near the hair's colour further off than this, in dE00, cannot be read.
const WORST_CHART: f64 = 6.0;

/// Patches off by more than this, in dE00, and greys by more than that, relative,
/// cannot be read. A camera may see colours otherwise than the eye, but greys as
/// greys; a chart may have aged, but by less: only noise bent by the curve and
/// smoothed away by JPEG spoils both.
const WORST_BOTH: (f64, f64) = (3.5, 0.018);

/// Hair with more than this share of its pixels black in a channel cannot be read;
/// in a file that evens out codes less of it suffices.
const WORST_BLACK: f64 = 0.6;
const WORST_BLACK_SMOOTHED: f64 = 0.25;

/// Light that changes by more than this factor between chart and hair cannot be read.
const WORST_LIGHT: f64 = 2.5;

/// Light whose red changes against its blue by more than this, as a logarithm,
/// is mixed from two.
const MIXED_LIGHT: f64 = 0.15;

/// Reads the hair's colour in a picture.
///
/// *Accuracy*: `uncertainty_de00` is meant to cover nine readings in ten; a curl, a
/// gloss on the chart or a phone's local contrast is not in it.
///
/// *Errors*: marks or light that cannot be read, each with what to do.
pub fn read(photo: &Picture, marks: &Marks) -> Result<Reading, ReadFault> {
    read_with(photo, marks, Method::FULL)
}

/// As [`read`], with chosen steps: for the benchmark.
///
/// *Errors*: as [`read`]; what a step left out would have refused is not.
#[doc(hidden)]
pub fn read_with(photo: &Picture, marks: &Marks, method: Method) -> Result<Reading, ReadFault> {
    let (width, height) = photo.size();
    marks.check(width, height)?;
    let correction = Correction::find(photo, &marks.chart_corners, &[&marks.hair], method)?;
    read_hair(photo, &correction, &marks.hair)
}

/// One swatch or strand beside the chart: a name and its outline.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Swatch {
    /// What the technician calls it: a shade's code.
    pub code: String,
    /// Its outline, as [`Marks::hair`].
    pub outline: Vec<[f64; 2]>,
}

/// What was read of one swatch.
#[derive(Debug, Clone, PartialEq)]
pub struct SwatchReading {
    /// The swatch's code.
    pub code: String,
    /// Its colour, or why it cannot be read.
    pub reading: Result<Reading, ReadFault>,
}

/// The most swatches read in one photo.
pub const MOST_SWATCHES: usize = 60;

/// Reads several swatches that lie beside one chart, so that a whole ring is
/// measured from a few photos. All share one correction.
///
/// *Meaning*: one entry for each swatch, in their order. A swatch whose outline
/// is unusable is refused alone.
///
/// *Errors*: the chart, the light or the number of swatches.
pub fn read_swatches(photo: &Picture, chart_corners: &[[f64; 2]; 4], swatches: &[Swatch]) -> Result<Vec<SwatchReading>, ReadFault> {
    let (width, height) = photo.size();
    check_chart(chart_corners, width, height)?;
    if swatches.len() > MOST_SWATCHES {
        return Err(ReadFault::Hair("stands for one of more than 60 swatches; take the ring in several photos, and"));
    }
    let checks: Vec<Result<(), ReadFault>> =
        swatches.iter().map(|swatch| check_hair(&swatch.outline, chart_corners, width, height)).collect();
    let outlines: Vec<&[Point]> =
        swatches.iter().zip(&checks).filter(|(_, check)| check.is_ok()).map(|(swatch, _)| swatch.outline.as_slice()).collect();
    let correction = Correction::find(photo, chart_corners, &outlines, Method::FULL)?;
    let read = |(swatch, check): (&Swatch, Result<(), ReadFault>)| SwatchReading {
        code: swatch.code.clone(),
        reading: check.and_then(|()| read_hair(photo, &correction, &swatch.outline)),
    };
    Ok(swatches.iter().zip(checks).map(read).collect())
}

/// Reads the hair in one outline by a correction already found.
fn read_hair(photo: &Picture, correction: &Correction, outline: &[Point]) -> Result<Reading, ReadFault> {
    let tress = Tress::sample(photo, correction, outline);
    let matt = if correction.method().bands { tress.matt(correction.white()) } else { tress.middling() };
    let hair = mean(matt.cells.iter()).ok_or(ReadFault::Hair("holds no pixels"))?;
    let (d50, d65) = correction.fits(hair)?;
    let residuals = Residuals {
        chart_de00: d50.residual,
        grey_error: correction.curve.grey_error,
        curve_strength: correction.curve.strength,
        light_range: correction.range(outline),
        light_colour: correction.colour_change(outline),
        board_spread: correction.evenness().blotches,
        clipped: tress.clipped(),
        at_black: tress.at_black(),
        smoothed: photo.is_smoothed(),
        gloss: 1.0 - matt.kept,
        gloss_doubt: matt.doubt,
    };
    if correction.method() == Method::FULL {
        refuse_unsure(&residuals)?;
    }
    let strands = Strands::sample(photo, correction, outline, &matt.slices);
    let found = match &strands {
        Some(strands) if strands.coherence > COHERENT => tones(&strands.places, hair),
        _ => tones(&matt.cells, hair),
    };
    let tones = found
        .into_iter()
        .map(|(share, light)| ReadTone { share, lab_d65: d65.apply(light).to_lab(D65), lab_d50: d50.apply(light).to_lab(D50) })
        .collect();
    let lab_d65 = d65.apply(hair).to_lab(D65);
    let uncertainty_parts = UncertaintyParts::of(&residuals);
    Ok(Reading {
        lab_d50: d50.apply(hair).to_lab(D50),
        lab_d65,
        tones,
        uncertainty_de00: uncertainty_parts.together(),
        uncertainty_parts,
        level: level_of(lab_d65.l),
        warnings: warnings(&residuals, lab_d65, correction.clipped_patches()),
        residuals,
    })
}

fn refuse_unsure(found: &Residuals) -> Result<(), ReadFault> {
    if found.light_range > WORST_LIGHT {
        return Err(ReadFault::Unsure("the light changes too much across the board: turn so that the window is behind you".to_owned()));
    }
    if found.at_black > if found.smoothed { WORST_BLACK_SMOOTHED } else { WORST_BLACK } {
        return Err(ReadFault::Unsure("the hair is darker than this camera's noise: give it more light, as near a window, and take the photo again".to_owned()));
    }
    if is_smoothed(found) {
        return Err(ReadFault::Unsure("the camera's noise has changed the chart's colours: give it more light, as near a window, and take the photo again".to_owned()));
    }
    if found.grey_error > WORST_GREY || found.chart_de00 > WORST_CHART {
        return Err(ReadFault::Unsure(format!(
            "the chart does not read true (off by {:.1}): lay it flat in even light, without shadow or shine, and take the photo again",
            found.chart_de00
        )));
    }
    Ok(())
}

/// Whether strong noise was smoothed away before it could be measured.
fn is_smoothed(found: &Residuals) -> bool {
    found.chart_de00 > WORST_BOTH.0 && found.grey_error > WORST_BOTH.1
}

fn warnings(found: &Residuals, lab: Lab, unusable: usize) -> Vec<String> {
    let mut said = Vec::new();
    if found.light_range == 1.0 {
        said.push("No plain board was found round chart and hair: uneven light could not be corrected.".to_owned());
    } else if found.light_range > 1.4 {
        said.push("The light changes across the board: turn so that the window is behind you.".to_owned());
    }
    match unusable {
        0 => {}
        1 => said.push("One patch of the chart is too bright to count: take the photo a little darker.".to_owned()),
        _ => said.push(format!("{unusable} patches of the chart are too bright to count: take the photo a little darker.")),
    }
    if found.light_colour > MIXED_LIGHT {
        said.push("Two lights of different colour fall on the board: turn the lamp off, or move away from the window.".to_owned());
    }
    if found.at_black > 0.1 {
        said.push("The hair is so dark that the camera's noise hides some of it: give it more light.".to_owned());
    }
    if found.gloss > 0.85 {
        said.push("There is gloss along nearly all of the hair: turn it until more of it is without shine.".to_owned());
    }
    if found.clipped > 0.02 {
        said.push("Parts of the hair are white with shine: turn the hair out of the light.".to_owned());
    }
    if level_of(lab.l) < 4.0 {
        said.push("Below level 4 half a level cannot be told from a photo.".to_owned());
    }
    said
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_strange_camera_or_an_old_chart_is_read_but_not_noise_that_spoils_both() {
        let sound = Residuals {
            chart_de00: 1.0, grey_error: 0.005, curve_strength: 0.3, light_range: 1.3, light_colour: 0.0, board_spread: 0.05, clipped: 0.0, at_black: 0.0, smoothed: false,
            gloss: 0.5, gloss_doubt: 0.01,
        };
        assert!(refuse_unsure(&Residuals { chart_de00: 4.6, ..sound }).is_ok());
        assert!(refuse_unsure(&Residuals { grey_error: 0.03, ..sound }).is_ok());
        let fault = refuse_unsure(&Residuals { chart_de00: 4.6, grey_error: 0.03, ..sound }).unwrap_err();
        assert!(fault.to_string().contains("noise"), "{fault}");
    }
}
