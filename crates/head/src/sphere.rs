//! Even directions all round: an icosahedron whose triangles are halved.

use measure::vector::{Vec3, add, scale, unit};

/// Directions and faces of the icosphere.
pub(crate) fn icosphere(halvings: u32) -> (Vec<Vec3>, Vec<[u32; 3]>) {
    let (points, mut faces) = icospheres(halvings);
    (points, faces.pop().unwrap_or_default())
}

/// As [`icosphere`], with the faces after 0, 1, ... `halvings` halvings; the
/// coarser ones use the first of the points.
pub(crate) fn icospheres(halvings: u32) -> (Vec<Vec3>, Vec<Vec<[u32; 3]>>) {
    let g = (1.0 + 5.0_f64.sqrt()) / 2.0;
    let mut points: Vec<Vec3> = [
        [-1.0, g, 0.0],
        [1.0, g, 0.0],
        [-1.0, -g, 0.0],
        [1.0, -g, 0.0],
        [0.0, -1.0, g],
        [0.0, 1.0, g],
        [0.0, -1.0, -g],
        [0.0, 1.0, -g],
        [g, 0.0, -1.0],
        [g, 0.0, 1.0],
        [-g, 0.0, -1.0],
        [-g, 0.0, 1.0],
    ]
    .into_iter()
    .map(unit)
    .collect();
    let mut levels: Vec<Vec<[u32; 3]>> = vec![vec![
        [0, 11, 5],
        [0, 5, 1],
        [0, 1, 7],
        [0, 7, 10],
        [0, 10, 11],
        [1, 5, 9],
        [5, 11, 4],
        [11, 10, 2],
        [10, 7, 6],
        [7, 1, 8],
        [3, 9, 4],
        [3, 4, 2],
        [3, 2, 6],
        [3, 6, 8],
        [3, 8, 9],
        [4, 9, 5],
        [2, 4, 11],
        [6, 2, 10],
        [8, 6, 7],
        [9, 8, 1],
    ]];
    for halving in 0..halvings as usize {
        // At most six edges leave a vertex; each keeps its middle at the
        // vertex of the lower number.
        let mut middles = vec![[(u32::MAX, 0_u32); 6]; points.len()];
        let mut finer = Vec::with_capacity(levels[halving].len() * 4);
        for &[a, b, c] in &levels[halving] {
            let mut middle = |i: u32, j: u32| {
                let kept = &mut middles[i.min(j) as usize];
                let Some(slot) = kept.iter_mut().find(|slot| slot.0 == i.max(j) || slot.0 == u32::MAX) else { return 0 };
                if slot.0 == u32::MAX {
                    points.push(unit(scale(add(points[i as usize], points[j as usize]), 0.5)));
                    *slot = (i.max(j), points.len() as u32 - 1);
                }
                slot.1
            };
            let (ab, bc, ca) = (middle(a, b), middle(b, c), middle(c, a));
            finer.extend([[a, ab, ca], [b, bc, ab], [c, ca, bc], [ab, bc, ca]]);
        }
        levels.push(finer);
    }
    (points, levels)
}
