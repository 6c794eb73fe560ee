//! Lines drawn on a mesh: of one level of a field, and straight down a field.

use crate::mesh::{MeshFault, TriMesh};
use measure::vector::{Vec3, add, cross, distance, dot, lerp, norm, scale, sub, unit};

/// Most faces one line may cross: far more than any real line, so that no
/// broken field can keep a trace running.
const MOST_STEPS: usize = 100_000;

impl TriMesh {
    /// The lines on which a field (one value to a vertex) has one level, each
    /// a row of joined points; a closed line ends where it began.
    #[must_use]
    pub fn iso_lines(&self, field: &[f64], level: f64) -> Vec<Vec<[f64; 3]>> {
        if field.len() != self.vertices().len() {
            return Vec::new();
        }
        let above = |v: u32| field[v as usize] > level;
        let crossed = |f: &[u32; 3]| {
            let n = f.iter().filter(|v| above(**v)).count();
            n == 1 || n == 2
        };
        let mut waiting: std::collections::BTreeSet<[u32; 3]> =
            self.faces().iter().filter(|f| crossed(f) && f.iter().all(|v| field[*v as usize].is_finite())).map(|f| turned(*f)).collect();
        let mut lines = Vec::new();
        while let Some(face) = waiting.pop_first() {
            let mut line = Vec::new();
            let (enter, leave) = self.gates(face, &above);
            let onward = self.follow(leave, &above, &mut waiting);
            let closed = onward.last().is_some_and(|e| *e == [enter[1], enter[0]] || *e == enter);
            let backward = if closed { Vec::new() } else { self.follow(enter, &above, &mut waiting) };
            line.extend(backward.iter().rev().map(|e| self.on_edge(*e, field, level)));
            line.push(self.on_edge(enter, field, level));
            line.push(self.on_edge(leave, field, level));
            line.extend(onward.iter().map(|e| self.on_edge(*e, field, level)));
            lines.push(line);
        }
        lines
    }

    /// The two edges of a face that a level crosses.
    fn gates(&self, face: [u32; 3], above: &impl Fn(u32) -> bool) -> ([u32; 2], [u32; 2]) {
        let edges = [[face[0], face[1]], [face[1], face[2]], [face[2], face[0]]];
        let mut crossed = edges.into_iter().filter(|[a, b]| above(*a) != above(*b));
        let first = crossed.next().unwrap_or(edges[0]);
        (first, crossed.next().unwrap_or(edges[1]))
    }

    /// Follows a level out of a face through an edge, taking the faces it
    /// crosses out of the waiting ones; the edges crossed after the first.
    fn follow(&self, through: [u32; 2], above: &impl Fn(u32) -> bool, waiting: &mut std::collections::BTreeSet<[u32; 3]>) -> Vec<[u32; 2]> {
        let mut edges = Vec::new();
        let mut edge = through;
        for _ in 0..MOST_STEPS {
            // The face beyond has the same edge the other way round.
            let Some(apex) = self.apex_beyond(edge) else { break };
            let face = turned([edge[1], edge[0], apex]);
            if !waiting.remove(&face) {
                break;
            }
            edge = if above(apex) == above(edge[0]) { [apex, edge[1]] } else { [edge[0], apex] };
            edges.push(edge);
        }
        edges
    }

    /// The third vertex of the face that runs along an edge the other way round.
    pub(crate) fn apex_beyond(&self, [a, b]: [u32; 2]) -> Option<u32> {
        self.corners_of(b as usize).iter().find(|c| c.next == a).map(|c| c.prev)
    }

    fn on_edge(&self, [a, b]: [u32; 2], field: &[f64], level: f64) -> Vec3 {
        // From the lower-numbered end, so that both faces agree on the point.
        let (a, b) = (a.min(b) as usize, a.max(b) as usize);
        let rise = field[b] - field[a];
        let t = if rise != 0.0 { ((level - field[a]) / rise).clamp(0.0, 1.0) } else { 0.5 };
        lerp(self.vertices()[a], self.vertices()[b], t)
    }

    /// The way of steepest descent from a vertex down a field of distances to
    /// where it is (nearly) zero: the shortest way along the surface.
    ///
    /// *Errors*: a vertex that is not there, or that no way leads from.
    pub fn shortest_way(&self, field: &[f64], from: usize) -> Result<Vec<[f64; 3]>, MeshFault> {
        if from >= self.vertices().len() || field.len() != self.vertices().len() {
            return Err(MeshFault::NoSuchSource { vertex: from, last: self.vertices().len().saturating_sub(1) });
        }
        if !field[from].is_finite() {
            return Err(MeshFault::Unreached(from));
        }
        let mut way = vec![self.vertices()[from]];
        let mut place = Place::Vertex(from as u32);
        for _ in 0..MOST_STEPS {
            let Some((next, at)) = self.step_down(field, place) else { break };
            if distance(at, way[way.len() - 1]) > 1e-9 * self.mean_edge {
                way.push(at);
            }
            place = next;
        }
        Ok(way)
    }

