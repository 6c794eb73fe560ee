//! From the head looked over to a layout: rows combed and set section by
//! section, what is left filled while the wish needs it, and the plan told in
//! the order of work.

mod share;
mod tell;

use super::apart::{Apart, ONE_PARTING_MM};
use super::care::Floor;
use super::fill::Filler;
use super::judge::site_at;
use super::lay::{Curve, Laid, RowToLay, Rows, lowest};
use super::part::HeadPart;
use super::rows::{Comb, Pattern, Sides};
use super::rules::{ROW_SPACING, SIDES_FROM, SKIN_SLACK, WORTH_LONE, WORTH_ROW, WORTH_SHORT, WORTH_SPREAD};
use super::site::{Fault, Placed, Placement, Request, RowSetting, Site, Symmetry};
use super::survey::{Half, Survey};
use head::Border;
use measure::Length;
use share::{favours_first, together, with_empty};
use std::cell::RefCell;
use std::collections::BTreeMap;

/// Row distances that are tried, as shares of the way from the usual distance
/// down to the least: the usual one first.
const CLOSER: [f64; 7] = [0.0, 0.25, 0.5, 0.625, 0.75, 0.875, 1.0];
/// How often places that exact judging refuses are struck out and the rows laid again.
const MOST_TRIES: usize = 8;
/// Where slices must rest, the first row and the step to the second are tried
/// so much higher as well, mm.
const FIRST_HIGHER: [f64; 2] = [0.0, 5.0];
const SECOND_HIGHER: [f64; 3] = [0.0, 5.0, 10.0];

/// Lays out the whole head.
///
/// *Meaning*: every site keeps every floor, judged exactly on the skin; what a
/// caution says is told with the site. Rows and sites come in the order of
/// work. A layout that falls short of the wish leaves no open place behind. The
/// sandwiches already placed stay.
///
/// *Errors*: nothing can be placed; every floor that binds, with what would
/// loosen it. There is never an empty map.
///
/// ```
/// # mod client { include!(concat!(env!("CARGO_MANIFEST_DIR"), "/examples/shared/client.rs")); }
/// let client = client::Client::new();
/// let placement = craft::placement::place(&client.request(30.0)).unwrap();
/// assert!(!placement.sites.is_empty());
/// ```
pub fn place(request: &Request) -> Result<Placement, Vec<Fault>> {
    let apart = Apart::to_plan(request);
    let survey = Survey::of(request);
    let mut planner = Planner::new(request, &survey, &apart);
    let placed = planner.lay();
    let placement = planner.tell(placed);
    if placement.sites.is_empty() { Err(planner.faults()) } else { Ok(placement) }
}

/// A layout under consideration.
#[derive(Debug, Clone, Default)]
struct Candidate {
    sites: Vec<Placed>,
    points: f64,
    short: f64,
}

/// How the rows are combed: from where, and how far apart.
#[derive(Debug, Clone, Copy, PartialEq)]
struct CombOf {
    spacing: f64,
    first_higher: f64,
    second_higher: f64,
}

struct Planner<'a> {
    request: &'a Request<'a>,
    survey: &'a Survey<'a>,
    apart: &'a Apart<'a>,
    comb: Comb<'a>,
    /// Lowest row of each section, up the middle, mm.
    lowest: BTreeMap<HeadPart, f64>,
    kept_free: BTreeMap<Floor, usize>,
    others: Vec<Candidate>,
    /// Sites judged exactly, once each: by parting, place and width, in thousandths.
    judged: RefCell<BTreeMap<[i64; 3], Judged>>,
}

/// A site with exact numbers, and the floors it breaks.
type Judged = (Option<Site>, Vec<Floor>);

