//! The flat map: the scalp laid flat, seen from behind.
//!
//! No flat picture of something as round as a head keeps all lengths. This one
//! keeps what rows are measured by: the way up the midline, and the lengths
//! along the partings behind the ears. Two steps: first the picture in which
//! lengths are changed least in all directions (a weighted stress over the
//! edges of a mesh, made least by moving one point at a time, coarse meshes
//! first); then every parting is drawn anew from its place on the midline, in
//! the directions that it has there, but at its true length. What gives way is
//! the distance between partings far from the midline, and the forehead, where
//! nothing is set.

use crate::field::to_right;
use crate::parting::nearest_piece;
use crate::point::MapPoint;
use crate::region::POLE;
use crate::sky::{COARSE, Sky};
use crate::surface::{ScalpShape, SmoothSkin};
use crate::vector::{Vec3, add, cross, distance, dot, scale, sub, unit};
use measure::real;
use serde::Serialize;

/// How much the flat map changes lengths, as shares (0.1: a tenth).
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct MapDistortion {
    /// Mean change of short lengths along the partings, hair behind the ears
    /// and up to the crown.
    pub along_partings: f64,
    /// The same for lengths straight across the partings.
    pub across_partings: f64,
    /// The change along partings that nine tenths of that skin stay below.
    pub along_partings_most: f64,
    /// Mean over all hair-bearing skin of the most that any direction changes.
    pub anywhere: f64,
}

/// Cosine of the angle from the pole out to which the skin is laid flat: the
/// whole hair with ears and a margin.
const REACH: f64 = -0.56;
/// Rounds on each mesh; more change nothing that can be seen.
const ROUNDS: usize = 15;
/// How much lengths in front of the ears, and off the hair, count against
/// those behind them.
const FRONT: f64 = 0.2;
const BARE: f64 = 0.1;
/// Over how much skin before the ears the weight falls, mm.
const FADE: f64 = 50.0;

/// Where each vertex of the coarse mesh lies on the map.
#[derive(Debug, Clone)]
pub(crate) struct Chart {
    places: Vec<[f64; 2]>,
}

/// What the chart must know of a place to weigh the lengths about it.
pub(crate) struct Weighing<'h> {
    /// Distance from the nape hairline of each vertex.
    pub heights: &'h [f64],
    /// Whether hair grows there.
    pub bears_hair: &'h dyn Fn(Vec3) -> bool,
    /// How far it lies in front of the ear-to-ear line, mm; less than 0 behind.
    pub ahead: &'h dyn Fn(Vec3) -> f64,
}

/// A line that the map draws at its true length: the nape hairline first, then
/// the parting [`RUNGS_APART`] above it, and so on.
pub(crate) struct Rung {
    /// Where it crosses the midline, mm up from the nape hairline.
    pub up_midline: f64,
    /// Its right half, from the midline outward.
    pub right: Vec<Vec3>,
}

/// How far apart in height the partings are by which the map is drawn, mm.
pub(crate) const RUNGS_APART: f64 = 12.0;

/// How far the points of a parting move on the map.
struct Shifted<'r> {
    line: &'r [Vec3],
    steps: Vec<[f64; 2]>,
}

impl Shifted<'_> {
    /// The move at the place of the parting nearest to `p`.
    fn at(&self, p: Vec3) -> [f64; 2] {
        let (i, t) = nearest_piece(self.line, p);
        [0, 1].map(|k| self.steps[i][k] + t * (self.steps[i + 1][k] - self.steps[i][k]))
    }
}

#[derive(Clone, Copy)]
struct Spring {
    other: u32,
    length: f64,
    weight: f64,
}

/// The springs of the vertices on the right half and the midline, vertex by vertex.
struct Springs {
    owners: Vec<u32>,
    /// Springs of the k-th owner: `all[first[k]..first[k + 1]]`.
    first: Vec<u32>,
    all: Vec<Spring>,
}

