//! Smooth surfaces: the scalp from its harmonics, and the sphere and spheroid
//! that judges use in its place.
//!
//! Legend: `u` a unit direction from the centre; `r(u)` the radius there;
//! `S = diag(sx, sy, sz)` the stretch of the template to this head.

use crate::template;
use measure::Length;
use measure::vector::{Vec3, add, dot, norm, scale, sub, unit};

/// A smooth closed surface that every ray from its centre meets once.
pub trait SmoothSkin {
    /// A point inside from which the whole surface is seen, mm.
    fn centre(&self) -> [f64; 3];
    /// The surface point on the ray from the centre through `p`, mm. (Not the
    /// nearest point; for a `p` close to the surface the two differ by the
    /// distance times the slope of the surface against the ray.)
    fn project(&self, p: [f64; 3]) -> [f64; 3];
    /// The outward unit normal at a surface point; for a `p` off the surface,
    /// that of the level surface of the ray's ratio through it.
    fn normal(&self, p: [f64; 3]) -> [f64; 3];
    /// Both at once: the surface point on the ray through `p`, and the normal
    /// there; cheaper where they share most of the work.
    fn foot(&self, p: [f64; 3]) -> ([f64; 3], [f64; 3]) {
        let foot = self.project(p);
        (foot, self.normal(foot))
    }
}

/// A sphere about the origin, for judging against closed forms.
///
/// ```
/// use head::{SmoothSkin, Sphere};
/// use measure::Length;
/// let ball = Sphere::new(Length::mm(90.0)).unwrap();
/// assert_eq!(ball.project([0.0, 0.0, 45.0]), [0.0, 0.0, 90.0]);
/// assert!(Sphere::new(Length::ZERO).is_none());
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sphere {
    radius: f64,
}

impl Sphere {
    /// The sphere of a radius above zero.
    #[must_use]
    pub fn new(radius: Length) -> Option<Self> {
        let radius = radius.to_mm();
        (radius.is_finite() && radius > 0.0).then_some(Self { radius })
    }

    /// The radius.
    #[must_use]
    pub fn radius(&self) -> Length {
        Length::mm(self.radius)
    }
}

impl SmoothSkin for Sphere {
    fn centre(&self) -> [f64; 3] {
        [0.0; 3]
    }
    fn project(&self, p: [f64; 3]) -> [f64; 3] {
        scale(unit(p), self.radius)
    }
    fn normal(&self, p: [f64; 3]) -> [f64; 3] {
        unit(p)
    }
}

/// An ellipsoid about the origin with its axes along x, y and z.
///
/// ```
/// use head::{Ellipsoid, SmoothSkin};
/// use measure::Length;
/// let egg = Ellipsoid::new(Length::mm(75.0), Length::mm(95.0), Length::mm(100.0)).unwrap();
/// let top = egg.project([0.0, 0.0, 50.0]);
/// assert!((top[2] - 100.0).abs() < 1e-9 && (egg.normal(top)[2] - 1.0).abs() < 1e-12);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ellipsoid {
    axes: Vec3,
}

/// A spheroid about the z axis, for judging against closed forms.
///
/// ```
/// use head::{SmoothSkin, Spheroid};
/// use measure::Length;
/// let turned = Spheroid::new(Length::mm(80.0), Length::mm(100.0)).unwrap();
/// assert!((turned.project([40.0, 0.0, 0.0])[0] - 80.0).abs() < 1e-9);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spheroid(Ellipsoid);

impl Ellipsoid {
    /// The ellipsoid of three half axes above zero.
    #[must_use]
    pub fn new(x: Length, y: Length, z: Length) -> Option<Self> {
        let axes = [x.to_mm(), y.to_mm(), z.to_mm()];
        axes.iter().all(|a| a.is_finite() && *a > 0.0).then_some(Self { axes })
    }
}

impl SmoothSkin for Ellipsoid {
    fn centre(&self) -> [f64; 3] {
        [0.0; 3]
    }
    fn project(&self, p: [f64; 3]) -> [f64; 3] {
        let q = [p[0] / self.axes[0], p[1] / self.axes[1], p[2] / self.axes[2]];
        let n = norm(q);
        if n > 0.0 { scale(p, 1.0 / n) } else { [0.0, 0.0, self.axes[2]] }
    }
    fn normal(&self, p: [f64; 3]) -> [f64; 3] {
        unit([p[0] / (self.axes[0] * self.axes[0]), p[1] / (self.axes[1] * self.axes[1]), p[2] / (self.axes[2] * self.axes[2])])
    }
}

impl Spheroid {
    /// The spheroid of an equatorial and a polar half axis, both above zero.
    #[must_use]
    pub fn new(equatorial: Length, polar: Length) -> Option<Self> {
        Ellipsoid::new(equatorial, equatorial, polar).map(Self)
    }
}

impl SmoothSkin for Spheroid {
    fn centre(&self) -> [f64; 3] {
        self.0.centre()
    }
    fn project(&self, p: [f64; 3]) -> [f64; 3] {
        self.0.project(p)
    }
    fn normal(&self, p: [f64; 3]) -> [f64; 3] {
        self.0.normal(p)
    }
}

