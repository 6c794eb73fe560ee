//! How a sheet is traced: its flow lines, and what each place of them gathers.

use super::super::trace::{Course, Station, heading, next};
use super::{Finder, Gathered, Node, RootPlace, Roots, STEP, Sheet, Source};
use head::SmoothSkin;
use measure::vector::{Vec3, add, cross, dot, flat, norm, scale, sub};

/// Lines shot from a point; must be even, so that a fan on the midline mirrors
/// itself. The width by five-point differences errs by the fourth power of the
/// angle between lines, 1e-7 at two degrees.
const FAN_LINES: usize = 180;

/// The lines of a fan or of plane sections before widths and roots are known.
struct Lines {
    stations: Vec<Vec<Station>>,
    finder: Finder,
    spacing: f64,
    length: usize,
}

impl Sheet {
    /// Shortest lines shot from a point all round, each `reach` mm long.
    pub(in crate::coverage) fn fan(skin: &impl SmoothSkin, from: Vec3, reach: f64, roots: &impl Fn(&[RootPlace]) -> Vec<Roots>) -> Self {
        let p = skin.project(from);
        let n = skin.normal(p);
        // Either reference lies in the plane that parts left from right.
        let reference = if n[2].abs() < 0.8 { [0.0, 0.0, 1.0] } else { [0.0, 1.0, 0.0] };
        let e1 = heading(flat(reference, n));
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
        let finder = Finder::Fan { centre, axis: heading(sub(p, centre)), e1, e2 };
        Self::woven(Lines { stations, finder, spacing, length }, roots)
    }

    /// Plane sections across `axis`, begun at `starts` (one on each plane, in
    /// order and equally far apart) towards `side`.
    pub(in crate::coverage) fn planes(
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
                let level = heading(cross(n, axis));
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
