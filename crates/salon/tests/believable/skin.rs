//! The skin of a plan, measured from outside: level lines, readings and
//! distances along the skin, from the landmarks that the plan gives.
//!
//! The surface is the fitted scalp, and distances come off the mesh that is
//! written beside the plan. Lines are cut here by halving, not taken from the
//! head's own partings.
//!
//! Legend: `level` the height, gaze level (pitched 15 degrees in the head's
//! frame); `ahead` how far forward; `s` along a level line from the middle of
//! the back, + to the client's right; `u` up the middle from the nape hairline;
//! `e` up the line from ear to ear, from the top of the ear root.

use super::{Complaint, point, points};
use head::{ScalpShape, SmoothSkin, TriMesh};
use measure::vector::{Vec3, distance, dot, lerp, mirror, sub};
use salon::client::ClientFacts;
use serde_json::Value;

/// A point of the skin, mm, in the head's frame.
pub type P = Vec3;

/// The pitch of the gaze in the head's frame, degrees.
const PITCH: f64 = 15.0;

/// The height of a place, gaze level.
pub fn level(p: P) -> f64 {
    let (sine, cosine) = PITCH.to_radians().sin_cos();
    p[1] * sine + p[2] * cosine
}

/// How far forward a place lies, gaze level.
pub fn ahead(p: P) -> f64 {
    let (sine, cosine) = PITCH.to_radians().sin_cos();
    p[1] * cosine - p[2] * sine
}

/// The place so high and so far forward, `x` to the side.
fn placed(x: f64, level: f64, ahead: f64) -> P {
    let (sine, cosine) = PITCH.to_radians().sin_cos();
    [x, level * sine + ahead * cosine, level * cosine - ahead * sine]
}

/// Where a value lies in a rising table, and what stands beside it; straight between.
fn read(keys: &[f64], values: &[f64], key: f64) -> Option<f64> {
    if keys.len() < 2 || !(key >= keys[0] && key <= keys[keys.len() - 1]) {
        return None;
    }
    let i = keys.partition_point(|k| *k <= key).clamp(1, keys.len() - 1);
    Some(values[i - 1] + (values[i] - values[i - 1]) * (key - keys[i - 1]) / (keys[i] - keys[i - 1]).max(1e-12))
}

/// The right half of a level line: from the middle of the back round to the
/// middle in front.
#[derive(Debug, Clone)]
pub struct Line {
    /// Its height.
    pub level: f64,
    /// Its points.
    pub right: Vec<P>,
    /// The way along to each of them.
    pub along: Vec<f64>,
}

impl Line {
    fn of(level: f64, right: Vec<P>) -> Self {
        let along = lengths(&right);
        Self { level, right, along }
    }

    /// The place at `s`.
    pub fn at(&self, s: f64) -> P {
        let far = s.abs().min(self.along[self.along.len() - 1]);
        let i = self.along.partition_point(|a| *a <= far).clamp(1, self.along.len() - 1);
        let share = (far - self.along[i - 1]) / (self.along[i] - self.along[i - 1]).max(1e-12);
        let p = lerp(self.right[i - 1], self.right[i], share);
        if s < 0.0 { mirror(p) } else { p }
    }

    /// The `s` of the place on the line that is nearest to a point.
    pub fn s_of(&self, p: P) -> f64 {
        let q = [p[0].abs(), p[1], p[2]];
        let mut best = (f64::INFINITY, 0.0);
        for (i, pair) in self.right.windows(2).enumerate() {
            let step = sub(pair[1], pair[0]);
            let share = (dot(sub(q, pair[0]), step) / dot(step, step).max(1e-12)).clamp(0.0, 1.0);
            let far = distance(q, lerp(pair[0], pair[1], share));
            if far < best.0 {
                best = (far, self.along[i] + share * (self.along[i + 1] - self.along[i]));
            }
        }
        if p[0] < 0.0 { -best.1 } else { best.1 }
    }

    /// The `s` at which the line passes a plane across the head; none where it
    /// starts before it.
    pub fn passes(&self, plane: f64) -> Option<f64> {
        let first = self.right.iter().position(|p| ahead(*p) >= plane).filter(|first| *first > 0)?;
        let (from, to) = (ahead(self.right[first - 1]), ahead(self.right[first]));
        let share = (plane - from) / (to - from).max(1e-12);
        Some(self.along[first - 1] + share * (self.along[first] - self.along[first - 1]))
    }

    /// How far a stretch of it bows in all: its middle from the straight
    /// between its ends.
    pub fn bow(&self, from: f64, to: f64) -> f64 {
        distance(self.at(0.5 * (from + to)), lerp(self.at(from), self.at(to), 0.5))
    }
}

fn lengths(points: &[P]) -> Vec<f64> {
    let mut along = vec![0.0; points.len()];
    for i in 1..points.len() {
        along[i] = along[i - 1] + distance(points[i - 1], points[i]);
    }
    along
}

/// A border that clearance is kept from.
#[derive(Debug, Clone)]
pub struct Edge {
    /// The key it has among the landmarks.
    pub key: &'static str,
    /// The way along the skin to every corner of the mesh.
    far: Vec<f64>,
}

