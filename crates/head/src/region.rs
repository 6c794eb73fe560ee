//! Where hair grows: a closed line of hairlines and ears, and what is inside it.

use crate::surface::{ScalpShape, SmoothSkin};
use crate::vector::{Vec3, dot, sub, unit};

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

/// The inside of a closed line, as seen from the pole.
#[derive(Debug, Clone)]
pub(crate) struct Patch(Vec<[f64; 2]>);

impl Patch {
    pub(crate) fn within(shape: &ScalpShape, outline: &[Vec3]) -> Self {
        Self(outline.iter().map(|p| seen(shape, *p)).collect())
    }

    /// Whether a place is inside: a ray to the right crosses the line an odd
    /// number of times.
    pub(crate) fn holds(&self, [x, y]: [f64; 2]) -> bool {
        let n = self.0.len();
        let mut inside = false;
        for i in 0..n {
            let ([ax, ay], [bx, by]) = (self.0[i], self.0[(i + 1) % n]);
            if (ay > y) != (by > y) && x < ax + (y - ay) / (by - ay) * (bx - ax) {
                inside = !inside;
            }
        }
        inside
    }
}
