//! Lines on the page: lengths along them, the nearest place, where two cross.

use measure::real::hypot;

/// A place on the page, mm from its upper left corner, y downwards.
pub(crate) type Spot = [f64; 2];

/// A line through spots, with the length run at each of them.
#[derive(Debug, Clone)]
pub(crate) struct Line {
    spots: Vec<Spot>,
    run: Vec<f64>,
}

impl Line {
    /// The line through the spots, or nothing when fewer than two differ.
    pub(crate) fn through(spots: impl IntoIterator<Item = Spot>) -> Option<Self> {
        let mut line = Self { spots: Vec::new(), run: Vec::new() };
        for spot in spots {
            if !(spot[0].is_finite() && spot[1].is_finite()) {
                continue;
            }
            let run = match (line.spots.last(), line.run.last()) {
                (Some(last), Some(run)) => {
                    let step = apart(*last, spot);
                    if step <= 0.0 {
                        continue;
                    }
                    run + step
                }
                _ => 0.0,
            };
            line.spots.push(spot);
            line.run.push(run);
        }
        (line.spots.len() >= 2).then_some(line)
    }

    /// The spots it runs through.
    pub(crate) fn spots(&self) -> &[Spot] {
        &self.spots
    }

    /// Its whole length.
    pub(crate) fn length(&self) -> f64 {
        self.run.last().copied().unwrap_or(0.0)
    }

    /// Its first spot.
    pub(crate) fn start(&self) -> Spot {
        self.at(0.0).0
    }

    /// Its last spot.
    pub(crate) fn end(&self) -> Spot {
        self.at(self.length()).0
    }

    /// The spot after so much of it has been run, with the direction there.
    pub(crate) fn at(&self, run: f64) -> (Spot, [f64; 2]) {
        let last = self.spots.len() - 2;
        let i = self.run.partition_point(|r| *r <= run).saturating_sub(1).min(last);
        let (a, b) = (self.spots[i], self.spots[i + 1]);
        let step = self.run[i + 1] - self.run[i];
        let way = [(b[0] - a[0]) / step, (b[1] - a[1]) / step];
        let past = (run - self.run[i]).clamp(0.0, step);
        ([a[0] + way[0] * past, a[1] + way[1] * past], way)
    }

    /// How much of it has been run at the place nearest to `spot`.
    pub(crate) fn nearest(&self, spot: Spot) -> f64 {
        let mut best = (f64::INFINITY, 0.0);
        for i in 0..self.spots.len() - 1 {
            let (a, b) = (self.spots[i], self.spots[i + 1]);
            let step = self.run[i + 1] - self.run[i];
            let way = [(b[0] - a[0]) / step, (b[1] - a[1]) / step];
            let past = ((spot[0] - a[0]) * way[0] + (spot[1] - a[1]) * way[1]).clamp(0.0, step);
            let gap = apart(spot, [a[0] + way[0] * past, a[1] + way[1] * past]);
            if gap < best.0 {
                best = (gap, self.run[i] + past);
            }
        }
        best.1
    }

    /// How much of it has been run where it first crosses `other`.
    pub(crate) fn crossing(&self, other: &Self) -> Option<f64> {
        for i in 0..self.spots.len() - 1 {
            for pair in other.spots.windows(2) {
                if let Some(share) = share_at_crossing(self.spots[i], self.spots[i + 1], pair[0], pair[1]) {
                    return Some(self.run[i] + share * (self.run[i + 1] - self.run[i]));
                }
            }
        }
        None
    }
}

/// How far two spots are apart.
pub(crate) fn apart(a: Spot, b: Spot) -> f64 {
    hypot(b[0] - a[0], b[1] - a[1])
}

