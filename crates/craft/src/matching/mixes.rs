//! The exact search over whole-piece mixes of up to three shades.
//!
//! Legend: `r` the difference a mix must beat to be listed. Every mix within `r`
//! lies in a box of X, Y, Z; inside one pair of shades and one count of the
//! third, whole pieces run along a straight line, whose part inside the box is
//! found by three divisions. Everything outside is provably worse than `r`.
//!
//! The box: CIEDE2000 is at least the root of `(dL/S_L)^2 + q (da^2 + db^2)/S_C^2`,
//! because `dC'^2 + dH'^2 = da'^2 + db^2`, `|da'| >= |da|`, `S_H <= S_C`, and the
//! rotation term takes away at most `1 - q` of the rest.

use colour::xyz::{f_to_ratio, ratio_to_f};
use colour::{D65, Lab, Xyz, ciede2000};
use measure::real::hypot;

/// One mix: its difference and up to three shades with their pieces.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Found {
    pub de00: f64,
    parts: [(usize, u32); 3],
}

impl Found {
    /// The shades with at least one piece.
    pub fn parts(&self) -> impl Iterator<Item = (usize, u32)> + '_ {
        self.parts.iter().copied().filter(|(_, count)| *count > 0)
    }

    fn before(&self, other: &Self) -> bool {
        let key = |found: &Self| (found.parts().count(), found.parts);
        self.de00.total_cmp(&other.de00).then_with(|| key(self).cmp(&key(other))).is_lt()
    }
}

/// The outcome: the best mixes, and the best of each number of shades.
pub(super) struct Outcome {
    pub best: Vec<Found>,
    by_count: [Vec<Found>; 3],
}

impl Outcome {
    /// Of the mixes within `margin` of the best, one of the fewest shades, then
    /// the least of `cost`, then the nearest.
    pub fn fewest(&self, margin: f64, cost: impl Fn(&Found) -> u32) -> Option<&Found> {
        let limit = self.best.first()?.de00 + margin;
        let fit = self.by_count.iter().find(|list| list.first().is_some_and(|found| found.de00 <= limit))?;
        let within = fit.iter().filter(|found| found.de00 <= limit);
        within.min_by(|p, q| cost(p).cmp(&cost(q)).then(p.de00.total_cmp(&q.de00)))
    }
}

/// What is searched for.
pub(super) struct Search<'a> {
    shades: &'a [Xyz],
    target: Lab,
    pieces: u32,
    /// The least share of the chroma and hue terms that the rotation leaves.
    q: f64,
    /// The largest S_L of any mix.
    s_l: f64,
    apart: Vec<f64>,
}

/// The part of colour space that mixes within `r` lie in.
struct Region {
    low: [f64; 3],
    high: [f64; 3],
    s_c: f64,
}

impl<'a> Search<'a> {
    pub fn new(shades: &'a [Xyz], target: Lab, pieces: u32) -> Self {
        let labs: Vec<Lab> = shades.iter().map(|shade| shade.to_lab(D65)).collect();
        // b > 0 is a half space of X, Y, Z: when all shades lie in it, so do all
        // mixes, mean hues stay below 180 degrees, and exp(-(95/25)^2) bounds the rotation.
        let yellow = target.b > 0.0 && labs.iter().all(|lab| lab.b > 0.0);
        let q = if yellow { 1.0 - 2e-6 } else { 0.133 };
        let s_l = labs
            .iter()
            .map(|lab| {
                let from_middle = (lab.l + target.l) / 2.0 - 50.0;
                1.0 + 0.015 * from_middle * from_middle / (20.0 + from_middle * from_middle).sqrt()
            })
            .fold(1.0, f64::max);
        let apart = labs.iter().flat_map(|p| labs.iter().map(move |q| ciede2000(*p, *q))).collect();
        Self { shades, target, pieces, q, s_l, apart }
    }

    /// All mixes of shades at most `apart` from each other, the best `keep` listed.
    pub fn run(&self, apart: f64, keep: usize) -> Outcome {
        let count = self.shades.len();
        let near = |i: usize, j: usize| self.apart[i * count + j] <= apart;
        let mut by_count = [Vec::new(), Vec::new(), Vec::new()];
        for i in 0..count {
            put(&mut by_count[0], keep, Found { de00: self.difference(self.shades[i]), parts: [(i, self.pieces), (0, 0), (0, 0)] });
        }
        for i in 0..count {
            for j in (i + 1..count).filter(|&j| near(i, j)) {
                for n in 1..self.pieces {
                    let parts = [(i, n), (j, self.pieces - n), (0, 0)];
                    put(&mut by_count[1], keep, Found { de00: self.difference(self.colour(&parts)), parts });
                }
            }
        }
        let mut best: Vec<Found> = Vec::new();
        for found in by_count[..2].iter().flatten() {
            put(&mut best, keep, *found);
        }
        let mut limit = if best.len() == keep { best[keep - 1].de00 } else { f64::INFINITY };
        let mut region = self.region(limit);
        for i in 0..count {
            for j in (i + 1..count).filter(|&j| near(i, j)) {
                for k in (j + 1..count).filter(|&k| near(i, k) && near(j, k)) {
                    self.triple([i, j, k], &mut by_count[2], &mut best, keep, &mut limit, &mut region);
                }
            }
        }
        Outcome { best, by_count }
    }