impl Chart {
    /// Lays the skin flat, the middle of the nape hairline at the origin.
    pub(crate) fn draw(shape: &ScalpShape, vertices: &[Vec3], weighing: &Weighing<'_>, rungs: &[Rung]) -> Self {
        let sky = Sky::get();
        let flat = |u: Vec3| {
            // Start from true distances out from the pole.
            let up = cross(POLE, [1.0, 0.0, 0.0]);
            let (x, y) = (u[0], dot(u, up));
            let out = real::atan2((x * x + y * y).sqrt(), dot(u, POLE));
            let radius = if out > 0.0 { 88.0 * out / (x * x + y * y).sqrt().max(1e-12) } else { 0.0 };
            [x * radius, y * radius]
        };
        let mut places: Vec<[f64; 2]> = Vec::new();
        for halvings in 2..=COARSE {
            let faces = &sky.faces[halvings as usize];
            let count = faces.iter().flatten().max().map_or(0, |v| *v as usize + 1);
            let before = std::mem::take(&mut places);
            places = (0..count).map(|v| before.get(v).copied().unwrap_or_else(|| flat(sky.directions[v]))).collect();
            if !before.is_empty() {
                // A vertex made by halving an edge starts between its ends.
                for (k, face) in sky.faces[halvings as usize - 1].iter().enumerate() {
                    let middles = faces[4 * k + 3];
                    for (m, (a, b)) in middles.into_iter().zip([(face[0], face[1]), (face[1], face[2]), (face[2], face[0])]) {
                        let (p, q) = (before[a as usize], before[b as usize]);
                        places[m as usize] = [0.5 * (p[0] + q[0]), 0.5 * (p[1] + q[1])];
                    }
                }
            }
            let springs = springs(faces, count, vertices, weighing);
            even_out(&mut places, &sky.mirrored);
            for _ in 0..ROUNDS {
                relax(&mut places, &springs, &sky.mirrored);
            }
        }
        let mut chart = Self { places };
        chart.keep_lengths(shape, vertices, weighing, rungs);
        let foot = rungs.first().and_then(|hairline| hairline.right.first()).map_or(0.0, |foot| chart.place(shape, *foot).y);
        for p in &mut chart.places {
            p[1] -= foot;
        }
        chart
    }

    /// Draws the rungs at their true lengths: each keeps the directions it has,
    /// and what lies between two of them goes along. In front of the ears the
    /// lengths of before fade in again.
    fn keep_lengths(&mut self, shape: &ScalpShape, vertices: &[Vec3], weighing: &Weighing<'_>, rungs: &[Rung]) {
        let shifts: Vec<Shifted<'_>> = rungs.iter().map(|rung| self.shifted(shape, weighing, rung)).collect();
        let Some(last) = shifts.len().checked_sub(1) else { return };
        let sky = Sky::get();
        for v in 0..self.places.len() {
            // The left half is the mirror image of the right.
            let image = sky.mirrored[v] as usize;
            if sky.directions[v][0] < 0.0 || image >= self.places.len() {
                continue;
            }
            let rung = (weighing.heights[v] / RUNGS_APART).clamp(0.0, last as f64);
            let below = (rung as usize).min(last);
            let (low, high) = (shifts[below].at(vertices[v]), shifts[(below + 1).min(last)].at(vertices[v]));
            let share = rung - below as f64;
            let [x, y] = [0, 1].map(|k| self.places[v][k] + low[k] + share * (high[k] - low[k]));
            let x = if image == v { 0.0 } else { x };
            self.places[v] = [x, y];
            self.places[image] = [-x, y];
        }
    }

    /// How far each point of a parting must move on the map.
    fn shifted<'r>(&self, shape: &ScalpShape, weighing: &Weighing<'_>, rung: &'r Rung) -> Shifted<'r> {
        let before: Vec<[f64; 2]> = rung.right.iter().map(|p| self.place(shape, *p)).map(|m| [m.x, m.y]).collect();
        let mut at = [0.0, rung.up_midline];
        let mut steps = vec![[at[0] - before[0][0], at[1] - before[0][1]]];
        for (p, m) in rung.right.windows(2).zip(before.windows(2)) {
            let way = [m[1][0] - m[0][0], m[1][1] - m[0][1]];
            let drawn = (way[0] * way[0] + way[1] * way[1]).sqrt().max(1e-9);
            let front = ((weighing.ahead)(p[0]) / FADE).clamp(0.0, 1.0);
            let factor = front + (1.0 - front) * distance(p[0], p[1]) / drawn;
            at = [at[0] + factor * way[0], at[1] + factor * way[1]];
            steps.push([at[0] - m[1][0], at[1] - m[1][1]]);
        }
        Shifted { line: &rung.right, steps }
    }

