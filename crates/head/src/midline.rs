//! Walking over a smooth scalp: down the middle, sideways from it, and to
//! places measured from the ear notch.

use crate::model::tape_plane;
use crate::surface::{ScalpShape, SmoothSkin};
use crate::template;
use measure::real;
use measure::vector::{Vec3, add, distance, dot, lerp, scale, sub, unit};

/// The line down the middle from the root of the nose over the top to below
/// the nape, with its length: 0 where the ear-to-ear tape crosses it, plus backward.
#[derive(Debug, Clone)]
pub(crate) struct Midline {
    points: Vec<Vec3>,
    along: Vec<f64>,
}

impl Midline {
    /// About 0.9 mm to a step, so that chords are short of arcs by a
    /// hundred-thousandth.
    const STEP: f64 = 0.01;

    pub(crate) fn of(shape: &ScalpShape) -> Self {
        let points: Vec<Vec3> = (0..480)
            .map(|k| {
                let angle = -0.55 + Self::STEP * f64::from(k);
                let [_, y, z] = shape.towards([0.0, real::cos(angle), real::sin(angle)]);
                [0.0, y, z]
            })
            .collect();
        let mut along = vec![0.0; points.len()];
        for i in 1..points.len() {
            along[i] = along[i - 1] + distance(points[i - 1], points[i]);
        }
        let plane = tape_plane(shape.stretch());
        let ahead = |i: usize| dot(points[i], plane);
        let crossed = (1..points.len()).find(|i| points[*i][2] > 0.0 && ahead(*i - 1) > 0.0 && ahead(*i) <= 0.0).unwrap_or(1);
        let share = ahead(crossed - 1) / (ahead(crossed - 1) - ahead(crossed)).max(1e-12);
        let zero = along[crossed - 1] + share * (along[crossed] - along[crossed - 1]);
        for a in &mut along {
            *a -= zero;
        }
        Self { points, along }
    }

    /// The two ends as distances behind the ear-to-ear tape.
    pub(crate) fn ends(&self) -> (f64, f64) {
        (self.along[0], self.along[self.along.len() - 1])
    }

    /// The place at a distance behind the ear-to-ear tape; the end beyond it.
    pub(crate) fn at(&self, along: f64) -> Vec3 {
        let i = self.along.partition_point(|a| *a <= along).clamp(1, self.along.len() - 1);
        let (from, to) = (self.along[i - 1], self.along[i]);
        lerp(self.points[i - 1], self.points[i], ((along - from) / (to - from)).clamp(0.0, 1.0))
    }

    /// The distance behind the ear-to-ear tape of the place nearest to `p`.
    pub(crate) fn along_of(&self, p: Vec3) -> f64 {
        let mut best = (f64::INFINITY, 0.0);
        for (q, along) in self.points.iter().zip(&self.along) {
            let d = distance(*q, p);
            if d < best.0 {
                best = (d, *along);
            }
        }
        best.1
    }
}

/// The place reached by walking from a point of the midline straight to the
/// client's right.
pub(crate) fn sideways(shape: &ScalpShape, from: Vec3, far: f64) -> Vec3 {
    let centre = shape.centre();
    let s = shape.stretch();
    let out = sub(from, centre);
    let out = unit([0.0, out[1] / s[1], out[2] / s[2]]);
    let at = |angle: f64| shape.towards(add(scale(out, real::cos(angle)), [real::sin(angle), 0.0, 0.0]));
    let mut here = from;
    let mut walked = 0.0;
    for k in 1..300 {
        let next = at(0.01 * f64::from(k));
        let step = distance(here, next);
        if walked + step >= far {
            return shape.project(lerp(here, next, (far - walked) / step));
        }
        walked += step;
        here = next;
    }
    here
}

/// The place on the right side of the skin with the given y and z.
pub(crate) fn on_right_side(shape: &ScalpShape, y: f64, z: f64) -> Vec3 {
    let centre = shape.centre();
    let (mut inside, mut outside) = (0.0, 200.0 * shape.stretch()[0]);
    for _ in 0..48 {
        let x = 0.5 * (inside + outside);
        let p = [x, y, z];
        if distance(p, centre) < distance(shape.project(p), centre) { inside = x } else { outside = x }
    }
    shape.project([inside, y, z])
}

/// The place so far in front of and above a place on the right side, gaze level.
pub(crate) fn beside(shape: &ScalpShape, origin: Vec3, forward: f64, up: f64) -> Vec3 {
    let [_, sine, cosine] = template::UP;
    let y = origin[1] + forward * cosine + up * sine;
    let z = origin[2] - forward * sine + up * cosine;
    on_right_side(shape, y, z)
}

/// A smooth line on the skin through some places, the first of them on the
/// midline and met square to it; about 3 mm from point to point.
pub(crate) fn smooth_line(shape: &ScalpShape, places: &[Vec3]) -> Vec<Vec3> {
    let n = places.len();
    if n < 2 {
        return places.to_vec();
    }
    let place = |i: isize| -> Vec3 {
        if i < 0 {
            measure::vector::mirror(places[1])
        } else if i as usize >= n {
            sub(scale(places[n - 1], 2.0), places[n - 2])
        } else {
            places[i as usize]
        }
    };
    let mut line = vec![places[0]];
    for i in 0..n - 1 {
        let (p0, p1, p2, p3) = (place(i as isize - 1), places[i], places[i + 1], place(i as isize + 2));
        // Tangents by the neighbours, weighted by distance so that uneven
        // spacing makes no loops (centripetal). *Source*: key `catmull1974`.
        let gap = |a: Vec3, b: Vec3| distance(a, b).sqrt().max(1e-6);
        let (d1, d2, d3) = (gap(p0, p1), gap(p1, p2), gap(p2, p3));
        let tangent = |a: Vec3, b: Vec3, c: Vec3, da: f64, db: f64| {
            add(sub(scale(sub(b, a), 1.0 / da), scale(sub(c, a), 1.0 / (da + db))), scale(sub(c, b), 1.0 / db))
        };
        let m1 = scale(tangent(p0, p1, p2, d1, d2), d2);
        let m2 = scale(tangent(p1, p2, p3, d2, d3), d2);
        let pieces = (distance(p1, p2) / 3.0).ceil().max(1.0) as usize;
        for k in 1..=pieces {
            let t = k as f64 / pieces as f64;
            let (t2, t3) = (t * t, t * t * t);
            let p = add(
                add(scale(p1, 2.0 * t3 - 3.0 * t2 + 1.0), scale(m1, t3 - 2.0 * t2 + t)),
                add(scale(p2, 3.0 * t2 - 2.0 * t3), scale(m2, t3 - t2)),
            );
            line.push(shape.project(p));
        }
    }
    line
}

/// A right half as a whole line, from the client's left to her right.
pub(crate) fn both_sides(right: &[Vec3]) -> Vec<Vec3> {
    let mut line: Vec<Vec3> = right.iter().skip(1).rev().map(|p| measure::vector::mirror(*p)).collect();
    line.extend_from_slice(right);
    line
}
