//! How sure a place is: its standard error in millimetres.

use crate::landmark::Lines;
use crate::model::{Template, stretched};
use crate::path::distance_to_line;
use crate::size::Fit;
use crate::surface::{ScalpShape, SmoothSkin};
use measure::vector::Vec3;

/// Error of the shape itself where nothing was measured, mm: two heads that
/// had no part in the template. *Source*: our own measurement of key
/// `mne-fsaverage`.
const SHAPE: f64 = 1.5;
/// Error of a landmark found by eye and finger, mm. *Source*: our choice.
const LANDMARK: f64 = 3.0;
/// Error of a hairline nobody measured, mm. *Source*: our choice, half the
/// range from memory.
const GUESSED_LANDMARK: f64 = 8.0;
/// Growth with the distance from the nearest measured line. *Source*: our
/// choice, from geodesics between landmarks on three heads.
const PER_MM: f64 = 0.02;

/// The lines that were taped (right halves), and the error of the landmarks.
#[derive(Debug, Clone)]
pub(crate) struct Sureness {
    taped: Vec<Vec<Vec3>>,
    landmark: f64,
}

impl Sureness {
    pub(crate) fn of(fit: &Fit, nape_known: bool, lines: &Lines) -> Self {
        let shape: &ScalpShape = &fit.shape;
        let s = shape.stretch();
        let template = Template::standard();
        let on_skin = |half: &[Vec3]| half.iter().step_by(3).map(|p| shape.project(stretched(*p, s))).collect::<Vec<_>>();
        let mut taped = vec![on_skin(&template.around)];
        if fit.measures.ear_to_ear_over_crown.is_some() {
            taped.push(on_skin(&template.over));
        }
        if fit.measures.ear_to_ear_behind.is_some() {
            taped.push(on_skin(&template.behind));
        }
        let stretch_of =
            |from: f64, to: f64| (0..=12).map(|k| lines.midline.at(from + (to - from) * f64::from(k) / 12.0)).collect::<Vec<_>>();
        if fit.measures.front_hairline_to_tape.is_some() {
            taped.push(stretch_of(lines.front_at, 0.0));
        }
        if fit.measures.tape_to_nape_hairline.is_some() {
            taped.push(stretch_of(0.0, lines.nape_at));
        }
        Self { taped, landmark: if nape_known { LANDMARK } else { GUESSED_LANDMARK } }
    }

    /// One standard error of a place on the right half, mm.
    pub(crate) fn at(&self, p: Vec3) -> f64 {
        let far = self.taped.iter().map(|line| distance_to_line(line, p)).fold(f64::INFINITY, f64::min);
        let far = PER_MM * far;
        (SHAPE * SHAPE + self.landmark * self.landmark + far * far).sqrt()
    }
}
