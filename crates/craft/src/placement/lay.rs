//! Laying the rows of a section one above the other, exactly: for every mass
//! the least points at which it can be had.
//!
//! Rows bind only the row directly below (brick, by the foot). So the best
//! layouts grow upward row by row: for every way of setting a row, whether it
//! is among the first rows, and every mass placed so far, the least points are
//! kept, and nothing else can matter to the rows above.

use super::rows::{Comb, Pattern, Set, Sides};
use super::survey::Level;
use measure::Length;
use std::rc::Rc;

/// The most masses kept apart, in units.
const MOST_UNITS: usize = 160;
const NEVER: f64 = f64::INFINITY;

/// One row that could be set.
pub struct RowToLay {
    pub level: Rc<Level>,
    pub patterns: Vec<Pattern>,
    /// Points of combing it at all.
    pub points: f64,
}

/// One row as laid.
#[derive(Debug, Clone, PartialEq)]
pub struct Laid {
    pub up: f64,
    pub tabs: Vec<Set>,
}

/// For every mass the least points, and what it was had from.
pub struct Curve {
    /// Least points by units of mass.
    pub least: Vec<f64>,
    /// Grams of a unit.
    unit: f64,
    /// The least points by row, way of setting it, and how many rows are set with it.
    states: Vec<Vec<Vec<State>>>,
}

/// A comb of rows, lowest first, with what they break with one another.
pub struct Rows<'a> {
    pub comb: &'a Comb<'a>,
    pub sides: Sides,
    pub rows: Vec<RowToLay>,
}

impl Rows<'_> {
    /// How many rows are told apart by their order: the plain ones, and all above.
    fn orders(&self) -> usize {
        self.plain() + 1
    }

    fn plain(&self) -> usize {
        self.comb.request.rules.value(&super::rules::PLAIN_ROWS).round() as usize
    }

    /// The order of a first row. A half laid by itself may start higher than the
    /// other: the rows of its section are counted all the same.
    fn first_order(&self, row: usize) -> usize {
        if matches!(self.sides, Sides::One(_)) { row.min(self.orders() - 1) } else { 0 }
    }

    /// The curve of a section up to a mass.
    pub fn lay(&self, unit: f64, most_grams: f64) -> Curve {
        let most = ((most_grams / unit).ceil() as usize + 1).min(MOST_UNITS);
        let (plain, orders) = (self.plain(), self.orders());
        let mut curve = Curve { least: vec![NEVER; most + 1], unit, states: Vec::new() };
        curve.least[0] = 0.0;
        // The best of all layouts whose highest row is at most this one, by order.
        let mut up_to: Vec<Vec<State>> = Vec::new();
        for r in 0..self.rows.len() {
            let here = &self.rows[r];
            let near: Vec<(usize, Vec<Vec<bool>>)> =
                (0..r).rev().filter(|b| self.may_follow(*b, r) && self.is_near(*b, r)).map(|b| (b, self.clashes(b, r))).collect();
            // Rows too far below to stand in brick bind nothing.
            let far = (0..r).rev().find(|b| !self.is_near(*b, r));
            let mut row_states: Vec<Vec<State>> = Vec::with_capacity(here.patterns.len());
            for (p, pattern) in here.patterns.iter().enumerate() {
                let mut by_order = vec![State::new(most); orders];
                let units = (pattern.grams / unit).round() as usize;
                if pattern.tabs.is_empty() || units > most {
                    row_states.push(by_order);
                    continue;
                }
                let own = pattern.points + here.points;
                by_order[self.first_order(r)].offer(units, own);
                for (order, state) in far.iter().flat_map(|b| up_to[*b].iter().enumerate()) {
                    by_order[(order + 1).min(orders - 1)].follow(state, units, own);
                }
                for (b, clashes) in &near {
                    let more = own + self.closer_points(*b, r);
                    for (q, from) in curve.states[*b].iter().enumerate() {
                        for (order, state) in from.iter().enumerate() {
                            // The row after the plain ones stands in brick.
                            if order + 1 < plain || !clashes[p][q] {
                                by_order[(order + 1).min(orders - 1)].follow(state, units, more);
                            }
                        }
                    }
                }
                row_states.push(by_order);
            }
            let mut best = up_to.last().cloned().unwrap_or_else(|| vec![State::new(most); orders]);
            for by_order in &row_states {
                for (best, state) in best.iter_mut().zip(by_order) {
                    best.follow(state, 0, 0.0);
                    for (least, points) in curve.least.iter_mut().zip(&state.points) {
                        *least = least.min(*points);
                    }
                }
            }
            up_to.push(best);
            curve.states.push(row_states);
        }
        curve
    }

    /// The rows of a curve that give so many units at the least points, lowest
    /// first: found by asking, from the top down, what each sum was made of.
    pub fn of(&self, curve: &Curve, units: usize) -> Vec<Laid> {
        let same = |a: f64, b: f64| a.is_finite() && (a - b).abs() <= 1e-7 * (1.0 + b.abs());
        let mut laid = Vec::new();
        if units == 0 {
            return laid;
        }
        let (mut units, mut points) = (units, curve.least[units]);
        let mut at =
            self.states_of(curve, 0..self.rows.len()).find(|(.., state)| same(state.points[units], points)).map(|(r, p, o, _)| (r, p, o));
        while let Some((r, p, order)) = at {
            let pattern = &self.rows[r].patterns[p];
            laid.push(Laid { up: self.rows[r].level.up, tabs: pattern.tabs.clone() });
            let own = (pattern.grams / curve.unit).round() as usize;
            points -= pattern.points + self.rows[r].points;
            units -= own;
            if units == 0 && same(points, 0.0) && order == self.first_order(r) {
                break;
            }
            at = self
                .states_of(curve, 0..r)
                .filter(|(b, ..)| !self.is_near(*b, r) || self.may_follow(*b, r))
                .filter(|(_, _, o, _)| (*o + 1).min(self.orders() - 1) == order)
                .find(|(b, q, o, state)| {
                    let closer = if self.is_near(*b, r) { self.closer_points(*b, r) } else { 0.0 };
                    let brick = self.is_near(*b, r) && *o + 1 >= self.plain();
                    same(state.points[units], points - closer) && !(brick && self.stand_over(*b, *q, r, p))
                })
                .map(|(b, q, o, _)| (b, q, o));
            if let Some((b, ..)) = at
                && self.is_near(b, r)
            {
                points -= self.closer_points(b, r);
            }
        }
        laid.reverse();
        laid
    }

    /// The states of some rows, the highest row first.
    fn states_of<'c>(&self, curve: &'c Curve, rows: std::ops::Range<usize>) -> impl Iterator<Item = (usize, usize, usize, &'c State)> {
        rows.rev().flat_map(move |r| {
            let row = &curve.states[r];
            row.iter().enumerate().flat_map(move |(p, by_order)| by_order.iter().enumerate().map(move |(o, state)| (r, p, o, state)))
        })
    }

    /// Whether a way of setting an upper row stands over one of a lower.
    fn stand_over(&self, below: usize, q: usize, above: usize, p: usize) -> bool {
        let (lower, upper) = (&self.rows[below], &self.rows[above]);
        let (offset, sign) = (self.comb.apart.offset() - 1e-6, self.sides.half().sign());
        upper.patterns[p].tabs.iter().any(|tab| {
            let foot = foot(upper, lower, sign * tab.at);
            lower.patterns[q].tabs.iter().any(|other| (foot - other.at).abs() < offset)
        })
    }

    /// Whether two rows stand near enough for brick.
    fn is_near(&self, below: usize, above: usize) -> bool {
        let part = self.sides.half().part();
        self.comb.apart.is_brick(usize::MAX, self.rows[below].level.up, self.rows[above].level.up, part)
    }

    /// Whether a row may follow another directly, by the distance between them.
    fn may_follow(&self, below: usize, above: usize) -> bool {
        let apart = self.reading(above) - self.reading(below);
        apart >= self.comb.apart.spacing - 1e-6
    }

    fn reading(&self, row: usize) -> f64 {
        self.comb.apart.reading(self.sides.half().part(), self.rows[row].level.up)
    }

    /// Points for combing a row nearer to the one below than is usual.
    fn closer_points(&self, below: usize, above: usize) -> f64 {
        let rules = self.comb.request.rules;
        let missing = rules.value(&super::rules::ROW_SPACING) - (self.reading(above) - self.reading(below));
        rules.value(&super::rules::WORTH_CLOSE) * missing.max(0.0)
    }

    /// Which patterns of an upper row (first index) stand over which of a lower.
    fn clashes(&self, below: usize, above: usize) -> Vec<Vec<bool>> {
        let (lower, upper) = (&self.rows[below], &self.rows[above]);
        let offset = self.comb.apart.offset() - 1e-6;
        // On the mirrored half the feet are the mirrored ones, to the last digit.
        let sign = self.sides.half().sign();
        upper
            .patterns
            .iter()
            .map(|pattern| {
                let feet: Vec<f64> = pattern.tabs.iter().map(|tab| foot(upper, lower, sign * tab.at)).collect();
                lower
                    .patterns
                    .iter()
                    .map(|other| other.tabs.iter().any(|tab| feet.iter().any(|foot| (foot - tab.at).abs() < offset)))
                    .collect()
            })
            .collect()
    }
}

