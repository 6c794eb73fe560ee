//! A plain face in front of the scalp, so that a picture is known as a head.
//!
//! Nothing is measured on it and nothing is placed on it: brow, nose, lips and
//! chin of nobody, which stretch with the scalp.

use crate::surface::{ScalpShape, SmoothSkin};
use measure::real;
use measure::vector::{Vec3, add, cross, dot, norm, scale, sub, unit};

/// The scalp with a face in front of it and a jaw below.
///
/// ```
/// use head::{FacedSkin, ScalpShape, SmoothSkin};
/// let skin = FacedSkin::new(&ScalpShape::template());
/// let brow = skin.beneath(0.0, 60.0, 110.0);
/// assert!(skin.project(brow).iter().zip(brow).all(|(a, b)| (a - b).abs() < 1.0));
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct FacedSkin {
    scalp: ScalpShape,
    middle: Vec3,
    spots: [Spot; 4],
}

/// A rise or a hollow about one direction: how far, and how wide, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Spot {
    towards: Vec3,
    rise: f64,
    width: f64,
}

/// A row of the midline's profile: degrees below the level through the middle
/// of the skull in the frame, and a number there.
type Profile = &'static [(f64, f64)];

/// What lips, chin and the underside of the jaw add to the mean head, mm.
/// *Source*: our own drawing; so are the three tables below.
const RELIEF: Profile = &[
    (-8.0, 0.0),
    (-16.0, 1.5),
    (-22.0, 1.0),
    (-30.0, -3.5),
    (-38.0, 0.0),
    (-47.0, -1.0),
    (-51.0, -1.0),
    (-55.0, 3.5),
    (-58.0, -1.8),
    (-60.2, 1.8),
    (-64.0, 1.2),
    (-67.0, 11.0),
    (-72.0, 13.0),
    (-78.0, 4.0),
    (-86.0, -14.0),
    (-98.0, -26.0),
    (-112.0, -22.0),
    (-128.0, -4.0),
    (-138.0, 0.0),
];
/// How wide it is to each side, mm.
const RELIEF_WIDTH: Profile = &[
    (-8.0, 30.0),
    (-30.0, 22.0),
    (-38.0, 26.0),
    (-50.0, 24.0),
    (-60.0, 24.0),
    (-66.0, 22.0),
    (-72.0, 26.0),
    (-78.0, 36.0),
    (-86.0, 60.0),
    (-98.0, 80.0),
    (-138.0, 80.0),
];
/// What the nose adds, mm, and how wide it is.
const NOSE: Profile = &[(-24.0, 0.0), (-30.0, 2.0), (-36.0, 10.0), (-41.0, 18.5), (-44.0, 20.5), (-46.5, 17.0), (-49.0, 7.5), (-52.0, 0.0)];
const NOSE_WIDTH: Profile = &[(-24.0, 7.0), (-36.0, 8.0), (-44.0, 10.5), (-48.0, 12.0), (-52.0, 12.0)];
/// Hollows of the eyes and rises of the cheeks: to the side, up, forward, rise, width, mm.
const SPOTS: [(f64, f64, f64, f64, f64); 2] = [(33.0, 11.0, 80.0, -5.0, 12.0), (50.0, -14.0, 72.0, 3.0, 16.0)];

impl FacedSkin {
    /// The scalp with a face.
    #[must_use]
    pub fn new(scalp: &ScalpShape) -> Self {
        let s = scalp.stretch();
        let c = scalp.centre();
        let middle = [c[0] / s[0], c[1] / s[1], c[2] / s[2]];
        let spot = |at: usize, side: f64| {
            let (aside, up, forward, rise, width) = SPOTS[at];
            Spot { towards: unit(sub(upright([side * aside, up, forward]), middle)), rise, width }
        };
        Self { scalp: scalp.clone(), middle, spots: [spot(0, 1.0), spot(0, -1.0), spot(1, 1.0), spot(1, -1.0)] }
    }

    /// The place on this skin, seen from the middle of the skull, behind which
    /// a place lies that is given upright on the mean head: to the client's
    /// right, up and forward of the ear notches' middle, mm.
    #[must_use]
    pub fn beneath(&self, right: f64, up: f64, forward: f64) -> [f64; 3] {
        let p = upright([right, up, forward]);
        let s = self.scalp.stretch();
        self.project([p[0] * s[0], p[1] * s[1], p[2] * s[2]])
    }

    fn relief(&self, u: Vec3, radius: f64) -> f64 {
        let mut rise = 0.0;
        // Profiles count downward from straight ahead to below the nape.
        let degrees = real::atan2(u[2], u[1]).to_degrees();
        let aside = u[0] * radius;
        if (RELIEF[RELIEF.len() - 1].0..RELIEF[0].0).contains(&degrees) {
            rise += along(RELIEF, degrees) * bell(aside, along(RELIEF_WIDTH, degrees));
            if (NOSE[NOSE.len() - 1].0..NOSE[0].0).contains(&degrees) {
                rise += along(NOSE, degrees) * bell(aside, along(NOSE_WIDTH, degrees));
            }
        }
        for spot in &self.spots {
            let near = dot(spot.towards, u);
            if near > 0.9 {
                rise += spot.rise * bell(radius * (2.0 * (1.0 - near)).sqrt(), spot.width);
            }
        }
        rise
    }
}

