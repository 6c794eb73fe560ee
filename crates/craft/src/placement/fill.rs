//! Nothing left behind: while a layout is short of its wish, every place that
//! is still open for a sandwich of any kind is found and taken.
//!
//! The rows that stand are filled first, then rows between and above them; on
//! each parting every place is looked at that the rows leave, to about a
//! millimetre, and judged exactly.

use super::apart::{Apart, ONE_PARTING_MM, Tab};
use super::care::Floor;
use super::judge::site_at;
use super::part::HeadPart;
use super::rows::Comb;
use super::site::{Placed, Request, RowSetting, Symmetry};
use super::survey::{Half, Level};
use measure::Length;
use std::collections::BTreeMap;
use std::rc::Rc;

/// Partings for a new row are tried this far apart, mm.
const LEVEL_STEP_MM: f64 = 1.0;
/// Places along a parting are tried this far apart, mm, besides the ends of
/// every stretch that is left.
const ALONG_STEP_MM: f64 = 1.25;
/// A place whose neighbours are hidden less than this share of what is asked is
/// not judged exactly: it surely shows.
const SURELY_SHOWS: f64 = 0.75;
/// The most sandwiches that are ever added.
const MOST_ADDED: usize = 120;

/// A place that exact judging was asked of: parting, half, kind, along.
type Key = (i64, Half, usize, i64);

/// An open place.
struct Found {
    placed: Placed,
    half: Half,
    /// Its middle from the middle of the head, mm.
    at: f64,
    /// How high its row lies, and how far it stands from the line where the row starts, mm.
    reading: f64,
    from_line: f64,
    points: f64,
}

/// Fills what is left.
pub struct Filler<'c, 'a> {
    comb: &'c Comb<'a>,
    request: &'a Request<'a>,
    /// Lowest row of each section, up the middle, mm.
    lowest: BTreeMap<HeadPart, f64>,
    judged: BTreeMap<Key, Option<Floor>>,
    /// Which floors kept places free, and how many.
    pub kept_free: BTreeMap<Floor, usize>,
}

impl<'c, 'a> Filler<'c, 'a> {
    pub fn new(comb: &'c Comb<'a>, lowest: BTreeMap<HeadPart, f64>) -> Self {
        Self { comb, request: comb.request, lowest, judged: BTreeMap::new(), kept_free: BTreeMap::new() }
    }

    /// Adds sandwiches until the wish is met or no place is open; what was added.
    pub fn fill(&mut self, standing: &[Placed], mut short: f64) -> Vec<Placed> {
        let mut added: Vec<Placed> = Vec::new();
        let kinds = &self.comb.survey.kinds;
        let least = kinds.iter().map(|k| k.grams).fold(f64::INFINITY, f64::min);
        while short > least * 0.01 && added.len() < MOST_ADDED {
            let tabs: Vec<Tab> = standing.iter().chain(&added).filter_map(|p| self.comb.apart.tab(p)).collect();
            let Some(found) = self.next(&tabs, short) else { break };
            for placed in found {
                short -= placed.piece.hanging_mass(self.request.setting).to_g();
                added.push(placed);
            }
        }
        added
    }

    /// The next sandwich, with its mirror image where that may stand too.
    fn next(&mut self, tabs: &[Tab], short: f64) -> Option<Vec<Placed>> {
        let kinds: Vec<usize> = (0..self.comb.survey.kinds.len()).collect();
        let times = if self.request.symmetry == Symmetry::Mirrored { 2.0 } else { 1.0 };
        for new_rows in [false, true] {
            for &kind in &kinds {
                // A pair that brings more than is wanted only where none fits better.
                if short >= self.comb.survey.kinds[kind].grams * times - 1e-9
                    && let Some(found) = self.of_kind(tabs, kind, new_rows)
                {
                    return Some(found);
                }
            }
        }
        // Rather a little more than a place left open.
        [false, true].into_iter().find_map(|new_rows| kinds.iter().rev().find_map(|&kind| self.of_kind(tabs, kind, new_rows)))
    }

    /// The next sandwich of a kind: at the back first, then at the sides; of the
    /// two sides of the head on the one where it stands lower, or farther in, or
    /// costs less, so that the mirror image of a head gets the mirror image.
    fn of_kind(&mut self, tabs: &[Tab], kind: usize, new_rows: bool) -> Option<Vec<Placed>> {
        for halves in [[Half::BackRight, Half::BackLeft], [Half::Right, Half::Left]] {
            let found = halves.map(|half| self.first_of(tabs, half, kind, new_rows));
            let lower = |a: &Found, b: &Found| {
                let cost = |f: &Found| [f.reading, f.from_line, f.points];
                cost(a)
                    .iter()
                    .zip(cost(b))
                    .map(|(x, y)| if (x - y).abs() < 1e-6 { std::cmp::Ordering::Equal } else { x.total_cmp(&y) })
                    .find(|o| o.is_ne())
            };
            let best = match found {
                [Some(a), Some(b)] => Some(if lower(&b, &a) == Some(std::cmp::Ordering::Less) { b } else { a }),
                [a, b] => a.or(b),
            };
            let Some(best) = best else { continue };
            let mut both = vec![best.placed];
            if self.request.symmetry == Symmetry::Mirrored && best.at > 1e-9 {
                let with: Vec<Tab> = tabs.iter().copied().chain(self.comb.apart.tab(&best.placed)).collect();
                let level = self.comb.level(best.placed.above_nape.to_mm());
                both.extend(level.and_then(|level| self.stands(&with, &level, best.half.mirrored(), kind, best.at)));
            }
            return Some(both);
        }
        None
    }

