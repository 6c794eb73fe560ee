//! Triangle meshes: built on a smooth skin, or read from a file that cannot be trusted.

mod obj;

use crate::sphere::icosphere;
use crate::surface::SmoothSkin;
use measure::real;
use measure::vector::{Vec3, add, cross, dot, norm, sub, unit};

/// The most vertices taken: about six times the finest mesh anyone needs, and
/// still done in seconds.
pub const MOST_VERTICES: usize = 2_000_000;
/// The most faces taken.
pub const MOST_FACES: usize = 4_000_000;
/// Coordinates beyond this are taken for a broken file: their squares would
/// no longer be finite.
const LARGEST_COORDINATE: f64 = 1e100;

/// A mesh that cannot be used, and why.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum MeshFault {
    /// The text holds no faces.
    #[error("the mesh has no faces: give an OBJ file with \"v\" and \"f\" lines")]
    Empty,
    /// A line of the text cannot be read.
    #[error("line {line}: {what}")]
    Line {
        /// Counted from 1.
        line: usize,
        /// What is wrong with it, and the cure.
        what: String,
    },
    /// A coordinate is not a finite number.
    #[error("vertex {vertex} (counted from 0) has a coordinate that is no usable number: mend the export")]
    NotANumber {
        /// Counted from 0.
        vertex: usize,
    },
    /// A face names a vertex that is not there.
    #[error("face {face} (counted from 0) names vertex {vertex}, but there are only {count}: mend the export")]
    NoSuchVertex {
        /// Counted from 0.
        face: usize,
        /// Counted from 0.
        vertex: usize,
        /// How many there are.
        count: usize,
    },
    /// The mesh is larger than is taken.
    #[error("the mesh has more than {most} {things}: simplify it first")]
    TooLarge {
        /// Vertices or faces.
        things: &'static str,
        /// How many are taken.
        most: usize,
    },
    /// Three faces or more meet along one edge.
    #[error(
        "more than two faces meet along the edge from vertex {0} to vertex {1}, so this is not the skin of one body: remove the extra faces"
    )]
    NotManifold(usize, usize),
    /// A source vertex is not in the mesh.
    #[error("there is no vertex {vertex}: this mesh has vertices 0 to {last}")]
    NoSuchSource {
        /// As asked.
        vertex: usize,
        /// The last there is.
        last: usize,
    },
    /// No source was given.
    #[error("say where the distances start: at least one vertex")]
    NoSource,
    /// Part of the mesh hangs together with no source.
    #[error(
        "no way along the mesh leads from where the distances start to vertex {0}: the mesh is in several pieces; keep only the one that is meant"
    )]
    Unreached(usize),
}

/// A corner of a face as seen from the vertex that owns it: the two other
/// vertices and the three edge lengths.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Corner {
    pub next: u32,
    pub prev: u32,
    pub to_next: f64,
    pub to_prev: f64,
    pub across: f64,
}

/// A face made by unfolding its neighbours, for a corner too wide to be
/// reached from its own face alone: seen from one support vertex.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Unfolded {
    pub owner: u32,
    pub other: u32,
    pub target: u32,
    pub to_other: f64,
    pub to_target: f64,
    pub other_to_target: f64,
}

/// A triangle mesh with its neighbours worked out.
///
/// ```
/// use head::{Sphere, TriMesh};
/// use measure::Length;
/// let ball = TriMesh::icosphere(&Sphere::new(Length::mm(90.0)).unwrap(), 3);
/// assert_eq!(ball.faces().len(), 20 * 64);
/// // No place is further than half round.
/// let far = ball.distances_from_vertices(&[0]).unwrap();
/// assert!(far.iter().all(|mm| *mm < 90.0 * 3.2));
/// assert!(TriMesh::from_obj("v 0 0 0\nf 1 1 1\n").is_err());
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct TriMesh {
    vertices: Vec<Vec3>,
    faces: Vec<[u32; 3]>,
    /// Corners of vertex v: `corners[first[v]..first[v + 1]]`.
    pub(crate) first: Vec<u32>,
    pub(crate) corners: Vec<Corner>,
    pub(crate) first_unfolded: Vec<u32>,
    pub(crate) unfolded: Vec<Unfolded>,
    /// How strongly the skin is domed at each vertex (Gaussian curvature):
    /// the angle that the faces about it leave open, over their area.
    pub(crate) dome: Vec<f64>,
    pub(crate) mean_edge: f64,
}

