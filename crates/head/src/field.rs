//! Distance fields of a head, and how they are read at any place.

use crate::landmark::Lines;
use crate::mesh::TriMesh;
use crate::midline::both_sides;
use crate::path::distance_to_line;
use crate::region::{Patch, seen};
use crate::sky::Sky;
use crate::surface::{ScalpShape, SmoothSkin};
use crate::vector::{Vec3, add, cross, distance, dot, lerp, scale, sub};

/// Nearer than this a border's own line is measured directly: the mesh's
/// straight faces cannot follow a distance that turns at the line.
const NEAR: f64 = 12.0;

/// The distances of a head from its borders.
///
/// *Meaning*: only the right half is ever read; the left half is its mirror
/// image, so that mirrored places have the same distances to the last digit.
#[derive(Debug, Clone)]
pub(crate) struct Fields {
    nape: Vec<f64>,
    front: Vec<f64>,
    right_ear: Vec<f64>,
    nape_line: Vec<Vec3>,
    front_line: Vec<Vec3>,
    ear_line: Vec<Vec3>,
    ear_patch: Patch,
}

/// A place on the right half: itself or its mirror image, and which.
pub(crate) fn to_right(p: Vec3) -> (Vec3, bool) {
    ([p[0].abs(), p[1], p[2]], p[0] < 0.0)
}

impl Fields {
    pub(crate) fn march(shape: &ScalpShape, mesh: &TriMesh, lines: &Lines) -> Self {
        let mirrored = &Sky::get().mirrored;
        let even = |field: Vec<f64>| -> Vec<f64> {
            (0..field.len()).map(|v| 0.5 * (field[v] + field[mirrored[v] as usize])).collect()
        };
        let nape_line = both_sides(&lines.nape);
        let front_line = both_sides(&lines.front);
        let ear_line: Vec<Vec3> = lines.ear.iter().chain(lines.ear.first()).copied().collect();
        let far = |line: &[Vec3]| mesh.distances_from_curve(line).unwrap_or_default();
        Self {
            nape: even(far(&nape_line)),
            front: even(far(&front_line)),
            right_ear: far(&ear_line),
            ear_patch: Patch::within(shape, &lines.ear),
            nape_line,
            front_line,
            ear_line,
        }
    }

    /// Distance from the nape hairline along the skin, mm.
    pub(crate) fn nape(&self, shape: &ScalpShape, mesh: &TriMesh, p: Vec3) -> f64 {
        near_or_far(read_even(shape, mesh, &self.nape, to_right(p).0), &self.nape_line, to_right(p).0)
    }

    pub(crate) fn nape_values(&self) -> &[f64] {
        &self.nape
    }

    /// Distance from the front hairline along the skin, mm.
    pub(crate) fn front(&self, shape: &ScalpShape, mesh: &TriMesh, p: Vec3) -> f64 {
        near_or_far(read_even(shape, mesh, &self.front, to_right(p).0), &self.front_line, to_right(p).0)
    }

    /// Distance from an ear's outline along the skin; none under the ear. Mm.
    pub(crate) fn ear(&self, shape: &ScalpShape, mesh: &TriMesh, p: Vec3, left_ear: bool) -> f64 {
        let (right, was_left) = to_right(p);
        if was_left == left_ear {
            if self.ear_patch.holds(seen(shape, right)) {
                return 0.0;
            }
            return near_or_far(read(shape, mesh, &self.right_ear, right), &self.ear_line, right);
        }
        // The other side's ear: the same as the right ear seen from the left.
        read_left(shape, mesh, &self.right_ear, right)
    }
}

/// Blends the line's own distance into the field's over a few millimetres.
fn near_or_far(field: f64, line: &[Vec3], p: Vec3) -> f64 {
    if field > NEAR + 4.0 {
        return field;
    }
    let direct = distance_to_line(line, p);
    let share = ((field - NEAR) / 4.0).clamp(0.0, 1.0);
    direct * (1.0 - share) + field * share
}

/// A field at a place on the right half: straight between the three vertices
/// of the face that the ray from the centre meets.
fn read(shape: &ScalpShape, mesh: &TriMesh, field: &[f64], p: Vec3) -> f64 {
    let out = sub(p, shape.centre());
    let face = Sky::get().face_of(out);
    weighted(shape, mesh, face, out).iter().zip(face).map(|(w, v)| w * field[v as usize]).sum()
}

/// Faces that cross the midline end nearer to it than this, mm.
const BESIDE: f64 = 5.0;

