//! Where chart and hair lie in the photograph.

use crate::fault::{CornersFault, LeftOutFault, OutlineFault, ReadFault};
use crate::geometry::{Point, area, convex, crossing, inside, self_crossing};
use serde::{Deserialize, Serialize};

/// The marks somebody set on the photograph, in pixels of the upright picture.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Marks {
    /// Outer corners of the patch grid: dark skin, end of its row, black, white.
    pub chart_corners: [[f64; 2]; 4],
    /// Outline of the hair: root left, root right, end right, end left when it
    /// has four corners.
    pub hair: Vec<[f64; 2]>,
    /// How the strands run; only `along first edge to last edge`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub strands: Option<String>,
    /// Patches of the chart not to use, counted from 0 along the rows from the brown
    /// one: stained, covered, or left out for a check.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub leave_out: Vec<usize>,
}

/// The smallest side of a chart, in pixels, that still shows its patches.
const LEAST_CHART: f64 = 40.0;

/// The most patches that may be left out.
const MOST_LEFT_OUT: usize = 12;

/// The most corners an outline may have.
const MOST_CORNERS: usize = 500;

impl Marks {
    /// Checks the marks against the size of the picture.
    ///
    /// *Errors*: corners or outline that cannot be, and how to set them.
    pub fn check(&self, width: usize, height: usize) -> Result<(), ReadFault> {
        check_chart(&self.chart_corners, width, height)?;
        if self.leave_out.iter().any(|i| *i > 23) {
            return Err(ReadFault::LeftOut(LeftOutFault::Unknown));
        }
        let left_out = (0..24).filter(|i| self.leave_out.contains(i)).count();
        if left_out > MOST_LEFT_OUT {
            return Err(ReadFault::LeftOut(LeftOutFault::TooMany));
        }
        if self.strands.as_deref().is_some_and(|text| text != "along first edge to last edge") {
            return Err(ReadFault::Hair(OutlineFault::Strands));
        }
        check_hair(&self.hair, &self.chart_corners, width, height)
    }
}

fn within(p: &Point, width: usize, height: usize) -> bool {
    (-0.5..=width as f64 + 0.5).contains(&p[0]) && (-0.5..=height as f64 + 0.5).contains(&p[1])
}

/// Checks the chart's corners against the size of the picture.
pub(crate) fn check_chart(chart: &[Point; 4], width: usize, height: usize) -> Result<(), ReadFault> {
    if !chart.iter().all(|p| within(p, width, height)) {
        return Err(ReadFault::Corners(CornersFault::Outside));
    }
    if self_crossing(chart) || !convex(chart) {
        return Err(ReadFault::Corners(CornersFault::Crossing));
    }
    if area(chart) < 0.0 {
        return Err(ReadFault::Corners(CornersFault::Turned));
    }
    let side = |i: usize| {
        let (p, q) = (chart[i], chart[(i + 1) % 4]);
        ((p[0] - q[0]) * (p[0] - q[0]) + (p[1] - q[1]) * (p[1] - q[1])).sqrt()
    };
    if (0..4).any(|i| side(i) < LEAST_CHART) {
        return Err(ReadFault::Corners(CornersFault::Close));
    }
    Ok(())
}

/// Checks the outline of the hair against picture and chart.
pub(crate) fn check_hair(hair: &[Point], chart: &[Point; 4], width: usize, height: usize) -> Result<(), ReadFault> {
    if hair.len() < 3 || hair.len() > MOST_CORNERS {
        return Err(ReadFault::Hair(OutlineFault::Corners));
    }
    if !hair.iter().all(|p| within(p, width, height)) {
        return Err(ReadFault::Hair(OutlineFault::Outside));
    }
    if self_crossing(hair) {
        return Err(ReadFault::Hair(OutlineFault::Crossing));
    }
    if area(hair).abs() < 1000.0 {
        return Err(ReadFault::Hair(OutlineFault::Small));
    }
    let corner_in = hair.iter().any(|p| inside(chart, *p)) || chart.iter().any(|p| inside(hair, *p));
    let n = hair.len();
    let edges = |list: &[Point], i: usize| (list[i], list[(i + 1) % list.len()]);
    let crosses = (0..n).any(|i| (0..4).any(|j| crossing(edges(hair, i), edges(chart, j))));
    if corner_in || crosses { Err(ReadFault::Hair(OutlineFault::OnChart)) } else { Ok(()) }
}
