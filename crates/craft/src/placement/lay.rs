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

/// For every mass the least points, and how it was had.
pub struct Curve {
    /// Least points by units of mass.
    pub least: Vec<f64>,
    /// By units: the row and state in which the least was reached.
    last: Vec<Option<u32>>,
    nodes: Vec<Node>,
}

/// One row of a layout: which, how it is set, and the row before it.
#[derive(Debug, Clone, Copy)]
struct Node {
    row: u32,
    pattern: u32,
    before: Option<u32>,
}

/// A comb of rows, lowest first, with what they break with one another.
pub struct Rows<'a> {
    pub comb: &'a Comb<'a>,
    pub sides: Sides,
    pub rows: Vec<RowToLay>,
}

impl Rows<'_> {
    /// The curve of a section up to a mass.
    pub fn lay(&self, unit: f64, most_grams: f64) -> Curve {
        let most = ((most_grams / unit).ceil() as usize + 1).min(MOST_UNITS);
        let plain = self.comb.request.rules.value(&super::rules::PLAIN_ROWS).round() as usize;
        let mut curve = Curve { least: vec![NEVER; most + 1], last: vec![None; most + 1], nodes: Vec::new() };
        curve.least[0] = 0.0;
        // By row, pattern, and how many rows are set with it (at most `plain` + 1 are told apart).
        let orders = plain + 1;
        let mut states: Vec<Vec<Vec<State>>> = Vec::new();
        // The best of all layouts whose highest row is at most this one, by order.
        let mut up_to: Vec<Vec<State>> = Vec::new();
        for r in 0..self.rows.len() {
            let here = &self.rows[r];
            let mut row_states: Vec<Vec<State>> = Vec::with_capacity(here.patterns.len());
            let near: Vec<(usize, Vec<Vec<bool>>)> =
                (0..r).rev().filter(|b| self.may_follow(*b, r) && self.is_near(*b, r)).map(|b| (b, self.clashes(b, r))).collect();
            // Rows too far below to stand in brick bind nothing.
            let far = (0..r).rev().find(|b| !self.is_near(*b, r));
            for (p, pattern) in here.patterns.iter().enumerate() {
                let mut by_order = vec![State::new(most); orders];
                let units = (pattern.grams / unit).round() as usize;
                if pattern.tabs.is_empty() || units > most {
                    row_states.push(by_order);
                    continue;
                }
                let own = pattern.points + here.points;
                // A half laid by itself may start higher than the other: the rows
                // of its section are counted all the same.
                let first = if matches!(self.sides, Sides::One(_)) { r.min(orders - 1) } else { 0 };
                by_order[first].offer(units, own, None);
                for (order, state) in far.iter().flat_map(|b| up_to[*b].iter().enumerate()).filter(|(_, state)| state.is_reached) {
                    by_order[(order + 1).min(orders - 1)].follow(state, units, own);
                }
                for (b, clashes) in &near {
                    let closer = self.closer_points(*b, r);
                    for (q, from) in states[*b].iter().enumerate() {
                        for (order, state) in from.iter().enumerate().filter(|(_, state)| state.is_reached) {
                            // The row after the plain ones stands in brick.
                            if order + 1 >= plain && clashes[p][q] {
                                continue;
                            }
                            by_order[(order + 1).min(orders - 1)].follow(state, units, own + closer);
                        }
                    }
                }
                row_states.push(by_order);
            }
            self.keep(&mut curve, r, &mut row_states);
            let mut best = up_to.last().cloned().unwrap_or_else(|| vec![State::new(most); orders]);
            for state in &row_states {
                for (best, state) in best.iter_mut().zip(state).filter(|(_, state)| state.is_reached) {
                    best.take_better(state);
                }
            }
            up_to.push(best);
            states.push(row_states);
        }
        curve
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
                let feet: Vec<f64> = pattern
                    .tabs
                    .iter()
                    .map(|tab| foot(upper, lower, sign * tab.at))
                    .collect();
                lower
                    .patterns
                    .iter()
                    .map(|other| other.tabs.iter().any(|tab| feet.iter().any(|foot| (foot - tab.at).abs() < offset)))
                    .collect()
            })
            .collect()
    }

    /// Offers what a row's states reach to the curve, and gives them their nodes.
    fn keep(&self, curve: &mut Curve, r: usize, states: &mut [Vec<State>]) {
        for (pattern, by_order) in states.iter_mut().enumerate() {
            for state in by_order.iter_mut().filter(|state| state.is_reached) {
                for units in 0..state.points.len() {
                    if !state.points[units].is_finite() {
                        continue;
                    }
                    let node = curve.nodes.len() as u32;
                    curve.nodes.push(Node { row: r as u32, pattern: pattern as u32, before: state.before[units] });
                    state.node[units] = Some(node);
                    if state.points[units] < curve.least[units] - 1e-9 {
                        curve.least[units] = state.points[units];
                        curve.last[units] = Some(node);
                    }
                }
            }
        }
    }

    /// The rows of a curve that give so many units at the least points, lowest first.
    pub fn of(&self, curve: &Curve, units: usize) -> Vec<Laid> {
        let mut laid = Vec::new();
        let mut at = curve.last.get(units).copied().flatten();
        while let Some(node) = at {
            let Node { row, pattern, before } = curve.nodes[node as usize];
            let row = &self.rows[row as usize];
            laid.push(Laid { up: row.level.up, tabs: row.patterns[pattern as usize].tabs.clone() });
            at = before;
        }
        laid.reverse();
        laid
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
    before: Vec<Option<u32>>,
    node: Vec<Option<u32>>,
}

impl State {
    fn new(most: usize) -> Self {
        Self { is_reached: false, points: vec![NEVER; most + 1], before: vec![None; most + 1], node: vec![None; most + 1] }
    }

    fn offer(&mut self, units: usize, points: f64, before: Option<u32>) {
        if points < self.points[units] - 1e-9 {
            self.points[units] = points;
            self.before[units] = before;
            self.is_reached = true;
        }
    }

    /// The better of two ways for every mass.
    fn take_better(&mut self, other: &Self) {
        for units in 0..self.points.len() {
            if other.points[units] < self.points[units] - 1e-9 {
                self.points[units] = other.points[units];
                self.node[units] = other.node[units];
                self.is_reached = true;
            }
        }
    }

    /// Every mass of a state below, with this row's mass and points on top.
    fn follow(&mut self, below: &Self, units: usize, more: f64) {
        for had in 0..self.points.len() - units {
            let points = below.points[had] + more;
            if points < self.points[had + units] - 1e-9 {
                self.points[had + units] = points;
                self.before[had + units] = below.node[had];
                self.is_reached = true;
            }
        }
    }
}

impl Curve {
    /// The curve of a section without rows.
    pub fn empty() -> Self {
        Self { least: vec![0.0], last: vec![None], nodes: Vec::new() }
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
