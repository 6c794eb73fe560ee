//! Weighing symmetry against the rest: a mirrored layout changed place by place.

use super::{PER_MM, PER_POINT, Placed, Planner, ROWS_MOST, Split, in_points, same_parting, zone_of};
use crate::piece::Cut;
use measure::Length;

impl Planner<'_> {
    /// A layout of fewer points than a mirrored one, where giving up symmetry
    /// in a place is worth what it costs, or keeping it costs less: a sandwich
    /// that the wish does not need is left out, one whole sandwich stands for
    /// two halves, or one that has no mirror image makes room for another's.
    pub(super) fn exchanged(&self, open: &[usize], wanted: &Split) -> Option<Vec<usize>> {
        /// Exchanges one after the other; three or four are usual.
        const MOST: usize = 16;
        let value = |open: &[usize]| (self.points_of(open, self.short(open, wanted)) * PER_POINT).round() as i64;
        let order = self.in_order();
        let mut here = open.to_vec();
        let start = value(&here);
        let mut best = start;
        for _ in 0..MOST {
            let before = best;
            let mut next = None;
            let mut offer = |trial: Vec<usize>| {
                let worth = value(&trial);
                if worth < best {
                    best = worth;
                    next = Some(trial);
                }
            };
            for &o in order.iter().filter(|o| here.contains(o)) {
                offer(here.iter().copied().filter(|other| *other != o).collect());
                let Some(m) = self.mirror[o].filter(|m| *m != o) else { continue };
                if !here.contains(&m) {
                    // Its mirror image in place of a sandwich of that row that
                    // has none either.
                    for &other in order.iter().filter(|&&x| x != o && here.contains(&x) && self.is_lone(x, &here) && self.is_beside(x, m)) {
                        let rest: Vec<usize> = here.iter().copied().filter(|x| *x != other).collect();
                        if self.fits(m, &rest) {
                            offer(rest.into_iter().chain([m]).collect());
                        }
                    }
                    continue;
                }
                if !self.is_half(o) {
                    continue;
                }
                let rest: Vec<usize> = here.iter().copied().filter(|other| *other != o && *other != m).collect();
                for &whole in order.iter().filter(|&&w| !self.is_half(w) && [o, m].iter().any(|&h| self.zone(h) == self.zone(w))) {
                    if self.fits(whole, &rest) {
                        offer(rest.iter().copied().chain([whole]).collect());
                    }
                }
            }
            match next {
                Some(trial) if best < before => here = trial,
                _ => break,
            }
        }
        here.sort_unstable();
        (best < start).then_some(here)
    }

    /// Whether two places lie on one parting, on the same side of the head.
    fn is_beside(&self, a: usize, b: usize) -> bool {
        let (a, b) = (&self.survey.open[a], &self.survey.open[b]);
        a.level == b.level && (a.along < 0.0) == (b.along < 0.0)
    }

    fn zone(&self, open: usize) -> usize {
        zone_of(self.survey.open[open].zone, self.survey.open[open].part)
    }

    fn is_half(&self, open: usize) -> bool {
        self.survey.kinds[self.survey.open[open].kind].piece.cut == Cut::Half
    }

    /// Whether a place may be chosen beside a layout and what stands.
    fn fits(&self, open: usize, layout: &[usize]) -> bool {
        let level = self.survey.open[open].level;
        let here = self.placed(open);
        let clear = |other: &Placed| self.setting.clash(&here, other).is_none();
        if self.refused.contains(&open) || !self.is_for_rows(level) {
            return false;
        }
        let mut heights: Vec<Length> = layout.iter().chain([&open]).map(|&o| self.survey.levels[self.survey.open[o].level].line.above_nape()).collect();
        heights.extend(self.request.placed.iter().map(|p| p.above_nape));
        heights.sort_by(|a, b| a.to_mm().total_cmp(&b.to_mm()));
        heights.dedup_by(|a, b| same_parting(*a, *b));
        heights.len() <= self.request.rules.value(&ROWS_MOST).round() as usize
            && layout.iter().all(|&o| clear(&self.placed(o)))
            && self.request.placed.iter().all(clear)
    }

    /// The open places from the nape upward and from one side to the other:
    /// on the mirror image of a head from the other side, so that of places
    /// that are worth the same the mirrored one is met first.
    fn in_order(&self) -> Vec<usize> {
        let key = |o: usize, sign: f64| {
            let place = &self.survey.open[o];
            (place.level, (sign * place.along * PER_MM).round() as i64, place.kind, in_points(self.points[o]))
        };
        let sorted = |sign: f64| {
            let mut order: Vec<usize> = (0..self.survey.open.len()).filter(|o| !self.refused.contains(o)).collect();
            order.sort_by_key(|&o| key(o, sign));
            order
        };
        let (plain, turned) = (sorted(1.0), sorted(-1.0));
        let keys = |order: &[usize], sign: f64| order.iter().map(|&o| key(o, sign)).collect::<Vec<_>>();
        if keys(&turned, -1.0) < keys(&plain, 1.0) { turned } else { plain }
    }
}
