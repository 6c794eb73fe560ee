//! Where hair grows: a closed line of hairlines and ears, and what is inside it.

use crate::surface::{ScalpShape, SmoothSkin};
use measure::vector::{Vec3, dot, sub, unit};

/// Looking at the head from this direction (up and back, in the template's own
/// proportions) the whole hair lies before the viewer.
pub(crate) const POLE: Vec3 = [0.0, -0.5, 0.866_025_403_784_438_6];
const POLE_UP: Vec3 = [0.0, 0.866_025_403_784_438_6, 0.5];

/// The place of a skin point in the picture seen from the pole
/// (stereographic: the midline is straight, and nothing is lost but the
/// opposite pole, which lies in the face).
pub(crate) fn seen(shape: &ScalpShape, p: Vec3) -> [f64; 2] {
    let s = shape.stretch();
    let out = sub(p, shape.centre());
    let u = unit([out[0] / s[0], out[1] / s[1], out[2] / s[2]]);
    let depth = 1.0 + dot(u, POLE);
    [u[0] / depth.max(1e-9), dot(u, POLE_UP) / depth.max(1e-9)]
}

/// Bands that an outline's edges are sorted into by height, so that a place is
/// held against a few edges only.
const BANDS: usize = 48;

/// The inside of a closed line, as seen from the pole.
#[derive(Debug, Clone)]
pub(crate) struct Inside {
    low: f64,
    per_band: f64,
    /// Edges that reach into each band, in the outline's order.
    bands: Vec<Vec<[[f64; 2]; 2]>>,
}

impl Inside {
    pub(crate) fn within(shape: &ScalpShape, outline: &[Vec3]) -> Self {
        let line: Vec<[f64; 2]> = outline.iter().map(|p| seen(shape, *p)).collect();
        let low = line.iter().fold(f64::INFINITY, |least, p| least.min(p[1]));
        let high = line.iter().fold(f64::NEG_INFINITY, |most, p| most.max(p[1]));
        let per_band = BANDS as f64 / (high - low).max(1e-9);
        let mut inside = Self { low, per_band, bands: vec![Vec::new(); BANDS + 1] };
        for (i, from) in line.iter().enumerate() {
            let to = line[(i + 1) % line.len()];
            let (first, last) = (inside.band(from[1].min(to[1])), inside.band(from[1].max(to[1])));
            for band in first..=last {
                inside.bands[band].push([*from, to]);
            }
        }
        inside
    }

    fn band(&self, y: f64) -> usize {
        (((y - self.low) * self.per_band).max(0.0) as usize).min(BANDS)
    }

    /// Whether a place is inside: a ray to the right crosses the line an odd
    /// number of times.
    pub(crate) fn holds(&self, [x, y]: [f64; 2]) -> bool {
        let mut inside = false;
        for [[ax, ay], [bx, by]] in &self.bands[self.band(y)] {
            if (*ay > y) != (*by > y) && x < ax + (y - ay) / (by - ay) * (bx - ax) {
                inside = !inside;
            }
        }
        inside
    }
}
