//! One account of a photo: how its codes become colour anywhere.

use crate::chart_fit::{Fit, points};
use crate::chosen::Chosen;
use crate::fall::Fall;
use crate::fault::{ChartFault, ReadFault};
use crate::flat::{Board, Flat};
use crate::geometry::Point;
use crate::light::Decoding;
use crate::likely::likely;
use crate::method::{Chart, Method};
use crate::noise::{CUT_AT_TOP, Noise, SHARED};
use crate::patch::Patch;
use crate::picture::Picture;
use crate::rooted::{Rooted, Terms};
use crate::tone_curve::{Neutral, ToneCurve};
use colour::chart::{NEUTRALS, neutral_reflectance};
use colour::{D50, D65, Lab, Light, Xyz, adapt_bradford};

/// The chart as it lies in one photo.
#[derive(Clone)]
pub(crate) struct SeenChart {
    /// Its corners, settled on its patches.
    pub corners: [Point; 4],
    /// Its patches, by the picture's own profile.
    pub raw: [Patch; 24],
    /// Which of them are used: neither left out nor too bright nor beyond the scale.
    pub usable: [bool; 24],
}

/// How light becomes colour.
#[derive(Debug, Clone, Copy, PartialEq)]
#[allow(clippy::large_enum_variant, reason = "one for each way of correcting a picture")]
pub(crate) enum Kind {
    /// By a matrix, as cameras whose curve is a recipe's.
    Recipe(Method),
    /// By roots and what like colours are off by, each patch counting by its trust.
    Rooted { terms: Terms, trusts: [f64; 24], chosen: Chosen },
}

/// One account of one photo, shared by everything that is read in it.
pub(crate) struct Correction {
    /// Codes to light, the tone curve undone.
    pub decoding: Decoding,
    /// Strength of the S and errors of the greys, where it was undone as an S.
    pub curve: ToneCurve,
    /// How the light falls.
    pub fall: Fall,
    /// How noisy the camera is, in the light that `decoding` gives.
    pub noise: Noise,
    chart: [Point; 4],
    /// The patches' light, made even.
    lights: [[f64; 3]; 24],
    usable: [bool; 24],
    kind: Kind,
}

/// From light to colour under one white.
pub(crate) enum ColourMap {
    /// A matrix.
    Matrix(Fit),
    /// Roots.
    Rooted(Box<Rooted>),
}

impl ColourMap {
    /// X Y Z of light, never less than nothing.
    pub fn apply(&self, light: [f64; 3]) -> Xyz {
        let found: [f64; 3] = match self {
            Self::Matrix(fit) => fit.apply(light).into(),
            Self::Rooted(map) => map.apply(light).into(),
        };
        found.map(|v| v.max(0.0)).into()
    }
}

impl Correction {
    /// The account of a camera like the recipes': an S over the profile's curve, light
    /// by the board, a matrix.
    pub fn of_recipe(photo: &Picture, chart: &SeenChart, hairs: &[&[Point]], method: Method) -> Self {
        let (curve, flat) = curve_and_flat(photo, chart, hairs, method);
        let decoding = curve.corrected(&photo.decoding);
        let fall = flat.map_or(Fall::Unknown, Fall::Board);
        Self { curve, ..Self::measured(photo, chart, decoding, fall, Kind::Recipe(method)) }
    }

    /// With a decoding, a fall of light and a kind of map already found: the patches are
    /// measured by them.
    pub fn measured(photo: &Picture, chart: &SeenChart, decoding: Decoding, fall: Fall, kind: Kind) -> Self {
        let seen = chart.raw.each_ref().map(|patch| patch.by(&decoding));
        let noise = Noise::fit(&seen, &decoding, photo.is_smoothed());
        let lights = std::array::from_fn(|i| {
            let means = seen[i].means(&decoding);
            let true_light = noise.light(&means, &decoding);
            fall.evened([0, 1, 2].map(|c| seen[i].light[c] + true_light[c] - means.light[c]), seen[i].middle)
        });
        Self { decoding, curve: ToneCurve::STANDARD, fall, noise, chart: chart.corners, lights, usable: chart.usable, kind }
    }

    /// How light becomes colour.
    pub fn kind(&self) -> Kind {
        self.kind
    }

    /// The steps taken.
    pub fn method(&self) -> Method {
        if let Kind::Recipe(method) = self.kind { method } else { Method::FULL }
    }

    /// The chart's corners.
    pub fn chart(&self) -> &[Point; 4] {
        &self.chart
    }

