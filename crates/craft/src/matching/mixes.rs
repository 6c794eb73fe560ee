//! The exact search over whole-piece mixes of up to three shades.
//!
//! Every set of up to three shades and every way of sharing the pieces counts.
//! All mixes of one and two shades are looked at; of a set of three only those
//! that lie in the region where mixes as near as the worst on the list can lie
//! (`cells`). What is left out is provably worse than everything listed.
//!
//! Two lists are kept in one go: of all mixes, and of the calm ones, whose
//! shades are no further apart than given.

use super::cells::{Cells, Light, Region, Slope, along, has_ratios, light};
use colour::{D65, Lab, Xyz, ciede2000, ciede2000_quick};

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

/// The outcome: the best mixes, and the best of each number of shades (of
/// three, those among the best).
#[derive(Debug, PartialEq)]
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
    lights: Vec<Light>,
    /// Shades whose ratios can be put in cells; mixes with others are all looked at.
    in_cells: Vec<bool>,
    target: Lab,
    pieces: u32,
    apart: Vec<f64>,
}

/// On the first round of a triple's pieces, this many are tried for each shade.
const FIRST_ROUND: u32 = 8;
/// More than the quick difference can be off by.
const QUICK_ERR: f64 = 1e-6;

impl<'a> Search<'a> {
    pub fn new(shades: &'a [Xyz], target: Lab, pieces: u32) -> Self {
        let labs: Vec<Lab> = shades.iter().map(|shade| shade.to_lab(D65)).collect();
        let apart = labs.iter().flat_map(|p| labs.iter().map(move |q| ciede2000(*p, *q))).collect();
        let lights: Vec<Light> = shades.iter().map(|shade| light(*shade)).collect();
        let in_cells = lights.iter().map(|light| has_ratios(*light)).collect();
        Self { shades, lights, in_cells, target, pieces, apart }
    }

    /// The best `keep` of all mixes, and of those whose shades are at most
    /// `calm` from each other.
    pub fn run(&self, calm: f64, keep: usize) -> [Outcome; 2] {
        let few = self.few(calm, keep);
        let mut hunt = Hunt::new(self, few.each_ref().map(|lists| lists.iter().flatten().copied().collect()), calm, keep);
        let step = (self.pieces / FIRST_ROUND).max(1);
        if step > 1 {
            hunt.go(step);
        }
        hunt.go(1);
        let [[one, two], [calm_one, calm_two]] = few;
        let outcome = |one, two, best: Vec<Found>| {
            let three = best.iter().copied().filter(|found| found.parts().count() == 3).collect();
            Outcome { best, by_count: [one, two, three] }
        };
        let [best, calm_best] = hunt.best;
        [outcome(one, two, best), outcome(calm_one, calm_two, calm_best)]
    }

    fn is_near(&self, i: usize, j: usize, apart: f64) -> bool {
        self.apart[i * self.shades.len() + j] <= apart
    }

    /// The best of one shade and of two: of all, and of those at most so far apart.
    fn few(&self, calm: f64, keep: usize) -> [[Vec<Found>; 2]; 2] {
        let count = self.shades.len();
        let mut one = Vec::new();
        for i in 0..count {
            put(&mut one, keep, Found { de00: self.difference(self.shades[i]), parts: [(i, self.pieces), (0, 0), (0, 0)] });
        }
        let mut two = [Vec::new(), Vec::new()];
        for i in 0..count {
            for j in i + 1..count {
                let lists = if self.is_near(i, j, calm) { &mut two[..] } else { &mut two[..1] };
                for n in 1..self.pieces {
                    let parts = [(i, n), (j, self.pieces - n), (0, 0)];
                    let limit = lists.last().map_or(f64::INFINITY, |list| worst(list, keep));
                    if let Some(found) = self.found(parts, limit) {
                        for list in lists.iter_mut() {
                            put(list, keep, found);
                        }
                    }
                }
            }
        }
        two.map(|two| [one.clone(), two])
    }

    /// A mix with its difference, unless that is over the limit.
    fn found(&self, parts: [(usize, u32); 3], limit: f64) -> Option<Found> {
        let colour = self.colour(&parts).to_lab(D65);
        let near = ciede2000_quick(self.target, colour) <= limit + QUICK_ERR;
        near.then(|| Found { de00: ciede2000(self.target, colour), parts })
    }