impl<'a> Planner<'a> {
    fn new(request: &'a Request<'a>, survey: &'a Survey<'a>, apart: &'a Apart<'a>) -> Self {
        let comb = Comb::of(request, survey, apart);
        let mut planner = Self {
            request,
            survey,
            apart,
            comb,
            lowest: BTreeMap::new(),
            kept_free: BTreeMap::new(),
            others: Vec::new(),
            judged: RefCell::default(),
        };
        planner.find_lowest();
        planner
    }

    /// The first partings: at the back the lowest that keeps clear of the whole
    /// level nape hairline (T6), at the sides the lowest that keeps clear of the
    /// ear where it starts (T12).
    fn find_lowest(&mut self) {
        let request = self.request;
        let slack = Length::mm(request.rules.value(&SKIN_SLACK));
        let ceiling = self.survey.keeps().ceiling().to_mm();
        let floor = request.limits.floors.nape + slack;
        let clear = |up: f64| {
            self.apart.line(up).is_some_and(|line| {
                let end = line.extent().1.min(line.section()).to_mm();
                let steps = (end / 5.0).ceil().max(1.0) as u32;
                (0..=steps).all(|k| {
                    let along = Length::mm(end * f64::from(k) / f64::from(steps));
                    line.at(along).is_none_or(|p| request.scalp.clearance(Border::NapeHairline, p) >= floor)
                })
            })
        };
        if let Some(up) = lowest(floor.to_mm().max(1.0), ceiling, clear) {
            self.lowest.insert(HeadPart::Back, up);
        }
        let ear = request.limits.floors.ear + slack;
        for (part, border, sign) in [(HeadPart::Left, Border::LeftEar, -1.0), (HeadPart::Right, Border::RightEar, 1.0)] {
            let mut e = ear.to_mm();
            while e < ear.to_mm() + 60.0 {
                let up = request.scalp.of_ear_line(Length::mm(e));
                let on_line = |up: Length| {
                    let line = self.apart.line(up.to_mm())?;
                    line.at(line.section() * sign)
                };
                match up {
                    Some(up) if on_line(up).is_some_and(|p| request.scalp.clearance(border, p) >= ear) => {
                        self.lowest.insert(part, up.to_mm());
                        break;
                    }
                    Some(_) => e += 0.5,
                    None => break,
                }
            }
        }
    }

    /// Where the sandwiches go.
    fn lay(&mut self) -> Candidate {
        let there: f64 = self.grams(&self.request.placed);
        let wanted = (self.request.wish.to_g() - there).max(0.0);
        let least = self.survey.kinds.iter().map(|k| k.grams).fold(f64::INFINITY, f64::min);
        if !least.is_finite() || wanted <= least * 0.01 {
            return Candidate { short: wanted, ..Candidate::default() };
        }
        let mut best = Candidate { short: wanted, points: f64::INFINITY, ..Candidate::default() };
        if self.request.placed.is_empty() {
            best = self.laid(wanted);
        }
        if best.short > least * 0.01 {
            let mut filler = Filler::new(&self.comb, self.lowest.clone());
            let standing: Vec<Placed> = self.request.placed.iter().chain(&best.sites).copied().collect();
            let added = filler.fill(&standing, best.short);
            self.kept_free = std::mem::take(&mut filler.kept_free);
            best.short = (best.short - self.grams(&added)).max(0.0);
            best.sites.extend(added);
        }
        best
    }

    fn grams(&self, placed: &[Placed]) -> f64 {
        placed.iter().map(|p| p.piece.hanging_mass(self.request.setting).to_g()).sum()
    }

