//! The one icosphere that every head's mesh is made on: its directions, its
//! faces at every fineness, which vertex mirrors which, and which face a
//! direction falls in. Made once; the same for all heads.

use crate::sphere::icospheres;
use measure::vector::{Vec3, cross, dot, mirror};
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
    /// For each edge of the coarsest faces the normal of the plane through it
    /// and the centre, pointing into the face.
    inward: Vec<[Vec3; 3]>,
}

impl Sky {
    pub(crate) fn get() -> &'static Self {
        static SKY: OnceLock<Sky> = OnceLock::new();
        SKY.get_or_init(|| {
            let (directions, faces) = icospheres(FINE);
            // Adding zero turns -0 into 0, so that equal places have equal bits.
            let bits = |p: &Vec3| p.map(|c| (c + 0.0).to_bits());
            let mut places: Vec<([u64; 3], u32)> = directions.iter().zip(0..).map(|(p, i)| (bits(p), i)).collect();
            places.sort_unstable();
            let at = |p: Vec3| places.binary_search_by_key(&bits(&p), |place| place.0).ok().map(|k| places[k].1);
            let mirrored = directions.iter().zip(0..).map(|(p, i)| at(mirror(*p)).unwrap_or(i)).collect();
            let edge = |a: u32, b: u32| cross(directions[a as usize], directions[b as usize]);
            let inward = faces[0].iter().map(|&[a, b, c]| [edge(a, b), edge(b, c), edge(c, a)]).collect();
            Self { directions, faces, mirrored, inward }
        })
    }

    /// The finest face that a direction falls in.
    pub(crate) fn face_of(&self, u: Vec3) -> [u32; 3] {
        self.face_at(u, FINE)
    }

    /// The face after so many halvings that a direction falls in.
    pub(crate) fn face_at(&self, u: Vec3, halvings: u32) -> [u32; 3] {
        let beyond = |a: u32, b: u32| dot(u, cross(self.directions[a as usize], self.directions[b as usize]));
        let mut best = (f64::NEG_INFINITY, 0);
        for (i, edges) in self.inward.iter().enumerate() {
            let depth = dot(u, edges[0]).min(dot(u, edges[1])).min(dot(u, edges[2]));
            if depth > best.0 {
                best = (depth, i);
            }
        }
        // Of the four faces that one becomes, the last is the middle one; each
        // of its edges parts it from a corner.
        let mut at = best.1;
        for finer in &self.faces[1..=halvings as usize] {
            let [ab, bc, ca] = finer[4 * at + 3];
            at = 4 * at
                + if beyond(ca, ab) < 0.0 {
                    0
                } else if beyond(ab, bc) < 0.0 {
                    1
                } else if beyond(bc, ca) < 0.0 {
                    2
                } else {
                    3
                };
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
