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

mod march;
mod ray;

use crate::mesh::{MeshFault, TriMesh};
use march::{Front, March};
use measure::vector::{Vec3, add, distance, dot, lerp, norm, scale, sub};

/// A curve on the surface that distances start from.
struct Curve<'c> {
    points: &'c [Vec3],
    /// Distance along the curve of each point.
    along: Vec<f64>,
}

impl Curve<'_> {
    fn new(points: &[Vec3]) -> Curve<'_> {
        let mut along = vec![0.0; points.len()];
        for i in 1..points.len() {
            along[i] = along[i - 1] + distance(points[i - 1], points[i]);
        }
        Curve { points, along }
    }

    /// The nearest place on one piece, as a distance and a share of the piece.
    fn nearest_on(&self, piece: usize, p: Vec3) -> (f64, f64) {
        let (a, b) = (self.points[piece], self.points[(piece + 1).min(self.points.len() - 1)]);
        let t = share_of_piece(a, b, p);
        (distance(p, lerp(a, b, t)), t)
    }

    fn place(&self, piece: usize, t: f64) -> Vec3 {
        lerp(self.points[piece], self.points[(piece + 1).min(self.points.len() - 1)], t)
    }

    fn at(&self, along: f64) -> Vec3 {
        let last = self.points.len() - 1;
        let i = self.along.partition_point(|a| *a <= along).clamp(1, last.max(1)) - 1;
        let j = (i + 1).min(last);
        let length = self.along[j] - self.along[i];
        lerp(self.points[i], self.points[j], if length > 0.0 { ((along - self.along[i]) / length).clamp(0.0, 1.0) } else { 0.0 })
    }

    /// How the front bends at a place so far out in the direction `out` from
    /// the curve, whose nearest place on it is `t` of the way along a piece: as the curve does, judged over `window` each way
    /// because a curve of mesh edges zigzags; beyond an end, as about a point.
    fn bend_towards(&self, piece: usize, t: f64, out: Vec3, far: f64, window: f64) -> f64 {
        let total = self.along[self.points.len() - 1];
        let here = self.along[piece] + t * (self.along[(piece + 1).min(self.points.len() - 1)] - self.along[piece]);
        let closed = distance(self.points[0], self.points[self.points.len() - 1]) < 1e-9 * window;
        if !closed && (here <= 0.0 || here >= total) {
            return 1.0 / far;
        }
        let window = window.min(0.25 * total);
        let at = |s: f64| if closed { self.at(s.rem_euclid(total)) } else { self.at(s) };
        let here = if closed { here } else { here.clamp(window, total - window) };
        let middle = at(here);
        let turn = sub(add(at(here - window), at(here + window)), scale(middle, 2.0));
        let at_curve = -dot(turn, out) / (window * window);
        // The front opens or closes on its way out, but not to a point at once.
        (at_curve / (1.0 + at_curve * far).max(0.2)).clamp(-1.0 / (2.0 * window), 1.0 / far)
    }
}

/// Where on the piece from `a` to `b` the nearest place to `p` lies, 0 to 1.
pub(crate) fn share_of_piece(a: Vec3, b: Vec3, p: Vec3) -> f64 {
    let along = sub(b, a);
    let square = dot(along, along);
    if square > 0.0 { (dot(sub(p, a), along) / square).clamp(0.0, 1.0) } else { 0.0 }
}

/// Distance through the air from `p` to a row of joined points, mm.
pub(crate) fn distance_to_line(line: &[Vec3], p: Vec3) -> f64 {
    let first = line.first().map_or(f64::INFINITY, |q| distance(*q, p));
    line.windows(2).fold(first, |best, w| best.min(distance(p, lerp(w[0], w[1], share_of_piece(w[0], w[1], p)))))
}

impl TriMesh {
    fn known(&self, v: usize) -> Result<usize, MeshFault> {
        if v < self.vertices().len() {
            Ok(v)
        } else {
            Err(MeshFault::NoSuchSource { vertex: v, last: self.vertices().len().saturating_sub(1) })
        }
    }

    /// Distances along the surface from the nearest of some vertices to every
    /// vertex, in the mesh's unit; infinite where no way leads.
    ///
    /// *Accuracy*: on icospheres of 10 242 vertices within 0.03 mm of the
    /// exact distance on the mean, on a head of 90 mm radius (bench_geodesics).
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

    /// Distances along the surface from a place on it to every vertex.
    #[must_use]
    pub fn distances_from_point(&self, p: [f64; 3]) -> Vec<f64> {
        self.distances_from_line(&[p], &[])
    }

    /// Distances along the surface from a curve on it, given as a row of
    /// joined points, to every vertex, in the mesh's unit.
    ///
    /// *Accuracy*: near the curve the distances are exact to the height of the
    /// surface's dome over two edges; the curve is never moved to vertices.
    ///
    /// *Errors*: no point.
    pub fn distances_from_curve(&self, curve: &[[f64; 3]]) -> Result<Vec<f64>, MeshFault> {
        if curve.is_empty() {
            return Err(MeshFault::NoSource);
        }
        Ok(self.distances_from_line(curve, &[]))
    }

