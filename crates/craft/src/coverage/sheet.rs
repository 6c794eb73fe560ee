//! A sheet of flow lines side by side, with the hair they gather.
//!
//! Legend: lines are numbered by a parameter (an angle at a point, or the
//! position of a plane); `s` runs along a line; `J` is the width of skin between
//! neighbouring lines per unit of the parameter. The hair rooted between two
//! lines over `ds` is `rho J ds`, so the flux through the skin at `s` is
//! `F = (integral of rho J upstream) / J`. On a plane, a sphere or any surface
//! of revolution this is the closed form; on a head it needs no other rule.

mod courses;

use super::trace::{Course, Station, next};
use super::vector::{Vec3, add, along, cross, dot, norm, scale, sub, unit};
use head::SmoothSkin;

/// Length of one step, mm. Path and integral err by about the square and the
/// fourth power of step over radius of the head: 0.01 % in all at 2 mm; half
/// the step takes twice the time.
const STEP: f64 = 2.0;
/// Lines shot from a point; must be even, so that a fan on the midline mirrors
/// itself. The width by five-point differences errs by the fourth power of the
/// angle between lines, 1e-7 at two degrees.
const FAN_LINES: usize = 180;

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

/// The lines of a fan or of plane sections before widths and roots are known.
struct Lines {
    stations: Vec<Vec<Station>>,
    finder: Finder,
    spacing: f64,
    length: usize,
}

impl Sheet {
    /// Shortest lines shot from a point all round, each `reach` mm long.
    pub(super) fn fan(skin: &impl SmoothSkin, from: Vec3, reach: f64, roots: &impl Fn(&[RootPlace]) -> Vec<Roots>) -> Self {
        let p = skin.project(from);
        let n = skin.normal(p);
        // Either reference lies in the plane that parts left from right.
        let reference = if n[2].abs() < 0.8 { [0.0, 0.0, 1.0] } else { [0.0, 1.0, 0.0] };
        let e1 = unit(along(reference, n, -dot(reference, n)));
        let e2 = cross(n, e1);
        let spacing = std::f64::consts::TAU / FAN_LINES as f64;
        let length = (reach / STEP).ceil().max(4.0) as usize + 1;
        let stations = (0..FAN_LINES)
            .map(|i| {
                let (sin, cos) = measure::real::sincos(i as f64 * spacing);
                let start = Station { p, n, t: add(scale(e1, cos), scale(e2, sin)), s: 0.0 };
                line(skin, start, Course::Shortest, length)
            })
            .collect();
        let centre = skin.centre();
        let finder = Finder::Fan { centre, axis: unit(sub(p, centre)), e1, e2 };
        Self::woven(Lines { stations, finder, spacing, length }, roots)
    }

    /// Plane sections across `axis`, begun at `starts` (one on each plane, in
    /// order and equally far apart) towards `side`.
    pub(super) fn planes(
        skin: &impl SmoothSkin,
        axis: Vec3,
        starts: &[Vec3],
        side: Vec3,
        reach: f64,
        roots: &impl Fn(&[RootPlace]) -> Vec<Roots>,
    ) -> Self {
        let length = (reach / STEP).ceil().max(4.0) as usize + 1;
        let stations = starts
            .iter()
            .map(|&p| {
                let n = skin.normal(p);
                let level = unit(cross(n, axis));
                let t = if dot(level, side) < 0.0 { scale(level, -1.0) } else { level };
                line(skin, Station { p, n, t, s: 0.0 }, Course::Across(axis), length)
            })
            .collect();
        let first = starts.first().map_or(0.0, |p| dot(*p, axis));
        let last = starts.last().map_or(0.0, |p| dot(*p, axis));
        let spacing = (last - first) / (starts.len().max(2) - 1) as f64;
        let finder = Finder::Planes { centre: skin.centre(), axis, first };
        Self::woven(Lines { stations, finder, spacing, length }, roots)
    }

