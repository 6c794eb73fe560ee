//! Distance fields of a head, and how they are read at any place.

use crate::landmark::Lines;
use crate::mesh::TriMesh;
use crate::midline::both_sides;
use crate::path::distance_to_line;
use crate::region::{Inside, seen};
use crate::sky::Sky;
use crate::surface::{ScalpShape, SmoothSkin};
use measure::vector::{Vec3, cross, dot, scale, sub};

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
    behind_right: Vec<f64>,
    nape_line: Vec<Vec3>,
    front_line: Vec<Vec3>,
    ear_line: Vec<Vec3>,
    behind_line: Vec<Vec3>,
    inside_ear: Inside,
}

/// A place on the right half: itself or its mirror image, and which.
pub(crate) fn to_right(p: Vec3) -> (Vec3, bool) {
    ([p[0].abs(), p[1], p[2]], p[0] < 0.0)
}

impl Fields {
    pub(crate) fn march(shape: &ScalpShape, mesh: &TriMesh, lines: &Lines) -> Self {
        let mirrored = &Sky::get().mirrored;
        let even = |field: Vec<f64>| -> Vec<f64> { (0..field.len()).map(|v| 0.5 * (field[v] + field[mirrored[v] as usize])).collect() };
        let nape_line = both_sides(&lines.nape);
        let front_line = both_sides(&lines.front);
        let ear_line: Vec<Vec3> = lines.ear.iter().chain(lines.ear.first()).copied().collect();
        let far = |line: &[Vec3]| mesh.distances_from_curve(line).unwrap_or_default();
        Self {
            nape: even(far(&nape_line)),
            front: even(far(&front_line)),
            right_ear: far(&ear_line),
            behind_right: far(&lines.behind_ear),
            behind_line: lines.behind_ear.clone(),
            inside_ear: Inside::within(shape, &lines.ear),
            nape_line,
            front_line,
            ear_line,
        }
    }

    /// Distance from the nape hairline along the skin, mm.
    pub(crate) fn nape(&self, spot: &Spot) -> f64 {
        near_or_far(spot.read_even(&self.nape), &self.nape_line, spot.right)
    }

    /// Distance from the front hairline along the skin, mm.
    pub(crate) fn front(&self, spot: &Spot) -> f64 {
        near_or_far(spot.read_even(&self.front), &self.front_line, spot.right)
    }

    /// Distance from an ear's outline along the skin; none under the ear. Mm.
    pub(crate) fn ear(&self, spot: &Spot, left_ear: bool) -> f64 {
        if spot.was_left == left_ear {
            if self.inside_ear.holds(spot.seen) {
                return 0.0;
            }
            return near_or_far(spot.own.read(&self.right_ear), &self.ear_line, spot.right);
        }
        across(spot, &self.right_ear)
    }

    /// Distance from the hairline behind an ear along the skin, mm.
    pub(crate) fn behind_ear(&self, spot: &Spot, left_ear: bool) -> f64 {
        if spot.was_left == left_ear {
            return near_or_far(spot.own.read(&self.behind_right), &self.behind_line, spot.right);
        }
        across(spot, &self.behind_right)
    }
}

/// A field of the right side as seen from the left, worked out on the right
/// half's faces so that both sides give the same digits.
fn across(spot: &Spot, field: &[f64]) -> f64 {
    let mirrored = &Sky::get().mirrored;
    (0..3).map(|k| spot.own.weights[k] * field[mirrored[spot.own.face[k] as usize] as usize]).sum()
}

/// A face that the ray from the centre meets, and the weights of its vertices there.
#[derive(Debug, Clone, Copy)]
struct Place {
    face: [u32; 3],
    weights: Vec3,
}

impl Place {
    /// Of a place on the right half.
    fn of(shape: &ScalpShape, mesh: &TriMesh, p: Vec3) -> Self {
        let out = sub(p, shape.centre());
        let face = Sky::get().face_of(out);
        Self { face, weights: weighted(shape, mesh, face, out) }
    }

    /// A field there: straight between the three vertices.
    fn read(&self, field: &[f64]) -> f64 {
        (0..3).map(|k| self.weights[k] * field[self.face[k] as usize]).sum()
    }
}

/// Faces that cross the midline end nearer to it than this, mm.
const BESIDE: f64 = 5.0;

/// A place on the skin made ready for reading any number of fields.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Spot {
    /// The place, or its mirror image, on the right half.
    pub right: Vec3,
    pub was_left: bool,
    /// As seen from the pole.
    pub seen: [f64; 2],
    own: Place,
    /// On the midline the ways from either side meet, and a field that is the
    /// same left and right has a ridge that a face across the midline would
    /// cut off; there it is carried on from three places to the right (by the
    /// parabola through them, with these factors).
    beside: Option<[(Place, f64); 3]>,
}

impl Spot {
    pub(crate) fn of(shape: &ScalpShape, mesh: &TriMesh, p: Vec3) -> Self {
        let (right, was_left) = to_right(p);
        let own = Place::of(shape, mesh, right);
        let whole = || own.face.iter().all(|v| mesh.vertices()[*v as usize][0] > -1e-9);
        let beside = (right[0] < BESIDE && !(right[0] > 0.0 && whole())).then(|| {
            let nodes = [BESIDE, BESIDE + 3.5, BESIDE + 7.0];
            [0, 1, 2].map(|i| {
                let (j, k) = ((i + 1) % 3, (i + 2) % 3);
                let factor = (right[0] - nodes[j]) * (right[0] - nodes[k]) / ((nodes[i] - nodes[j]) * (nodes[i] - nodes[k]));
                (Place::of(shape, mesh, shape.project([nodes[i], right[1], right[2]])), factor)
            })
        });
        Self { right, was_left, seen: seen(shape, right), own, beside }
    }

    /// A field that is the same left and right.
    fn read_even(&self, field: &[f64]) -> f64 {
        match &self.beside {
            None => self.own.read(field),
            Some(nodes) => nodes.iter().map(|(place, factor)| place.read(field) * factor).sum(),
        }
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

fn weighted(shape: &ScalpShape, mesh: &TriMesh, face: [u32; 3], out: Vec3) -> Vec3 {
    let centre = shape.centre();
    let [a, b, c] = face.map(|v| sub(mesh.vertices()[v as usize], centre));
    let w = [dot(out, cross(b, c)), dot(out, cross(c, a)), dot(out, cross(a, b))].map(|w| w.max(0.0));
    let sum = w[0] + w[1] + w[2];
    if sum > 0.0 { scale(w, 1.0 / sum) } else { [1.0 / 3.0; 3] }
}