    fn light_of(&self, parts: &[(usize, u32); 3]) -> Light {
        let per = 1.0 / f64::from(self.pieces);
        std::array::from_fn(|k| parts.iter().map(|(shade, count)| self.lights[*shade][k] * f64::from(*count)).sum::<f64>() * per)
    }

    fn colour(&self, parts: &[(usize, u32); 3]) -> Xyz {
        let sum = parts.iter().fold(Xyz::default(), |sum, (shade, count)| sum + self.shades[*shade] * f64::from(*count));
        sum * (1.0 / f64::from(self.pieces))
    }

    fn difference(&self, colour: Xyz) -> f64 {
        ciede2000(self.target, colour.to_lab(D65))
    }

    /// How the difference rises with light at a mix. Where the target is out of
    /// reach, mixes as near as this one lie on one side of a plane across it.
    fn slope(&self, found: &Found) -> Slope {
        let here = self.light_of(&found.parts);
        let nudge = 1e-5;
        std::array::from_fn(|axis| {
            let at = |by: f64| {
                let mut light = here;
                light[axis] += by;
                self.difference(Xyz::new(light[0] * D65.x, light[1] * D65.y, light[2] * D65.z))
            };
            (at(nudge) - at(-nudge)) / (2.0 * nudge)
        })
    }
}

/// For every shade its distances inside the region's sides; below zero
/// outside. They mix as light does.
type Sides = Vec<[f64; SIDES]>;

/// Two of y, rho and sigma, and one of the slope.
const SIDES: usize = 7;

/// The search through triples, with what was found so far.
struct Hunt<'s> {
    search: &'s Search<'s>,
    calm: f64,
    keep: usize,
    /// All mixes, and the calm ones.
    best: [Vec<Found>; 2],
    limit: [f64; 2],
    cells: [Cells; 2],
    sides: [Option<Sides>; 2],
}

impl<'s> Hunt<'s> {
    fn new(search: &'s Search<'s>, found: [Vec<Found>; 2], calm: f64, keep: usize) -> Self {
        let mut best = [Vec::new(), Vec::new()];
        for (list, found) in best.iter_mut().zip(found) {
            for one in found {
                put(list, keep, one);
            }
        }
        let usable: Vec<Light> = search.lights.iter().copied().filter(|light| has_ratios(*light)).collect();
        let cells = Cells::of(&usable, search.target);
        let mut hunt = Self { search, calm, keep, best, limit: [f64::INFINITY; 2], cells: [cells.clone(), cells], sides: [None, None] };
        for list in 0..2 {
            hunt.tighten(list);
        }
        hunt
    }

    /// Takes the limit from the list, and the region from the limit.
    fn tighten(&mut self, list: usize) {
        let search = self.search;
        let limit = worst(&self.best[list], self.keep);
        self.limit[list] = limit;
        if self.cells[list].worth_halving(limit) {
            let slope = self.best[list].first().map_or([0.0; 3], |found| search.slope(found));
            self.cells[list] = self.cells[list].finer(limit, slope);
        }
        let cells = &self.cells[list];
        self.sides[list] = cells.region(limit).map(|region| search.lights.iter().map(|l| sides(&region, cells.slope(), *l)).collect());
    }

    /// All triples, their pieces in steps.
    fn go(&mut self, step: u32) {
        let search = self.search;
        let count = search.shades.len();
        for i in 0..count {
            for j in i + 1..count {
                let near = search.is_near(i, j, self.calm);
                for k in j + 1..count {
                    let calm = near && search.is_near(i, k, self.calm) && search.is_near(j, k, self.calm);
                    self.triple([i, j, k], usize::from(calm), step);
                }
            }
        }
    }

    /// The mixes of three shades; `list` is the wider of the lists they may enter.
    fn triple(&mut self, shades: [usize; 3], list: usize, step: u32) {
        let search = self.search;
        let Some(mut inside) = self.inside(shades, list) else { return };
        let pieces = search.pieces;
        let [i, j, k] = shades;
        for n in (step..pieces.saturating_sub(1)).step_by(step as usize) {
            let (first, last) = inside.along(n, pieces - n - 1);
            for m in (first.max(step).next_multiple_of(step)..=last).step_by(step as usize) {
                let found = search.found([(i, n), (j, m), (k, pieces - n - m)], self.limit[list]);
                if found.is_some_and(|found| self.enter(found, list)) {
                    let Some(tighter) = self.inside(shades, list) else { return };
                    inside = tighter;
                }
            }
        }
    }