    /// The first place of a half that is open for a kind, from the lowest row.
    fn first_of(&mut self, tabs: &[Tab], half: Half, kind: usize, new_rows: bool) -> Option<Found> {
        for up in self.partings(tabs, half.part(), new_rows) {
            let Some(level) = self.comb.level(up) else { continue };
            for at in self.places(tabs, &level, half, kind) {
                let Some(placed) = self.stands(tabs, &level, half, kind, at) else { continue };
                let section = level.line.section().to_mm();
                let open = self.comb.survey.weigh(&level, half, kind, at).ok();
                return Some(Found {
                    placed,
                    half,
                    at,
                    reading: self.comb.apart.reading(half.part(), up),
                    from_line: if half.part() == HeadPart::Back { at } else { at - section },
                    points: open.map_or(0.0, |open| open.chance + open.near),
                });
            }
        }
        None
    }

    /// The partings of a section on which a row stands, or could stand besides.
    fn partings(&self, tabs: &[Tab], part: HeadPart, new_rows: bool) -> Vec<f64> {
        let rows: Vec<f64> = Apart::rows(tabs.iter().copied(), part).iter().map(|row| row.up).collect();
        if !new_rows {
            return rows;
        }
        let Some(&lowest) = self.lowest.get(&part) else { return Vec::new() };
        let apart = self.comb.apart;
        let readings: Vec<f64> = rows.iter().map(|up| apart.reading(part, *up)).collect();
        let far = |reading: f64| readings.iter().all(|other| (other - reading).abs() >= apart.spacing - 1e-6);
        let from = apart.reading(part, lowest);
        let to = match part {
            HeadPart::Back => self.comb.survey.keeps().ceiling().to_mm(),
            HeadPart::Left | HeadPart::Right => from + 120.0,
        };
        let mut found = Vec::new();
        // Exactly beside the rows that stand, and on the grid.
        let beside = readings.iter().flat_map(|r| [r - apart.spacing, r + apart.spacing]);
        let grid = (0..).map(|k| from + LEVEL_STEP_MM * f64::from(k)).take_while(|r| *r <= to);
        let mut all: Vec<f64> = grid.chain(beside).filter(|r| *r >= from && *r <= to && far(*r)).collect();
        all.sort_by(f64::total_cmp);
        for reading in all {
            let up = match part {
                HeadPart::Back => Some(reading),
                HeadPart::Left | HeadPart::Right => self.request.scalp.of_ear_line(Length::mm(reading)).map(Length::to_mm),
            };
            found.extend(up);
        }
        found
    }

    /// The places of a half at which a tab of a kind clears its neighbours.
    fn places(&self, tabs: &[Tab], level: &Level, half: Half, kind: usize) -> Vec<f64> {
        let own = self.comb.survey.kinds[kind].tab_half;
        let gap = self.comb.apart.gap;
        // What stands on this parting, on this side, in any section.
        let blocked: Vec<(f64, f64)> = tabs
            .iter()
            .filter(|t| t.part == half.part() && (t.up - level.up).abs() < ONE_PARTING_MM && (t.along * half.sign() > -t.half))
            .map(|t| (t.along * half.sign() - t.half - gap - own, t.along * half.sign() + t.half + gap + own))
            .collect();
        let mut places = Vec::new();
        for &(from, to) in level.free(half) {
            let (from, to) = (from + own, to - own);
            if to < from - 1e-9 {
                continue;
            }
            let ends = blocked.iter().flat_map(|b| [b.0, b.1]);
            let steps = (0..).map(|k| from + ALONG_STEP_MM * f64::from(k)).take_while(|at| *at <= to);
            let mut all: Vec<f64> = steps.chain([to]).chain(ends).filter(|at| *at >= from - 1e-9 && *at <= to + 1e-9).collect();
            all.retain(|at| blocked.iter().all(|b| *at <= b.0 + 1e-9 || *at >= b.1 - 1e-9));
            all.sort_by(f64::total_cmp);
            places.extend(all);
        }
        places
    }

    /// The sandwich at a place, when it keeps every floor beside the others.
    fn stands(&mut self, tabs: &[Tab], level: &Rc<Level>, half: Half, kind: usize, at: f64) -> Option<Placed> {
        let k = self.comb.survey.kinds[kind];
        let placed = Placed { above_nape: Length::mm(level.up), along: Length::mm(half.sign() * at), piece: k.piece };
        if let Some(floor) = self.judge(level, half, kind, at, &placed) {
            *self.kept_free.entry(floor).or_default() += 1;
            return None;
        }
        let tab = Tab { up: level.up, along: half.sign() * at, half: k.tab_half, part: half.part() };
        match self.comb.apart.breaks(&tab, tabs).first() {
            Some(floor) => {
                *self.kept_free.entry(*floor).or_default() += 1;
                None
            }
            None => Some(placed),
        }
    }

    /// The floor that a place breaks by itself, judged exactly, once.
    fn judge(&mut self, level: &Rc<Level>, half: Half, kind: usize, at: f64, placed: &Placed) -> Option<Floor> {
        let key = ((level.up * 1000.0).round() as i64, half, kind, (at * 1000.0).round() as i64);
        if let Some(floor) = self.judged.get(&key) {
            return *floor;
        }
        let about = self.comb.survey.weigh(level, half, kind, at);
        let floor = match about {
            Err(floor) => Some(floor),
            Ok(open) if open.depth < SURELY_SHOWS * self.comb.survey.least_depth => Some(Floor::Shows),
            Ok(_) => match site_at(self.request, placed, &level.line, RowSetting::SideBySide) {
                (None, _) => Some(Floor::BareSkin),
                (Some(_), floors) => floors.first().copied(),
            },
        };
        self.judged.insert(key, floor);
        floor
    }
}