impl SmoothSkin for FacedSkin {
    fn centre(&self) -> [f64; 3] {
        self.scalp.centre()
    }

    fn project(&self, p: [f64; 3]) -> [f64; 3] {
        let s = self.scalp.stretch();
        let u = unit(sub([p[0] / s[0], p[1] / s[1], p[2] / s[2]], self.middle));
        let q = self.scalp.towards(u);
        let out = sub([q[0] / s[0], q[1] / s[1], q[2] / s[2]], self.middle);
        let radius = norm(out);
        let r = add(self.middle, scale(u, radius + self.relief(u, radius)));
        [r[0] * s[0], r[1] * s[1], r[2] * s[2]]
    }

    fn normal(&self, p: [f64; 3]) -> [f64; 3] {
        /// Half the step of the difference quotients, mm: finer than a lip.
        const STEP: f64 = 0.8;
        let out = unit(sub(p, self.centre()));
        let first = unit(cross(out, [0.1, 0.2, 1.0]));
        let second = cross(out, first);
        let slope = |d: Vec3| sub(self.project(add(p, scale(d, STEP))), self.project(sub(p, scale(d, STEP))));
        let normal = unit(cross(slope(first), slope(second)));
        if dot(normal, out) < 0.0 { scale(normal, -1.0) } else { normal }
    }
}

/// A place given to the right, up and forward when the gaze is level, in the frame.
fn upright([right, up, forward]: Vec3) -> Vec3 {
    let [_, sine, cosine] = ScalpShape::up();
    [right, forward * cosine + up * sine, up * cosine - forward * sine]
}

/// A bell curve of height 1 and a width where it has fallen to 1/e.
fn bell(x: f64, width: f64) -> f64 {
    real::exp(-(x * x) / (width * width))
}

/// A profile between its rows: smooth, and never beyond its neighbours
/// (Fritsch and Butland's slopes).
fn along(profile: Profile, at: f64) -> f64 {
    let i = profile.partition_point(|(a, _)| *a > at).clamp(1, profile.len() - 1);
    let ((a0, v0), (a1, v1)) = (profile[i - 1], profile[i]);
    let t = ((at - a0) / (a1 - a0)).clamp(0.0, 1.0);
    let slope = |j: usize| {
        if j == 0 || j + 1 == profile.len() {
            return 0.0;
        }
        let rise = |k: usize| (profile[k + 1].1 - profile[k].1) / (profile[k + 1].0 - profile[k].0);
        let (before, after) = (rise(j - 1), rise(j));
        if before * after <= 0.0 { 0.0 } else { 2.0 * before * after / (before + after) }
    };
    let (m0, m1) = (slope(i - 1) * (a1 - a0), slope(i) * (a1 - a0));
    let (t2, t3) = (t * t, t * t * t);
    v0 * (2.0 * t3 - 3.0 * t2 + 1.0) + m0 * (t3 - 2.0 * t2 + t) + v1 * (3.0 * t2 - 2.0 * t3) + m1 * (t3 - t2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use measure::vector::{distance, mirror};

    #[test]
    fn the_scalp_behind_the_face_is_untouched() {
        let scalp = ScalpShape::template().stretched([1.03, 0.98, 1.01]);
        let faced = FacedSkin::new(&scalp);
        for p in [[0.0, 20.0, 150.0], [80.0, -10.0, 60.0], [0.0, -90.0, 60.0], [-60.0, -40.0, 100.0], [0.0, 95.0, 75.0]] {
            assert!(distance(faced.project(p), scalp.project(p)) < 1e-9, "{p:?}");
        }
    }

    #[test]
    fn the_nose_stands_out_and_the_sides_are_equal() {
        let scalp = ScalpShape::template();
        let faced = FacedSkin::new(&scalp);
        let tip = faced.beneath(0.0, -22.0, 118.0);
        assert!(distance(tip, scalp.project(tip)) > 15.0);
        for p in [[30.0, 80.0, 0.0], [12.0, 100.0, -50.0], [50.0, 40.0, -60.0]] {
            assert_eq!(faced.project(mirror(p)), mirror(faced.project(p)));
        }
    }

    #[test]
    fn a_profile_runs_through_its_rows_and_never_beyond_them() {
        for (at, value) in NOSE {
            assert!((along(NOSE, *at) - value).abs() < 1e-12);
        }
        for k in 0..=280 {
            let value = along(NOSE, -24.0 - 0.1 * f64::from(k));
            assert!((0.0..=20.5 + 1e-9).contains(&value));
        }
    }
}