impl TriMesh {
    /// A mesh of corners and faces in any one unit. Faces that name a vertex
    /// twice are left out.
    ///
    /// *Errors*: what makes distances on it meaningless.
    pub fn new(vertices: Vec<[f64; 3]>, mut faces: Vec<[u32; 3]>) -> Result<Self, MeshFault> {
        if vertices.len() > MOST_VERTICES {
            return Err(MeshFault::TooLarge { things: "vertices", most: MOST_VERTICES });
        }
        if faces.len() > MOST_FACES {
            return Err(MeshFault::TooLarge { things: "faces", most: MOST_FACES });
        }
        let usable = |p: &Vec3| p.iter().all(|c| c.abs() <= LARGEST_COORDINATE);
        if let Some(vertex) = vertices.iter().position(|p| !usable(p)) {
            return Err(MeshFault::NotANumber { vertex });
        }
        let count = vertices.len();
        for (face, corners) in faces.iter().enumerate() {
            if let Some(&vertex) = corners.iter().find(|v| **v as usize >= count) {
                return Err(MeshFault::NoSuchVertex { face, vertex: vertex as usize, count });
            }
        }
        faces.retain(|[a, b, c]| a != b && b != c && c != a);
        if faces.is_empty() {
            return Err(MeshFault::Empty);
        }
        let mut mesh = Self::joined(vertices, faces);
        mesh.refuse_crowded_edges()?;
        mesh.unfold_wide_corners();
        Ok(mesh)
    }

    /// The icosphere of a smooth skin: every edge of the icosahedron halved
    /// `halvings` times (5 give 10 242 vertices, 7 the most), each vertex set
    /// on the skin. A mesh of fewer halvings has the same first vertices.
    #[must_use]
    pub fn icosphere(skin: &impl SmoothSkin, halvings: u32) -> Self {
        let (directions, faces) = icosphere(halvings.min(7));
        Self::on_directions(skin, &directions, faces)
    }

    /// A mesh whose vertices lie on the skin in given directions from its centre.
    pub(crate) fn on_directions(skin: &impl SmoothSkin, directions: &[Vec3], faces: Vec<[u32; 3]>) -> Self {
        let centre = skin.centre();
        let vertices = directions.iter().map(|u| skin.project(add(centre, *u))).collect();
        let mut mesh = Self::joined(vertices, faces);
        mesh.unfold_wide_corners();
        mesh
    }

    /// The vertices, in the mesh's own unit (millimetres on a head).
    #[must_use]
    pub fn vertices(&self) -> &[[f64; 3]] {
        &self.vertices
    }

    /// The triangles, each by its three vertices, anticlockwise seen from outside.
    #[must_use]
    pub fn faces(&self) -> &[[u32; 3]] {
        &self.faces
    }

    /// Mean length of the edges, in the mesh's own unit.
    #[must_use]
    pub fn mean_edge(&self) -> f64 {
        self.mean_edge
    }

    /// The vertex nearest to a place through the air.
    #[must_use]
    pub fn nearest_vertex(&self, p: [f64; 3]) -> usize {
        let mut best = (f64::INFINITY, 0);
        for (i, v) in self.vertices.iter().enumerate() {
            let d = sub(*v, p);
            let d = dot(d, d);
            if d < best.0 {
                best = (d, i);
            }
        }
        best.1
    }

    /// Unit outward normal of a vertex: its faces' normals, larger faces counting more.
    #[must_use]
    pub(crate) fn vertex_normal(&self, v: usize) -> Vec3 {
        let at = self.vertices[v];
        let mut sum = [0.0; 3];
        for corner in self.corners_of(v) {
            let (a, b) = (self.vertices[corner.next as usize], self.vertices[corner.prev as usize]);
            sum = add(sum, cross(sub(a, at), sub(b, at)));
        }
        unit(sum)
    }

