//! A wave on its way over a mesh: vertices settle in the order of their distance.

use super::ray::{alone, bent, crossing};
use crate::mesh::TriMesh;
use measure::vector::{Vec3, dot, lerp, scale, sub, unit};
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// What a vertex knows of the wave.
#[derive(Debug, Clone, Copy)]
pub(super) struct Front {
    pub(super) distance: f64,
    pub(super) bend: f64,
    /// The direction it travels in, a unit vector; none at a source.
    pub(super) toward: Vec3,
}

/// The most that a front drawing together may bend over one edge: closer to
/// its focus other waves have overtaken it.
const TIGHTEST: f64 = -0.08;

/// Along an edge, the slope of a wave grows from one end to the other (it
/// spreads) or falls a little (it draws together). Where it falls by more than
/// this, two waves meet on the edge.
const MEETING: f64 = 0.3;

/// A wave on its way over a mesh.
pub(super) struct March<'m> {
    mesh: &'m TriMesh,
    fronts: Vec<Front>,
    settled: Vec<bool>,
    queue: BinaryHeap<Reverse<u64>>,
    /// Mean edges to a unit of length.
    per_edge: f64,
    /// How often a vertex may be settled anew because a shorter way was found
    /// late, as happens behind wide corners; 0 on meshes that have none.
    again: Vec<u8>,
    /// Fronts bent more sharply than this are taken as points.
    pub(super) sharpest: f64,
}

/// Times a vertex of a mesh with wide corners may be settled anew: bounds the
/// work, and more changes nothing that was seen.
const TIMES_AGAIN: u8 = 4;

/// Sorts as the distance does, here counted in mean edges and in single
/// precision, then as the vertex does: vertices whose distances differ by less
/// than a ten-millionth are settled in any order, and a ticket is one word.
#[inline(always)]
fn ticket(edges: f64, v: u32) -> u64 {
    // Distances are never negative, so their bits sort as they do.
    (u64::from((edges as f32).to_bits()) << 32) | u64::from(v)
}

impl<'m> March<'m> {
    pub(super) fn new(mesh: &'m TriMesh) -> Self {
        let count = mesh.vertices().len();
        Self {
            mesh,
            fronts: vec![Front { distance: f64::INFINITY, bend: 0.0, toward: [0.0; 3] }; count],
            settled: vec![false; count],
            queue: BinaryHeap::with_capacity(count / 2),
            again: if mesh.unfolded.is_empty() { Vec::new() } else { vec![TIMES_AGAIN; count] },
            sharpest: 1e9 / mesh.mean_edge,
            per_edge: (1.0 / mesh.mean_edge).min(f64::MAX),
        }
    }

    /// Offers a vertex a distance; kept when it is the shortest so far.
    #[inline(always)]
    fn offer(&mut self, v: u32, distance: f64, bend: f64, toward: Vec3) {
        let front = &mut self.fronts[v as usize];
        if distance < front.distance {
            if self.settled[v as usize] {
                let left = &mut self.again[v as usize];
                if *left == 0 || distance > front.distance - 1e-6 * self.mesh.mean_edge {
                    return;
                }
                *left -= 1;
                self.settled[v as usize] = false;
            }
            *front = Front { distance, bend, toward };
            self.queue.push(Reverse(ticket(distance * self.per_edge, v)));
        }
    }

    /// Starts at a vertex; its neighbours are reached exactly along the edges.
    pub(super) fn start_at_vertex(&mut self, v: usize) {
        self.offer(v as u32, 0.0, self.sharpest, [0.0; 3]);
    }

    /// Holds the vertices whose distances are known exactly and lets the wave
    /// out of them all, so that none of them can spoil another.
    pub(super) fn start_from(&mut self, known: &[(usize, Front)]) {
        for (v, front) in known {
            self.fronts[*v] = *front;
            self.settled[*v] = true;
            if let Some(again) = self.again.get_mut(*v) {
                *again = 0;
            }
        }
        for (v, _) in known {
            self.spread(*v as u32);
        }
    }

