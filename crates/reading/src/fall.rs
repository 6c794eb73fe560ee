//! How the light falls off across the picture: by the plain board, or, where there is
//! none, by the chart's own patches.

use crate::flat::Flat;
use crate::geometry::{Homography, Point};
use crate::solve::solve;
use measure::real::{exp, ln};

/// What is known of the light's fall.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Fall {
    /// Nothing: it is taken for even.
    Unknown,
    /// From the plain board round chart and hair.
    Board(Flat),
    /// From the chart's patches.
    Chart(ChartFall),
}

/// How far the chart's own fall of light is believed beyond its rim, from the middle
/// towards the rim's nearest place. A chart that stands a little off the board, or
/// shines, has a fall of its own; so has the board: our choice, a third.
const BELIEVED_BEYOND: f64 = 1.0 / 3.0;

/// A plane of log light over the chart, 0 at its middle.
#[derive(Debug, Clone, Copy)]
pub(crate) struct ChartFall {
    slopes: [f64; 2],
    to_chart: Homography,
}

impl ChartFall {
    /// With slopes over one width and one height of the chart at these corners;
    /// nothing when they lie on a line.
    pub fn new(slopes: [f64; 2], chart: &[Point; 4]) -> Option<Self> {
        Homography::to_corners(chart).back().map(|to_chart| Self { slopes, to_chart })
    }

    fn of(&self, [u, v]: [f64; 2]) -> f64 {
        self.slopes[0] * u + self.slopes[1] * v
    }

    /// Place in widths and heights of the chart from its middle, and the nearest one on it.
    fn places(&self, at: Point) -> ([f64; 2], [f64; 2]) {
        let [u, v] = self.to_chart.map(at[0], at[1]);
        let there = [u - 0.5, v - 0.5];
        (there, there.map(|p| p.clamp(-0.5, 0.5)))
    }

    fn at(&self, place: Point) -> f64 {
        let (there, near) = self.places(place);
        let share = if there == near { 1.0 } else { BELIEVED_BEYOND };
        exp(share * self.of(near))
    }

    /// How far the light beyond the chart is in doubt, as a logarithm: from what is
    /// believed to what the chart itself shows at its rim.
    fn doubt(&self, place: Point) -> f64 {
        let (there, near) = self.places(place);
        if there == near {
            return 0.0;
        }
        ((1.0 - BELIEVED_BEYOND) * self.of(near)).abs()
    }
}

impl Fall {
    /// Light from a place as it would be at the chart's middle.
    pub fn evened(&self, light: [f64; 3], place: Point) -> [f64; 3] {
        match self {
            Self::Unknown => light,
            Self::Board(flat) => flat.evened(light, place),
            Self::Chart(fall) => {
                let at = fall.at(place);
                light.map(|l| l / at)
            }
        }
    }

    /// Largest over smallest light over chart and hair; 1 when not known.
    pub fn range(&self, chart: &[Point; 4], hair: &[Point]) -> f64 {
        let at = |place: &Point| match self {
            Self::Unknown => 1.0,
            Self::Board(flat) => flat.at(*place)[1],
            Self::Chart(fall) => fall.at(*place),
        };
        let (low, high) = chart.iter().chain(hair).map(at).fold((f64::INFINITY, 0.0_f64), |(low, high), l| (low.min(l), high.max(l)));
        high / low
    }

    /// How far the light changes its colour between chart and hair, as a logarithm.
    pub fn colour_change(&self, hair: &[Point]) -> f64 {
        if let Self::Board(flat) = self { flat.colour_change(hair) } else { 0.0 }
    }

    /// Spread of the board about an even one, relative; 0 where no board was used.
    pub fn blotches(&self) -> f64 {
        if let Self::Board(flat) = self { flat.blotches } else { 0.0 }
    }

    /// How far the hair's light is in doubt because of where it lies, as a logarithm.
    pub fn doubt(&self, hair: &[Point]) -> f64 {
        let Self::Chart(fall) = self else { return 0.0 };
        let middle = [0, 1].map(|k| hair.iter().map(|p| p[k]).sum::<f64>() / hair.len().max(1) as f64);
        fall.doubt(middle)
    }
}

/// The fall of light over the chart, as a plane of logarithms: how much brighter than
/// at its middle it is towards the right and the lower rim.
///
/// *Meaning*: slopes over one width and one height of the chart, from how much too
/// bright (`found` over `true` luminance) each patch came out at its place.
pub(crate) fn slopes(patches: &[([f64; 2], f64, f64)]) -> Option<[f64; 2]> {
    /// How true patches are printed, light that does not matter, and how firmly the
    /// light is held to be even, against one patch that counts in full.
    const PRINTED: f64 = 0.05;
    const DARK: f64 = 0.01;
    const HELD: f64 = 0.5;
    let trust = |y: f64| 1.0 / (PRINTED * PRINTED + (DARK / y) * (DARK / y));
    let most = patches.iter().map(|(_, _, wanted)| trust(*wanted)).fold(0.0, f64::max);
    let (mut matrix, mut right) = ([[0.0; 3]; 3], [0.0; 3]);
    for (place, found, wanted) in patches {
        let w = trust(*wanted) / most;
        let more = ln(found.max(1e-3) / wanted.max(1e-3));
        let row = [1.0, place[0], place[1]];
        for i in 0..3 {
            right[i] += w * row[i] * more;
            (0..3).for_each(|j| matrix[i][j] += w * row[i] * row[j]);
        }
    }
    matrix[1][1] += HELD;
    matrix[2][2] += HELD;
    solve(matrix, right).map(|[_, x, y]| [x, y])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn light_that_falls_across_the_chart_is_found() {
        let patches: Vec<([f64; 2], f64, f64)> = (0..24)
            .map(|i| {
                let at = [f64::from(i % 6) / 6.0 - 0.4, f64::from(i / 6) / 4.0 - 0.4];
                let wanted = 0.1 + 0.03 * f64::from(i % 7);
                (at, wanted * (0.3 * at[0] - 0.2 * at[1]).exp(), wanted)
            })
            .collect();
        let [x, y] = slopes(&patches).unwrap();
        assert!((x - 0.3).abs() < 0.12 && (y + 0.2).abs() < 0.08, "{x} {y}");
    }

    #[test]
    fn beyond_its_rim_the_charts_fall_is_believed_in_part_and_leaves_a_doubt() {
        let chart = [[100.0, 100.0], [400.0, 100.0], [400.0, 300.0], [100.0, 300.0]];
        let fall = Fall::Chart(ChartFall::new([0.3, 0.0], &chart).unwrap());
        let on = fall.evened([1.0; 3], [399.0, 200.0])[0];
        let beside = fall.evened([1.0; 3], [500.0, 200.0])[0];
        assert!((on - (-0.149_f64).exp()).abs() < 1e-3 && (beside - (-0.05_f64).exp()).abs() < 1e-9, "{on} {beside}");
        assert_eq!(fall.doubt(&[[250.0, 200.0]]), 0.0);
        assert!((fall.doubt(&[[500.0, 200.0]]) - 0.1).abs() < 1e-9);
    }
}