/// A field that is the same left and right, at a place on the right half.
///
/// On the midline the ways from either side meet, and the field has a ridge
/// that a face across the midline would cut off; there it is carried on from
/// three places to the right (by the parabola through them).
fn read_even(shape: &ScalpShape, mesh: &TriMesh, field: &[f64], p: Vec3) -> f64 {
    if p[0] >= BESIDE {
        return read(shape, mesh, field, p);
    }
    let out = sub(p, shape.centre());
    let face = Sky::get().face_of(out);
    if face.iter().all(|v| mesh.vertices()[*v as usize][0] > -1e-9) && p[0] > 0.0 {
        return read(shape, mesh, field, p);
    }
    let nodes = [BESIDE, BESIDE + 3.5, BESIDE + 7.0];
    let values = nodes.map(|x| read(shape, mesh, field, shape.project([x, p[1], p[2]])));
    (0..3)
        .map(|i| {
            let (j, k) = ((i + 1) % 3, (i + 2) % 3);
            values[i] * (p[0] - nodes[j]) * (p[0] - nodes[k]) / ((nodes[i] - nodes[j]) * (nodes[i] - nodes[k]))
        })
        .sum()
}

/// A field at the mirror image of a place on the right half, worked out on the
/// right half's faces so that both sides give the same digits.
fn read_left(shape: &ScalpShape, mesh: &TriMesh, field: &[f64], p: Vec3) -> f64 {
    let out = sub(p, shape.centre());
    let sky = Sky::get();
    let face = sky.face_of(out);
    weighted(shape, mesh, face, out).iter().zip(face).map(|(w, v)| w * field[sky.mirrored[v as usize] as usize]).sum()
}

fn weighted(shape: &ScalpShape, mesh: &TriMesh, face: [u32; 3], out: Vec3) -> Vec3 {
    let centre = shape.centre();
    let [a, b, c] = face.map(|v| sub(mesh.vertices()[v as usize], centre));
    let w = [dot(out, cross(b, c)), dot(out, cross(c, a)), dot(out, cross(a, b))].map(|w| w.max(0.0));
    let sum = w[0] + w[1] + w[2];
    if sum > 0.0 { scale(w, 1.0 / sum) } else { [1.0 / 3.0; 3] }
}

/// How far right of the midline a level line begins to be traced, mm.
pub(crate) const LINE_START: f64 = 6.0;

/// A field's plain value on the mesh at a place on the right half.
pub(crate) fn plain(shape: &ScalpShape, mesh: &TriMesh, field: &[f64], p: Vec3) -> f64 {
    read(shape, mesh, field, p)
}

/// The right half of the line of one distance from the nape hairline, from
/// `start` on the midline outward until it comes back to the midline in front
/// or leaves the scalp's lower end; points on the smooth skin. `beside` is
/// where the line is at [`LINE_START`] to the right of the midline.
pub(crate) fn level_line(shape: &ScalpShape, mesh: &TriMesh, field: &[f64], level: f64, start: Vec3, beside: Vec3) -> Vec<Vec3> {
    /// More faces than any line round a head crosses.
    const MOST: usize = 2_000;
    /// Below this the neck begins, and nobody parts there, mm.
    const LOWEST: f64 = -95.0;
    let face = Sky::get().face_of(sub(beside, shape.centre()));
    let above = |v: u32| field[v as usize] > level;
    let on_edge = |[a, b]: [u32; 2]| {
        let (a, b) = (a.min(b) as usize, a.max(b) as usize);
        let t = ((level - field[a]) / (field[b] - field[a])).clamp(0.0, 1.0);
        lerp(mesh.vertices()[a], mesh.vertices()[b], t)
    };
    let edges = [[face[0], face[1]], [face[1], face[2]], [face[2], face[0]]];
    let mut edge = None;
    for e in edges {
        if above(e[0]) != above(e[1]) && edge.is_none_or(|best: [u32; 2]| on_edge(e)[0] > on_edge(best)[0]) {
            edge = Some(e);
        }
    }
    let mut line = vec![start, beside];
    let Some(mut edge) = edge else { return line };
    for _ in 0..MOST {
        let p = on_edge(edge);
        if p[0] < LINE_START && line.len() > 3 {
            break;
        }
        // Not the same point twice, should the line leave by a corner.
        if distance(p, line[line.len() - 1]) > 1e-3 && p[0] > LINE_START {
            line.push(p);
        }
        if p[2] < LOWEST {
            break;
        }
        let Some(apex) = mesh.apex_beyond(edge) else { break };
        edge = if above(apex) == above(edge[0]) { [apex, edge[1]] } else { [edge[0], apex] };
    }
    smoothed(shape, &line)
}

/// A traced line evened out: each point drawn half-way to the middle of its
/// neighbours, which takes out the faces' corners, then set back on the skin.
fn smoothed(shape: &ScalpShape, line: &[Vec3]) -> Vec<Vec3> {
    let n = line.len();
    (0..n)
        .map(|i| {
            if i == 0 || i + 1 == n {
                return shape.project(line[i]);
            }
            // Weighted so that points unevenly spaced on a straight line stay on it.
            let (before, after) = (sub(line[i - 1], line[i]), sub(line[i + 1], line[i]));
            let (p, q) = (dot(before, before).sqrt().max(1e-9), dot(after, after).sqrt().max(1e-9));
            let pull = add(scale(before, q / (p + q)), scale(after, p / (p + q)));
            shape.project(add(line[i], scale(pull, 0.5)))
        })
        .collect()
}
