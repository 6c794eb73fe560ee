//! A parting: the line combed across the scalp under which a row is set.

use crate::point::SkinPoint;
use crate::vector::{lerp, unit, sub};
use measure::Length;

/// A clean line across the back of the head, every point of it at one
/// distance from the nape hairline, from the client's left to her right.
#[derive(Debug, Clone, PartialEq)]
pub struct Parting {
    pub(crate) above_nape: f64,
    pub(crate) points: Vec<SkinPoint>,
    /// Distance along the parting of each point, from the middle, mm; already
    /// scaled to the taped length where there is one.
    pub(crate) along: Vec<f64>,
}

impl Parting {
    /// The distance along the skin from the nape hairline.
    #[must_use]
    pub fn above_nape(&self) -> Length {
        Length::mm(self.above_nape)
    }

    /// The length from end to end, as a tape laid along it reads.
    #[must_use]
    pub fn length(&self) -> Length {
        let (from, to) = self.extent();
        to - from
    }

    /// The points, left to right.
    #[must_use]
    pub fn points(&self) -> &[SkinPoint] {
        &self.points
    }

    /// The two ends as distances along, from the middle; plus to the client's right.
    #[must_use]
    pub fn extent(&self) -> (Length, Length) {
        match (self.along.first(), self.along.last()) {
            (Some(from), Some(to)) => (Length::mm(*from), Length::mm(*to)),
            _ => (Length::ZERO, Length::ZERO),
        }
    }

    /// The place at a distance along from the middle; none beyond the ends.
    #[must_use]
    pub fn at(&self, along: Length) -> Option<SkinPoint> {
        let (i, t) = self.piece(along.to_mm())?;
        Some(SkinPoint(lerp(self.points[i].0, self.points[i + 1].0, t)))
    }

    /// The unit direction towards the client's right at a distance along.
    #[must_use]
    pub fn tangent_at(&self, along: Length) -> Option<[f64; 3]> {
        let (i, _) = self.piece(along.to_mm())?;
        Some(unit(sub(self.points[i + 1].0, self.points[i].0)))
    }

    fn piece(&self, along: f64) -> Option<(usize, f64)> {
        let last = *self.along.last()?;
        if !(self.along[0]..=last).contains(&along) || self.along.len() < 2 {
            return None;
        }
        let i = self.along.partition_point(|a| *a <= along).clamp(1, self.along.len() - 1) - 1;
        let (from, to) = (self.along[i], self.along[i + 1]);
        Some((i, if to > from { (along - from) / (to - from) } else { 0.0 }))
    }
}