    fn woven(lines: Lines, roots: &impl Fn(&[RootPlace]) -> Vec<Roots>) -> Self {
        let Lines { mut stations, finder, spacing, length } = lines;
        let mut ends: Vec<usize> = stations.iter().map(|line| line.len() - 1).collect();
        for line in &mut stations {
            let Some(&last) = line.last() else { continue };
            line.resize(length, last);
        }
        let closed = matches!(finder, Finder::Fan { .. });
        let mut nodes = Vec::with_capacity(stations.len() * length);
        for (i, line) in stations.iter().enumerate() {
            for (k, here) in line.iter().enumerate() {
                // Across towards the next line: to the left of the direction for
                // a fan, along the axis for planes.
                let left = cross(here.n, here.t);
                let b = match finder {
                    Finder::Planes { axis, .. } if dot(left, axis) < 0.0 => scale(left, -1.0),
                    _ => left,
                };
                let j = match finder {
                    Finder::Fan { .. } => fan_width(&stations, i, k, spacing, b),
                    // The skin between two planes is as wide as it leans against them.
                    Finder::Planes { axis, .. } => 1.0 / norm(cross(here.n, axis)).max(0.1),
                };
                // Where neighbours meet, or halves that mirror each other, shorter
                // lines come from the other side.
                let meets = j <= 0.02 * here.s.min(10.0) || crosses_middle(&line[0], here);
                if closed && k > 2 && meets {
                    ends[i] = ends[i].min(k - 1);
                }
                nodes.push(Node {
                    p: here.p,
                    n: here.n,
                    t: here.t,
                    b,
                    s: here.s,
                    j,
                    round: finder.round(here.p, line[0].p),
                    rate: Gathered::default(),
                    sum: Gathered::default(),
                });
            }
        }
        let lines = stations.len();
        let mut sheet = Self {
            nodes,
            length,
            ends,
            sources: vec![Source { k: 0.0, sum: Gathered::default() }; lines],
            leaving: vec![None; lines],
            spacing,
            finder,
        };
        for i in 0..lines {
            sheet.gather(i, roots);
        }
        sheet
    }

    fn lines(&self) -> usize {
        self.ends.len()
    }

    fn is_closed(&self) -> bool {
        matches!(self.finder, Finder::Fan { .. })
    }

    fn line(&self, i: usize) -> &[Node] {
        &self.nodes[i * self.length..(i + 1) * self.length]
    }

