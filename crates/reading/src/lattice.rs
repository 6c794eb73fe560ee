//! Fields that lie in rows and columns.

use crate::fields::Field;
use crate::geometry::{Homography, Point};
use measure::linear::solve;
use measure::real::hypot;
use std::collections::BTreeMap;

/// Fields found by their places.
struct Near<'a> {
    fields: &'a [Field],
    cells: BTreeMap<(i64, i64), Vec<usize>>,
}

/// Blocks along a cell.
const CELL: f64 = 24.0;

impl<'a> Near<'a> {
    fn of(fields: &'a [Field]) -> Self {
        let mut cells: BTreeMap<(i64, i64), Vec<usize>> = BTreeMap::new();
        for (i, field) in fields.iter().enumerate() {
            cells.entry(cell(field.middle)).or_default().push(i);
        }
        Self { fields, cells }
    }

    /// Those within a reach, and how far they are.
    fn within(&self, at: Point, reach: f64) -> Vec<(f64, usize)> {
        let (low, high) = (cell([at[0] - reach, at[1] - reach]), cell([at[0] + reach, at[1] + reach]));
        let mut found = Vec::new();
        for y in low.1..=high.1 {
            for x in low.0..=high.0 {
                for i in self.cells.get(&(x, y)).into_iter().flatten() {
                    let far = apart(self.fields[*i].middle, at);
                    if far <= reach {
                        found.push((far, *i));
                    }
                }
            }
        }
        found
    }
}

fn cell(at: Point) -> (i64, i64) {
    ((at[0] / CELL).floor() as i64, (at[1] / CELL).floor() as i64)
}

fn apart(p: Point, q: Point) -> f64 {
    hypot(p[0] - q[0], p[1] - q[1])
}

/// Fields of one size are no more unlike than this, in their sides.
const ALIKE: f64 = 1.6;

fn alike(p: &Field, q: &Field) -> bool {
    p.side <= ALIKE * q.side && q.side <= ALIKE * p.side
}

/// How far a neighbour may lie, in sides of a field, and how many are looked at.
const REACH: f64 = 2.6;
const NEIGHBOURS: usize = 8;

/// How far beside its place a field may lie, in distances between fields.
const BESIDE: f64 = 0.25;

/// Fewer fields than this make no lattice.
pub(crate) const LEAST: usize = 11;

/// Fields in rows and columns: of each its column and row, and where it lies.
pub(crate) struct Lattice {
    pub places: BTreeMap<(i32, i32), Point>,
}

/// No lattice reaches further than this from where it was begun.
const FARTHEST: i32 = 9;

/// All lattices among the fields.
pub(crate) fn lattices(fields: &[Field]) -> Vec<Lattice> {
    let near = Near::of(fields);
    let mut taken = vec![false; fields.len()];
    let mut result = Vec::new();
    for (i, field) in fields.iter().enumerate() {
        if taken[i] {
            continue;
        }
        let mut about: Vec<(f64, usize)> =
            near.within(field.middle, REACH * field.side).into_iter().filter(|(_, j)| *j != i && alike(&fields[*j], field)).collect();
        about.sort_by(|p, q| p.0.total_cmp(&q.0));
        about.truncate(NEIGHBOURS);
        let pairs = about.iter().enumerate().flat_map(|(k, p)| about[k + 1..].iter().map(move |q| (p.1, q.1)));
        let grown = pairs.filter_map(|(j, k)| Growing::new(&near, i, j, k)).map(Growing::grown).find(|grown| grown.len() >= LEAST);
        let Some(grown) = grown else { continue };
        grown.values().for_each(|j| taken[*j] = true);
        result.push(Lattice { places: grown.into_iter().map(|(at, j)| (at, fields[j].middle)).collect() });
    }
    result
}

/// A lattice while it is grown from one field and two neighbours.
struct Growing<'a> {
    near: &'a Near<'a>,
    first: usize,
    steps: [Point; 2],
    placed: BTreeMap<(i32, i32), usize>,
}

