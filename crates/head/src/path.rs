//! Distances along a surface: fast marching on a mesh.
//!
//! The wave that spreads from the source carries, besides its distance `d`,
//! the curvature `k` of its front: `1/d` about a point on flat ground, 0 along
//! a straight line. On domed ground it bends by Riccati's equation
//! `k' = -(k^2 + K)` with `K` the Gaussian curvature. A vertex is then reached
//! through a face from the centre of the front's circle, unfolded into the
//! face's plane, so that points and curves are served by one rule.
//!
//! Legend: a, b the two vertices of the edge the wave comes through, at
//! (0, 0) and (L, 0); c the vertex it goes to, at (x, y) with y > 0;
//! `rho = 1/k` the front's radius at the edge's mean distance.

use crate::mesh::{MeshFault, TriMesh};
use crate::vector::{Vec3, add, distance, dot, lerp, scale, sub};
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// What a vertex knows of the wave.
#[derive(Debug, Clone, Copy)]
struct Front {
    distance: f64,
    bend: f64,
}

/// A wave on its way over a mesh.
struct March<'m> {
    mesh: &'m TriMesh,
    fronts: Vec<Front>,
    settled: Vec<bool>,
    queue: BinaryHeap<Reverse<(u64, u32)>>,
    /// Fronts bent more sharply than this are taken as points.
    sharpest: f64,
}

impl<'m> March<'m> {
    fn new(mesh: &'m TriMesh) -> Self {
        let count = mesh.vertices().len();
        Self {
            mesh,
            fronts: vec![Front { distance: f64::INFINITY, bend: 0.0 }; count],
            settled: vec![false; count],
            queue: BinaryHeap::with_capacity(count / 2),
            sharpest: 1e9 / mesh.mean_edge,
        }
    }

    /// Offers a vertex a distance; kept when it is the shortest so far.
    #[inline(always)]
    fn offer(&mut self, v: u32, distance: f64, bend: f64) {
        let front = &mut self.fronts[v as usize];
        if distance < front.distance {
            *front = Front { distance, bend };
            // Distances are never negative, so their bits sort as they do.
            self.queue.push(Reverse((distance.to_bits(), v)));
        }
    }

    /// Starts at a vertex; its neighbours are reached exactly along the edges.
    fn start_at_vertex(&mut self, v: usize) {
        self.offer(v as u32, 0.0, self.sharpest);
    }

    fn run(mut self) -> Vec<f64> {
        while let Some(Reverse((bits, v))) = self.queue.pop() {
            if self.settled[v as usize] || self.fronts[v as usize].distance.to_bits() != bits {
                continue;
            }
            self.settled[v as usize] = true;
            self.spread(v);
        }
        self.fronts.iter().map(|f| f.distance).collect()
    }

    /// Carries the wave from a vertex just settled to its neighbours.
    fn spread(&mut self, v: u32) {
        let mesh = self.mesh;
        let here = self.fronts[v as usize];
        for corner in mesh.corners_of(v as usize) {
            let (a, b) = (corner.next, corner.prev);
            let (a_done, b_done) = (self.settled[a as usize], self.settled[b as usize]);
            if !a_done {
                if b_done {
                    self.through(v, here, b, a, corner.to_prev, corner.to_next, corner.across);
                }
                self.along_edge(v, here, a, corner.to_next);
            }
            if !b_done && a_done {
                self.through(v, here, a, b, corner.to_next, corner.to_prev, corner.across);
            }
        }
        for u in mesh.unfolded_of(v as usize) {
            if self.settled[u.other as usize] && !self.settled[u.target as usize] {
                self.through(v, here, u.other, u.target, u.to_other, u.to_target, u.other_to_target);
            }
        }
    }

    #[inline(always)]
    fn along_edge(&mut self, v: u32, here: Front, to: u32, length: f64) {
        let distance = here.distance + length;
        if distance < self.fronts[to as usize].distance {
            let dome = 0.5 * (self.mesh.dome[v as usize] + self.mesh.dome[to as usize]);
            let bend = if here.bend >= self.sharpest { 1.0 / length - dome * length / 3.0 } else { bent(here.bend, dome, length) };
            self.offer(to, distance, bend);
        }
    }