    /// Sums `rho J` along one line by the cubic through four nodes.
    fn gather(&mut self, i: usize, roots: &impl Fn(&[RootPlace]) -> Vec<Roots>) {
        let end = self.ends[i];
        let line = &mut self.nodes[i * self.length..(i + 1) * self.length];
        let row: Vec<RootPlace> = line[..=end].iter().map(|node| RootPlace { p: node.p, n: node.n }).collect();
        for (node, here) in line.iter_mut().zip(roots(&row)) {
            node.rate = Gathered { strands: here.strands * node.j, width: here.width * node.j };
        }
        let mut sum = Gathered::default();
        for k in 1..line.len() {
            if k <= end {
                let step = line[k].s - line[k - 1].s;
                let mut part = Gathered::default();
                let (inner, outer) = (13.0 / 24.0, -1.0 / 24.0);
                part = part.plus(line[k - 1].rate, inner * step).plus(line[k].rate, inner * step);
                // At the ends the cubic is continued by the parabola's symmetry.
                let before = if k >= 2 { line[k - 2].rate } else { beyond(line[0].rate, line[1].rate, line[2].rate) };
                let after = if k < end { line[k + 1].rate } else { beyond(line[k].rate, line[k - 1].rate, line[k.saturating_sub(2)].rate) };
                part = part.plus(before, outer * step).plus(after, outer * step);
                sum = sum.plus(Gathered { strands: part.strands.max(0.0), width: part.width.max(0.0) }, 1.0);
            }
            line[k].sum = sum;
        }
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

    /// Where on the sheet a place is; none when no line passes it.
    pub(super) fn find(&self, p: Vec3) -> Option<Spot> {
        let first = self.guess(p)?;
        self.walk(p, first).or_else(|| self.nearest(p).into_iter().find_map(|spot| self.walk(p, spot)))
    }

    /// From a first spot to the place by Newton's rule.
    fn walk(&self, p: Vec3, mut spot: Spot) -> Option<Spot> {
        let mut left = f64::INFINITY;
        for _ in 0..12 {
            let (i, next, f) = self.pair(spot.line)?;
            let last = self.ends[i].max(self.ends[next]);
            let k = (spot.k.max(0.0) as usize).min(self.length - 2);
            let g = spot.k - k as f64;
            let (a, b) = (self.line(i), self.line(next));
            let mix = |of: fn(&Node) -> Vec3| {
                let near = along(of(&a[k]), sub(of(&a[k + 1]), of(&a[k])), g);
                let far = along(of(&b[k]), sub(of(&b[k + 1]), of(&b[k])), g);
                along(near, sub(far, near), f)
            };
            let miss = sub(p, mix(|node| node.p));
            let step = a[k + 1].s - a[k].s;
            let j = (1.0 - f) * (a[k].j + g * (a[k + 1].j - a[k].j)) + f * (b[k].j + g * (b[k + 1].j - b[k].j));
            let ahead = dot(miss, mix(|node| node.t)) / step;
            let aside = match self.finder {
                Finder::Fan { .. } => dot(miss, mix(|node| node.b)) / (j * self.spacing).abs().max(1e-3),
                // Which plane a place lies in is known at once.
                Finder::Planes { .. } => self.plane(p)? - spot.line,
            };
            let at_start = spot.k <= NEAR_START && ahead <= 0.0;
            if ahead.abs() < 1e-8 && aside.abs() < 1e-8 || at_start {
                return (spot.k <= last as f64 + BEYOND_END).then_some(spot);
            }
            left = ahead.abs() + aside.abs();
            spot.k = (spot.k + ahead.clamp(-4.0, 4.0)).max(NEAR_START);
            spot.line = self.wrapped(spot.line + aside.clamp(-4.0, 4.0))?;
            if spot.k > last as f64 + 8.0 {
                return None;
            }
        }
        // Far off the sheet's skin the rule closes in slowly; a thousandth of a
        // step is close enough.
        let (i, next, _) = self.pair(spot.line)?;
        let last = self.ends[i].max(self.ends[next]) as f64;
        (left < 1e-3 && spot.k <= last + BEYOND_END).then_some(spot)
    }

    /// The nearest nodes by looking at every third of every third line, at most
    /// eight; where lines from two sides come together the first guess may
    /// follow one that has ended.
    fn nearest(&self, p: Vec3) -> Vec<Spot> {
        let mut found: Vec<(f64, Spot)> = (0..self.lines())
            .step_by(3)
            .filter_map(|i| {
                let from = |k: usize| {
                    let way = sub(p, self.line(i)[k].p);
                    dot(way, way)
                };
                let k = (1..=self.ends[i]).step_by(3).min_by(|a, b| from(*a).total_cmp(&from(*b)))?;
                Some((from(k), Spot { line: i as f64, k: k as f64 }))
            })
            .filter(|(distance, _)| *distance < 400.0)
            .collect();
        found.sort_by(|a, b| a.0.total_cmp(&b.0));
        found.into_iter().take(8).map(|(_, spot)| spot).collect()
    }

    /// The number of the plane that a place lies in.
    fn plane(&self, p: Vec3) -> Option<f64> {
        match self.finder {
            Finder::Planes { axis, first, .. } => self.wrapped((dot(p, axis) - first) / self.spacing),
            Finder::Fan { .. } => None,
        }
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

    /// A first spot from where the place is seen, from inside.
    fn guess(&self, p: Vec3) -> Option<Spot> {
        if self.lines() < 2 {
            return None;
        }
        let line = match self.finder {
            Finder::Fan { centre, e1, e2, .. } => {
                let ray = sub(p, centre);
                let angle = measure::real::atan2(dot(ray, e2), dot(ray, e1));
                self.wrapped(angle / self.spacing)?
            }
            Finder::Planes { .. } => self.plane(p)?,
        };
        let i = (line.round() as usize) % self.lines();
        let nodes = &self.line(i)[..=self.ends[i]];
        let round = self.finder.round(p, nodes[0].p);
        let k = nodes.partition_point(|node| node.round < round);
        Some(Spot { line, k: (k as f64 - 0.5).clamp(0.25, self.ends[i] as f64) })
    }
}

impl Finder {
    /// How far round `p` stands from the start of its line, growing along it.
    fn round(&self, p: Vec3, start: Vec3) -> f64 {
        match *self {
            Self::Fan { centre, axis, .. } => -dot(unit(sub(p, centre)), axis),
            Self::Planes { centre, axis, .. } => {
                let in_plane = |q: Vec3| {
                    let ray = sub(q, centre);
                    unit(along(ray, axis, -dot(ray, axis)))
                };
                -dot(in_plane(p), in_plane(start))
            }
        }
    }
}

/// Whether a line that began on the middle of a head has come back over it from
/// its own side.
fn crosses_middle(start: &Station, here: &Station) -> bool {
    start.p[0].abs() < 1e-6 && start.t[0].abs() > 1e-6 && here.p[0] * start.t[0] < -1e-9
}

/// The value one step beyond `a`, on the parabola through a, b, c.
fn beyond(a: Gathered, b: Gathered, c: Gathered) -> Gathered {
    Gathered::default().plus(a, 3.0).plus(b, -3.0).plus(c, 1.0)
}

fn line(skin: &impl SmoothSkin, start: Station, course: Course, length: usize) -> Vec<Station> {
    let mut stations = Vec::with_capacity(length);
    stations.push(start);
    let mut here = start;
    while stations.len() < length {
        let Some(ahead) = next(skin, &here, course, STEP) else { break };
        stations.push(ahead);
        here = ahead;
    }
    stations
}

/// Width of skin between the lines of a fan per radian, by five-point differences.
fn fan_width(stations: &[Vec<Station>], i: usize, k: usize, spacing: f64, b: Vec3) -> f64 {
    let count = stations.len();
    let at = |offset: usize| stations[(i + offset) % count][k].p;
    let near = dot(sub(at(1), at(count - 1)), b);
    let far = dot(sub(at(2), at(count - 2)), b);
    (8.0 * near - far) / (12.0 * spacing)
}