    #[inline(always)]
    pub(crate) fn corners_of(&self, v: usize) -> &[Corner] {
        &self.corners[self.first[v] as usize..self.first[v + 1] as usize]
    }

    #[inline(always)]
    pub(crate) fn unfolded_of(&self, v: usize) -> &[Unfolded] {
        if self.unfolded.is_empty() {
            return &[];
        }
        &self.unfolded[self.first_unfolded[v] as usize..self.first_unfolded[v + 1] as usize]
    }

    /// Sorts the corners by the vertex that owns them and measures them.
    fn joined(vertices: Vec<Vec3>, faces: Vec<[u32; 3]>) -> Self {
        let count = vertices.len();
        let mut first = vec![0_u32; count + 1];
        for face in &faces {
            for v in face {
                first[*v as usize + 1] += 1;
            }
        }
        for v in 0..count {
            first[v + 1] += first[v];
        }
        let mut place: Vec<u32> = first[..count].to_vec();
        let blank = Corner { next: 0, prev: 0, to_next: 0.0, to_prev: 0.0, across: 0.0 };
        let mut corners = vec![blank; faces.len() * 3];
        let mut open = vec![2.0 * std::f64::consts::PI; count];
        let mut area = vec![0.0; count];
        let mut edges = 0.0;
        for face in &faces {
            let p = face.map(|v| vertices[v as usize]);
            let sides = [sub(p[1], p[0]), sub(p[2], p[1]), sub(p[0], p[2])];
            let lengths = sides.map(norm);
            let double = norm(cross(sides[0], sides[1]));
            edges += lengths[0] + lengths[1] + lengths[2];
            for k in 0..3 {
                let (next, last) = ((k + 1) % 3, (k + 2) % 3);
                let v = face[k] as usize;
                corners[place[v] as usize] =
                    Corner { next: face[next], prev: face[last], to_next: lengths[k], to_prev: lengths[last], across: lengths[next] };
                place[v] += 1;
                open[v] -= real::atan2(double, -dot(sides[k], sides[last]));
                area[v] += double / 6.0;
            }
        }
        let mean_edge = edges / (3 * faces.len()) as f64;
        let mut mesh =
            Self { vertices, faces, first, corners, first_unfolded: Vec::new(), unfolded: Vec::new(), dome: Vec::new(), mean_edge };
        mesh.dome = mesh.domes(&open, &area);
        mesh
    }

    /// Gaussian curvature at each vertex, averaged over it and its neighbours
    /// because the angle left open at one vertex depends on how the mesh
    /// happens to be cut. None is counted at the rim of an open mesh.
    fn domes(&self, open: &[f64], area: &[f64]) -> Vec<f64> {
        let count = self.vertices.len();
        let closed: Vec<bool> = (0..count).map(|v| self.is_ringed(v)).collect();
        (0..count)
            .map(|v| {
                if !closed[v] {
                    return 0.0;
                }
                let (mut angle, mut size) = (open[v], area[v]);
                for corner in self.corners_of(v) {
                    let n = corner.next as usize;
                    if closed[n] {
                        angle += open[n];
                        size += area[n];
                    }
                }
                if size > 0.0 { angle / size } else { 0.0 }
            })
            .collect()
    }

    /// Whether the faces about a vertex close into a ring: each neighbour is
    /// once the next and once the previous.
    fn is_ringed(&self, v: usize) -> bool {
        // By sorting, for there are meshes with a hundred thousand faces about one vertex.
        let mut nexts: Vec<u32> = self.corners_of(v).iter().map(|c| c.next).collect();
        let mut prevs: Vec<u32> = self.corners_of(v).iter().map(|c| c.prev).collect();
        nexts.sort_unstable();
        prevs.sort_unstable();
        !nexts.is_empty() && nexts == prevs
    }

    fn refuse_crowded_edges(&self) -> Result<(), MeshFault> {
        let mut neighbours: Vec<u32> = Vec::new();
        for v in 0..self.vertices.len() {
            neighbours.clear();
            for corner in self.corners_of(v) {
                neighbours.extend([corner.next, corner.prev]);
            }
            neighbours.sort_unstable();
            if let Some(w) = neighbours.windows(3).find(|w| w[0] == w[2]) {
                return Err(MeshFault::NotManifold(v, w[0] as usize));
            }
        }
        Ok(())
    }