/// The share of a-b that is run where it crosses c-d.
fn share_at_crossing(a: Spot, b: Spot, c: Spot, d: Spot) -> Option<f64> {
    let (p, q) = ([b[0] - a[0], b[1] - a[1]], [d[0] - c[0], d[1] - c[1]]);
    let turn = p[0] * q[1] - p[1] * q[0];
    if turn.abs() < 1e-12 {
        return None;
    }
    let from = [c[0] - a[0], c[1] - a[1]];
    let share = (from[0] * q[1] - from[1] * q[0]) / turn;
    let other = (from[0] * p[1] - from[1] * p[0]) / turn;
    ((0.0..=1.0).contains(&share) && (0.0..=1.0).contains(&other)).then_some(share)
}

/// Distances from the midline along a parting, as they fall on the page.
///
/// The map bends the head, so a millimetre of parting is not everywhere the
/// same length on it. The sites know both their distance and their place; in
/// between the ticks are spread evenly.
pub(crate) struct Ruler {
    /// Distance from the midline and run along the line, both rising.
    knots: Vec<[f64; 2]>,
    length: f64,
}

impl Ruler {
    /// A ruler from places of known distance; `scale` is the map's own, for a
    /// parting on which nothing else is known.
    pub(crate) fn new(line: &Line, mut known: Vec<[f64; 2]>, scale: f64) -> Option<Self> {
        known.retain(|[along, run]| along.is_finite() && run.is_finite());
        known.sort_by(|a, b| a[0].total_cmp(&b[0]));
        let mut knots: Vec<[f64; 2]> = Vec::with_capacity(known.len());
        for knot in known {
            match knots.last() {
                Some(last) if knot[0] - last[0] < 1.0 || knot[1] <= last[1] => {}
                _ => knots.push(knot),
            }
        }
        if let [[along, run]] = knots[..] {
            knots.push([along + 1.0, run + scale]);
        }
        (knots.len() >= 2).then(|| Self { knots, length: line.length() })
    }

    /// How much of the line is run at a distance from the midline, where the
    /// line reaches so far.
    pub(crate) fn run(&self, along: f64) -> Option<f64> {
        let i = self.knots.partition_point(|k| k[0] <= along).saturating_sub(1).min(self.knots.len() - 2);
        let (a, b) = (self.knots[i], self.knots[i + 1]);
        let run = a[1] + (along - a[0]) * (b[1] - a[1]) / (b[0] - a[0]);
        (0.0..=self.length).contains(&run).then_some(run)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn corner() -> Line {
        Line::through([[0.0, 0.0], [3.0, 0.0], [3.0, 0.0], [f64::NAN, 1.0], [3.0, 4.0]]).unwrap()
    }

    #[test]
    fn runs_are_lengths() {
        let line = corner();
        assert_eq!(line.length(), 7.0);
        assert_eq!(line.at(5.0), ([3.0, 2.0], [0.0, 1.0]));
        assert_eq!(line.nearest([4.0, 2.0]), 5.0);
        assert_eq!(line.at(99.0).0, [3.0, 4.0]);
        assert!(Line::through([[1.0, 1.0], [1.0, 1.0]]).is_none());
    }

    #[test]
    fn crossings_are_found_where_they_are() {
        let across = Line::through([[2.0, 1.0], [4.0, 1.0]]).unwrap();
        assert_eq!(corner().crossing(&across), Some(4.0));
        let beside = Line::through([[2.0, 9.0], [4.0, 9.0]]).unwrap();
        assert_eq!(corner().crossing(&beside), None);
    }

    #[test]
    fn a_ruler_passes_through_what_is_known_and_stops_at_the_ends() {
        let line = Line::through([[0.0, 0.0], [100.0, 0.0]]).unwrap();
        let ruler = Ruler::new(&line, vec![[40.0, 70.0], [0.0, 50.0], [-80.0, 20.0]], 0.5).unwrap();
        assert_eq!(ruler.run(20.0), Some(60.0));
        assert_eq!(ruler.run(-40.0), Some(35.0));
        assert_eq!(ruler.run(200.0), None);
        let lone = Ruler::new(&line, vec![[0.0, 50.0]], 0.5).unwrap();
        assert_eq!(lone.run(30.0), Some(65.0));
    }
}