/// The foot of a place of the upper row on the lower, from the middle.
fn foot(upper: &RowToLay, lower: &RowToLay, along: f64) -> f64 {
    upper.level.line.at(Length::mm(along)).map_or(f64::INFINITY, |p| lower.level.line.foot(p).to_mm().abs())
}

/// The least points of one way of setting a row, by mass so far.
#[derive(Debug, Clone)]
struct State {
    is_reached: bool,
    points: Vec<f64>,
}

impl State {
    fn new(most: usize) -> Self {
        Self { is_reached: false, points: vec![NEVER; most + 1] }
    }

    fn offer(&mut self, units: usize, points: f64) {
        self.points[units] = self.points[units].min(points);
        self.is_reached = true;
    }

    /// Every mass of a state below, with this row's mass and points on top.
    fn follow(&mut self, below: &Self, units: usize, more: f64) {
        if !below.is_reached {
            return;
        }
        self.is_reached = true;
        let had = self.points.len() - units;
        for (points, below) in self.points[units..].iter_mut().zip(&below.points[..had]) {
            *points = points.min(below + more);
        }
    }
}

impl Curve {
    /// The curve of a section without rows.
    pub fn empty() -> Self {
        Self { least: vec![0.0], unit: 1.0, states: Vec::new() }
    }
}

/// Up the middle to the lowest parting, from a start upward, that keeps clear.
pub fn lowest(from: f64, to: f64, keeps: impl Fn(f64) -> bool) -> Option<f64> {
    const STEP: f64 = 0.5;
    let mut up = from;
    while up <= to {
        if keeps(up) {
            return Some(up);
        }
        up += STEP;
    }
    None
}
