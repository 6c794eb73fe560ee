//! Looking at a head from afar: where a place appears, what can be seen, and
//! the outline.

use crate::point::SkinPoint;
use crate::surface::{ScalpShape, SmoothSkin};
use measure::vector::{Vec3, add, cross, dot, scale, unit};
use measure::{Angle, real};

/// A place from which a head is looked at, so far away that nothing is foreshortened by nearness.
///
/// ```
/// use head::View;
/// use measure::Angle;
/// let front = View::new(Angle::ZERO, Angle::ZERO).towards();
/// assert!((front.iter().map(|c| c * c).sum::<f64>() - 1.0).abs() < 1e-12);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View {
    towards: Vec3,
    right: Vec3,
    up: Vec3,
}

/// A place in the picture: mm at full size, from the frame's origin to the
/// onlooker's right, and downward.
pub type InPicture = [f64; 2];

impl View {
    /// The view of somebody who walked round the client by `turn` from in front
    /// of her face towards her right side (180 degrees: behind her), and looks
    /// down on her from `rise` above the level of her gaze.
    #[must_use]
    pub fn new(turn: Angle, rise: Angle) -> Self {
        let (sine, cosine) = real::sincos(turn.to_rad());
        let (high, level) = real::sincos(rise.to_rad());
        let up = ScalpShape::up();
        let ahead = cross(up, [1.0, 0.0, 0.0]);
        let around = add([sine, 0.0, 0.0], scale(ahead, cosine));
        let towards = add(scale(around, level), scale(up, high));
        let upward = sub_scaled(scale(up, level), around, high);
        Self { towards, right: unit(cross(upward, towards)), up: upward }
    }

    /// The unit direction from the head to the onlooker.
    #[must_use]
    pub fn towards(&self) -> [f64; 3] {
        self.towards
    }

    /// Where a place appears.
    #[must_use]
    pub fn place(&self, p: SkinPoint) -> InPicture {
        [dot(p.0, self.right), -dot(p.0, self.up)]
    }

    /// Whether the skin at a place faces the onlooker.
    ///
    /// *Meaning*: on a skin without folds this is whether the place is seen.
    #[must_use]
    pub fn faces(&self, skin: &impl SmoothSkin, p: SkinPoint) -> bool {
        dot(skin.normal(p.0), self.towards) > 0.0
    }

    /// The places of the skin that make its outline, `count` of them, anticlockwise
    /// as seen, the first straight to the onlooker's right of the skin's centre.
    ///
    /// *Accuracy*: each is the farthest place in its direction to about a
    /// hundredth of a degree of the circle looked along.
    #[must_use]
    pub fn outline(&self, skin: &impl SmoothSkin, count: u32) -> Vec<SkinPoint> {
        (0..count).map(|k| self.farthest(skin, std::f64::consts::TAU * f64::from(k) / f64::from(count))).collect()
    }

    /// The farthest place of the skin from its centre, in the picture, in a
    /// direction turned anticlockwise from the onlooker's right. Every ray from
    /// the centre meets the skin once, so every direction has just one.
    fn farthest(&self, skin: &impl SmoothSkin, turned: f64) -> SkinPoint {
        /// Looking along the line of sight in steps of 4 degrees finds the
        /// right bump; halving in golden ratio then finds its summit.
        const STEP: f64 = 0.07;
        const STEPS: i32 = 17;
        const HALVINGS: usize = 14;
        const GOLDEN: f64 = 0.618_033_988_749_895;
        let (sine, cosine) = real::sincos(turned);
        let aside = add(scale(self.right, cosine), scale(self.up, sine));
        let centre = skin.centre();
        let at = |depth: f64| {
            let (s, c) = real::sincos(depth);
            let p = skin.project(add(centre, scale(add(scale(aside, c), scale(self.towards, s)), 100.0)));
            (dot(p, aside), p)
        };
        let mut best = (f64::NEG_INFINITY, 0.0);
        for k in -STEPS..=STEPS {
            let depth = STEP * f64::from(k);
            let far = at(depth).0;
            if far > best.0 {
                best = (far, depth);
            }
        }
        let (mut low, mut high) = (best.1 - STEP, best.1 + STEP);
        let (mut a, mut b) = (high - GOLDEN * (high - low), low + GOLDEN * (high - low));
        let (mut at_a, mut at_b) = (at(a).0, at(b).0);
        for _ in 0..HALVINGS {
            if at_a > at_b {
                (high, b, at_b) = (b, a, at_a);
                a = high - GOLDEN * (high - low);
                at_a = at(a).0;
            } else {
                (low, a, at_a) = (a, b, at_b);
                b = low + GOLDEN * (high - low);
                at_b = at(b).0;
            }
        }
        SkinPoint(at(0.5 * (low + high)).1)
    }
}