    fn triple(
        &self,
        [i, j, k]: [usize; 3],
        triples: &mut Vec<Found>,
        best: &mut Vec<Found>,
        keep: usize,
        limit: &mut f64,
        region: &mut Region,
    ) {
        let share = 1.0 / f64::from(self.pieces);
        let [p, q, o] = [i, j, k].map(|s| <[f64; 3]>::from(self.shades[s]));
        let step = [0, 1, 2].map(|axis| (q[axis] - o[axis]) * share);
        let per_step = step.map(|s| 1.0 / s);
        for n in 1..self.pieces.saturating_sub(1) {
            let most = self.pieces - n - 1;
            let rest = f64::from(self.pieces - n);
            let (mut first, mut last) = (1.0_f64, f64::from(most));
            for axis in 0..3 {
                let start = (p[axis] * f64::from(n) + o[axis] * rest) * share;
                if step[axis].abs() < 1e-12 {
                    if start < region.low[axis] - 1e-9 || start > region.high[axis] + 1e-9 {
                        last = 0.0;
                    }
                    continue;
                }
                let one = (region.low[axis] - start) * per_step[axis];
                let other = (region.high[axis] - start) * per_step[axis];
                first = first.max(one.min(other) - 1e-6);
                last = last.min(one.max(other) + 1e-6);
            }
            if first > last {
                continue;
            }
            for m in first.ceil() as u32..=last.floor() as u32 {
                let parts = [(i, n), (j, m), (k, self.pieces - n - m)];
                let Some(de00) = self.difference_within(self.colour(&parts), *limit, region.s_c) else { continue };
                let found = Found { de00, parts };
                put(triples, keep, found);
                if put(best, keep, found) && best.len() == keep {
                    let tighter = best[keep - 1].de00;
                    if tighter < *limit {
                        *limit = tighter;
                        *region = self.region(tighter);
                    }
                }
            }
        }
    }

    fn colour(&self, parts: &[(usize, u32); 3]) -> Xyz {
        let sum = parts.iter().fold(Xyz::default(), |sum, (shade, count)| sum + self.shades[*shade] * f64::from(*count));
        sum * (1.0 / f64::from(self.pieces))
    }

    fn difference(&self, colour: Xyz) -> f64 {
        ciede2000(self.target, colour.to_lab(D65))
    }

    /// The difference, unless a lower bound already passes `limit`.
    fn difference_within(&self, colour: Xyz, limit: f64, s_c: f64) -> Option<f64> {
        let lab = colour.to_lab(D65);
        let (l, a, b) = ((lab.l - self.target.l) / self.s_l, lab.a - self.target.a, lab.b - self.target.b);
        let bound = l * l + self.q * (a * a + b * b) / (s_c * s_c);
        if bound > limit * limit * (1.0 + 1e-9) {
            return None;
        }
        Some(ciede2000(self.target, lab)).filter(|de00| *de00 <= limit)
    }

    fn region(&self, r: f64) -> Region {
        let everywhere = Region { low: [f64::NEG_INFINITY; 3], high: [f64::INFINITY; 3], s_c: f64::INFINITY };
        let reach = r / self.q.sqrt();
        // Half of S_C's slope times the reach; beyond 1 the chroma has no bound.
        let pull = 0.0225 * reach;
        if !r.is_finite() || pull >= 0.9 {
            return everywhere;
        }
        let own = hypot(1.5 * self.target.a, self.target.b);
        let most = (own * (1.0 + pull) + reach) / (1.0 - pull);
        let s_c = 1.0 + 0.0225 * (own + most);
        let (d_l, d_ab) = (r * self.s_l, reach * s_c);
        let white = <[f64; 3]>::from(D65);
        let f = (self.target.l + 16.0) / 116.0;
        let end = |sign: f64| {
            let f_y = f + sign * d_l / 116.0;
            let f_x = f_y + (self.target.a + sign * d_ab) / 500.0;
            let f_z = f_y - (self.target.b - sign * d_ab) / 200.0;
            let wide = [f_x, f_y, f_z].map(|f| f_to_ratio(f + sign * 1e-9));
            [0, 1, 2].map(|axis| white[axis] * wide[axis])
        };
        debug_assert!((ratio_to_f(f_to_ratio(f)) - f).abs() < 1e-9);
        Region { low: end(-1.0), high: end(1.0), s_c }
    }
}

/// Puts a mix in its place in a list of at most `keep`; says whether it went in.
fn put(list: &mut Vec<Found>, keep: usize, found: Found) -> bool {
    if list.len() == keep && !list.last().is_some_and(|worst| found.before(worst)) {
        return false;
    }
    let place = list.partition_point(|own| own.before(&found));
    list.insert(place, found);
    list.truncate(keep);
    true
}
