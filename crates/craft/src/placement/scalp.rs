//! What the planner asks of a head and of the styles worn on it.

use super::part::HeadPart;
use crate::coverage::{Covering, Style, StyleFlow};
use head::{Border, Head, SkinPoint, Whereabouts, Zone};
use measure::Length;

/// Distance between neighbouring points of a combed line, mm. The chord of so
/// short a way lies within a hundredth of a millimetre of any scalp.
pub const COMB_STEP_MM: f64 = 2.5;

/// A parting as the planner holds it: points every [`COMB_STEP_MM`] along it,
/// one of them on the middle.
///
/// ```
/// use craft::placement::Line;
/// use head::SkinPoint;
/// use measure::Length;
/// let mm = Length::mm;
/// // A straight line of 100 mm, read between its points.
/// let line = Line::comb(mm(60.0), mm(10.0), (mm(-50.0), mm(50.0)), mm(80.0), |s| Some(SkinPoint([s.to_mm(), 0.0, 0.0]))).unwrap();
/// assert!((line.at(mm(31.0)).unwrap().0[0] - 31.0).abs() < 1e-9);
/// assert_eq!(line.at(mm(60.0)), None);
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    above_nape: Length,
    level: Length,
    section: Length,
    /// Along of the first point, in steps from the middle; negative to the left.
    first: i32,
    points: Vec<SkinPoint>,
}

impl Line {
    /// Combs a line from its ends and the place at each distance along it;
    /// `level` is its height with the gaze level, `section` where it meets the
    /// sectioning line, from the middle.
    #[must_use]
    pub fn comb(
        above_nape: Length,
        level: Length,
        extent: (Length, Length),
        section: Length,
        at: impl Fn(Length) -> Option<SkinPoint>,
    ) -> Option<Self> {
        let first = (extent.0.to_mm() / COMB_STEP_MM).ceil() as i32;
        let last = (extent.1.to_mm() / COMB_STEP_MM).floor() as i32;
        if first >= last || last - first > 1000 {
            return None;
        }
        let points: Option<Vec<SkinPoint>> = (first..=last).map(|step| at(Length::mm(f64::from(step) * COMB_STEP_MM))).collect();
        Some(Self { above_nape, level, section, first, points: points? })
    }

    /// Where it starts on the middle, up from the nape hairline.
    #[must_use]
    pub const fn above_nape(&self) -> Length {
        self.above_nape
    }

    /// Its height with the gaze level, from any one plane.
    #[must_use]
    pub const fn level(&self) -> Length {
        self.level
    }

    /// Where it meets the sectioning line on either side, from the middle.
    #[must_use]
    pub const fn section(&self) -> Length {
        self.section
    }

    /// The part of the head that a place along it lies in.
    #[must_use]
    pub fn part_at(&self, along: Length) -> HeadPart {
        if along.abs() < self.section {
            HeadPart::Back
        } else if along < Length::ZERO {
            HeadPart::Left
        } else {
            HeadPart::Right
        }
    }

    /// Its two ends, along.
    #[must_use]
    pub fn extent(&self) -> (Length, Length) {
        let at = |step: i32| Length::mm(f64::from(step) * COMB_STEP_MM);
        (at(self.first), at(self.first + self.points.len() as i32 - 1))
    }

    /// How far the middle of a stretch lies off the straight between its ends;
    /// nothing where it reaches beyond the line.
    #[must_use]
    pub fn bow(&self, middle: Length, half: Length) -> Option<Length> {
        let (a, m, b) = (self.at(middle - half)?.0, self.at(middle)?, self.at(middle + half)?.0);
        let straight: [f64; 3] = std::array::from_fn(|i| (a[i] + b[i]) / 2.0);
        Some(m.straight_to(SkinPoint(straight)))
    }

    /// The place at a distance along; nothing beyond the ends.
    #[must_use]
    pub fn at(&self, along: Length) -> Option<SkinPoint> {
        let steps = along.to_mm() / COMB_STEP_MM - f64::from(self.first);
        let below = steps.floor();
        if below < 0.0 {
            return None;
        }
        let from = self.points.get(below as usize)?;
        let share = steps - below;
        if share == 0.0 {
            return Some(*from);
        }
        let to = self.points.get(below as usize + 1)?;
        let mut place = from.0;
        for (x, y) in place.iter_mut().zip(to.0) {
            *x += share * (y - *x);
        }
        Some(SkinPoint(place))
    }

