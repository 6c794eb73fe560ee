//! Triangle meshes: built on a smooth skin, or read from a file that cannot be trusted.

use crate::surface::SmoothSkin;
use crate::vector::{Vec3, add, unit};
use std::collections::BTreeMap;

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
        /// What is wrong with it.
        what: String,
    },
    /// A coordinate is not a finite number.
    #[error("vertex {vertex} (counted from 0) has a coordinate that is no number: remove it or mend the export")]
    NotANumber {
        /// Counted from 0.
        vertex: usize,
    },
    /// A face names a vertex that is not there.
    #[error("face {face} (counted from 0) names vertex {vertex}, but the mesh has {count}")]
    NoSuchVertex {
        /// Counted from 0.
        face: usize,
        /// Counted from 0.
        vertex: usize,
        /// How many there are.
        count: usize,
    },
    /// The mesh is larger than is taken.
    #[error("the mesh has {count} {things}; at most {most} are taken: simplify it first")]
    TooLarge {
        /// Vertices or faces.
        things: &'static str,
        /// How many.
        count: usize,
        /// How many are taken.
        most: usize,
    },
    /// Three faces or more meet along one edge.
    #[error("more than two faces meet along the edge from vertex {0} to vertex {1}: distances along such a mesh have no single meaning; mend it first")]
    NotManifold(usize, usize),
    /// A source vertex is not in the mesh.
    #[error("there is no vertex {vertex}: the mesh has vertices 0 to {last}")]
    NoSuchSource {
        /// As asked.
        vertex: usize,
        /// The last there is.
        last: usize,
    },
    /// No source was given.
    #[error("say where the distances start: at least one vertex")]
    NoSource,
    /// Two vertices of a curve that follow each other are not joined by an edge path on the mesh.
    #[error("no way along the mesh leads from a source to vertex {0}: the mesh is in several pieces; keep the one that is meant")]
    Unreached(usize),
}

/// A triangle mesh with its neighbours worked out.
#[derive(Debug, Clone, PartialEq)]
pub struct TriMesh {
    /// Corners, in the mesh's own unit (millimetres on a head).
    pub vertices: Vec<[f64; 3]>,
    /// Triangles, each by its three corners.
    pub faces: Vec<[u32; 3]>,
}

impl TriMesh {
    /// The icosphere of a smooth skin: every edge of the icosahedron halved
    /// `halvings` times (5 give 10 242 vertices), each vertex set on the skin.
    /// Meshes of fewer halvings share their vertices, in the same order.
    #[must_use]
    pub fn icosphere(skin: &impl SmoothSkin, halvings: u32) -> Self {
        let (directions, faces) = icosphere(halvings.min(8));
        let centre = skin.centre();
        let vertices = directions.iter().map(|u| skin.project(add(centre, *u))).collect();
        Self { vertices, faces }
    }
}

/// Directions and faces of the icosphere.
fn icosphere(halvings: u32) -> (Vec<Vec3>, Vec<[u32; 3]>) {
    let g = (1.0 + 5.0_f64.sqrt()) / 2.0;
    let mut points: Vec<Vec3> = [
        [-1.0, g, 0.0], [1.0, g, 0.0], [-1.0, -g, 0.0], [1.0, -g, 0.0],
        [0.0, -1.0, g], [0.0, 1.0, g], [0.0, -1.0, -g], [0.0, 1.0, -g],
        [g, 0.0, -1.0], [g, 0.0, 1.0], [-g, 0.0, -1.0], [-g, 0.0, 1.0],
    ]
    .into_iter()
    .map(unit)
    .collect();
    let mut faces: Vec<[u32; 3]> = vec![
        [0, 11, 5], [0, 5, 1], [0, 1, 7], [0, 7, 10], [0, 10, 11],
        [1, 5, 9], [5, 11, 4], [11, 10, 2], [10, 7, 6], [7, 1, 8],
        [3, 9, 4], [3, 4, 2], [3, 2, 6], [3, 6, 8], [3, 8, 9],
        [4, 9, 5], [2, 4, 11], [6, 2, 10], [8, 6, 7], [9, 8, 1],
    ];
    for _ in 0..halvings {
        let mut middles: BTreeMap<(u32, u32), u32> = BTreeMap::new();
        let mut finer = Vec::with_capacity(faces.len() * 4);
        for &[a, b, c] in &faces {
            let mut middle = |i: u32, j: u32| {
                *middles.entry((i.min(j), i.max(j))).or_insert_with(|| {
                    points.push(unit(add(points[i as usize], points[j as usize])));
                    (points.len() - 1) as u32
                })
            };
            let (ab, bc, ca) = (middle(a, b), middle(b, c), middle(c, a));
            finer.extend([[a, ab, ca], [b, bc, ab], [c, ca, bc], [ab, bc, ca]]);
        }
        faces = finer;
    }
    (points, faces)
}