    /// The map place of a skin place.
    pub(crate) fn place(&self, shape: &ScalpShape, p: Vec3) -> MapPoint {
        let (right, was_left) = to_right(p);
        let u = sub(right, shape.centre());
        let sky = Sky::get();
        let face = sky.face_at(u, COARSE);
        let [a, b, c] = face.map(|v| sky.directions[v as usize]);
        let w = [dot(u, cross(b, c)), dot(u, cross(c, a)), dot(u, cross(a, b))].map(|w| w.max(0.0));
        let sum = (w[0] + w[1] + w[2]).max(f64::MIN_POSITIVE);
        let read = |k: usize| (0..3).map(|i| w[i] * self.places[face[i] as usize][k]).sum::<f64>() / sum;
        let x = if right[0] == 0.0 { 0.0 } else { read(0) };
        MapPoint { x: if was_left { -x } else { x }, y: read(1) }
    }
}

/// The lengths to keep, by vertex of the right half: every edge, and across every edge the way
/// between the two corners that face it, which keeps faces from folding over.
fn springs(faces: &[[u32; 3]], count: usize, vertices: &[Vec3], weighing: &Weighing<'_>) -> Springs {
    let sky = Sky::get();
    let within = |v: u32| dot(sky.directions[v as usize], POLE) > REACH;
    let mut facing: Vec<((u32, u32), u32)> =
        faces.iter().flat_map(|&[a, b, c]| [((a, b), c), ((b, c), a), ((c, a), b)]).collect();
    facing.sort_unstable();
    let apex_of = |v: u32, w: u32| facing.binary_search_by_key(&(v, w), |f| f.0).ok().map(|k| facing[k].1);
    let mut joined: Vec<(u32, Spring)> = Vec::with_capacity(2 * facing.len());
    let at = |v: u32| vertices[v as usize];
    let mut join = |v: u32, w: u32, length: f64| {
        // The left half is the mirror image of the right.
        if sky.directions[v as usize][0] < 0.0 {
            return;
        }
        let middle = scale(add(at(v), at(w)), 0.5);
        // The change from one weight to the other is spread out, or the
        // lighter side would crumple along it.
        let before = ((weighing.ahead)(middle) / FADE).clamp(0.0, 1.0);
        let part = if (weighing.bears_hair)(middle) { 1.0 + before * (FRONT - 1.0) } else { BARE + (1.0 - before) * (FRONT - BARE) };
        let weight = part / (length * length);
        joined.push((v, Spring { other: w, length, weight }));
    };
    for &((v, w), apex) in &facing {
        if !within(v) || !within(w) {
            continue;
        }
        // Every edge is met twice, once each way.
        join(v, w, distance(at(v), at(w)));
        if let Some(beyond) = apex_of(w, v).filter(|b| within(apex) && within(*b)) {
            join(apex, beyond, unfolded(at(v), at(w), at(apex), at(beyond)));
        }
    }
    joined.sort_by_key(|(v, _)| *v);
    let mut springs = Springs { owners: Vec::with_capacity(count), first: vec![0], all: Vec::with_capacity(joined.len()) };
    for (v, spring) in joined {
        if springs.owners.last() != Some(&v) {
            springs.owners.push(v);
            springs.first.push(springs.all.len() as u32);
        }
        springs.all.push(spring);
        if let Some(end) = springs.first.last_mut() {
            *end = springs.all.len() as u32;
        }
    }
    springs
}

