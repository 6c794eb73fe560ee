//! Where a place of the skin lies on a sheet.

use super::super::trace::heading;
use super::{BEYOND_END, Finder, NEAR_START, Node, Sheet, Spot};
use measure::vector::{Vec3, along, dot, flat, sub};

impl Sheet {
    /// Where on the sheet a place is; none when no line passes it.
    pub(in crate::coverage) fn find(&self, p: Vec3) -> Option<Spot> {
        let first = self.guess(p)?;
        self.walk(p, first).or_else(|| self.nearest(p).into_iter().find_map(|spot| self.walk(p, spot)))
    }

    /// From a first spot to the place by Newton's rule.
    fn walk(&self, p: Vec3, mut spot: Spot) -> Option<Spot> {
        let mut left = f64::INFINITY;
        for _ in 0..12 {
            let (i, next, f) = self.pair(spot.line)?;
            let last = self.ends[i].max(self.ends[next]);
            let k = (spot.k.max(0.0) as usize).min(self.length - 2);
            let g = spot.k - k as f64;
            let (a, b) = (self.line(i), self.line(next));
            let mix = |of: fn(&Node) -> Vec3| {
                let near = along(of(&a[k]), sub(of(&a[k + 1]), of(&a[k])), g);
                let far = along(of(&b[k]), sub(of(&b[k + 1]), of(&b[k])), g);
                along(near, sub(far, near), f)
            };
            let miss = sub(p, mix(|node| node.p));
            let step = a[k + 1].s - a[k].s;
            let j = (1.0 - f) * (a[k].j + g * (a[k + 1].j - a[k].j)) + f * (b[k].j + g * (b[k + 1].j - b[k].j));
            let ahead = dot(miss, mix(|node| node.t)) / step;
            let aside = match self.finder {
                Finder::Fan { .. } => dot(miss, mix(|node| node.b)) / (j * self.spacing).abs().max(1e-3),
                // Which plane a place lies in is known at once.
                Finder::Planes { .. } => self.plane(p)? - spot.line,
            };
            let at_start = spot.k <= NEAR_START && ahead <= 0.0;
            if ahead.abs() < 1e-8 && aside.abs() < 1e-8 || at_start {
                return (spot.k <= last as f64 + BEYOND_END).then_some(spot);
            }
            left = ahead.abs() + aside.abs();
            spot.k = (spot.k + ahead.clamp(-4.0, 4.0)).max(NEAR_START);
            spot.line = self.wrapped(spot.line + aside.clamp(-4.0, 4.0))?;
            if spot.k > last as f64 + 8.0 {
                return None;
            }
        }
        // Far off the sheet's skin the rule closes in slowly; a thousandth of a
        // step is close enough.
        let (i, next, _) = self.pair(spot.line)?;
        let last = self.ends[i].max(self.ends[next]) as f64;
        (left < 1e-3 && spot.k <= last + BEYOND_END).then_some(spot)
    }

    /// The nearest nodes by looking at every third of every third line, at most
    /// eight; where lines from two sides come together the first guess may
    /// follow one that has ended.
    fn nearest(&self, p: Vec3) -> Vec<Spot> {
        let mut found: Vec<(f64, Spot)> = (0..self.lines())
            .step_by(3)
            .filter_map(|i| {
                let from = |k: usize| {
                    let way = sub(p, self.line(i)[k].p);
                    dot(way, way)
                };
                let k = (1..=self.ends[i]).step_by(3).min_by(|a, b| from(*a).total_cmp(&from(*b)))?;
                Some((from(k), Spot { line: i as f64, k: k as f64 }))
            })
            .filter(|(distance, _)| *distance < 400.0)
            .collect();
        found.sort_by(|a, b| a.0.total_cmp(&b.0));
        found.into_iter().take(8).map(|(_, spot)| spot).collect()
    }

    /// The number of the plane that a place lies in.
    fn plane(&self, p: Vec3) -> Option<f64> {
        match self.finder {
            Finder::Planes { axis, first, .. } => self.wrapped((dot(p, axis) - first) / self.spacing),
            Finder::Fan { .. } => None,
        }
    }

    /// A first spot from where the place is seen, from inside.
    fn guess(&self, p: Vec3) -> Option<Spot> {
        if self.lines() < 2 {
            return None;
        }
        let line = match self.finder {
            Finder::Fan { centre, e1, e2, .. } => {
                let ray = sub(p, centre);
                let angle = measure::real::atan2(dot(ray, e2), dot(ray, e1));
                self.wrapped(angle / self.spacing)?
            }
            Finder::Planes { .. } => self.plane(p)?,
        };
        let i = (line.round() as usize) % self.lines();
        let nodes = &self.line(i)[..=self.ends[i]];
        let round = self.finder.round(p, nodes[0].p);
        let k = nodes.partition_point(|node| node.round < round);
        Some(Spot { line, k: (k as f64 - 0.5).clamp(0.25, self.ends[i] as f64) })
    }
}

impl Finder {
    /// How far round `p` stands from the start of its line, growing along it.
    pub(super) fn round(&self, p: Vec3, start: Vec3) -> f64 {
        match *self {
            Self::Fan { centre, axis, .. } => -dot(heading(sub(p, centre)), axis),
            Self::Planes { centre, axis, .. } => {
                let in_plane = |q: Vec3| {
                    let ray = sub(q, centre);
                    heading(flat(ray, axis))
                };
                -dot(in_plane(p), in_plane(start))
            }
        }
    }
}