    /// The best of the combs that are tried: the usual distance, and closer ones
    /// as long as the wish is not met.
    fn laid(&mut self, wanted: f64) -> Candidate {
        let usual = self.request.rules.value(&ROW_SPACING);
        let least = self.apart.spacing.min(usual);
        let mut best: Option<Candidate> = None;
        let rests = !self.request.earlier.is_empty();
        for share in CLOSER {
            let spacing = (usual + share * (least - usual)).round().max(least);
            for first_higher in FIRST_HIGHER.into_iter().take(if rests { 2 } else { 1 }) {
                for second_higher in SECOND_HIGHER.into_iter().take(if rests { 3 } else { 1 }) {
                    let laid = self.held(CombOf { spacing, first_higher, second_higher }, wanted);
                    match &mut best {
                        Some(kept) if laid.points >= kept.points - 1e-6 => self.others.push(laid),
                        Some(kept) => self.others.push(std::mem::replace(kept, laid)),
                        None => best = Some(laid),
                    }
                }
            }
            if best.as_ref().is_some_and(|b| b.short < 0.01) || spacing <= least {
                break;
            }
        }
        best.unwrap_or_default()
    }

    /// A comb laid so that every site holds when judged exactly.
    fn held(&mut self, comb: CombOf, wanted: f64) -> Candidate {
        for _ in 0..MOST_TRIES {
            let laid = self.lay_comb(comb, wanted);
            let bad: Vec<&Placed> = laid.sites.iter().filter(|p| !self.holds(p)).collect();
            if bad.is_empty() {
                return laid;
            }
            let struck: Vec<(f64, Half, usize, f64)> = bad.iter().filter_map(|p| self.place_of(p)).collect();
            for (up, half, kind, at) in struck {
                self.comb.struck.add(up, half, kind, at);
                // The mirror image would only be lone.
                if at > 0.0 && self.request.symmetry == Symmetry::Mirrored {
                    self.comb.struck.add(up, half.mirrored(), kind, at);
                }
            }
        }
        let mut laid = self.lay_comb(comb, wanted);
        laid.sites.retain(|p| self.holds(p));
        laid.short = (wanted - self.grams(&laid.sites)).max(0.0);
        laid
    }

    fn place_of(&self, placed: &Placed) -> Option<(f64, Half, usize, f64)> {
        let line = self.apart.line(placed.above_nape.to_mm())?;
        let along = placed.along.to_mm();
        let half = match (line.part_at(placed.along), along < 0.0) {
            (HeadPart::Back, true) => Half::BackLeft,
            (HeadPart::Back, false) => Half::BackRight,
            (HeadPart::Left, _) => Half::Left,
            (HeadPart::Right, _) => Half::Right,
        };
        let kind = self.survey.kinds.iter().position(|k| k.piece == placed.piece)?;
        Some((placed.above_nape.to_mm(), half, kind, along.abs()))
    }

    /// Whether a sandwich keeps every floor by itself, judged exactly.
    fn holds(&self, placed: &Placed) -> bool {
        self.judge(placed).is_some_and(|(site, floors)| site.is_some() && floors.is_empty())
    }

    /// A sandwich judged exactly; nothing where there is no parting.
    fn judge(&self, placed: &Placed) -> Option<Judged> {
        let key = [placed.above_nape, placed.along, placed.piece.tab.width].map(|l| (l.to_mm() * 1000.0).round() as i64);
        if let Some(judged) = self.judged.borrow().get(&key) {
            return Some(judged.clone());
        }
        let line = self.apart.line(placed.above_nape.to_mm())?;
        let judged = site_at(self.request, placed, &line, RowSetting::SideBySide);
        self.judged.borrow_mut().insert(key, judged.clone());
        Some(judged)
    }

    /// The sections laid on one comb, and the masses shared out among them.
    fn lay_comb(&self, comb: CombOf, wanted: f64) -> Candidate {
        let mirrored = self.lay_sections(comb, wanted, true);
        let alike = self.is_alike(comb);
        if self.request.symmetry == Symmetry::Mirrored && alike {
            return mirrored;
        }
        let free = self.lay_sections(comb, wanted, false);
        if self.request.symmetry == Symmetry::Free {
            return free;
        }
        let cost = |c: &Candidate| c.points + self.lone(&c.sites) as f64 * self.request.rules.value(&WORTH_LONE);
        if cost(&free) < cost(&mirrored) { free } else { mirrored }
    }