    /// Reaches `c` through the edge from `a` (just settled) to `b`; the wave's
    /// ray must cross that edge, or the face has nothing to say.
    #[inline(always)]
    fn through(&mut self, a: u32, at_a: Front, b: u32, c: u32, ab: f64, ac: f64, bc: f64) {
        let at_b = self.fronts[b as usize];
        let rise = at_b.distance - at_a.distance;
        if !(rise.abs() < ab) {
            return;
        }
        let x = (ac * ac - bc * bc + ab * ab) / (2.0 * ab);
        let y = (ac * ac - x * x).max(0.0).sqrt();
        // Both fronts carried to the edge's mean distance as on flat ground.
        let bend_a = at_a.bend / (1.0 + at_a.bend * rise * 0.5).max(0.05);
        let bend_b = at_b.bend / (1.0 - at_b.bend * rise * 0.5).max(0.05);
        let bend = 0.5 * (bend_a + bend_b);
        let Some((distance, run, bend_at_edge)) = crossing(x, y, ab, rise, bend) else { return };
        let distance = at_a.distance + distance;
        if distance < self.fronts[c as usize].distance {
            let dome = &self.mesh.dome;
            let dome = (dome[a as usize] + dome[b as usize] + dome[c as usize]) / 3.0;
            self.offer(c, distance.max(0.0), bent(bend_at_edge, dome, run));
        }
    }
}

/// The way from the edge (0,0)-(ab,0) to (x, y) of a front that rises by
/// `rise` along it and bends by `bend` at its mean: the distance at (x, y)
/// above that at the first vertex, the run from the crossing, and the bend
/// where the ray crosses. None when the ray does not cross the edge.
#[inline(always)]
fn crossing(x: f64, y: f64, ab: f64, rise: f64, bend: f64) -> Option<(f64, f64, f64)> {
    if (bend * ab).abs() < 1e-7 {
        let sine = rise / ab;
        let cosine = (1.0 - sine * sine).sqrt();
        let at = x - y * sine / cosine;
        return (0.0..=ab).contains(&at).then(|| (x * sine + y * cosine, y / cosine, bend));
    }
    let rho = 1.0 / bend;
    let rho_a = rho - 0.5 * rise;
    let centre = 0.5 * ab - rho * rise / ab;
    let depth = (rho_a * rho_a - centre * centre).max(0.0).sqrt();
    if bend > 0.0 {
        let at = centre + (x - centre) * depth / (y + depth);
        if !(0.0..=ab).contains(&at) {
            return None;
        }
        let far = ((x - centre) * (x - centre) + (y + depth) * (y + depth)).sqrt();
        let run = ((x - at) * (x - at) + y * y).sqrt();
        return Some((far - rho_a, run, 1.0 / (far - run).max(1e-12 * ab)));
    }
    // The front draws together: its centre lies ahead, beyond c.
    if depth <= 1.25 * y {
        return None;
    }
    let at = x - (centre - x) * y / (depth - y);
    if !(0.0..=ab).contains(&at) {
        return None;
    }
    let far = ((x - centre) * (x - centre) + (depth - y) * (depth - y)).sqrt();
    let run = ((x - at) * (x - at) + y * y).sqrt();
    Some((-rho_a - far, run, -1.0 / (far + run)))
}

/// The front's bend after a run over ground of Gaussian curvature `dome`
/// (Riccati's equation to second order).
#[inline(always)]
fn bent(bend: f64, dome: f64, run: f64) -> f64 {
    let spread = 1.0 + bend * run - 0.5 * dome * run * run;
    let opening = bend - dome * run * (1.0 + 0.5 * bend * run);
    // A front never closes to less than a fifth within one face; beyond that
    // lie only the places where two waves meet.
    opening / spread.max(0.2)
}

impl TriMesh {
    fn known(&self, v: usize) -> Result<usize, MeshFault> {
        if v < self.vertices().len() { Ok(v) } else { Err(MeshFault::NoSuchSource { vertex: v, last: self.vertices().len() - 1 }) }
    }

    /// Distances along the surface from the nearest of some vertices to every
    /// vertex, in the mesh's unit; infinite where no way leads.
    ///
    /// *Errors*: no source, or one that is not there.
    pub fn distances_from_vertices(&self, sources: &[usize]) -> Result<Vec<f64>, MeshFault> {
        if sources.is_empty() {
            return Err(MeshFault::NoSource);
        }
        let mut march = March::new(self);
        for v in sources {
            march.start_at_vertex(self.known(*v)?);
        }
        Ok(march.run())
    }
}