    /// One step down a field: across a face to its rim, or along an edge.
    fn step_down(&self, field: &[f64], place: Place) -> Option<(Place, Vec3)> {
        match place {
            Place::Vertex(v) => {
                let here = field[v as usize];
                let mut best: Option<(f64, Place, Vec3)> = None;
                for corner in self.corners_of(v as usize) {
                    let (a, b) = (corner.next, corner.prev);
                    for (w, length) in [(a, corner.to_next), (b, corner.to_prev)] {
                        let fall = (here - field[w as usize]) / length;
                        if fall > 0.0 && best.is_none_or(|(f, _, _)| fall > f) {
                            best = Some((fall, Place::Vertex(w), self.vertices()[w as usize]));
                        }
                    }
                    if let Some((t, steep)) = self.down_across(field, self.vertices()[v as usize], [v, a, b], [a, b])
                        && best.is_none_or(|(f, _, _)| steep > f)
                    {
                        best = Some((steep, Place::Edge([a, b], t), lerp(self.vertices()[a as usize], self.vertices()[b as usize], t)));
                    }
                }
                best.map(|(_, place, at)| (place, at))
            }
            Place::Edge([a, b], t) => {
                let (pa, pb) = (self.vertices()[a as usize], self.vertices()[b as usize]);
                let at = lerp(pa, pb, t);
                // A place on edge a-b of the face (a, b, ...) just crossed goes
                // on into the face beyond.
                if let Some(c) = self.apex_beyond([a, b]).filter(|c| field[*c as usize].is_finite()) {
                    // Its two other edges, as that face runs them.
                    for edge in [[a, c], [c, b]] {
                        if let Some((s, _)) = self.down_across(field, at, [b, a, c], edge) {
                            return Some((
                                Place::Edge(edge, s),
                                lerp(self.vertices()[edge[0] as usize], self.vertices()[edge[1] as usize], s),
                            ));
                        }
                    }
                }
                // A valley: the edge itself leads down to its lower end.
                let low = if field[a as usize] < field[b as usize] { a } else { b };
                let here = field[a as usize] * (1.0 - t) + field[b as usize] * t;
                (field[low as usize] < here).then(|| (Place::Vertex(low), self.vertices()[low as usize]))
            }
        }
    }

    /// Where the line of steepest descent of a face from a place on it meets
    /// one of its edges (as a share of the edge), and how steep it is; none
    /// when it does not.
    fn down_across(&self, field: &[f64], from: Vec3, face: [u32; 3], edge: [u32; 2]) -> Option<(f64, f64)> {
        let p = face.map(|v| self.vertices()[v as usize]);
        let f = face.map(|v| field[v as usize]);
        let normal = cross(sub(p[1], p[0]), sub(p[2], p[0]));
        let square = dot(normal, normal);
        if !(square > 0.0) {
            return None;
        }
        let lift = |k: usize| scale(cross(normal, sub(p[(k + 2) % 3], p[(k + 1) % 3])), f[k] / square);
        let slope = add(lift(0), add(lift(1), lift(2)));
        let steep = norm(slope);
        if !(steep > 0.0) {
            return None;
        }
        let down = scale(slope, -1.0 / steep);
        let (a, b) = (self.vertices()[edge[0] as usize], self.vertices()[edge[1] as usize]);
        let side = unit(cross(unit(normal), down));
        let (ha, hb) = (dot(sub(a, from), side), dot(sub(b, from), side));
        if ha == hb || ha * hb > 0.0 {
            return None;
        }
        let t = ha / (ha - hb);
        let ahead = dot(sub(lerp(a, b, t), from), down);
        (ahead > 1e-9 * self.mean_edge).then_some((t, steep))
    }

    /// A polyline of vertices as points: where two that follow each other
    /// share no edge, the shortest way between them is put in. With it, for
    /// each point, a vertex at or beside it.
    pub(crate) fn joined_curve(&self, curve: &[usize]) -> Result<(Vec<Vec3>, Vec<usize>), MeshFault> {
        let last = self.vertices().len().saturating_sub(1);
        if let Some(&vertex) = curve.iter().find(|v| **v > last) {
            return Err(MeshFault::NoSuchSource { vertex, last });
        }
        let mut points = Vec::new();
        let mut on = Vec::new();
        for (i, &v) in curve.iter().enumerate() {
            if let Some(&next) = curve.get(i + 1)
                && next != v
                && !self.corners_of(v).iter().any(|c| c.next as usize == next || c.prev as usize == next)
            {
                let field = self.distances_from_vertices(&[next])?;
                let way = self.shortest_way(&field, v)?;
                for p in way {
                    let near = self.walk_nearer(*on.last().unwrap_or(&v), p);
                    points.push(p);
                    on.push(near);
                }
                continue;
            }
            points.push(self.vertices()[v]);
            on.push(v);
        }
        Ok((points, on))
    }
}

/// Where a line stands on a mesh.
#[derive(Debug, Clone, Copy)]
enum Place {
    Vertex(u32),
    Edge([u32; 2], f64),
}

/// A face written from its lowest vertex on, the way round unchanged.
fn turned([a, b, c]: [u32; 3]) -> [u32; 3] {
    if a < b && a < c {
        [a, b, c]
    } else if b < c {
        [b, c, a]
    } else {
        [c, a, b]
    }
}