    /// Light of a plain white-grey thing at the chart: the lightest grey that is not
    /// too bright, as much lighter as it is darker than the second.
    pub fn white(&self) -> [f64; 3] {
        let greys = neutral_reflectance();
        let [_, second, ..] = greys;
        let place = (1..6).chain([0]).find(|k| self.usable[NEUTRALS[*k]]).unwrap_or(1);
        [0, 1, 2].map(|c| self.lights[NEUTRALS[place]][c] * second[c] / greys[place][c])
    }

    /// Largest over smallest light over chart and hair; 1 when not known.
    pub fn range(&self, hair: &[Point]) -> f64 {
        self.fall.range(&self.chart, hair)
    }

    /// From light to colour under D50 and D65, best near `hair`.
    ///
    /// *Errors*: patches too alike.
    pub fn fits(&self, hair: [f64; 3]) -> Result<(ColourMap, ColourMap), ReadFault> {
        Ok((self.fit(hair, Light::D50, D50, &self.usable)?, self.fit(hair, Light::D65, D65, &self.usable)?))
    }

    fn fit(&self, hair: [f64; 3], light: Light, white: Xyz, usable: &[bool; 24]) -> Result<ColourMap, ReadFault> {
        let points = points(&self.lights, usable, light);
        let method = match self.kind {
            Kind::Recipe(method) => method,
            Kind::Rooted { terms, trusts, chosen } => {
                let counted: Vec<f64> = (0..24).filter(|i| usable[*i]).map(|i| trusts[i]).collect();
                let map = Rooted::fit(&points, &counted, terms, white, &chosen).ok_or(ReadFault::NoChart(ChartFault::TooAlike))?;
                return Ok(ColourMap::Rooted(Box::new(map)));
            }
        };
        let grey = self.white();
        let found = match method.chart {
            Chart::Ignored => Some(Fit::of_screen([1.0; 3], |colour| adapt_bradford(colour, D65, white))),
            Chart::GreyOnly => {
                let wanted = neutral_reflectance()[1];
                Some(Fit::of_screen([0, 1, 2].map(|c| wanted[c] / grey[c]), |colour| adapt_bradford(colour, D65, white)))
            }
            Chart::Linear => Fit::plain(&points),
            Chart::Weighted => Fit::near(&points, &[], hair, white),
            Chart::Hair => {
                let used: Vec<usize> = (0..24).filter(|i| usable[*i]).collect();
                Fit::near(&points, &likely(&points, &used), hair, white)
            }
        };
        found.map(ColourMap::Matrix).ok_or(ReadFault::NoChart(ChartFault::TooAlike))
    }

    /// What each of these patches would be read as, under D50, had it not been used.
    pub fn left_out(&self, which: &[bool; 24]) -> Vec<(usize, Lab)> {
        let one = |i: usize| {
            let mut others = self.usable;
            others[i] = false;
            let map = self.fit(self.lights[i], Light::D50, D50, &others).ok()?;
            Some((i, map.apply(self.lights[i]).to_lab(D50)))
        };
        (0..24).filter(|i| which[*i]).filter_map(one).collect()
    }
}

/// Tone curve and evenness of the light, each found with the other's help.
fn curve_and_flat(photo: &Picture, chart: &SeenChart, hairs: &[&[Point]], method: Method) -> (ToneCurve, Option<Flat>) {
    let reflectance = neutral_reflectance();
    let (mut flat, mut curve) = (None, ToneCurve::STANDARD);
    let picture = photo.code_shares();
    for _ in 0..3 {
        let even = flat.unwrap_or(Flat::EVEN);
        let neutrals: Vec<Neutral> = NEUTRALS
            .iter()
            .zip(reflectance)
            .map(|(i, r)| {
                let (patch, even) = (&chart.raw[*i], even.at(chart.raw[*i].middle));
                let smoothed = photo.is_smoothed().then(|| patch.variance_of_codes().map(|variance| variance / SHARED));
                let expected = [0, 1, 2].map(|c| even[c] * r[c]);
                let usable = patch.clipped < CUT_AT_TOP && (chart.usable[*i] || patch.beyond());
                Neutral { codes: patch.codes.clone(), cut: patch.cut, smoothed, pixels: patch.pixels / SHARED, expected, usable }
            })
            .collect();
        if method.straight {
            curve = ToneCurve::fit(&neutrals, &photo.decoding, &picture);
        }
        if method.even {
            let board = Board::sample(photo, &curve.corrected(&photo.decoding), &chart.corners, hairs);
            flat = Flat::fit(&board, &chart.corners, photo.size());
        }
    }
    (curve, flat)
}