    /// The foot of a place on this line: the distance along of the point of the
    /// line nearest to it. On the mirror image it has the mirrored foot, to the
    /// last digit.
    #[must_use]
    pub fn foot(&self, p: SkinPoint) -> Length {
        let left = p.0[0] < 0.0;
        let q = if left { p.mirrored() } else { p };
        // The right half, from the middle on.
        let middle = usize::try_from(-self.first).unwrap_or(0).min(self.points.len() - 1);
        let right = &self.points[middle..];
        let last = right.len() - 1;
        if last == 0 {
            return Length::ZERO;
        }
        let near = (0..=last).fold((f64::INFINITY, 0), |best, i| {
            let d = right[i].straight_to(q).to_mm();
            if d < best.0 { (d, i) } else { best }
        });
        let ahead = |i: usize| {
            let before = if i == 0 { right[1].mirrored().0 } else { right[i - 1].0 };
            let after = right[(i + 1).min(last)].0;
            (0..3).map(|k| (q.0[k] - right[i].0[k]) * (after[k] - before[k])).sum::<f64>()
        };
        let mut i = near.1.min(last - 1);
        if ahead(i) < 0.0 && i > 0 {
            i -= 1;
        }
        let (from, to) = (ahead(i), ahead(i + 1));
        let share = if from - to > 1e-12 { (from / (from - to)).clamp(0.0, 1.0) } else { 0.0 };
        let along = Length::mm((i as f64 + share) * COMB_STEP_MM);
        if left { -along } else { along }
    }
}

/// A head, as far as placing goes.
pub trait Scalp {
    /// The parting that starts so far up the middle from the nape hairline,
    /// where there is one.
    fn line(&self, above_nape: Length) -> Option<Line>;
    /// How far above the top of the ear a parting meets the sectioning line.
    fn up_ear_line(&self, above_nape: Length) -> Option<Length>;
    /// How far up the middle a parting starts that meets the sectioning line so
    /// far above the top of the ear.
    fn of_ear_line(&self, up_ear_line: Length) -> Option<Length>;
    /// The way up the middle to the top of the head.
    fn top_above_nape(&self) -> Length;
    /// Whether hair grows there.
    fn bears_hair(&self, p: SkinPoint) -> bool;
    /// Distance along the skin from a border of the hair.
    fn clearance(&self, border: Border, p: SkinPoint) -> Length;
    /// Whether a place is behind the sectioning line.
    fn is_behind_ears(&self, p: SkinPoint) -> bool;
    /// The region.
    fn zone(&self, p: SkinPoint) -> Zone;
    /// How far up the middle the parting through the crown starts.
    fn crown_above_nape(&self) -> Length;
    /// One standard error of a place.
    fn sigma_at(&self, p: SkinPoint) -> Length;
    /// Everything about a place at once.
    fn whereabouts(&self, p: SkinPoint) -> Whereabouts {
        Whereabouts {
            bears_hair: self.bears_hair(p),
            is_behind_ears: self.is_behind_ears(p),
            zone: self.zone(p),
            clearances: Border::ALL.map(|border| self.clearance(border, p)),
        }
    }
}

impl Scalp for Head {
    fn line(&self, above_nape: Length) -> Option<Line> {
        let parting = self.parting(above_nape)?;
        Line::comb(above_nape, parting.level(), parting.extent(), parting.section(), |along| parting.at(along))
    }
    fn up_ear_line(&self, above_nape: Length) -> Option<Length> {
        Self::up_ear_line(self, above_nape)
    }
    fn of_ear_line(&self, up_ear_line: Length) -> Option<Length> {
        Self::of_ear_line(self, up_ear_line)
    }
    fn top_above_nape(&self) -> Length {
        Self::top_above_nape(self)
    }
    fn bears_hair(&self, p: SkinPoint) -> bool {
        Self::bears_hair(self, p)
    }
    fn clearance(&self, border: Border, p: SkinPoint) -> Length {
        Self::clearance(self, border, p)
    }
    fn is_behind_ears(&self, p: SkinPoint) -> bool {
        Self::is_behind_ears(self, p)
    }
    fn zone(&self, p: SkinPoint) -> Zone {
        Self::zone(self, p)
    }
    fn crown_above_nape(&self) -> Length {
        self.height_above_nape(self.landmarks().crown)
    }
    fn sigma_at(&self, p: SkinPoint) -> Length {
        Self::sigma_at(self, p)
    }
    fn whereabouts(&self, p: SkinPoint) -> Whereabouts {
        Self::whereabouts(self, p)
    }
}

/// A style, as far as it hides bonds.
pub trait Hiding {
    /// The style.
    fn style(&self) -> Style;
    /// How a bond is hidden whose slice is taken at a place.
    fn at(&self, slice: SkinPoint) -> Covering;
    /// How a bond is hidden at its worst place between the slice's ends.
    fn worst_over_bond(&self, ends: (SkinPoint, SkinPoint)) -> Covering;
}

impl Hiding for StyleFlow {
    fn style(&self) -> Style {
        Self::style(self)
    }
    fn at(&self, slice: SkinPoint) -> Covering {
        Self::at(self, slice)
    }
    fn worst_over_bond(&self, ends: (SkinPoint, SkinPoint)) -> Covering {
        Self::worst_over_bond(self, ends)
    }
}