    /// Sandwiches without their mirror image.
    fn lone(&self, sites: &[Placed]) -> usize {
        let has = |p: &Placed| {
            sites.iter().any(|q| {
                (p.above_nape - q.above_nape).abs().to_mm() < ONE_PARTING_MM
                    && (p.along + q.along).abs().to_mm() < 1.0
                    && p.piece.tab.width == q.piece.tab.width
            })
        };
        sites.iter().filter(|p| !has(p)).count()
    }

    /// Whether the two halves of the head offer the same on the rows of a comb.
    fn is_alike(&self, comb: CombOf) -> bool {
        let mut offers = self.rows_up(comb, HeadPart::Back).into_iter().chain(self.rows_up(comb, HeadPart::Right));
        offers.all(|up| {
            let Some(level) = self.comb.level(up) else { return true };
            [Half::BackRight, Half::Right].into_iter().all(|half| {
                let near = |a: &(f64, f64), b: &(f64, f64)| (a.0 - b.0).abs() < 1e-6 && (a.1 - b.1).abs() < 1e-6;
                let (own, other) = (level.free(half), level.free(half.mirrored()));
                own.len() == other.len()
                    && own.iter().zip(other).all(|(a, b)| near(a, b))
                    && level.free(half).iter().all(|(from, to)| {
                        [0.2, 0.5, 0.8].into_iter().all(|share| {
                            let at = from + share * (to - from);
                            // To a millionth: tracing may end in other digits.
                            let fine = |v: f64| (v * 1e6).round();
                            let offer =
                                |half: Half| self.survey.weigh(&level, half, 0, at).map(|o| (fine(o.depth), fine(o.near), o.rested)).ok();
                            offer(half) == offer(half.mirrored())
                        })
                    })
            })
        })
    }

    /// Up the middle to each row of a section on a comb.
    fn rows_up(&self, comb: CombOf, part: HeadPart) -> Vec<f64> {
        let Some(&lowest) = self.lowest.get(&part) else { return Vec::new() };
        let first = self.apart.reading(part, lowest) + comb.first_higher;
        let to = match part {
            HeadPart::Back => self.survey.keeps().ceiling().to_mm(),
            HeadPart::Left | HeadPart::Right => first + 120.0,
        };
        let mut ups = Vec::new();
        let mut reading = first;
        while reading <= to + 1e-9 && ups.len() < 40 {
            let up = match part {
                HeadPart::Back => Some(reading),
                HeadPart::Left | HeadPart::Right => self.request.scalp.of_ear_line(Length::mm(reading)).map(Length::to_mm),
            };
            let Some(up) = up else { break };
            ups.push(up);
            reading += comb.spacing + if ups.len() == 1 { comb.second_higher } else { 0.0 };
        }
        ups
    }

