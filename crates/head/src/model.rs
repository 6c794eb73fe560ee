//! A mean head with its tape lines: what is stretched to fit a client.
//!
//! The tapes run in planes. Each line is found once on the mean head as a row
//! of points; stretching the head moves those points, so the length of any
//! tape on any stretched head is a short sum.

use crate::surface::{ScalpShape, SmoothSkin};
use crate::template;
use measure::real;
use measure::vector::{Vec3, add, cross, distance, dot, scale, sub, unit};
use std::sync::OnceLock;

/// A mean head: its shape, the notches of its ears and the bump at its back.
///
/// ```
/// use head::{Measures, Template, fit, fit_to};
/// use measure::Length;
/// let measures = Measures::of_circumference(Length::mm(560.0));
/// assert_eq!(fit_to(&measures, Template::standard()).unwrap().length, fit(&measures).unwrap().length);
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Template {
    pub(crate) shape: ScalpShape,
    pub(crate) inion: Vec3,
    /// Half of each tape line (the other half is its mirror image).
    pub(crate) around: Vec<Vec3>,
    pub(crate) over: Vec<Vec3>,
    pub(crate) behind: Vec<Vec3>,
    /// Ends of the greatest length: above the brows, and at the back.
    pub(crate) front: Vec3,
    pub(crate) back: Vec3,
    /// The widest place on the right, whose x is half the breadth.
    pub(crate) widest: Vec3,
    pub(crate) top: Vec3,
}

impl Template {
    /// The mean head that comes with the program.
    #[must_use]
    pub fn standard() -> &'static Self {
        static STANDARD: OnceLock<Template> = OnceLock::new();
        STANDARD.get_or_init(|| Self::found(ScalpShape::template(), template::INION))
    }

    /// Another mean head in the same frame, by its harmonics and the bump at
    /// the back of the head (inion), mm.
    ///
    /// *Errors*: a sentence, when the numbers give no head.
    pub fn of_harmonics(centre: [f64; 3], coefficients: &[f64], inion: [f64; 3]) -> Result<Self, String> {
        if !inion.iter().all(|c| c.is_finite()) {
            return Err("the template's inion is no place: give three finite numbers in mm".into());
        }
        Ok(Self::found(ScalpShape::of_harmonics(centre, coefficients)?, inion))
    }

    fn found(shape: ScalpShape, inion: Vec3) -> Self {
        let inion = shape.project([0.0, inion[1], inion[2]]);
        let midline = |angle: f64| shape.towards([0.0, real::cos(angle), real::sin(angle)]);
        // The greatest length: front end at the height of the brow ridge, 10
        // to 50 mm above the root of the nose, back end above the bump.
        let backs: Vec<Vec3> = (0..=120).map(|k| midline(2.2 + 0.01 * f64::from(k))).filter(|p| p[2] >= inion[2]).collect();
        let (mut front, mut back, mut longest) = ([0.0; 3], [0.0; 3], 0.0);
        for p in (0..=60).map(|k| midline(-0.4 + 0.01 * f64::from(k))).filter(|p| (10.0..=50.0).contains(&p[2])) {
            for q in &backs {
                let d = distance(p, *q);
                if d > longest {
                    (front, back, longest) = (p, *q, d);
                }
            }
        }
        let forward = unit(sub(front, back));
        let around = section(&shape, scale(add(front, back), 0.5), forward, 60, 1.0);
        let over = section(&shape, scale(template::UP, 40.0), template::UP, 60, 0.0);
        let behind = section(&shape, scale(inion, 0.4), unit(inion), 60, 0.0);
        let (directions, _) = crate::sphere::icosphere(4);
        let widest = directions
            .iter()
            .map(|u| shape.towards(*u))
            .filter(|p| p[2] > 0.0)
            .fold([0.0; 3], |m: Vec3, p| if p[0] > m[0] { p } else { m });
        let top = (0..=200)
            .map(|k| midline(0.8 + 0.008 * f64::from(k)))
            .fold([0.0; 3], |best, p| if dot(p, template::UP) > dot(best, template::UP) { p } else { best });
        Self { shape, inion, around, over, behind, front, back, widest, top }
    }

    /// The greatest length, the breadth and the height above the ear notches
    /// of the head stretched by `s`.
    pub(crate) fn sizes(&self, s: Vec3) -> [f64; 3] {
        let long = sub(self.front, self.back);
        [distance(stretched(long, s), [0.0; 3]), 2.0 * self.widest[0] * s[0], dot(stretched(self.top, s), template::UP)]
    }
}

pub(crate) fn stretched(p: Vec3, s: Vec3) -> Vec3 {
    [p[0] * s[0], p[1] * s[1], p[2] * s[2]]
}

/// Length of a tape line of which `half` is one side, on the head stretched by `s`.
pub(crate) fn whole_length(half: &[Vec3], s: Vec3) -> f64 {
    2.0 * half.windows(2).map(|w| distance(stretched(w[0], s), stretched(w[1], s))).sum::<f64>()
}

/// The right half of the plane section through `from` that holds the x axis's
/// direction and `ahead`: from the point straight ahead on the midline, round
/// to the one straight behind when `behind` is 1, or down to the level of the
/// ear notches (the plane's line through the frame's origin) when it is 0.
fn section(shape: &ScalpShape, from: Vec3, ahead: Vec3, pieces: u32, behind: f64) -> Vec<Vec3> {
    let end = if behind > 0.0 {
        std::f64::consts::PI
    } else {
        // Down to the origin's level: found by halving the angle.
        let (mut low, mut high) = (std::f64::consts::FRAC_PI_2, 2.8);
        for _ in 0..40 {
            let middle = 0.5 * (low + high);
            let p = reach(shape, from, direction(ahead, middle));
            if dot(p, ahead) > 0.0 { low = middle } else { high = middle }
        }
        low
    };
    (0..=pieces)
        .map(|k| {
            let p = reach(shape, from, direction(ahead, end * f64::from(k) / f64::from(pieces)));
            // The first and, all the way round, the last lie on the midline.
            if k == 0 || (behind > 0.0 && k == pieces) { [0.0, p[1], p[2]] } else { p }
        })
        .collect()
}

fn direction(ahead: Vec3, angle: f64) -> Vec3 {
    add(scale(ahead, real::cos(angle)), [real::sin(angle), 0.0, 0.0])
}

/// Where the ray from a point inside meets the skin.
fn reach(shape: &ScalpShape, from: Vec3, along: Vec3) -> Vec3 {
    let centre = shape.centre();
    let (mut low, mut high) = (0.0, 400.0);
    for _ in 0..48 {
        let middle = 0.5 * (low + high);
        let p = add(from, scale(along, middle));
        let inside = distance(p, centre) < distance(shape.project(p), centre);
        if inside { low = middle } else { high = middle }
    }
    add(from, scale(along, low))
}

/// The unit normal, pointing forward, of the plane of the ear-to-ear tape on
/// the head stretched by `s`.
pub(crate) fn tape_plane(s: Vec3) -> Vec3 {
    let up = stretched(template::UP, s);
    unit(cross(up, [1.0, 0.0, 0.0]))
}