/// The scalp: the mean head's harmonics of degree 8, stretched to this head.
///
/// *Accuracy*: against three scanned heads that had no part in it, 2.0, 1.4 and
/// 1.2 mm root mean square over the hair-bearing region once size is fitted to
/// two tapes (bench_scans).
///
/// *Source*: key `mne-fsaverage` (the average head of 40 people), stretched to
/// the means of the women of key `ansur2`.
///
/// ```
/// use head::{ScalpShape, SmoothSkin};
/// let scalp = ScalpShape::template();
/// let wider = scalp.stretched([1.1, 1.0, 1.0]);
/// let side = |shape: &ScalpShape| shape.project([200.0, 10.0, 40.0])[0];
/// assert!(side(&wider) > side(&scalp));
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct ScalpShape {
    stretch: Vec3,
    middle: Vec3,
    /// `columns[m][k]`: the factor of `z^k` in the part of order m.
    columns: [[f64; template::DEGREE + 1]; template::DEGREE + 1],
}

impl ScalpShape {
    /// The template itself.
    #[must_use]
    pub fn template() -> Self {
        Self { stretch: [1.0; 3], middle: template::CENTRE, columns: template::columns(&template::COEFFICIENTS) }
    }

    /// Another mean head of the same kind: coefficients in the template's
    /// order (l = 0, 1, ..., each m = -l..l), degree 8 at most.
    ///
    /// *Errors*: a sentence, when the numbers give no symmetrical closed skin.
    pub fn of_harmonics(centre: [f64; 3], coefficients: &[f64]) -> Result<Self, String> {
        template::refuse(centre, coefficients)?;
        let shape = Self { stretch: [1.0; 3], middle: centre, columns: template::columns(coefficients) };
        let (directions, _) = crate::sphere::icosphere(3);
        if directions.iter().any(|u| !(shape.radius(*u).0 > 1.0)) {
            return Err(
                "the template's radius falls to nothing in some direction: these are not the harmonics of a head in millimetres".into()
            );
        }
        Ok(shape)
    }

    /// This shape stretched about the frame's origin by factors along x, y and z.
    #[must_use]
    pub fn stretched(&self, factors: [f64; 3]) -> Self {
        let stretch = [0, 1, 2].map(|k| self.stretch[k] * factors[k]);
        Self { stretch, ..self.clone() }
    }

    /// The stretch along x, y and z.
    #[must_use]
    pub fn stretch(&self) -> [f64; 3] {
        self.stretch
    }

    /// The direction out of the top of the head when the gaze is level
    /// (Frankfurt plane level): pitched 15 degrees towards the nose in this frame.
    #[must_use]
    pub fn up() -> [f64; 3] {
        template::UP
    }

    /// Radius of the unstretched template in direction `u` and the slope of
    /// the polynomial that gives it. For each order m the template has either
    /// cosine or sine terms (it is symmetrical), so one running power of
    /// (x + iy) serves.
    fn radius(&self, u: Vec3) -> (f64, Vec3) {
        let [x, y, z] = u;
        let (mut re, mut im) = (1.0, 0.0);
        let (mut re_below, mut im_below) = (0.0, 0.0);
        let mut r = 0.0;
        let mut slope = [0.0; 3];
        for (m, column) in self.columns.iter().enumerate() {
            let top = template::DEGREE - m;
            let mut value = column[top];
            let mut rise = 0.0;
            for k in (0..top).rev() {
                rise = rise * z + value;
                value = value * z + column[k];
            }
            // Even orders carry the cosine part, odd orders the sine part:
            // these are the terms that do not change when x changes sign.
            let (wave, along_x, along_y) =
                if m % 2 == 0 { (re, m as f64 * re_below, -(m as f64) * im_below) } else { (im, m as f64 * im_below, m as f64 * re_below) };
            r += value * wave;
            slope[0] += value * along_x;
            slope[1] += value * along_y;
            slope[2] += rise * wave;
            (re_below, im_below) = (re, im);
            (re, im) = (x * re - y * im, x * im + y * re);
        }
        (r, slope)
    }

    /// The surface point in a direction of the unstretched template's own
    /// frame, as seen from its centre.
    #[must_use]
    pub fn towards(&self, u: [f64; 3]) -> [f64; 3] {
        let u = unit(u);
        let q = add(self.middle, scale(u, self.radius(u).0));
        [q[0] * self.stretch[0], q[1] * self.stretch[1], q[2] * self.stretch[2]]
    }

    /// The normal in direction `u`, where radius and slope are known.
    fn normal_of(&self, u: Vec3, (r, slope): (f64, Vec3)) -> Vec3 {
        // The surface is the zero of |q| - r(q/|q|) in the unstretched frame.
        let radial = dot(slope, u);
        let tangential = scale(sub(slope, scale(u, radial)), 1.0 / r.max(1e-9));
        let g = sub(u, tangential);
        unit([g[0] / self.stretch[0], g[1] / self.stretch[1], g[2] / self.stretch[2]])
    }

    fn unstretched(&self, p: Vec3) -> Vec3 {
        sub([p[0] / self.stretch[0], p[1] / self.stretch[1], p[2] / self.stretch[2]], self.middle)
    }
}

impl SmoothSkin for ScalpShape {
    fn centre(&self) -> [f64; 3] {
        let c = self.middle;
        [c[0] * self.stretch[0], c[1] * self.stretch[1], c[2] * self.stretch[2]]
    }

    fn project(&self, p: [f64; 3]) -> [f64; 3] {
        self.towards(self.unstretched(p))
    }

    fn normal(&self, p: [f64; 3]) -> [f64; 3] {
        let u = unit(self.unstretched(p));
        self.normal_of(u, self.radius(u))
    }

    fn foot(&self, p: [f64; 3]) -> ([f64; 3], [f64; 3]) {
        let u = unit(self.unstretched(p));
        let (r, slope) = self.radius(u);
        let q = add(self.middle, scale(u, r));
        let foot = [q[0] * self.stretch[0], q[1] * self.stretch[1], q[2] * self.stretch[2]];
        (foot, self.normal_of(u, (r, slope)))
    }
}
