//! A parting: the line combed across the scalp under which a row is set.

use crate::point::SkinPoint;
use crate::vector::{Vec3, distance, lerp, mirror, sub, unit};
use measure::Length;

/// A clean line across the head, every point of it at one distance from the
/// nape hairline, from the client's left to her right.
#[derive(Debug, Clone, PartialEq)]
pub struct Parting {
    above_nape: f64,
    up_midline: f64,
    points: Vec<SkinPoint>,
    /// The right half: from the middle outward, with the tape's reading at
    /// each point. The left half is its mirror image, so that the same
    /// distance on either side is the same place to the last digit.
    right: Vec<Vec3>,
    along: Vec<f64>,
}

impl Parting {
    /// The parting of a right half, of which the tape reads `taped` times its length.
    pub(crate) fn of_half(above_nape: f64, up_midline: f64, right: Vec<Vec3>, taped: f64) -> Option<Self> {
        if right.len() < 2 {
            return None;
        }
        let mut along = vec![0.0; right.len()];
        for i in 1..right.len() {
            along[i] = along[i - 1] + taped * distance(right[i - 1], right[i]);
        }
        let points = crate::midline::both_sides(&right).into_iter().map(SkinPoint).collect();
        Some(Self { above_nape, up_midline, points, right, along })
    }

    /// The distance along the skin from the nape hairline.
    #[must_use]
    pub fn above_nape(&self) -> Length {
        Length::mm(self.above_nape)
    }

    /// Where it crosses the midline: what a tape reads that runs from the middle
    /// of the nape hairline straight up. As the hairline is curved, its middle is
    /// not the nearest of it to a place high on the midline, and this is more
    /// than [`Parting::above_nape`].
    #[must_use]
    pub fn up_midline(&self) -> Length {
        Length::mm(self.up_midline)
    }

    /// The length from end to end, as a tape laid along it reads.
    #[must_use]
    pub fn length(&self) -> Length {
        self.extent().1 * 2.0
    }

    /// The points, left to right.
    #[must_use]
    pub fn points(&self) -> &[SkinPoint] {
        &self.points
    }

    /// The two ends as distances along, from the middle; plus to the client's right.
    #[must_use]
    pub fn extent(&self) -> (Length, Length) {
        let end = Length::mm(self.along[self.along.len() - 1]);
        (-end, end)
    }

    /// The place at a distance along from the middle; none beyond the ends.
    #[must_use]
    pub fn at(&self, along: Length) -> Option<SkinPoint> {
        let (i, t) = self.piece(along)?;
        let p = lerp(self.right[i], self.right[i + 1], t);
        Some(SkinPoint(if along < Length::ZERO { mirror(p) } else { p }))
    }

    /// The unit direction towards the client's right at a distance along;
    /// none beyond the ends.
    #[must_use]
    pub fn tangent_at(&self, along: Length) -> Option<[f64; 3]> {
        let (i, _) = self.piece(along)?;
        let [x, y, z] = unit(sub(self.right[i + 1], self.right[i]));
        Some(if along < Length::ZERO { [x, -y, -z] } else { [x, y, z] })
    }

    /// The distance along of the place on the parting nearest to `p`.
    #[must_use]
    pub fn along_of(&self, p: SkinPoint) -> Length {
        let q = [p.0[0].abs(), p.0[1], p.0[2]];
        let along = nearest_along(&self.right, &self.along, q);
        Length::mm(if p.0[0] < 0.0 { -along } else { along })
    }

    fn piece(&self, along: Length) -> Option<(usize, f64)> {
        let along = along.to_mm().abs();
        if !(along <= self.along[self.along.len() - 1]) {
            return None;
        }
        let i = self.along.partition_point(|a| *a <= along).clamp(1, self.along.len() - 1) - 1;
        let (from, to) = (self.along[i], self.along[i + 1]);
        Some((i, if to > from { (along - from) / (to - from) } else { 0.0 }))
    }
}

/// The reading of `along` at the place of a row of joined points nearest to `p`.
pub(crate) fn nearest_along(line: &[Vec3], along: &[f64], p: Vec3) -> f64 {
    let (i, t) = nearest_piece(line, p);
    along[i] + t * (along[i + 1] - along[i])
}

/// The place of a row of joined points nearest to `p`: between which two, and
/// what share of the way. The row has at least two.
pub(crate) fn nearest_piece(line: &[Vec3], p: Vec3) -> (usize, f64) {
    let mut best = (f64::INFINITY, 0, 0.0);
    for (i, w) in line.windows(2).enumerate() {
        let t = crate::path::share_of_piece(w[0], w[1], p);
        let d = distance(p, lerp(w[0], w[1], t));
        if d < best.0 {
            best = (d, i, t);
        }
    }
    (best.1, best.2)
}
