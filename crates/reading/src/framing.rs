//! What a picture of a camera that is still being held says of the photo to come: the
//! final reader's own finding, light and patches, before anything is taken.

use crate::find::find_chart;
use crate::flaws::{Place, SMALL_PITCH, arrow, patch_pitch};
use crate::geometry::area;
use crate::picture::Picture;
use crate::uncertainty::{Residuals, warnings};
use crate::ways::Ways;
use colour::Lab;
use colour::chart::neutral_reflectance;
use serde::Serialize;

/// What is seen while framing.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Framing {
    /// The chart's corners as they would be offered, in pixels of this picture.
    pub chart: Option<[[f64; 2]; 4]>,
    /// Where the ends are looked for beside it.
    pub ends: Option<[[f64; 2]; 4]>,
    /// Whether what was found reads as a chart: covered or turned ones do not.
    pub readable: bool,
    /// Why it does not.
    pub why: Option<String>,
    /// How many times brighter one side of chart and ends is than the other; 1 in even light.
    pub light_range: f64,
    /// From the dark side to the bright one, where the reader would warn.
    pub light: Option<[[f64; 2]; 2]>,
    /// Patches that are too bright to count.
    pub too_bright: Vec<usize>,
    /// Patches that do not look like themselves.
    pub covered: Vec<usize>,
    /// Patches too small for the photo to come.
    pub too_small: bool,
    /// So near that chart and ends do not both fit.
    pub too_near: bool,
    /// Too little light for dark hair.
    pub too_dark: bool,
}

impl Framing {
    /// Of a picture in which nothing was found.
    ///
    /// ```
    /// assert!(!reading::Framing::of_nothing().is_fit());
    /// ```
    #[must_use]
    pub const fn of_nothing() -> Self {
        Self {
            chart: None,
            ends: None,
            readable: false,
            why: None,
            light_range: 1.0,
            light: None,
            too_bright: Vec::new(),
            covered: Vec::new(),
            too_small: false,
            too_near: false,
            too_dark: false,
        }
    }

    /// Whether nothing stands against taking the photo.
    #[must_use]
    pub fn is_fit(&self) -> bool {
        self.chart.is_some()
            && self.readable
            && self.light.is_none()
            && self.too_bright.is_empty()
            && self.covered.is_empty()
            && !self.too_small
            && !self.too_near
            && !self.too_dark
    }
}

/// A white patch that comes out darker than this share of what it would at the top of the
/// scale leaves dark hair to the noise. Our choice: two and a half stops below.
const DARKEST_WHITE: f64 = 0.16;

/// A picture whose middling light is less than this is black, or nearly.
const BLACK: f64 = 0.01;

/// A chart over more than this share of the picture leaves no room for the ends. Our choice.
const MOST_OF_THE_PICTURE: f64 = 0.45;

/// Looks at a picture for a chart, and at its light as far as the place where the ends are
/// to lie beside a chart at these corners. `finer`: how many pixels of the photo to come go
/// on one of this picture.
///
/// ```
/// # mod drawn { include!(concat!(env!("CARGO_MANIFEST_DIR"), "/examples/shared/drawn.rs")); }
/// let (photo, _, _) = drawn::chart_beside_hair(0.85);
/// // Where the ends should lie: to the right of the chart.
/// let framing = reading::framing(&photo, 1.0, |chart| chart.map(|[x, y]| [x + 380.0, y]));
/// assert!(framing.chart.is_some());
/// ```
#[must_use]
pub fn framing(photo: &Picture, finer: f64, ends: impl Fn(&[[f64; 2]; 4]) -> [[f64; 2]; 4]) -> Framing {
    let mut found = Framing { chart: find_chart(photo), ..Framing::of_nothing() };
    let Some(corners) = found.chart else {
        found.too_dark = middling(photo) < BLACK;
        return found;
    };
    let (width, height) = photo.size();
    let ends = &ends(&corners);
    found.ends = Some(*ends);
    found.too_small = patch_pitch(&corners) * finer < SMALL_PITCH;
    found.too_near = area(&corners).abs() > MOST_OF_THE_PICTURE * (width * height) as f64;
    let ways = match Ways::find(photo, &corners, &[ends], &[]) {
        Ok(ways) => ways,
        Err(fault) => {
            found.why = Some(fault.to_string());
            return found;
        }
    };
    found.readable = true;
    let [white, second, ..] = neutral_reflectance();
    // An account's white is as light as the second grey.
    found.too_dark = ways.ways.first().is_some_and(|way| way.correction.white()[1] * white[1] / second[1] < DARKEST_WHITE);
    found.too_bright.clone_from(&ways.too_bright);
    found.covered.clone_from(&ways.covered);
    let shares = ways.trust(HAIR).shares;
    if let Some((Place::Arrow(line), range)) = arrow(&ways, &shares, &corners, ends) {
        found.light_range = range;
        let warned = !warnings(&Residuals { light_range: range, ..Residuals::default() }, HAIR, &[], &[]).is_empty();
        found.light = warned.then_some(line);
    }
    found
}

/// A hair of middling colour: which account of the picture counts is told near it.
const HAIR: Lab = Lab { l: 40.0, a: 8.0, b: 18.0 };

fn middling(photo: &Picture) -> f64 {
    let (width, height) = photo.size();
    let mut lights: Vec<f64> = (0..20)
        .flat_map(|j| (0..20).map(move |i| (i, j)))
        .map(|(i, j)| photo.light((i * width + width / 2) / 20, (j * height + height / 2) / 20)[1])
        .collect();
    lights.sort_by(f64::total_cmp);
    lights[lights.len() / 2]
}
