//! A parting: the line combed across the scalp under which a row is set.

use crate::level::LevelLine;
use crate::midline::both_sides;
use crate::piece_of_line::nearest_piece;
use crate::point::SkinPoint;
use measure::Length;
use measure::vector::{Vec3, distance, lerp, mirror, sub, unit};

/// A clean line across the head, every point of it at one height with the gaze
/// level, from the hair's edge on the client's left to that on her right.
///
/// *Meaning*: it is named by where it starts on the middle. Behind the
/// sectioning lines lies the row of the back, before them those of the sides;
/// where an ear comes first, the hair ends behind it.
#[derive(Debug, Clone, PartialEq)]
pub struct Parting {
    up: f64,
    level: f64,
    points: Vec<SkinPoint>,
    /// The right half: from the middle outward, with the tape's reading at
    /// each point. The left half is its mirror image, so that the same
    /// distance on either side is the same place to the last digit.
    right: Vec<Vec3>,
    along: Vec<f64>,
    section: f64,
}

impl Parting {
    /// The hair-bearing part of a level line, of which the tape reads `taped`
    /// times its length; `section` is where it meets the sectioning line.
    pub(crate) fn of_line(up: f64, line: &LevelLine, right: Vec<Vec3>, section: f64, taped: f64) -> Option<Self> {
        if right.len() < 2 {
            return None;
        }
        let mut along = vec![0.0; right.len()];
        for i in 1..right.len() {
            along[i] = along[i - 1] + taped * distance(right[i - 1], right[i]);
        }
        let points = both_sides(&right).into_iter().map(SkinPoint).collect();
        Some(Self { up, level: line.level().to_mm(), points, right, along, section: section * taped })
    }

    /// What a tape reads from the middle of the nape hairline straight up to
    /// where the parting starts.
    #[must_use]
    pub fn above_nape(&self) -> Length {
        Length::mm(self.up)
    }

    /// Its height in the head's frame, gaze level.
    #[must_use]
    pub fn level(&self) -> Length {
        Length::mm(self.level)
    }

    /// Where it meets the sectioning line that runs up from the ear, from the
    /// middle; as if it ran through the ear, where it lies lower.
    #[must_use]
    pub fn section(&self) -> Length {
        Length::mm(self.section)
    }

    /// Where the row of the back ends on either side: at the sectioning line,
    /// or where the hair ends behind the ear.
    #[must_use]
    pub fn back_end(&self) -> Length {
        self.section().min(self.extent().1)
    }

    /// Whether the row of the back ends behind an ear, below the sectioning line.
    #[must_use]
    pub fn ends_behind_ear(&self) -> bool {
        self.extent().1 < self.section()
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

    /// The distance along of the place on the parting nearest to `p`: for a
    /// place on a row above, its foot.
    #[must_use]
    pub fn along_of(&self, p: SkinPoint) -> Length {
        let q = [p.0[0].abs(), p.0[1], p.0[2]];
        let (i, t) = nearest_piece(&self.right, q);
        let along = self.along[i] + t * (self.along[i + 1] - self.along[i]);
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
