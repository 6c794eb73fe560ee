//! Ways of setting one row: from the line where it starts outward, evenly
//! gapped, halves only at its ends.

use super::apart::Apart;
use super::rules::{WORTH_ALONE, WORTH_NEAT};
use super::site::Request;
use super::survey::{Half, Level, Stretch, Survey};
use super::worth;
use measure::Length;
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

/// Starts of a row are tried this far apart, mm, all along it: every brick can
/// be had, and where hair lies deep only far out the row begins there.
const START_STEP_MM: f64 = 2.5;
/// Only so many first starts are also tried with wider gaps and with a half in
/// front: a tab's half and a little, within which every brick can be had.
const STARTS_IN_ALL_WAYS: usize = 11;
/// How many times the gap neighbours may stand apart to come into brick.
const GAPS: [f64; 3] = [1.0, 1.5, 2.0];
/// The most tabs of one row on one side.
pub const MOST_IN_ROW: usize = 8;
/// Where a tab finds no place it is tried so much farther out, mm.
const STEP_OUT_MM: f64 = 2.5;
/// Places nearer to one that exact judging refused are refused with it, mm.
const STRUCK_MM: f64 = 1.25;

/// Which halves are combed together: one by itself, or both alike.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sides {
    /// One half by itself.
    One(Half),
    /// A half and its mirror image; the right one is named.
    Both(Half),
}

impl Sides {
    pub const fn half(self) -> Half {
        match self {
            Self::One(half) | Self::Both(half) => half,
        }
    }

    /// How many sandwiches one place stands for.
    pub const fn times(self) -> f64 {
        match self {
            Self::One(_) => 1.0,
            Self::Both(_) => 2.0,
        }
    }

    pub fn halves(self) -> impl Iterator<Item = Half> {
        let (first, second) = match self {
            Self::One(half) => (half, None),
            Self::Both(half) => (half, Some(half.mirrored())),
        };
        std::iter::once(first).chain(second)
    }
}

/// One tab of a pattern.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Set {
    /// Its middle, mm from the middle of the head.
    pub at: f64,
    /// Which kind of sandwich.
    pub kind: usize,
}

/// One way of setting a row.
#[derive(Debug, Clone)]
pub struct Pattern {
    pub tabs: Vec<Set>,
    /// Points of its places and its neatness, all sides together.
    pub points: f64,
    /// Grams, all sides together.
    pub grams: f64,
}

/// Which places exact judging refused.
#[derive(Debug, Default)]
pub struct Struck(Vec<(i64, Half, usize, f64)>);

impl Struck {
    pub fn add(&mut self, up: f64, half: Half, kind: usize, at: f64) {
        self.0.push(((up * 1000.0).round() as i64, half, kind, at));
    }

    fn holds(&self, up: f64, half: Half, kind: usize, at: f64) -> bool {
        let key = (up * 1000.0).round() as i64;
        self.0.iter().any(|(u, h, k, a)| *u == key && *h == half && *k == kind && (a - at).abs() < STRUCK_MM)
    }
}

/// Places weighed once.
type Weighed = RefCell<BTreeMap<(i64, usize, usize, i64), Option<f64>>>;

/// What rows are laid from.
pub struct Comb<'a> {
    pub request: &'a Request<'a>,
    pub survey: &'a Survey<'a>,
    pub apart: &'a Apart<'a>,
    pub struck: Struck,
    weighed: Weighed,
}

impl<'a> Comb<'a> {
    pub fn of(request: &'a Request<'a>, survey: &'a Survey<'a>, apart: &'a Apart<'a>) -> Self {
        Self { request, survey, apart, struck: Struck::default(), weighed: RefCell::default() }
    }

    /// The parting that starts so far up the middle, looked over.
    pub fn level(&self, up: f64) -> Option<Rc<Level>> {
        self.survey.level(up, || self.apart.line(up))
    }

    /// Where tabs may lie on all the sides together.
    fn free(&self, level: &Level, sides: Sides) -> Vec<Stretch> {
        match sides {
            Sides::One(half) => level.free(half).to_vec(),
            Sides::Both(half) => {
                let (a, b) = (level.free(half), level.free(half.mirrored()));
                if a == b {
                    return a.to_vec();
                }
                let mut both = Vec::new();
                for (from, to) in a {
                    for (other_from, other_to) in b {
                        let (from, to) = (from.max(*other_from), to.min(*other_to));
                        if to > from {
                            both.push((from, to));
                        }
                    }
                }
                both
            }
        }
    }

    /// Points of a place on all the sides; nothing where a floor keeps it free.
    fn points_at(&self, level: &Level, sides: Sides, kind: usize, at: f64) -> Option<f64> {
        sides.halves().map(|half| self.points_on(level, half, kind, at)).sum()
    }

    fn points_on(&self, level: &Level, half: Half, kind: usize, at: f64) -> Option<f64> {
        if self.struck.holds(level.up, half, kind, at) {
            return None;
        }
        let key = ((level.up * 1000.0).round() as i64, half as usize, kind, (at * 1000.0).round() as i64);
        if let Some(points) = self.weighed.borrow().get(&key) {
            return *points;
        }
        let open = self.survey.weigh(level, half, kind, at).ok().filter(|open| open.depth >= self.survey.least_depth);
        let points = open.map(|open| {
            let height = Length::mm(level.up) - self.request.limits.floors.nape;
            worth::points(&open, self.survey.kinds[kind].piece.cut, height, self.request.rules).values().sum()
        });
        self.weighed.borrow_mut().insert(key, points);
        points
    }