fn sub_scaled(a: Vec3, b: Vec3, k: f64) -> Vec3 {
    [a[0] - b[0] * k, a[1] - b[1] * k, a[2] - b[2] * k]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::surface::{Ellipsoid, Sphere};
    use measure::Length;

    fn view(turn: f64, rise: f64) -> View {
        View::new(Angle::deg(turn), Angle::deg(rise))
    }

    #[test]
    fn a_face_looks_at_whoever_stands_in_front() {
        let nose = SkinPoint([0.0, 110.0, -40.0]);
        let (front, right) = (view(0.0, 0.0), view(90.0, 0.0));
        assert!(front.place(nose)[0].abs() < 1e-12);
        // Seen from the client's right, the face is on the onlooker's right.
        assert!(right.place(nose)[0] > 90.0);
        // Her right ear is on the onlooker's left from the front, on his right from behind.
        let ear = SkinPoint([75.0, 0.0, 0.0]);
        assert!(front.place(ear)[0] < -70.0 && view(180.0, 0.0).place(ear)[0] > 70.0);
        // The top of the head is above, and comes towards whoever looks down.
        let top = SkinPoint(ScalpShape::up().map(|c| 126.0 * c));
        assert!((front.place(top)[1] + 126.0).abs() < 1e-9 && view(0.0, 90.0).place(top)[1].abs() < 1e-9);
    }

    #[test]
    fn the_outline_of_a_sphere_is_its_great_circle() {
        let sphere = Sphere::new(Length::mm(90.0)).unwrap();
        let view = view(33.0, 21.0);
        for p in view.outline(&sphere, 48) {
            let [x, y] = view.place(p);
            assert!(((x * x + y * y).sqrt() - 90.0).abs() < 1e-4);
            assert!(dot(p.0, view.towards()).abs() < 0.1);
        }
    }

    #[test]
    fn the_outline_of_an_ellipsoid_is_the_ellipse_of_projective_geometry() {
        // Closed form: the outline of x'Qx = 1 seen along v is the ellipse whose
        // width across any direction e in the picture is sqrt(e' Q^-1 e).
        let axes = [70.0, 95.0, 82.0];
        let skin = Ellipsoid::new(Length::mm(axes[0]), Length::mm(axes[1]), Length::mm(axes[2])).unwrap();
        for (turn, rise) in [(0.0, 0.0), (40.0, 15.0), (90.0, 0.0), (145.0, 30.0), (250.0, -10.0)] {
            let view = view(turn, rise);
            let outline: Vec<InPicture> = view.outline(&skin, 720).into_iter().map(|p| view.place(p)).collect();
            for k in 0..12 {
                let (s, c) = real::sincos(0.5 * f64::from(k));
                let e = add(scale(view.right, c), scale(view.up, s));
                let width = outline.iter().map(|[x, y]| x * c - y * s).fold(0.0, f64::max);
                let known = (0..3).map(|i| e[i] * e[i] * axes[i] * axes[i]).sum::<f64>().sqrt();
                assert!((width - known).abs() < 0.01, "{turn} {rise}: {width} for {known}");
            }
        }
    }

    #[test]
    fn the_outline_runs_where_the_skin_turns_away() {
        let skin = ScalpShape::template();
        let view = view(30.0, 10.0);
        for p in view.outline(&skin, 60) {
            assert!(dot(skin.normal(p.0), view.towards()).abs() < 0.03, "{p:?}");
        }
    }
}