impl<'a> Growing<'a> {
    /// From a field and two neighbours, if these lie across each other and about as far.
    fn new(near: &'a Near<'a>, first: usize, j: usize, k: usize) -> Option<Self> {
        let at = |i: usize| near.fields[i].middle;
        let steps = [j, k].map(|i| [at(i)[0] - at(first)[0], at(i)[1] - at(first)[1]]);
        let [p, q] = steps.map(|s| hypot(s[0], s[1]));
        let across = (steps[0][0] * steps[1][1] - steps[0][1] * steps[1][0]).abs();
        let fit = across > 0.75 * p * q && p < 1.7 * q && q < 1.7 * p;
        fit.then(|| Self { near, first, steps, placed: BTreeMap::from([((0, 0), first), ((1, 0), j), ((0, 1), k)]) })
    }

    fn middle(&self, place: (i32, i32)) -> Option<Point> {
        self.placed.get(&place).map(|i| self.near.fields[*i].middle)
    }

    /// Where the neighbour of a placed field should lie.
    fn expected(&self, (x, y): (i32, i32), (dx, dy): (i32, i32)) -> Option<Point> {
        let here = self.middle((x, y))?;
        if let Some(behind) = self.middle((x - dx, y - dy)) {
            return Some([0, 1].map(|k| 2.0 * here[k] - behind[k]));
        }
        for side in [1, -1] {
            let beside = (x + side * dy, y + side * dx);
            if let (Some(p), Some(q)) = (self.middle(beside), self.middle((beside.0 + dx, beside.1 + dy))) {
                return Some([0, 1].map(|k| here[k] + q[k] - p[k]));
            }
        }
        let step = self.steps[usize::from(dx == 0)];
        let way = f64::from(dx + dy);
        Some([0, 1].map(|k| here[k] + way * step[k]))
    }

    fn grown(mut self) -> BTreeMap<(i32, i32), usize> {
        let mut open: Vec<(i32, i32)> = self.placed.keys().copied().collect();
        let mut used: Vec<usize> = self.placed.values().copied().collect();
        while let Some(place) = open.pop() {
            for way in [(1, 0), (-1, 0), (0, 1), (0, -1)] {
                let next = (place.0 + way.0, place.1 + way.1);
                if next.0.abs() > FARTHEST || next.1.abs() > FARTHEST || self.placed.contains_key(&next) {
                    continue;
                }
                let Some(at) = self.expected(place, way) else { continue };
                let step = self.steps[usize::from(way.0 == 0)];
                let found = self.near.within(at, BESIDE * hypot(step[0], step[1]));
                let fits =
                    found.into_iter().filter(|(_, i)| !used.contains(i) && alike(&self.near.fields[*i], &self.near.fields[self.first]));
                if let Some((_, i)) = fits.min_by(|p, q| p.0.total_cmp(&q.0)) {
                    self.placed.insert(next, i);
                    used.push(i);
                    open.push(next);
                }
            }
        }
        self.placed
    }
}

impl Lattice {
    /// From columns and rows to places: the plane transform nearest to all fields, those
    /// that lie beside it left out; nothing when they do not settle one.
    pub fn map(&self) -> Option<Homography> {
        let mut kept: Vec<((i32, i32), Point)> = self.places.iter().map(|(at, point)| (*at, *point)).collect();
        for _ in 0..3 {
            let map = through(&kept)?;
            let step = {
                let (p, q) = (map.map(0.0, 0.0), map.map(1.0, 1.0));
                apart(p, q)
            };
            let off = |(at, point): &((i32, i32), Point)| apart(map.map(f64::from(at.0), f64::from(at.1)), *point);
            let before = kept.len();
            kept.retain(|pair| off(pair) < 0.15 * step);
            if kept.len() < LEAST {
                return None;
            }
            if kept.len() == before {
                return Some(map);
            }
        }
        through(&kept)
    }
}

