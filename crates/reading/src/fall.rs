//! How the light falls off across the picture: by the plain board, or, where there is
//! none, by the chart's own patches.

use crate::flat::Flat;
use crate::geometry::{Homography, Point};
use measure::linear::{cholesky, solve_by_triangle};
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

/// A plane of log light over the chart, 0 at its middle.
#[derive(Debug, Clone, Copy)]
pub(crate) struct ChartFall {
    slopes: [f64; 2],
    /// How far it is believed beyond the chart's rim, from the middle towards the rim's
    /// nearest place: a chart that stands a little off the board, or shines, has a fall of
    /// its own.
    beyond: f64,
    to_chart: Homography,
}

impl ChartFall {
    /// With slopes over one width and one height of the chart at these corners;
    /// nothing when they lie on a line.
    pub fn new(slopes: [f64; 2], beyond: f64, chart: &[Point; 4]) -> Option<Self> {
        Homography::to_corners(chart).back().map(|to_chart| Self { slopes, beyond, to_chart })
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
        let share = if there == near { 1.0 } else { self.beyond };
        exp(share * self.of(near))
    }

    /// How far the light beyond the chart is in doubt, as a logarithm: from what is
    /// believed to what the chart itself shows at its rim.
    fn doubt(&self, place: Point) -> f64 {
        let (there, near) = self.places(place);
        if there == near {
            return 0.0;
        }
        ((1.0 - self.beyond) * self.of(near)).abs()
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

/// Falls of light that a chart may lie in, as the spread of a slope over one width or
/// height of it, in logarithms, and how likely each is before the picture is seen: nearly
/// even, a room's, a strong one. Our choice.
const FALLS: [(f64, f64); 3] = [(0.01, 0.6), (0.15, 0.3), (0.6, 0.1)];

/// The fall of light over the chart, as a plane of logarithms: how much brighter than
/// at its middle it is towards the right and the lower rim.
///
/// *Meaning*: slopes over one width and one height of the chart, from each patch's place,
/// lightness and how much lighter it should be than it came out, light already taken for
/// `now`. `alikeness`: how patches are off together for other reasons. A weak fall is not
/// told from a camera's rendering and is left alone; a strong one is followed wholly.
///
/// *Source*: weighing accounts by how likely they make what is seen: Rasmussen and
/// Williams 2006, section 5.4.1; key `rasmussen2006`.
pub(crate) fn slopes(patches: &[([f64; 2], f64, f64)], alikeness: &[Vec<f64>], now: [f64; 2]) -> Option<[f64; 2]> {
    let n = patches.len();
    // A change of light by a small share moves L* by a third of L* + 16 times it.
    let moved: Vec<[f64; 2]> = patches.iter().map(|([u, v], l, _)| [u * (l + 16.0) / 3.0, v * (l + 16.0) / 3.0]).collect();
    let offs: Vec<f64> = patches.iter().zip(&moved).map(|((_, _, off), by)| off - by[0] * now[0] - by[1] * now[1]).collect();
    let weigh = |(spread, likely): (f64, f64)| {
        let scale = spread * spread / UNIT;
        let with = |i: usize, j: usize| alikeness[i][j] + scale * (moved[i][0] * moved[j][0] + moved[i][1] * moved[j][1]);
        let lower = cholesky((0..n).map(|i| (0..n).map(|j| with(i, j)).collect()).collect())?;
        let pulls = solve_by_triangle(&lower, offs.clone());
        let square: f64 = offs.iter().zip(&pulls).map(|(off, pull)| off * pull).sum();
        let size: f64 = (0..n).map(|i| ln(lower[i][i])).sum();
        let slope = [0, 1].map(|k| -scale * moved.iter().zip(&pulls).map(|(by, pull)| by[k] * pull).sum::<f64>());
        Some((ln(likely) - n as f64 / 2.0 * ln(square.max(1e-12)) - size, slope))
    };
    let found: Vec<(f64, [f64; 2])> = FALLS.into_iter().map(weigh).collect::<Option<_>>()?;
    let best = found.iter().map(|(evidence, _)| *evidence).fold(f64::NEG_INFINITY, f64::max);
    let all: f64 = found.iter().map(|(evidence, _)| exp(evidence - best)).sum();
    Some([0, 1].map(|k| found.iter().map(|(evidence, slope)| exp(evidence - best) / all * slope[k]).sum()))
}

/// What patches of one colour are off by together in L*, in variance: the unit of
/// `alikeness`, for a camera picture of ours and anyone's, about the square of 6.
const UNIT: f64 = 40.0;

#[cfg(test)]
mod tests {
    use super::*;

    /// Patches that are off by a fall of light and by half a unit of L* each for itself.
    fn slopes_of(fall: [f64; 2]) -> [f64; 2] {
        let patches: Vec<([f64; 2], f64, f64)> = (0..24)
            .map(|i| {
                let (at, l) = ([f64::from(i % 6) / 6.0 - 0.4, f64::from(i / 6) / 4.0 - 0.4], 30.0 + 9.0 * f64::from(i % 7));
                let own = if (i * 7) % 5 < 2 { 0.5 } else { -0.4 };
                (at, l, own - (l + 16.0) / 3.0 * (fall[0] * at[0] + fall[1] * at[1]))
            })
            .collect();
        let alikeness: Vec<Vec<f64>> = (0..24).map(|i| (0..24).map(|j| if i == j { 0.1 } else { 0.0 }).collect()).collect();
        slopes(&patches, &alikeness, [0.0; 2]).unwrap()
    }

    #[test]
    fn light_that_falls_across_the_chart_is_found_and_even_light_left_even() {
        let [x, y] = slopes_of([0.5, -0.2]);
        assert!((x - 0.5).abs() < 0.05 && (y + 0.2).abs() < 0.05, "{x} {y}");
        let [x, y] = slopes_of([0.0, 0.0]);
        assert!(x.abs() < 0.01 && y.abs() < 0.01, "{x} {y}");
    }

    #[test]
    fn beyond_its_rim_the_charts_fall_is_believed_in_part_and_leaves_a_doubt() {
        let chart = [[100.0, 100.0], [400.0, 100.0], [400.0, 300.0], [100.0, 300.0]];
        let fall = Fall::Chart(ChartFall::new([0.3, 0.0], 1.0 / 3.0, &chart).unwrap());
        let on = fall.evened([1.0; 3], [399.0, 200.0])[0];
        let beside = fall.evened([1.0; 3], [500.0, 200.0])[0];
        assert!((on - (-0.149_f64).exp()).abs() < 1e-3 && (beside - (-0.05_f64).exp()).abs() < 1e-9, "{on} {beside}");
        assert_eq!(fall.doubt(&[[250.0, 200.0]]), 0.0);
        assert!((fall.doubt(&[[500.0, 200.0]]) - 0.1).abs() < 1e-9);
    }
}