    /// The rows of a section, made ready for laying.
    fn rows(&self, comb: CombOf, sides: Sides) -> Rows<'_> {
        let part = sides.half().part();
        // At the back the tab's gap is kept to the line from ear to ear, where
        // rows of the sides begin.
        let end_gap = if part == HeadPart::Back { self.apart.gap } else { 0.0 };
        let share = match (part, sides) {
            (HeadPart::Back, Sides::One(_)) => 0.5,
            (HeadPart::Back, Sides::Both(_)) => 1.0,
            (_, sides) => sides.times() * 0.5,
        };
        let row = self.request.rules.value(&WORTH_ROW) * share;
        let rows = self
            .rows_up(comb, part)
            .into_iter()
            .enumerate()
            .filter_map(|(index, up)| {
                let level = self.comb.level(up)?;
                let mut patterns = self.comb.patterns(&level, sides, end_gap);
                if part == HeadPart::Back && matches!(sides, Sides::Both(_)) && self.survey.may_cross_middle() {
                    patterns.extend(self.across_the_middle(&level, &patterns));
                }
                let points = if index == 0 && part == HeadPart::Back { 0.0 } else { row };
                Some(RowToLay { level, patterns, points })
            })
            .collect();
        Rows { comb: &self.comb, sides, rows }
    }

    /// Patterns with a whole tab across the middle before them.
    fn across_the_middle(&self, level: &super::survey::Level, patterns: &[Pattern]) -> Vec<Pattern> {
        let kinds = &self.survey.kinds;
        let mut found = Vec::new();
        for kind in (0..kinds.len()).filter(|k| !kinds[*k].is_half()) {
            let half = kinds[kind].tab_half;
            let reaches = |h: Half| level.free(h).first().is_some_and(|(from, to)| *from < 1e-6 && *to >= half);
            if !(reaches(Half::BackRight) && reaches(Half::BackLeft)) {
                continue;
            }
            let Ok(open) = self.survey.weigh(level, Half::BackRight, kind, 0.0) else { continue };
            if open.depth < self.survey.least_depth {
                continue;
            }
            let height = Length::mm(level.up) - self.request.limits.floors.nape;
            let own: f64 = super::worth::points(&open, kinds[kind].piece.cut, height, self.request.rules).values().sum();
            let clear = |p: &&Pattern| p.tabs.first().is_none_or(|t| t.at - kinds[t.kind].tab_half >= half + self.apart.gap - 1e-9);
            for pattern in patterns.iter().filter(clear) {
                let mut tabs = vec![super::rows::Set { at: 0.0, kind }];
                tabs.extend(&pattern.tabs);
                found.push(Pattern { tabs, points: pattern.points + own, grams: pattern.grams + kinds[kind].grams });
            }
        }
        found
    }

    fn lay_sections(&self, comb: CombOf, wanted: f64, mirrored: bool) -> Candidate {
        let sections: Vec<Sides> = if mirrored {
            vec![Sides::Both(Half::BackRight), Sides::Both(Half::Right)]
        } else {
            vec![Sides::One(Half::BackRight), Sides::One(Half::BackLeft), Sides::One(Half::Right), Sides::One(Half::Left)]
        };
        let unit = self.unit(if mirrored { 2.0 } else { 1.0 });
        let largest = self.survey.kinds.iter().map(|k| k.grams).fold(0.0, f64::max) * if mirrored { 2.0 } else { 1.0 };
        let laid: Vec<(Rows<'_>, Curve)> = sections
            .into_iter()
            .map(|sides| {
                let rows = self.rows(comb, sides);
                let curve = if rows.rows.is_empty() { Curve::empty() } else { rows.lay(unit, wanted + largest) };
                (rows, curve)
            })
            .collect();
        let curves: Vec<&[f64]> = laid.iter().map(|(_, curve)| curve.least.as_slice()).collect();
        let set = |shares: &[usize]| -> Vec<Placed> {
            let rows =
                laid.iter().zip(shares).flat_map(|((rows, curve), units)| rows.of(curve, *units).into_iter().map(|row| (row, rows.sides)));
            rows.flat_map(|(row, sides)| self.set(&row, sides)).collect()
        };
        let (mut points, mut shares) = self.share_out(&curves, unit, wanted, false);
        let mut sites = set(&shares);
        // How many sandwiches a mass comes to is known once it is set: halves count too.
        let half = curves.len() / 2;
        let left_empty = curves[half..].iter().zip(&shares[half..]).any(|(curve, share)| *share == 0 && curve.len() > 1);
        let many = sites.len() as f64 >= self.request.rules.value(&SIDES_FROM) - 1e-6;
        if self.request.limits.sides && many && left_empty {
            (points, shares) = self.share_out(&curves, unit, wanted, true);
            sites = set(&shares);
        }
        let short = (wanted - self.grams(&sites)).max(0.0);
        Candidate { sites, points, short }
    }

    /// The sandwiches of a row as laid, on all its sides.
    fn set(&self, row: &Laid, sides: Sides) -> Vec<Placed> {
        let mut set = Vec::new();
        for tab in &row.tabs {
            let piece = self.survey.kinds[tab.kind].piece;
            for half in sides.halves() {
                set.push(Placed { above_nape: Length::mm(row.up), along: Length::mm(half.sign() * tab.at), piece });
                if tab.at < 1e-9 {
                    break;
                }
            }
        }
        for placed in &mut set {
            if placed.along.to_mm() == 0.0 {
                placed.along = Length::ZERO;
            }
        }
        set
    }

    /// The unit in which masses are counted: a whole part of the smallest
    /// sandwich (or mirrored pair) of which every other is about a multiple.
    fn unit(&self, times: f64) -> f64 {
        let masses: Vec<f64> = self.survey.kinds.iter().map(|k| k.grams * times).collect();
        let least = masses.iter().copied().fold(f64::INFINITY, f64::min);
        let crosses = self.survey.may_cross_middle() && times > 1.0;
        let off = |unit: f64| masses.iter().map(|m| ((m / unit).round() * unit - m).abs() / m).fold(0.0, f64::max);
        let parts = if crosses { 2..=8 } else { 1..=8 };
        parts.map(|part| least / f64::from(part)).find(|unit| off(*unit) < 0.02).unwrap_or(least / 8.0)
    }

    /// Which mass each section gets, of least points in all: those of the
    /// sections, of what falls short, and of sides that have less or more than
    /// their share of the room. Where the sides are due, each that has room
    /// carries something.
    fn share_out(&self, curves: &[&[f64]], unit: f64, wanted: f64, sides_due: bool) -> (f64, Vec<usize>) {
        let rules = self.request.rules;
        let half = curves.len() / 2;
        let first = favours_first(&curves[..half]).then(favours_first(&curves[half..]));
        let (back, back_of) = together(&curves[..half], first);
        let whole = self.survey.kinds.iter().map(|k| k.grams).fold(0.0, f64::max);
        let empty = if sides_due { rules.value(&WORTH_SHORT) * whole * 4.0 } else { 0.0 };
        let filled: Vec<Vec<f64>> = curves[half..].iter().map(|curve| with_empty(curve, empty)).collect();
        let filled: Vec<&[f64]> = filled.iter().map(Vec::as_slice).collect();
        let (side, side_of) = together(&filled, first);
        let most = |curve: &[f64]| curve.iter().rposition(|p| p.is_finite()).unwrap_or(0) as f64 * unit;
        let room = most(&back) + most(&side);
        let share = if room > 0.0 { most(&side) / room } else { 0.0 };
        let mut best = (f64::INFINITY, 0, 0);
        for (b, back_points) in back.iter().enumerate().filter(|(_, p)| p.is_finite()) {
            for (s, side_points) in side.iter().enumerate().filter(|(_, p)| p.is_finite()) {
                let grams = (b + s) as f64 * unit;
                let short = rules.value(&WORTH_SHORT) * (wanted - grams).max(0.0);
                let points = back_points + side_points + short + rules.value(&WORTH_SPREAD) * (s as f64 * unit - share * grams).abs();
                if points < best.0 - 1e-9 {
                    best = (points, b, s);
                }
            }
        }
        let (b, s) = (best.1, best.2);
        (best.0, back_of(b).into_iter().chain(side_of(s)).collect())
    }
}

/// Whether two layouts share at most two thirds of their places.
fn differ(a: &[Placed], b: &[Placed]) -> bool {
    let same = |p: &Placed, q: &Placed| {
        (p.above_nape - q.above_nape).abs().to_mm() < ONE_PARTING_MM
            && (p.along - q.along).abs().to_mm() < 1.0
            && p.piece.cut == q.piece.cut
    };
    let shared = a.iter().filter(|p| b.iter().any(|q| same(p, q))).count();
    3 * shared <= 2 * a.len().max(b.len())
}