/// The borders, by their keys among the landmarks: the level nape hairline first.
pub const EDGES: [&str; 6] = ["nape_hairline", "left_behind_ear", "right_behind_ear", "front_hairline", "left_ear", "right_ear"];

/// A plan's skin.
#[derive(Debug)]
pub struct Skin {
    shape: ScalpShape,
    mesh: TriMesh,
    faces_at: Vec<Vec<u32>>,
    /// The borders, in the order of [`EDGES`].
    pub edges: Vec<Edge>,
    /// The plane of the line from ear to ear.
    pub ear_plane: f64,
    /// The height of the top of the ear root.
    pub ear_level: f64,
    /// The height of the crown.
    pub crown_level: f64,
    up: (Vec<f64>, Vec<f64>),
    ear_up: (Vec<f64>, Vec<f64>),
}

impl Skin {
    /// The skin of a plan, from its landmarks and the mesh beside it.
    pub fn of(plan: &Value, scalp: &str, facts: &ClientFacts) -> Result<Self, Complaint> {
        let fault = |says: String| Complaint::new("shape", says);
        let marks = &plan["landmarks_mm"];
        let fit = head::fit(&facts.head.measures).map_err(|faults| fault(format!("her head: {faults:?}")))?;
        let mesh = TriMesh::from_obj(scalp).map_err(|bad| fault(format!("scalp.obj: {bad}")))?;
        let mut edges = Vec::new();
        for key in EDGES {
            let curve = points(marks, key, "landmarks_mm")?;
            let far = mesh.distances_from_curve(&curve).map_err(|bad| fault(format!("{key}: {bad}")))?;
            edges.push(Edge { key, far });
        }
        let ear_line = points(marks, "ear_to_ear_line", "landmarks_mm")?;
        let tops = points(marks, "ear_tops", "landmarks_mm")?;
        let nape = points(marks, "nape_hairline", "landmarks_mm")?;
        let middle = nape.iter().copied().min_by(|a, b| a[0].abs().total_cmp(&b[0].abs()));
        let (Some(middle), Some(top), Some(first)) = (middle, tops.first(), ear_line.first()) else {
            return Err(fault("landmarks_mm: a line without points".into()));
        };
        let crown = level(point(&marks["crown"], "landmarks_mm.crown")?);
        Ok(Self { crown_level: crown, edges, ..Self::bare(fit.shape, mesh, middle, ahead(*first), level(*top)) })
    }

    /// A skin without borders or crown: the middle of the nape hairline, and
    /// plane and foot of the line from ear to ear.
    pub fn bare(shape: ScalpShape, mesh: TriMesh, nape: P, ear_plane: f64, ear_level: f64) -> Self {
        let mut faces_at = vec![Vec::new(); mesh.vertices().len()];
        for (number, face) in mesh.faces().iter().enumerate() {
            for corner in face {
                faces_at[*corner as usize].push(number as u32);
            }
        }
        let none = || (Vec::new(), Vec::new());
        let mut skin =
            Self { shape, mesh, faces_at, edges: Vec::new(), ear_plane, ear_level, crown_level: f64::NAN, up: none(), ear_up: none() };
        skin.up = skin.up_the_middle(nape);
        skin.ear_up = skin.up_from_the_ear();
        skin
    }

