//! What the planner asks of a head and of the styles worn on it.

use crate::coverage::{Covering, Style, StyleFlow};
use head::{Border, Head, ScalpShape, SkinPoint, Whereabouts, Zone};
use measure::Length;

/// Distance between neighbouring points of a combed line, mm. The chord of so
/// short a way lies within a hundredth of a millimetre of any scalp.
pub const COMB_STEP_MM: f64 = 2.5;

/// A parting as the planner holds it: points every [`COMB_STEP_MM`] along it,
/// one of them on the middle.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    above_nape: Length,
    /// Along of the first point, in steps from the middle; negative to the left.
    first: i32,
    points: Vec<SkinPoint>,
}

impl Line {
    /// Combs a line from its ends and the place at each distance along it.
    #[must_use]
    pub fn comb(above_nape: Length, extent: (Length, Length), at: impl Fn(Length) -> Option<SkinPoint>) -> Option<Self> {
        let first = (extent.0.to_mm() / COMB_STEP_MM).ceil() as i32;
        let last = (extent.1.to_mm() / COMB_STEP_MM).floor() as i32;
        if first >= last || last - first > 1000 {
            return None;
        }
        let points: Option<Vec<SkinPoint>> =
            (first..=last).map(|step| at(Length::mm(f64::from(step) * COMB_STEP_MM))).collect();
        Some(Self { above_nape, first, points: points? })
    }

    /// Its distance from the nape hairline.
    #[must_use]
    pub const fn above_nape(&self) -> Length {
        self.above_nape
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
}

/// A head, as far as placing goes.
pub trait Scalp {
    /// The parting at a distance from the nape hairline, where there is one.
    fn line(&self, above_nape: Length) -> Option<Line>;
    /// Whether hair grows there.
    fn bears_hair(&self, p: SkinPoint) -> bool;
    /// Distance along the skin from a border of the hair.
    fn clearance(&self, border: Border, p: SkinPoint) -> Length;
    /// Whether a place is behind the ear-to-ear line.
    fn is_behind_ears(&self, p: SkinPoint) -> bool;
    /// The region.
    fn zone(&self, p: SkinPoint) -> Zone;
    /// The crown's distance from the nape hairline.
    fn crown_above_nape(&self) -> Length;
    /// Whether a place is higher than the crown, the gaze level; a scalp that
    /// does not know its pose says no, and the distance from the nape decides.
    fn is_above_crown(&self, _p: SkinPoint) -> bool {
        false
    }
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
        Line::comb(above_nape, parting.extent(), |along| parting.at(along))
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
    fn is_above_crown(&self, p: SkinPoint) -> bool {
        let up = ScalpShape::up();
        let level = |q: SkinPoint| q.0.iter().zip(up).map(|(x, u)| x * u).sum::<f64>();
        level(p) > level(self.landmarks().crown)
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
