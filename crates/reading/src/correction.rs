//! What chart and board say of one photo: how its codes become colour anywhere.

use crate::chart_fit::{Fit, Patch, check_neutrals, patches, points};
use crate::fault::ReadFault;
use crate::find::steadied;
use crate::flat::{Board, Flat};
use crate::geometry::Point;
use crate::likely::likely;
use crate::method::{Chart, Method};
use crate::noise::{Noise, SHARED};
use crate::picture::Picture;
use crate::light::Decoding;
use crate::tone_curve::{Neutral, ToneCurve};
use colour::chart::{NEUTRALS, neutral_reflectance};
use colour::{D50, D65, Light, Xyz, adapt_bradford};

/// A patch with more than this share of its pixels at the top of the scale does not count.
const TOO_BRIGHT: f64 = 0.02;

/// One photo's correction, shared by everything that is read in it.
pub(crate) struct Correction {
    /// Codes to light, the tone curve undone.
    pub decoding: Decoding,
    pub curve: ToneCurve,
    /// The evenness of the light, or nothing without a plain board.
    pub flat: Option<Flat>,
    /// How noisy the camera is, in the light that `decoding` gives.
    pub noise: Noise,
    chart: [Point; 4],
    /// The patches' light, made even.
    lights: [[f64; 3]; 24],
    usable: [bool; 24],
    too_bright: usize,
    method: Method,
}

impl Correction {
    /// Finds it from the chart at these corners, which a hand may have set a little
    /// beside its own, and the board outside the hair.
    ///
    /// *Errors*: what lies under the corners is no chart.
    pub fn find(photo: &Picture, chart: &[Point; 4], hairs: &[&[Point]], method: Method) -> Result<Self, ReadFault> {
        let chart = &steadied(photo, *chart);
        let raw = patches(photo, &photo.decoding, chart);
        check_neutrals(&raw)?;
        let (curve, flat) = curve_and_flat(photo, chart, hairs, &raw, method);
        let decoding = curve.corrected(&photo.decoding);
        let seen = patches(photo, &decoding, chart);
        let even = flat.unwrap_or(Flat::EVEN);
        let noise = Noise::fit(&seen, &decoding, photo.is_smoothed());
        let lights = std::array::from_fn(|i| {
            let means = seen[i].means(&decoding);
            let true_light = noise.light(&means, &decoding);
            even.evened([0, 1, 2].map(|c| seen[i].light[c] + true_light[c] - means.light[c]), seen[i].middle)
        });
        let usable = std::array::from_fn(|i| seen[i].clipped < TOO_BRIGHT && !seen[i].beyond());
        let too_bright = seen.iter().filter(|patch| patch.clipped >= TOO_BRIGHT).count();
        Ok(Self { decoding, curve, flat, noise, chart: *chart, lights, usable, too_bright, method })
    }

    /// Which steps are taken.
    pub fn method(&self) -> Method {
        self.method
    }

    /// The chart's corners.
    pub fn chart(&self) -> &[Point; 4] {
        &self.chart
    }

    /// Light of a plain white-grey thing at the chart.
    pub fn white(&self) -> [f64; 3] {
        self.lights[NEUTRALS[1]]
    }

    /// Patches too bright to count.
    pub fn clipped_patches(&self) -> usize {
        self.too_bright
    }

    /// The evenness of the light, even when nothing is known.
    pub fn evenness(&self) -> Flat {
        self.flat.unwrap_or(Flat::EVEN)
    }

    /// Largest over smallest light over chart and hair; 1 when not known.
    pub fn range(&self, hair: &[Point]) -> f64 {
        self.flat.map_or(1.0, |flat| flat.range(&self.chart, hair))
    }

    /// How far the light changes its colour between chart and hair.
    pub fn colour_change(&self, hair: &[Point]) -> f64 {
        self.flat.map_or(0.0, |flat| flat.colour_change(hair))
    }

    /// From light to colour under D50 and D65, best near `hair`.
    ///
    /// *Errors*: patches too alike.
    pub fn fits(&self, hair: [f64; 3]) -> Result<(Fit, Fit), ReadFault> {
        Ok((self.fit(hair, Light::D50, D50)?, self.fit(hair, Light::D65, D65)?))
    }

    fn fit(&self, hair: [f64; 3], light: Light, white: Xyz) -> Result<Fit, ReadFault> {
        let points = points(&self.lights, &self.usable, light);
        let grey = self.white();
        let found = match self.method.chart {
            Chart::Ignored => Some(Fit::of_screen([1.0; 3], |colour| adapt_bradford(colour, D65, white))),
            Chart::GreyOnly => {
                let wanted = neutral_reflectance()[1];
                Some(Fit::of_screen([0, 1, 2].map(|c| wanted[c] / grey[c]), |colour| adapt_bradford(colour, D65, white)))
            }
            Chart::Linear => Fit::plain(&points).map(|fit| fit.judged(&points, hair, white)),
            Chart::Weighted => Fit::near(&points, &[], hair, white),
            Chart::Hair => {
                let used: Vec<usize> = (0..24).filter(|i| self.usable[*i]).collect();
                Fit::near(&points, &likely(&points, &used), hair, white)
            }
        };
        found.ok_or(ReadFault::NoChart("the chart's patches are too alike to be read: move into better light"))
    }
}

/// Tone curve and evenness of the light, each found with the other's help.
fn curve_and_flat(photo: &Picture, chart: &[Point; 4], hairs: &[&[Point]], raw: &[Patch; 24], method: Method) -> (ToneCurve, Option<Flat>) {
    let reflectance = neutral_reflectance();
    let mut flat = None;
    let mut curve = ToneCurve::STANDARD;
    let picture = photo.code_shares();
    for _ in 0..3 {
        let even = flat.unwrap_or(Flat::EVEN);
        let neutrals: Vec<Neutral> = NEUTRALS
            .iter()
            .zip(reflectance)
            .map(|(i, r)| {
                let (patch, even) = (&raw[*i], even.at(raw[*i].middle));
                let smoothed = photo.is_smoothed().then(|| patch.variance_of_codes().map(|variance| variance / SHARED));
                let expected = [0, 1, 2].map(|c| even[c] * r[c]);
                Neutral { codes: patch.codes.clone(), cut: patch.cut, smoothed, pixels: patch.pixels / SHARED, expected, usable: patch.clipped < TOO_BRIGHT }
            })
            .collect();
        if method.straight {
            curve = ToneCurve::fit(&neutrals, &photo.decoding, &picture);
        }
        if method.even {
            let board = Board::sample(photo, &curve.corrected(&photo.decoding), chart, hairs);
            flat = Flat::fit(&board, chart, photo.size());
        }
    }
    (curve, flat)
}