    /// Where a ray from inside the head leaves the skin.
    fn leaves(&self, from: P, to: P) -> P {
        let centre = self.shape.centre();
        let beyond = |far: f64| {
            let p = lerp(from, to, far);
            distance(p, centre) - distance(self.shape.project(p), centre)
        };
        // A secant brings it near, halving would bring it anywhere.
        let (mut a, mut b) = (80.0, 100.0);
        let (mut at_a, mut at_b) = (beyond(a), beyond(b));
        for _ in 0..20 {
            if at_b.abs() < 1e-8 || (at_b - at_a).abs() < 1e-14 {
                break;
            }
            let next = b - at_b * (b - a) / (at_b - at_a);
            (a, at_a) = (b, at_b);
            b = next;
            at_b = beyond(b);
        }
        if at_b.abs() < 1e-6 && b > 0.0 {
            return lerp(from, to, b);
        }
        let (mut low, mut high) = (0.0, 300.0);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if beyond(middle) < 0.0 { low = middle } else { high = middle }
        }
        lerp(from, to, 0.5 * (low + high))
    }

    /// The level line at a height.
    pub fn line(&self, height: f64) -> Line {
        let centre = self.shape.centre();
        let from = placed(0.0, height, ahead(centre));
        let steps = 240;
        let right = (0..=steps)
            .map(|k| {
                let (sine, cosine) = (std::f64::consts::PI * f64::from(k) / f64::from(steps)).sin_cos();
                let p = self.leaves(from, placed(sine, height, ahead(from) - cosine));
                if k == 0 || k == steps { [0.0, p[1], p[2]] } else { p }
            })
            .collect();
        Line::of(height, right)
    }

    /// Up the middle of the back from the nape hairline: the way, and the height.
    fn up_the_middle(&self, nape: P) -> (Vec<f64>, Vec<f64>) {
        let centre = self.shape.centre();
        let start = [0.0, nape[1], nape[2]];
        let (high, far) = (level(start) - level(centre), ahead(start) - ahead(centre));
        let first = high.atan2(-far);
        let last = std::f64::consts::FRAC_PI_2 + 0.2;
        let steps = 260;
        let walk: Vec<P> = (0..=steps)
            .map(|k| {
                let (sine, cosine) = (first + (last - first) * f64::from(k) / f64::from(steps)).sin_cos();
                self.leaves(centre, placed(0.0, level(centre) + sine, ahead(centre) - cosine))
            })
            .collect();
        rising(&walk)
    }

    /// Up the line from ear to ear, from the top of the ear root.
    fn up_from_the_ear(&self) -> (Vec<f64>, Vec<f64>) {
        let centre = self.shape.centre();
        let from = placed(0.0, self.ear_level, self.ear_plane);
        let inside = placed(0.0, level(centre).max(self.ear_level), self.ear_plane);
        let steps = 260;
        let foot = self.leaves(from, placed(1.0, self.ear_level, self.ear_plane));
        let first = (level(foot) - level(inside)).atan2(foot[0]);
        let walk: Vec<P> = (0..=steps)
            .map(|k| {
                let (sine, cosine) = (first + (std::f64::consts::FRAC_PI_2 - first) * f64::from(k) / f64::from(steps)).sin_cos();
                self.leaves(inside, placed(cosine, level(inside) + sine, self.ear_plane))
            })
            .collect();
        rising(&walk)
    }

    /// What a tape reads up the middle to a height; none above the top.
    pub fn u_of(&self, height: f64) -> Option<f64> {
        read(&self.up.1, &self.up.0, height)
    }

    /// The height that far up the middle.
    pub fn level_up(&self, u: f64) -> Option<f64> {
        read(&self.up.0, &self.up.1, u)
    }

    /// What a tape reads up the line from ear to ear to a height; below the
    /// top of the ear, held upright, less than nothing.
    pub fn e_of(&self, height: f64) -> Option<f64> {
        if height < self.ear_level { Some(height - self.ear_level) } else { read(&self.ear_up.1, &self.ear_up.0, height) }
    }

    /// The height that far up the line from ear to ear.
    pub fn level_at_e(&self, e: f64) -> Option<f64> {
        if e < 0.0 { Some(self.ear_level + e) } else { read(&self.ear_up.0, &self.ear_up.1, e) }
    }

    /// The line from ear to ear, from the top of the ear root to the middle.
    pub fn ear_line_length(&self) -> f64 {
        self.ear_up.0.last().copied().unwrap_or(0.0)
    }

    /// The distances along the skin from every border, in the order of [`EDGES`].
    pub fn clear(&self, p: P) -> [f64; 6] {
        let (face, shares) = self.face_of(p);
        std::array::from_fn(|edge| (0..3).map(|k| shares[k] * self.edges[edge].far[face[k] as usize]).sum())
    }

    /// The face under a place and the shares of its corners.
    fn face_of(&self, p: P) -> ([u32; 3], P) {
        let near = self.mesh.nearest_vertex(p);
        let mut best = (f64::NEG_INFINITY, [near as u32; 3], [1.0, 0.0, 0.0]);
        for number in &self.faces_at[near] {
            let face = self.mesh.faces()[*number as usize];
            let [a, b, c] = face.map(|v| self.mesh.vertices()[v as usize]);
            let shares = shares(a, b, c, p);
            let least = shares.iter().copied().fold(f64::INFINITY, f64::min);
            if least > best.0 {
                best = (least, face, shares);
            }
        }
        (best.1, best.2)
    }

    /// How steeply the skin faces upward: 0 upright, 1 on top.
    pub fn faces_up(&self, p: P) -> f64 {
        level(self.shape.normal(p))
    }
}

/// The rising part of a walk: the way along, and the height.
fn rising(walk: &[P]) -> (Vec<f64>, Vec<f64>) {
    let heights: Vec<f64> = walk.iter().map(|p| level(*p)).collect();
    let until = heights.windows(2).position(|w| w[1] <= w[0]).map_or(walk.len(), |last| last + 1);
    (lengths(&walk[..until]), heights[..until].to_vec())
}

/// The shares of a triangle's corners in the place of its plane next to a point.
fn shares(a: P, b: P, c: P, p: P) -> P {
    let (ab, ac, ap) = (sub(b, a), sub(c, a), sub(p, a));
    let (aa, bb, cc) = (dot(ab, ab), dot(ab, ac), dot(ac, ac));
    let (pb, pc) = (dot(ap, ab), dot(ap, ac));
    let whole = (aa * cc - bb * bb).max(1e-12);
    let (v, w) = ((cc * pb - bb * pc) / whole, (aa * pc - bb * pb) / whole);
    [1.0 - v - w, v, w]
}

/// Nine points under a tab, its ends among them.
pub fn points_along(line: &Line, tab: [f64; 2]) -> Vec<P> {
    (0..9).map(|k| line.at(tab[0] + (tab[1] - tab[0]) * f64::from(k) / 8.0)).collect()
}