/// The way from `p` to `q` over the edge from `a` to `b`, both faces laid in one plane.
fn unfolded(a: Vec3, b: Vec3, p: Vec3, q: Vec3) -> f64 {
    let edge = sub(b, a);
    let length = distance(a, b).max(1e-9);
    let flat = |c: Vec3| {
        let out = sub(c, a);
        let along = dot(out, edge) / length;
        (along, (dot(out, out) - along * along).max(0.0).sqrt())
    };
    let ((x, y), (u, v)) = (flat(p), flat(q));
    ((x - u) * (x - u) + (y + v) * (y + v)).sqrt()
}

/// Moves each place to where its neighbours would have it, and with each its
/// mirror image.
fn relax(places: &mut [[f64; 2]], springs: &Springs, mirrored: &[u32]) {
    for run in springs.first.windows(2).zip(&springs.owners) {
        let (&[from, to], &v) = run else { continue };
        let here = places[v as usize];
        let (mut x, mut y, mut sum) = (0.0, 0.0, 0.0);
        for spring in &springs.all[from as usize..to as usize] {
            let there = places[spring.other as usize];
            let (dx, dy) = (here[0] - there[0], here[1] - there[1]);
            let pull = spring.length / (dx * dx + dy * dy).sqrt().max(1e-9);
            x += spring.weight * (there[0] + pull * dx);
            y += spring.weight * (there[1] + pull * dy);
            sum += spring.weight;
        }
        let image = mirrored[v as usize];
        let x = if image == v { 0.0 } else { x / sum };
        places[v as usize] = [x, y / sum];
        places[image as usize] = [-x, y / sum];
    }
}

/// Makes left and right mirror images.
fn even_out(places: &mut [[f64; 2]], mirrored: &[u32]) {
    for v in 0..places.len() {
        let w = mirrored[v] as usize;
        if w >= v && w < places.len() {
            let (p, q) = (places[v], places[w]);
            let (x, y) = (0.5 * (p[0] - q[0]), 0.5 * (p[1] + q[1]));
            places[v] = [x, y];
            places[w] = [-x, y];
        }
    }
}

/// Measures the map's distortion by small steps about some places: `(place,
/// its uphill direction, whether it is behind the ears)`.
pub(crate) fn distortion(shape: &ScalpShape, places: &[(Vec3, Vec3, bool)], to_map: impl Fn(Vec3) -> MapPoint) -> MapDistortion {
    const NUDGE: f64 = 5.0;
    let (mut along, mut across, mut most) = (Vec::new(), Vec::new(), Vec::new());
    for &(p, uphill, behind) in places {
        let level = unit(cross(shape.normal(p), uphill));
        let column = |d: Vec3| {
            let (a, b) = (shape.project(add(p, scale(d, NUDGE))), shape.project(add(p, scale(d, -NUDGE))));
            let (from, to, run) = (to_map(b), to_map(a), distance(a, b));
            [(to.x - from.x) / run, (to.y - from.y) / run]
        };
        let (c, d) = (column(level), column(uphill));
        let length = |v: [f64; 2]| (v[0] * v[0] + v[1] * v[1]).sqrt();
        if behind {
            along.push((length(c) - 1.0).abs());
            across.push((length(d) - 1.0).abs());
        }
        // The singular values of the 2 x 2 matrix of columns c and d.
        let sum = c[0] * c[0] + c[1] * c[1] + d[0] * d[0] + d[1] * d[1];
        let area = c[0] * d[1] - c[1] * d[0];
        let root = (sum * sum - 4.0 * area * area).max(0.0).sqrt();
        let (large, small) = ((0.5 * (sum + root)).sqrt(), (0.5 * (sum - root)).max(0.0).sqrt());
        most.push((large - 1.0).abs().max((small - 1.0).abs()));
    }
    let mean = |v: &[f64]| v.iter().sum::<f64>() / v.len().max(1) as f64;
    along.sort_by(f64::total_cmp);
    MapDistortion {
        along_partings: mean(&along),
        across_partings: mean(&across),
        along_partings_most: along.get(along.len() * 9 / 10).copied().unwrap_or(0.0),
        anywhere: mean(&most),
    }
}