    pub(super) fn run(mut self) -> Vec<f64> {
        while let Some(Reverse(drawn)) = self.queue.pop() {
            let v = drawn as u32;
            if self.settled[v as usize] || ticket(self.fronts[v as usize].distance * self.per_edge, v) != drawn {
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
        let revisit = !self.again.is_empty();
        for corner in mesh.corners_of(v as usize) {
            let (a, b) = (corner.next, corner.prev);
            let (a_done, b_done) = (self.settled[a as usize], self.settled[b as usize]);
            if !a_done || revisit {
                if b_done {
                    self.through(v, here, b, a, corner.to_prev, corner.to_next, corner.across);
                }
                self.along_edge(v, here, a, corner.to_next);
            }
            if !b_done || revisit {
                if a_done {
                    self.through(v, here, a, b, corner.to_next, corner.to_prev, corner.across);
                }
                // On the rim of an open mesh b is no other corner's a.
                self.along_edge(v, here, b, corner.to_prev);
            }
        }
        for u in mesh.unfolded_of(v as usize) {
            if self.settled[u.other as usize] {
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
            let toward =
                scale(sub(self.mesh.vertices()[to as usize], self.mesh.vertices()[v as usize]), 1.0 / length.max(f64::MIN_POSITIVE));
            self.offer(to, distance, bend, toward);
        }
    }

    /// Reaches `c` through the edge from `a` (just settled) to `b`; the wave's
    /// ray must cross that edge, or the face has nothing to say.
    #[inline(always)]
    #[allow(clippy::too_many_arguments, reason = "three corners and their three edges, in the innermost loop")]
    fn through(&mut self, a: u32, at_a: Front, b: u32, c: u32, ab: f64, ac: f64, bc: f64) {
        let at_b = self.fronts[b as usize];
        let rise = at_b.distance - at_a.distance;
        if !(rise.abs() < ab) {
            return;
        }
        let per_ab = 1.0 / ab;
        let x = 0.5 * (ac * ac - bc * bc + ab * ab) * per_ab;
        let y = (ac * ac - x * x).max(0.0).sqrt();
        let at = self.mesh.vertices();
        let along = sub(at[b as usize], at[a as usize]);
        if dot(at_a.toward, along) - dot(at_b.toward, along) > MEETING * ab {
            self.beside_meeting(a, b, c, [ab, x, y]);
            return;
        }
        // Both fronts carried to the edge's mean distance as on flat ground.
        let open_a = (1.0 + at_a.bend * rise * 0.5).max(0.05);
        let open_b = (1.0 - at_b.bend * rise * 0.5).max(0.05);
        // No point source is nearer to two vertices than half their distance.
        let bend = 0.5 * (at_a.bend * open_b + at_b.bend * open_a) / (open_a * open_b);
        let Some(ray) = crossing(x, y, ab, rise, bend.clamp(TIGHTEST * per_ab, 2.0 * per_ab)) else { return };
        let distance = at_a.distance + ray.rise;
        if distance < self.fronts[c as usize].distance {
            self.arrive(a, b, c, ray.at * per_ab, distance.max(0.0), ray.bend, ray.run);
        }
    }

    /// Lets the wave arrive at `c` by a ray that crosses the edge a-b.
    #[inline(always)]
    #[allow(clippy::too_many_arguments, reason = "a ray with all that is carried along it, in the innermost loop")]
    fn arrive(&mut self, a: u32, b: u32, c: u32, share: f64, distance: f64, bend: f64, run: f64) {
        let (dome, at) = (&self.mesh.dome, self.mesh.vertices());
        let dome = (dome[a as usize] + dome[b as usize] + dome[c as usize]) / 3.0;
        let toward = unit(sub(at[c as usize], lerp(at[a as usize], at[b as usize], share)));
        self.offer(c, distance, bent(bend, dome, run), toward);
    }

    /// Where two waves meet between a and b, each goes on by itself: from its
    /// own vertex, in its own direction, through the same edge.
    #[cold]
    fn beside_meeting(&mut self, a: u32, b: u32, c: u32, [ab, x, y]: Vec3) {
        let at = self.mesh.vertices();
        let along = scale(sub(at[b as usize], at[a as usize]), 1.0 / ab);
        let across = scale(sub(sub(at[c as usize], at[a as usize]), scale(along, x)), 1.0 / y);
        for (from, turned) in [(a, false), (b, true)] {
            let front = self.fronts[from as usize];
            // In the face's plane, seen from this vertex towards the other;
            // a direction that leaves the plane tells nothing here.
            let cosine = dot(front.toward, along) * if turned { -1.0 } else { 1.0 };
            let sine = dot(front.toward, across);
            if cosine * cosine + sine * sine < 0.95 {
                continue;
            }
            let x = if turned { ab - x } else { x };
            let Some((rise, crossed)) = alone(x, y, cosine, sine, front.bend) else { continue };
            let distance = front.distance + rise;
            if (0.0..=ab).contains(&crossed) && distance < self.fronts[c as usize].distance && distance >= front.distance {
                let share = if turned { 1.0 - crossed / ab } else { crossed / ab };
                self.arrive(a, b, c, share, distance, front.bend, rise);
            }
        }
    }
}
