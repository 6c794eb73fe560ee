//! A sheet of flow lines side by side, with the hair they gather.
//!
//! Legend: lines are numbered by a parameter (an angle at a point, or the
//! position of a plane); `s` runs along a line; `J` is the width of skin between
//! neighbouring lines per unit of the parameter. The hair rooted between two
//! lines over `ds` is `rho J ds`, so the flux through the skin at `s` is
//! `F = (integral of rho J upstream) / J`. On a plane, a sphere or any surface
//! of revolution this is the closed form; on a head it needs no other rule.

mod courses;
mod find;
mod weave;

use measure::vector::{Vec3, dot};

/// Length of one step, mm. Path and integral err by about the square and the
/// fourth power of step over radius of the head: 0.01 % in all at 2 mm; half
/// the step takes twice the time.
const STEP: f64 = 2.0;
/// Nearest to the start of a line that is told apart, in steps.
const NEAR_START: f64 = 0.25;
/// How far past its usable end a line still serves, in steps: lines from two
/// sides that meet leave a seam of about this width, at which hair begins.
const BEYOND_END: f64 = 2.5;

/// Hair that stands at a place: strands per mm2, and their summed diameter per
/// mm2 (so that thin strands hide less).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Roots {
    pub strands: f64,
    pub width: f64,
}

impl Roots {
    /// No hair.
    pub(super) const NONE: Self = Self { strands: 0.0, width: 0.0 };
}

/// A place of a line whose roots are asked for, with the normal there. They
/// are asked for line by line, in order from the line's start.
#[derive(Debug, Clone, Copy)]
pub(super) struct RootPlace {
    pub p: Vec3,
    pub n: Vec3,
}

/// A quantity gathered along a line: strands, and their summed diameter.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Gathered {
    pub strands: f64,
    pub width: f64,
}

impl Gathered {
    fn plus(self, other: Self, k: f64) -> Self {
        Self { strands: self.strands + k * other.strands, width: self.width + k * other.width }
    }

    fn mixed(self, other: Self, share: f64) -> Self {
        Self { strands: self.strands + share * (other.strands - self.strands), width: self.width + share * (other.width - self.width) }
    }

    /// What lies between two places of one line, whichever comes first.
    pub(super) fn between(self, other: Self) -> Self {
        Self { strands: (self.strands - other.strands).abs(), width: (self.width - other.width).abs() }
    }
}

#[derive(Debug, Clone, Copy)]
struct Node {
    p: Vec3,
    n: Vec3,
    t: Vec3,
    /// Across the line, towards the next one.
    b: Vec3,
    s: f64,
    /// Width per unit of parameter.
    j: f64,
    /// How far round the node stands as seen from inside; grows along the line.
    round: f64,
    /// Gathered per mm of line, and from the start of the line.
    rate: Gathered,
    sum: Gathered,
}

/// Where hair begins on a line: nothing lies upstream of it.
#[derive(Debug, Clone, Copy)]
struct Source {
    /// In steps from the start of the line.
    k: f64,
    sum: Gathered,
}

/// Last touch with the head of hair that falls.
#[derive(Debug, Clone, Copy)]
struct Leaving {
    k: f64,
    j: f64,
}

/// Where on the sheet a place is: line and step, both with fractions.
#[derive(Debug, Clone, Copy)]
pub(super) struct Spot {
    line: f64,
    k: f64,
}

/// How places are found on the sheet.
#[derive(Debug, Clone, Copy)]
enum Finder {
    /// Lines shot from one point: by the angle there.
    Fan { centre: Vec3, axis: Vec3, e1: Vec3, e2: Vec3 },
    /// Plane sections: by the position of the plane.
    Planes { centre: Vec3, axis: Vec3, first: f64 },
}

/// Lines side by side.
#[derive(Debug, Clone)]
pub(super) struct Sheet {
    nodes: Vec<Node>,
    /// Nodes on each line.
    length: usize,
    /// The last node of each line that may be used.
    ends: Vec<usize>,
    sources: Vec<Source>,
    leaving: Vec<Option<Leaving>>,
    spacing: f64,
    finder: Finder,
}

impl Sheet {
    fn lines(&self) -> usize {
        self.ends.len()
    }

    fn is_closed(&self) -> bool {
        matches!(self.finder, Finder::Fan { .. })
    }

    fn line(&self, i: usize) -> &[Node] {
        &self.nodes[i * self.length..(i + 1) * self.length]
    }

    /// Hair begins at the far end of every line and is drawn to its start.
    pub(super) fn drawn_to_start(mut self) -> Self {
        for i in 0..self.lines() {
            let k = self.ends[i];
            self.sources[i] = Source { k: k as f64, sum: self.line(i)[k].sum };
        }
        self
    }

    /// Hair begins at a given place of every line and is drawn to its start.
    pub(super) fn drawn_to_start_from(mut self, place: Vec3) -> Self {
        // Only on a surface of revolution is one distance right for all lines.
        let Some(spot) = self.find(place) else { return self };
        for i in 0..self.lines() {
            let k = spot.k.min(self.ends[i] as f64);
            self.sources[i] = Source { k, sum: self.sum_at(i, k) };
        }
        self
    }

    /// Hair begins on every line where `height` first falls below zero; the
    /// part before is drawn to the start, the part behind falls away from it.
    pub(super) fn divided(mut self, height: impl Fn(Vec3) -> f64) -> Self {
        for i in 0..self.lines() {
            let line = self.line(i);
            let end = self.ends[i];
            let below = (1..=end).find(|&k| height(line[k].p) < 0.0);
            let k = below.map_or(end as f64, |k| {
                let (a, b) = (height(line[k - 1].p), height(line[k].p));
                if a > b { (k - 1) as f64 + (a / (a - b)).clamp(0.0, 1.0) } else { k as f64 }
            });
            self.sources[i] = Source { k, sum: self.sum_at(i, k) };
        }
        self
    }