    /// The triple's corners against the region; nothing when it misses it.
    fn inside(&self, shades: [usize; 3], list: usize) -> Option<Inside> {
        let search = self.search;
        if shades.iter().any(|&shade| !search.in_cells[shade]) {
            return Some(Inside::of([[0.0; SIDES]; 3], search.pieces));
        }
        let sides = self.sides[list].as_ref()?;
        let corners = shades.map(|shade| sides[shade]);
        let missed = (0..SIDES).any(|side| corners.iter().all(|corner| corner[side] < 0.0));
        (!missed).then(|| Inside::of(corners, search.pieces))
    }

    /// Puts a mix on the lists it belongs to; whether a limit became tighter.
    fn enter(&mut self, found: Found, list: usize) -> bool {
        let mut tighter = false;
        for list in 0..=list {
            if put(&mut self.best[list], self.keep, found) && worst(&self.best[list], self.keep) < self.limit[list] {
                self.tighten(list);
                tighter = true;
            }
        }
        tighter
    }
}

/// Where the mixes of a triple lie inside the region: for each of its sides
/// the least or most pieces of the second shade, as a straight line of the
/// pieces of the first.
struct Inside {
    /// Sides that the second shade leads into: at least `start + n * each`.
    least: Bounds,
    /// Sides that it leads out of: at most.
    most: Bounds,
    /// Sides along which it changes nothing: inside from zero up.
    level: Bounds,
}

/// Straight lines, as many as there are sides or fewer.
#[derive(Default)]
struct Bounds {
    lines: [(f64, f64); SIDES],
    count: usize,
}

impl Bounds {
    fn add(&mut self, start: f64, each: f64) {
        self.lines[self.count] = (start, each);
        self.count += 1;
    }

    fn at(&self, n: f64) -> impl Iterator<Item = f64> + '_ {
        self.lines[..self.count].iter().map(move |(start, each)| start + n * each)
    }
}

impl Inside {
    fn of([p, q, o]: [[f64; SIDES]; 3], pieces: u32) -> Self {
        let pieces = f64::from(pieces);
        let mut inside = Self { least: Bounds::default(), most: Bounds::default(), level: Bounds::default() };
        for side in 0..SIDES {
            // Inside while n p + m q + (pieces - n - m) o is not below zero.
            let turn = q[side] - o[side];
            let (start, each) = (pieces * o[side], p[side] - o[side]);
            if turn > 0.0 {
                inside.least.add(-start / turn, -each / turn);
            } else if turn < 0.0 {
                inside.most.add(-start / turn, -each / turn);
            } else {
                inside.level.add(start, each);
            }
        }
        inside
    }

    /// With `n` pieces of the first shade, the least and most of the second
    /// with which the mix may lie inside; none when the least is the greater.
    fn along(&self, n: u32, most: u32) -> (u32, u32) {
        /// Room for rounding, in pieces.
        const ROOM: f64 = 1e-6;
        let n = f64::from(n);
        let first = self.least.at(n).fold(1.0, f64::max) - ROOM;
        let last = self.most.at(n).fold(f64::from(most), f64::min) + ROOM;
        if first > last || last < 1.0 || self.level.at(n).any(|inside| inside < -1e-9) {
            return (1, 0);
        }
        let whole = first as u32;
        (whole + u32::from(f64::from(whole) < first), last as u32)
    }
}

fn sides(region: &Region, slope: Slope, light: Light) -> [f64; SIDES] {
    let [x, y, z] = light;
    [
        y - region.y.low,
        region.y.high - y,
        x - region.rho.low * y,
        region.rho.high * y - x,
        z - region.sigma.low * y,
        region.sigma.high * y - z,
        region.most - along(slope, light),
    ]
}

/// The difference that a mix must not pass to enter a list.
fn worst(list: &[Found], keep: usize) -> f64 {
    if list.len() < keep { f64::INFINITY } else { list[keep - 1].de00 }
}

/// Puts a mix in its place in a list of at most `keep`; says whether it went in.
fn put(list: &mut Vec<Found>, keep: usize, found: Found) -> bool {
    if list.len() == keep && !list.last().is_some_and(|worst| found.before(worst)) {
        return false;
    }
    let place = list.partition_point(|own| own.before(&found));
    if list.get(place) == Some(&found) {
        return false;
    }
    list.insert(place, found);
    list.truncate(keep);
    true
}