    /// For each corner wider than a right angle, unfolds the faces beyond the
    /// far edge into the corner's plane until a vertex splits the angle into
    /// two that are not.
    fn unfold_wide_corners(&mut self) {
        let mut found: Vec<Unfolded> = Vec::new();
        for target in 0..self.vertices.len() {
            for corner in self.corners_of(target) {
                let wide = corner.to_next * corner.to_next + corner.to_prev * corner.to_prev < corner.across * corner.across * (1.0 - 1e-9);
                if wide {
                    self.unfold(target as u32, corner, &mut found);
                }
            }
        }
        if found.is_empty() {
            return;
        }
        let count = self.vertices.len();
        found.sort_by_key(|u| u.owner);
        let mut first = vec![0_u32; count + 1];
        for u in &found {
            first[u.owner as usize + 1] += 1;
        }
        for v in 0..count {
            first[v + 1] += first[v];
        }
        self.first_unfolded = first;
        self.unfolded = found;
    }

    fn unfold(&self, target: u32, corner: &Corner, found: &mut Vec<Unfolded>) {
        /// Faces unfolded before giving up; needle-thin faces may need several.
        const MOST: usize = 24;
        let (right, left) = (corner.next, corner.prev);
        let at_right = [corner.to_next, 0.0];
        let cosine = (corner.to_next * corner.to_next + corner.to_prev * corner.to_prev - corner.across * corner.across)
            / (2.0 * corner.to_next * corner.to_prev);
        let sine = (1.0 - cosine * cosine).max(0.0).sqrt();
        let at_left = [corner.to_prev * cosine, corner.to_prev * sine];
        if !(sine > 1e-6) {
            return;
        }
        let (mut a, mut b) = ((right, at_right), (left, at_left));
        for _ in 0..MOST {
            let Some((apex, to_a, to_b)) = self.across_edge(a.0, b.0) else { return };
            let along = [b.1[0] - a.1[0], b.1[1] - a.1[1]];
            let length = (along[0] * along[0] + along[1] * along[1]).sqrt();
            if !(length > 0.0) {
                return;
            }
            let x = (to_a * to_a - to_b * to_b + length * length) / (2.0 * length);
            let y = (to_a * to_a - x * x).max(0.0).sqrt();
            // Outward of the edge a -> b as seen from the corner at the origin.
            let e = [along[0] / length, along[1] / length];
            let p = [a.1[0] + e[0] * x + e[1] * y, a.1[1] + e[1] * x - e[0] * y];
            let not_wide_right = p[0] * at_right[0] + p[1] * at_right[1] >= 0.0;
            let not_wide_left = p[0] * at_left[0] + p[1] * at_left[1] >= 0.0;
            if not_wide_right && not_wide_left {
                let far = (p[0] * p[0] + p[1] * p[1]).sqrt();
                for (edge, place, reach) in [(right, at_right, corner.to_next), (left, at_left, corner.to_prev)] {
                    let gap = ((p[0] - place[0]) * (p[0] - place[0]) + (p[1] - place[1]) * (p[1] - place[1])).sqrt();
                    found.push(Unfolded { owner: edge, other: apex, target, to_other: gap, to_target: reach, other_to_target: far });
                    found.push(Unfolded { owner: apex, other: edge, target, to_other: gap, to_target: far, other_to_target: reach });
                }
                return;
            }
            if not_wide_right { b = (apex, p) } else { a = (apex, p) }
        }
    }

    /// The third vertex of the face that has the edge from `a` to `b` on the
    /// far side (the near side is where b follows a), with its two edges.
    fn across_edge(&self, a: u32, b: u32) -> Option<(u32, f64, f64)> {
        // Asked of the end with fewer faces: the other may be the hub of very many.
        let (at_a, at_b) = (self.corners_of(a as usize), self.corners_of(b as usize));
        if at_a.len() <= at_b.len() {
            at_a.iter().find(|c| c.prev == b).map(|c| (c.next, c.to_next, c.across))
        } else {
            at_b.iter().find(|c| c.next == a).map(|c| (c.prev, c.across, c.to_prev))
        }
    }
}