    /// Falling hair leaves the head where the skin first turns away below and
    /// hangs straight down from there, neither spreading nor closing up.
    pub(super) fn hanging(mut self, up: Vec3) -> Self {
        for i in 0..self.lines() {
            let line = self.line(i);
            let from = self.sources[i].k.ceil() as usize;
            let falls = |k: usize| dot(line[k].n, up) <= 0.0 && dot(line[k].t, up) < 0.0;
            self.leaving[i] = (from..=self.ends[i]).find(|&k| falls(k)).map(|k| Leaving { k: k as f64, j: line[k].j });
        }
        self
    }

    /// Whether hair at a spot is drawn towards the start of the line, and where
    /// the place so many mm downstream of it lies.
    pub(super) fn downstream(&self, spot: Spot, distance: f64) -> Spot {
        let steps = distance / STEP;
        let k = if self.is_drawn(spot) { (spot.k - steps).max(0.5) } else { spot.k + steps };
        Spot { line: spot.line, k }
    }

    fn is_drawn(&self, spot: Spot) -> bool {
        spot.k <= self.across(spot.line, |i| self.sources[i].k)
    }

    /// Hair rooted upstream of a spot, at most `reach` mm away, per unit of the
    /// lines' parameter.
    pub(super) fn upstream(&self, spot: Spot, reach: f64) -> Gathered {
        let here = self.sum_of(spot);
        let source = self.across(spot.line, |i| self.sources[i].k);
        let steps = reach / STEP;
        let far = if spot.k <= source { spot.k + steps } else { spot.k - steps };
        let within = if spot.k <= source { far < source } else { far > source };
        let begin = if within {
            self.sum_of(Spot { line: spot.line, k: far })
        } else {
            let Some((i, next, f)) = self.pair(spot.line) else { return Gathered::default() };
            self.sources[i].sum.mixed(self.sources[next].sum, f)
        };
        begin.between(here)
    }

    /// Width per unit of parameter at a spot; of hair that has left the head,
    /// the width at its last touch.
    pub(super) fn width_at(&self, spot: Spot) -> f64 {
        let Some((i, next, f)) = self.pair(spot.line) else { return f64::INFINITY };
        let own = |line: usize| match self.leaving[line] {
            Some(leaving) if spot.k > leaving.k => leaving.j,
            _ => self.j_at(line, spot.k),
        };
        ((1.0 - f) * own(i) + f * own(next)).max(1e-3)
    }

    fn sum_of(&self, spot: Spot) -> Gathered {
        let Some((i, next, f)) = self.pair(spot.line) else { return Gathered::default() };
        self.sum_at(i, spot.k).mixed(self.sum_at(next, spot.k), f)
    }

    /// The sum at a fraction of a step: the cubic with the rates as its slopes.
    fn sum_at(&self, i: usize, k: f64) -> Gathered {
        let line = self.line(i);
        let end = self.ends[i];
        let k = k.clamp(0.0, end as f64);
        let a = (k as usize).min(end.saturating_sub(1));
        let g = k - a as f64;
        let (from, to) = (&line[a], &line[(a + 1).min(end)]);
        let step = to.s - from.s;
        let (g2, g3) = (g * g, g * g * g);
        let zero = Gathered::default();
        zero.plus(from.sum, 2.0 * g3 - 3.0 * g2 + 1.0)
            .plus(to.sum, 3.0 * g2 - 2.0 * g3)
            .plus(from.rate, (g3 - 2.0 * g2 + g) * step)
            .plus(to.rate, (g3 - g2) * step)
    }

    /// The width at a fraction of a step: the cubic through four nodes.
    fn j_at(&self, i: usize, k: f64) -> f64 {
        let line = self.line(i);
        let end = self.ends[i];
        if end < 3 {
            return line[end].j;
        }
        let k = k.clamp(0.0, end as f64);
        let a = (k as usize).clamp(1, end - 2);
        let g = k - a as f64;
        let [w, x, y, z] = [line[a - 1].j, line[a].j, line[a + 1].j, line[a + 2].j];
        w * (-g * (g - 1.0) * (g - 2.0) / 6.0)
            + x * ((g + 1.0) * (g - 1.0) * (g - 2.0) / 2.0)
            + y * (-(g + 1.0) * g * (g - 2.0) / 2.0)
            + z * ((g + 1.0) * g * (g - 1.0) / 6.0)
    }

    fn across(&self, line: f64, of: impl Fn(usize) -> f64) -> f64 {
        self.pair(line).map_or(0.0, |(i, next, f)| (1.0 - f) * of(i) + f * of(next))
    }

    /// The two lines about a fractional one.
    fn pair(&self, line: f64) -> Option<(usize, usize, f64)> {
        let count = self.lines();
        if !line.is_finite() || line < 0.0 {
            return None;
        }
        let i = line as usize;
        let f = line - i as f64;
        if self.is_closed() {
            Some((i % count, (i + 1) % count, f))
        } else if i + 1 < count {
            Some((i, i + 1, f))
        } else {
            None
        }
    }

    fn wrapped(&self, line: f64) -> Option<f64> {
        let count = self.lines() as f64;
        if self.is_closed() {
            let inside = if line < 0.0 {
                line + count
            } else if line >= count {
                line - count
            } else {
                line
            };
            Some(inside)
        } else {
            // A place just outside the last plane is judged on it.
            line.is_finite().then(|| line.clamp(0.0, count - 1.0 - 1e-9))
        }
    }
}