    /// Distances from a curve; `on` names a vertex known to lie at each point,
    /// where that is known.
    fn distances_from_line(&self, curve: &[Vec3], on: &[usize]) -> Vec<f64> {
        let mut march = March::new(self);
        let curve = Curve::new(curve);
        let mut known = Vec::new();
        for (v, (far, piece, t)) in self.beside(&curve, on) {
            // Of the way from the curve only what lies in the surface counts:
            // a curve of few points cuts under the surface a little.
            let out = sub(self.vertices()[v], curve.place(piece, t));
            let upright = self.vertex_normal(v);
            let out = sub(out, scale(upright, dot(out, upright)));
            let flat = norm(out);
            let (toward, bend) = if flat <= 0.02 * self.mean_edge {
                // On the curve the wave goes both ways.
                ([0.0; 3], if curve.points.len() == 1 { march.sharpest } else { 0.0 })
            } else if curve.points.len() == 1 {
                (scale(out, 1.0 / flat), 1.0 / far)
            } else {
                (scale(out, 1.0 / flat), curve.bend_towards(piece, t, scale(out, 1.0 / flat), far, 4.0 * self.mean_edge))
            };
            known.push((v, Front { distance: far, bend, toward }));
        }
        march.start_from(&known);
        march.run()
    }

    /// The vertices within two edges of a curve, each with its distance, the
    /// nearest piece, and the share of it.
    fn beside(&self, curve: &Curve<'_>, on: &[usize]) -> Vec<(usize, (f64, usize, f64))> {
        let mut found: std::collections::BTreeMap<usize, (f64, usize, f64)> = std::collections::BTreeMap::new();
        let mut stand = on.first().copied().unwrap_or_else(|| self.nearest_vertex(curve.points[0]));
        for piece in 0..curve.points.len().saturating_sub(1).max(1) {
            let (from, to) = (curve.points[piece], curve.points[(piece + 1).min(curve.points.len() - 1)]);
            let steps = (distance(from, to) / self.mean_edge).ceil().clamp(1.0, 1e4) as usize;
            for step in 0..=steps {
                let at = lerp(from, to, step as f64 / steps as f64);
                let before = stand;
                stand = match (step == 0, on.get(piece)) {
                    (true, Some(v)) => *v,
                    _ => self.walk_nearer(stand, at),
                };
                if step == 0 || stand != before {
                    self.measure_about(stand, piece, curve, &mut found);
                }
            }
            if let Some(v) = on.get(piece + 1) {
                stand = *v;
                self.measure_about(stand, piece, curve, &mut found);
            }
        }
        found.into_iter().collect()
    }

    /// Measures a vertex, its neighbours and theirs against one piece of the curve.
    fn measure_about(
        &self,
        stand: usize,
        piece: usize,
        curve: &Curve<'_>,
        found: &mut std::collections::BTreeMap<usize, (f64, usize, f64)>,
    ) {
        /// Not about a hub of many faces, to which every vertex of its rim would come back.
        const MOST_BEYOND: usize = 64;
        let upright = self.vertex_normal(stand);
        let mut measure = |v: usize, near: bool| {
            let (far, t) = curve.nearest_on(piece, self.vertices()[v]);
            if found.get(&v).is_some_and(|kept| kept.0 <= far) {
                return;
            }
            // Beyond the first ring the air line is only good where the
            // surface does not turn away.
            if near || dot(self.vertex_normal(v), upright) > 0.9 {
                found.insert(v, (far, piece, t));
            }
        };
        measure(stand, true);
        for corner in self.corners_of(stand) {
            measure(corner.next as usize, true);
            measure(corner.prev as usize, true);
        }
        for corner in self.corners_of(stand).iter().filter(|c| self.corners_of(c.next as usize).len() <= MOST_BEYOND) {
            for beyond in self.corners_of(corner.next as usize) {
                measure(beyond.next as usize, false);
            }
        }
    }

    /// Walks from vertex to neighbouring vertex as long as that leads nearer to a place.
    pub(crate) fn walk_nearer(&self, from: usize, to: Vec3) -> usize {
        let mut here = from;
        let mut best = distance(self.vertices()[here], to);
        loop {
            let before = here;
            for corner in self.corners_of(before) {
                for v in [corner.next as usize, corner.prev as usize] {
                    let d = distance(self.vertices()[v], to);
                    if d < best {
                        (best, here) = (d, v);
                    }
                }
            }
            if here == before {
                return here;
            }
        }
    }
}

/// Distances on a mesh given as OBJ text, in its own unit: from vertices
/// (counted from 0), from a polyline of vertices, or from both.
///
/// *Meaning*: vertices of the polyline that share no edge are joined by the
/// shortest way along the mesh.
///
/// *Errors*: a mesh that cannot be read or on which distances mean nothing, a
/// source that is not there, a vertex that no way leads to.
///
/// ```
/// // A square of two triangles, from one corner: along its sides and across.
/// let square = "v 0 0 0\nv 1 0 0\nv 1 1 0\nv 0 1 0\nf 1 2 3\nf 1 3 4\n";
/// let far = head::check_geodesic(square, &[0], &[]).unwrap();
/// assert!((far[1] - 1.0).abs() < 1e-9 && (far[2] - 2.0_f64.sqrt()).abs() < 1e-9);
/// ```
pub fn check_geodesic(obj_text: &str, from: &[usize], curve: &[usize]) -> Result<Vec<f64>, MeshFault> {
    let mesh = TriMesh::from_obj(obj_text)?;
    if from.is_empty() && curve.is_empty() {
        return Err(MeshFault::NoSource);
    }
    let mut distances = vec![f64::INFINITY; mesh.vertices().len()];
    if !from.is_empty() {
        distances = mesh.distances_from_vertices(from)?;
    }
    if !curve.is_empty() {
        let (points, on) = mesh.joined_curve(curve)?;
        let others = mesh.distances_from_line(&points, &on);
        for (d, other) in distances.iter_mut().zip(others) {
            *d = d.min(other);
        }
    }
    match distances.iter().position(|d| !d.is_finite()) {
        Some(v) => Err(MeshFault::Unreached(v)),
        None => Ok(distances),
    }
}
