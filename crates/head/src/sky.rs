//! The one icosphere that every head's mesh is made on: its directions, its
//! faces at every fineness, which vertex mirrors which, and which face a
//! direction falls in. Made once; the same for all heads.

use crate::mesh::icosphere;
use crate::vector::{Vec3, cross, dot, mirror};
use std::collections::BTreeMap;
use std::sync::OnceLock;

/// Halvings of the mesh that distances are marched on: 10 242 vertices.
pub(crate) const FINE: u32 = 5;
/// Halvings of the mesh for a picture: 2 562 vertices.
pub(crate) const COARSE: u32 = 4;

pub(crate) struct Sky {
    pub directions: Vec<Vec3>,
    /// Faces after 0, 1, ... `FINE` halvings; face i becomes 4i to 4i+3.
    pub faces: Vec<Vec<[u32; 3]>>,
    pub mirrored: Vec<u32>,
}

impl Sky {
    pub(crate) fn get() -> &'static Self {
        static SKY: OnceLock<Sky> = OnceLock::new();
        SKY.get_or_init(|| {
            let (directions, _) = icosphere(FINE);
            let faces = (0..=FINE).map(|halvings| icosphere(halvings).1).collect();
            // Adding zero turns -0 into 0, so that equal places have equal bits.
            let bits = |p: &Vec3| p.map(|c| (c + 0.0).to_bits());
            let places: BTreeMap<[u64; 3], u32> = directions.iter().enumerate().map(|(i, p)| (bits(p), i as u32)).collect();
            let mirrored = directions.iter().enumerate().map(|(i, p)| places.get(&bits(&mirror(*p))).copied().unwrap_or(i as u32)).collect();
            Self { directions, faces, mirrored }
        })
    }

    /// The finest face that a direction falls in.
    pub(crate) fn face_of(&self, u: Vec3) -> [u32; 3] {
        self.face_at(u, FINE)
    }

    /// The face after so many halvings that a direction falls in.
    pub(crate) fn face_at(&self, u: Vec3, halvings: u32) -> [u32; 3] {
        let inside = |face: &[u32; 3]| {
            let [a, b, c] = face.map(|v| self.directions[v as usize]);
            dot(u, cross(a, b)).min(dot(u, cross(b, c))).min(dot(u, cross(c, a)))
        };
        let best_of = |faces: &[[u32; 3]]| {
            let mut best = (f64::NEG_INFINITY, 0);
            for (i, face) in faces.iter().enumerate() {
                let depth = inside(face);
                if depth > best.0 {
                    best = (depth, i);
                }
            }
            best.1
        };
        let mut at = best_of(&self.faces[0]);
        for finer in &self.faces[1..=halvings as usize] {
            at = 4 * at + best_of(&finer[4 * at..4 * at + 4]);
        }
        self.faces[halvings as usize][at]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_vertex_has_its_mirror_image_to_the_last_bit() {
        let sky = Sky::get();
        for (i, p) in sky.directions.iter().enumerate() {
            let q = sky.directions[sky.mirrored[i] as usize];
            assert!(q[0] == -p[0] && q[1] == p[1] && q[2] == p[2], "vertex {i}");
        }
    }

    #[test]
    fn a_direction_falls_in_the_face_that_holds_it() {
        let sky = Sky::get();
        for face in sky.faces[FINE as usize].iter().step_by(97) {
            let [a, b, c] = face.map(|v| sky.directions[v as usize]);
            let u = [0, 1, 2].map(|k: usize| 0.2 * a[k] + 0.3 * b[k] + 0.5 * c[k]);
            assert_eq!(sky.face_of(u), *face);
        }
    }
}
