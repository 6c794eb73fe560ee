//! The flat map: the scalp unrolled, seen from behind.
//!
//! Up the page goes the distance from the nape hairline, across it the
//! distance along the parting of that height. So every parting is a level line
//! of its true length, rows lie at their true distances, and, since the skin's
//! area is the length of the partings times the distance between them, every
//! patch keeps its area. What is not kept are angles, and distances slantwise.

use crate::field::{Fields, level_line, to_right};
use crate::landmark::Lines;
use crate::mesh::TriMesh;
use crate::parting::nearest_along;
use crate::point::MapPoint;
use crate::surface::{ScalpShape, SmoothSkin};
use crate::vector::{Vec3, add, cross, distance, scale, unit};
use serde::Serialize;

/// From one level of the chart to the next, mm.
const STEP: f64 = 5.0;

/// How much the flat map changes distances on the hair-bearing skin.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct MapDistortion {
    /// Largest change of a length along a parting, as a share of it.
    pub along_partings: f64,
    /// Largest change of an area, as a share, over nine tenths of the skin.
    pub area: f64,
    /// Mean over the skin of the most that any direction is lengthened, as a share.
    pub mean_stretch: f64,
    /// The most that any direction is lengthened over nine tenths of the skin,
    /// as a share; it is found slantwise, at the temples.
    pub most_stretch: f64,
}

/// The partings that the chart hangs on.
#[derive(Debug, Clone)]
pub(crate) struct Chart {
    lines: Vec<(Vec<Vec3>, Vec<f64>)>,
}

impl Chart {
    pub(crate) fn draw(shape: &ScalpShape, mesh: &TriMesh, fields: &Fields, lines: &Lines, start_of: impl Fn(f64) -> Option<Vec3>) -> Self {
        let mut rows = vec![measured(lines.nape.clone())];
        for k in 1..200 {
            let Some(start) = start_of(STEP * f64::from(k)) else { break };
            rows.push(measured(level_line(shape, mesh, fields.nape_values(), STEP * f64::from(k), start)));
        }
        Self { lines: rows }
    }

    /// The map place of a skin place at a height above the nape hairline.
    pub(crate) fn place(&self, p: Vec3, height: f64) -> MapPoint {
        let (right, was_left) = to_right(p);
        let last = self.lines.len() - 1;
        let below = ((height / STEP) as usize).min(last);
        let above = (below + 1).min(last);
        let on = |k: usize| nearest_along(&self.lines[k].0, &self.lines[k].1, right);
        let share = (height / STEP - below as f64).clamp(0.0, 1.0);
        let x = if right[0] == 0.0 { 0.0 } else { on(below) * (1.0 - share) + on(above) * share };
        MapPoint { x: if was_left { -x } else { x }, y: height }
    }
}

fn measured(line: Vec<Vec3>) -> (Vec<Vec3>, Vec<f64>) {
    let mut along = vec![0.0; line.len()];
    for i in 1..line.len() {
        along[i] = along[i - 1] + distance(line[i - 1], line[i]);
    }
    (line, along)
}

/// Measures the chart's distortion about each of some places by small steps.
pub(crate) fn distortion(shape: &ScalpShape, places: &[Vec3], to_map: impl Fn(Vec3) -> MapPoint, along_partings: f64) -> MapDistortion {
    const NUDGE: f64 = 3.0;
    let mut stretches = Vec::new();
    let mut areas = Vec::new();
    for &p in places {
        let normal = shape.normal(p);
        let e = unit(cross([0.0, 0.0, 1.0], normal));
        let f = cross(normal, e);
        let column = |d: Vec3| {
            let (a, b) = (shape.project(add(p, scale(d, NUDGE))), shape.project(add(p, scale(d, -NUDGE))));
            let (from, to, run) = (to_map(b), to_map(a), distance(a, b));
            [(to.x - from.x) / run, (to.y - from.y) / run]
        };
        let (c, d) = (column(e), column(f));
        // The larger singular value of the 2 x 2 matrix of columns c and d.
        let sum = c[0] * c[0] + c[1] * c[1] + d[0] * d[0] + d[1] * d[1];
        let area = (c[0] * d[1] - c[1] * d[0]).abs();
        stretches.push((0.5 * (sum + (sum * sum - 4.0 * area * area).max(0.0).sqrt())).sqrt() - 1.0);
        areas.push((area - 1.0).abs());
    }
    stretches.sort_by(f64::total_cmp);
    areas.sort_by(f64::total_cmp);
    let tenth = |v: &[f64]| v.get(v.len() * 9 / 10).copied().unwrap_or(0.0);
    let mean = stretches.iter().sum::<f64>() / stretches.len().max(1) as f64;
    MapDistortion { along_partings, area: tenth(&areas), mean_stretch: mean, most_stretch: tenth(&stretches) }
}