/// The transform that carries columns and rows nearest to points, by least squares.
fn through(pairs: &[((i32, i32), Point)]) -> Option<Homography> {
    // Points about 1 in size, for the sums' sake.
    let n = pairs.len() as f64;
    let middle = [0, 1].map(|k| pairs.iter().map(|(_, p)| p[k]).sum::<f64>() / n);
    let size = pairs.iter().map(|(_, p)| apart(*p, middle)).sum::<f64>() / n;
    let (mut matrix, mut right) = ([[0.0; 8]; 8], [0.0; 8]);
    let mut add = |row: [f64; 8], wanted: f64| {
        for i in 0..8 {
            right[i] += row[i] * wanted;
            (0..8).for_each(|j| matrix[i][j] += row[i] * row[j]);
        }
    };
    for ((x, y), point) in pairs {
        let (u, v) = (f64::from(*x), f64::from(*y));
        let [p, q] = [0, 1].map(|k| (point[k] - middle[k]) / size.max(1e-9));
        add([u, v, 1.0, 0.0, 0.0, 0.0, -u * p, -v * p], p);
        add([0.0, 0.0, 0.0, u, v, 1.0, -u * q, -v * q], q);
    }
    let [a, b, c, d, e, f, g, h] = solve(matrix, right)?;
    // Back to blocks.
    let row = |r: [f64; 3], k: usize| [r[0] * size + middle[k] * g, r[1] * size + middle[k] * h, r[2] * size + middle[k]];
    let ([a, b, c], [d, e, f]) = (row([a, b, c], 0), row([d, e, f], 1));
    Some(Homography::of([a, b, c, d, e, f, g, h]))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grid(columns: i32, rows: i32, lost: &[(i32, i32)]) -> (Vec<Field>, Homography) {
        let map = Homography::to_corners(&[[100.0, 40.0], [330.0, 110.0], [300.0, 300.0], [60.0, 210.0]]);
        let fields = (0..rows)
            .flat_map(|y| (0..columns).map(move |x| (x, y)))
            .filter(|at| !lost.contains(at))
            .map(|(x, y)| Field {
                middle: map.map((f64::from(x) + 0.5) / f64::from(columns), (f64::from(y) + 0.5) / f64::from(rows)),
                side: 28.0,
            })
            .collect();
        (fields, map)
    }

    #[test]
    fn a_tilted_grid_with_fields_lost_is_found_with_its_transform() {
        let (mut fields, map) = grid(6, 4, &[(2, 1), (5, 3), (0, 0)]);
        // Other things of the same size.
        fields.extend([[20.0, 20.0], [380.0, 60.0], [200.0, 330.0]].map(|middle| Field { middle, side: 30.0 }));
        let found = lattices(&fields);
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].places.len(), 21);
        let own = found[0].map().unwrap();
        // The lost field's place is known all the same.
        let lost = map.map(2.5 / 6.0, 1.5 / 4.0);
        let off = (-9..9)
            .flat_map(|x| (-9..9).map(move |y| (x, y)))
            .map(|(x, y)| apart(own.map(f64::from(x), f64::from(y)), lost))
            .fold(f64::INFINITY, f64::min);
        assert!(off < 0.5, "{off}");
    }

    #[test]
    fn fields_strewn_about_are_no_lattice() {
        let mut state = 3_u64;
        let mut unit = || {
            state = state.wrapping_mul(0x5851_f42d_4c95_7f2d).wrapping_add(0x1405_7b7e_f767_814f);
            (state >> 11) as f64 / (1_u64 << 53) as f64
        };
        let fields: Vec<Field> = (0..60).map(|_| Field { middle: [400.0 * unit(), 400.0 * unit()], side: 20.0 }).collect();
        assert!(lattices(&fields).is_empty());
    }
}