    /// The first place from `from` outward at which a tab of a kind may stand.
    fn place(&self, level: &Level, free: &[Stretch], sides: Sides, kind: usize, from: f64) -> Option<(f64, f64)> {
        let half = self.survey.kinds[kind].tab_half;
        for &(begin, end) in free {
            let mut at = from.max(begin) + half;
            while at + half <= end + 1e-9 {
                if let Some(points) = self.points_at(level, sides, kind, at) {
                    return Some((at, points));
                }
                at += STEP_OUT_MM;
            }
        }
        None
    }

    /// Every way of setting a row on a parting, the empty one first; `end_gap`
    /// is kept free before the end of the free stretch.
    pub fn patterns(&self, level: &Level, sides: Sides, end_gap: f64) -> Vec<Pattern> {
        let mut free = self.free(level, sides);
        let section = level.line.section().to_mm();
        if end_gap > 0.0 {
            for stretch in &mut free {
                stretch.1 = stretch.1.min(section - end_gap);
            }
            free.retain(|(from, to)| to > from);
        }
        let mut patterns = vec![Pattern { tabs: Vec::new(), points: 0.0, grams: 0.0 }];
        let Some(&(begin, _)) = free.first() else { return patterns };
        let kinds = &self.survey.kinds;
        let wholes: Vec<usize> = (0..kinds.len()).filter(|k| !kinds[*k].is_half()).collect();
        let halves: Vec<usize> = (0..kinds.len()).filter(|k| kinds[*k].is_half()).collect();
        let gap = self.apart.gap;
        let end = free.last().map_or(begin, |(_, to)| *to);
        for start in 0..=((end - begin) / START_STEP_MM) as usize {
            let begin = begin + START_STEP_MM * start as f64;
            let is_far = start >= STARTS_IN_ALL_WAYS;
            for (g, times) in GAPS.iter().enumerate().take(if is_far { 1 } else { GAPS.len() }) {
                let gap = gap * times;
                let untidy = start as f64 + g as f64 * (self.apart.gap * 0.5 / 2.5);
                for lead in std::iter::once(None).chain(halves.iter().map(|h| Some(*h)).filter(|_| !is_far)) {
                    for &whole in &wholes {
                        self.grow(level, &free, sides, (begin, gap, lead, whole, untidy), &halves, &mut patterns);
                    }
                    if wholes.is_empty() {
                        self.grow(level, &free, sides, (begin, gap, lead, usize::MAX, untidy), &halves, &mut patterns);
                    }
                }
            }
        }
        fewest(patterns)
    }

    /// A row grown outward from its start, every beginning of it a pattern, with
    /// and without a half at its end.
    fn grow(
        &self,
        level: &Level,
        free: &[Stretch],
        sides: Sides,
        (begin, gap, lead, whole, untidy): (f64, f64, Option<usize>, usize, f64),
        halves: &[usize],
        patterns: &mut Vec<Pattern>,
    ) {
        let rules = self.request.rules;
        let neat = rules.value(&WORTH_NEAT) * untidy;
        let alone = rules.value(&WORTH_ALONE) * sides.times();
        let kinds = &self.survey.kinds;
        let mut tabs: Vec<Set> = Vec::new();
        let (mut points, mut grams) = (neat, 0.0);
        let mut from = begin;
        // A row that could take a second tab and holds one looks forgotten.
        let second_fits = {
            let half = halves.first().copied().unwrap_or(whole);
            self.place(level, free, sides, if whole == usize::MAX { half } else { whole }, begin).is_some_and(|(at, _)| {
                let first = kinds.get(whole).map_or(0.0, |k| k.tab_half);
                self.place(level, free, sides, half, at + first + self.apart.gap).is_some()
            })
        };
        let mut push = |tabs: &[Set], points: f64, grams: f64| {
            let lonely = if tabs.len() == 1 && second_fits { alone } else { 0.0 };
            patterns.push(Pattern { tabs: tabs.to_vec(), points: points + lonely, grams });
        };
        if let Some(half) = lead {
            let Some((at, cost)) = self.place(level, free, sides, half, from) else { return };
            tabs.push(Set { at, kind: half });
            points += cost;
            grams += kinds[half].grams * sides.times();
            from = at + kinds[half].tab_half + gap;
            push(&tabs, points, grams);
        }
        while tabs.len() < MOST_IN_ROW {
            for &half in halves.iter().filter(|_| !tabs.is_empty()) {
                if let Some((at, cost)) = self.place(level, free, sides, half, from) {
                    let mut ended = tabs.clone();
                    ended.push(Set { at, kind: half });
                    push(&ended, points + cost, grams + kinds[half].grams * sides.times());
                }
            }
            if whole == usize::MAX {
                break;
            }
            let Some((at, cost)) = self.place(level, free, sides, whole, from) else { break };
            tabs.push(Set { at, kind: whole });
            points += cost;
            grams += kinds[whole].grams * sides.times();
            from = at + kinds[whole].tab_half + gap;
            push(&tabs, points, grams);
        }
    }
}

/// The patterns without those that stand where another stands that costs no more.
fn fewest(mut patterns: Vec<Pattern>) -> Vec<Pattern> {
    let key = |p: &Pattern| p.tabs.iter().map(|t| ((t.at * 100.0).round() as i64, t.kind)).collect::<Vec<_>>();
    patterns.sort_by(|a, b| key(a).cmp(&key(b)).then(a.points.total_cmp(&b.points)));
    patterns.dedup_by(|b, a| key(a) == key(b));
    patterns
}
