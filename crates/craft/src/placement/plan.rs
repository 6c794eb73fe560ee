//! From the head looked over to a layout: boards, search, and the plan told in
//! the order of work.

mod exchange;

use super::judge::site_at;
use super::limits::{Open, Survey};
use super::rules::{
    BRICK_OFFSET, BRICK_WITHIN, FIRST_PARTING, PLAIN_ROWS, ROW_SPACING, ROWS_MOST, SKIN_SLACK, TAB_GAP, WORTH_LONE, WORTH_ROW, WORTH_SHORT,
};
use super::search::{self, Board, BoardRow, Brick, Effort, Place, Progress, search};
use super::site::{Fault, HeadPart, Layout, Placed, Placement, Request, Row, RowSetting, Site, Symmetry, Wish};
use super::wish::{self, Split, ZONES, zone_of};
use super::{why, worth};
use crate::coverage::THRESHOLD;
use crate::piece::Cut;
use measure::{Grams, Length};
use std::collections::{BTreeMap, BTreeSet};

/// Board units: half millimetres, hundredths of a gram, hundredths of a point.
const PER_MM: f64 = 2.0;
const PER_GRAM: f64 = 100.0;
const PER_POINT: f64 = 100.0;
/// Two partings nearer than this are one.
const ONE_PARTING_MM: f64 = 0.5;
/// The most sandwiches, or mirrored pairs, of one row.
const MOST_IN_ROW: usize = 12;
/// Other layouts that are told besides the plan.
const RUNNERS_UP: usize = 2;
/// How often places are struck out that exact judging refuses.
const MOST_TRIES: usize = 12;

/// How rows are set against each other: spacing, gaps, brick.
#[derive(Debug, Clone, Copy)]
pub struct Setting {
    spacing: f64,
    gap: f64,
    brick_within: f64,
    brick_offset: f64,
    brick_above: f64,
}

impl Setting {
    /// The setting for this head; brick begins above the lowest rows, of those
    /// placed and of the partings open.
    pub fn new(request: &Request, lowest_open: Option<Length>) -> Self {
        let rules = request.rules;
        let spacing = rules.value(&ROW_SPACING);
        let floor = request.limits.floors.nape.to_mm() + rules.value(&SKIN_SLACK);
        let placed = request.placed.iter().map(|p| p.above_nape.to_mm()).fold(f64::INFINITY, f64::min);
        let open = lowest_open.map_or(f64::INFINITY, Length::to_mm);
        let lowest = if placed.is_finite() || open.is_finite() { placed.min(open) } else { floor };
        Self {
            spacing,
            gap: rules.value(&TAB_GAP),
            brick_within: rules.value(&BRICK_WITHIN),
            brick_offset: rules.value(&BRICK_OFFSET),
            brick_above: lowest + spacing * rules.value(&PLAIN_ROWS).round() - 1.0,
        }
    }

    /// How a row at this height is set against the placed rows.
    pub fn of_height(&self, request: &Request, above_nape: Length) -> RowSetting {
        let heights: Vec<f64> = request.placed.iter().map(|p| p.above_nape.to_mm()).collect();
        self.of(above_nape.to_mm(), &heights)
    }

    fn of(&self, height: f64, others: &[f64]) -> RowSetting {
        let below = others.iter().any(|o| *o < height - ONE_PARTING_MM && height - o < self.brick_within);
        if below && height > self.brick_above { RowSetting::Brick } else { RowSetting::SideBySide }
    }

    /// The rule by which two sandwiches cannot both stand, if any.
    pub fn clash(&self, a: &Placed, b: &Placed) -> Option<&'static str> {
        let apart = (a.above_nape - b.above_nape).abs().to_mm();
        let middles = (a.along - b.along).abs().to_mm();
        if apart < ONE_PARTING_MM {
            let tabs = (a.piece.tab.width + b.piece.tab.width).to_mm() / 2.0;
            return (middles < tabs + self.gap - 1e-6).then_some(TAB_GAP.id);
        }
        if apart < self.spacing - 1e-6 {
            return Some(ROW_SPACING.id);
        }
        let high = a.above_nape.max(b.above_nape).to_mm();
        let brick = apart < self.brick_within && high > self.brick_above && middles < self.brick_offset - 1e-6;
        brick.then_some(BRICK_OFFSET.id)
    }
}

/// Lays out the whole head.
///
/// *Meaning*: every site keeps every limit, judged exactly on the skin. Rows
/// and sites come in the order of work. What is wished for and could not be
/// had is told as a fault and in `short`. Sandwiches already placed stay.
///
/// *Errors*: nothing can be placed; every limit that binds, with what would
/// loosen it. There is never an empty map.
pub fn place(request: &Request) -> Result<Placement, Vec<Fault>> {
    place_telling(request, &mut |_| search::Wish::GoOn)
}

/// As [`place`], telling a listener how the search goes; it may stop it.
///
/// *Errors*: as for [`place`].
pub fn place_telling(request: &Request, listener: &mut dyn FnMut(Progress) -> search::Wish) -> Result<Placement, Vec<Fault>> {
    let survey = Survey::of(request);
    if survey.open.is_empty() && request.placed.is_empty() {
        return Err(survey.faults(request));
    }
    let mut planner = Planner::new(request, &survey);
    let mut wanted = wish::split(request, &survey);
    let mut laid = planner.lay_exactly(&wanted, listener);
    if let Wish::Total(_) = request.wish
        && let Some(shifted) = planner.shift_wish(&wanted, &laid)
    {
        let other = planner.lay_exactly(&shifted, listener);
        if planner.grams(&other.open).iter().sum::<f64>() > planner.grams(&laid.open).iter().sum::<f64>() + 1e-9 {
            laid = other;
            wanted = shifted;
        }
    }
    let placement = planner.tell(&laid, &wanted);
    if placement.sites.is_empty() { Err(survey.faults(request)) } else { Ok(placement) }
}

/// A layout as indices of open places.
#[derive(Debug, Clone)]
struct Laid {
    open: Vec<usize>,
    others: Vec<Vec<usize>>,
    proved: bool,
}

struct Planner<'a> {
    request: &'a Request<'a>,
    survey: &'a Survey,
    setting: Setting,
    /// The lowest parting that takes a whole piece (any piece, where none does).
    lowest: Option<usize>,
    /// Points of each open place.
    points: Vec<f64>,
    /// Places with a mirror image that is open too.
    mirror: Vec<Option<usize>>,
    /// Places that exact judging refused.
    refused: BTreeSet<usize>,
    /// Exact sites, kept once judged.
    judged: BTreeMap<usize, Option<Site>>,
}

/// One thing to choose on a board: one place, or one with its mirror image.
struct Item {
    open: Vec<usize>,
    from: f64,
    to: f64,
    zone: usize,
    points: f64,
}

impl<'a> Planner<'a> {
    fn new(request: &'a Request<'a>, survey: &'a Survey) -> Self {
        let key = |o: &Open, along: f64| (o.level, o.kind, (along * 100.0).round() as i64);
        let index: BTreeMap<_, _> = survey.open.iter().enumerate().map(|(i, o)| (key(o, o.along), i)).collect();
        let mirror = survey.open.iter().map(|o| index.get(&key(o, -o.along)).copied()).collect();
        let points = survey
            .open
            .iter()
            .map(|o| {
                let height = survey.levels[o.level].line.above_nape() - request.limits.floors.nape;
                worth::points(o, survey.kinds[o.kind].piece.cut, height, request.styles.len(), request.rules).values().sum()
            })
            .collect();
        let whole = survey.open.iter().filter(|o| survey.kinds[o.kind].piece.cut == Cut::Full).map(|o| o.level).min();
        let lowest = whole.or_else(|| survey.open.iter().map(|o| o.level).min());
        let setting = Setting::new(request, lowest.map(|level| survey.levels[level].line.above_nape()));
        Self { request, survey, setting, lowest, points, mirror, refused: BTreeSet::new(), judged: BTreeMap::new() }
    }

    fn placed(&self, open: usize) -> Placed {
        let o = &self.survey.open[open];
        Placed {
            above_nape: self.survey.levels[o.level].line.above_nape(),
            along: Length::mm(o.along),
            piece: self.survey.kinds[o.kind].piece,
        }
    }

    fn mass(&self, open: usize) -> f64 {
        self.survey.kinds[self.survey.open[open].kind].piece.hanging_mass(self.request.setting).to_g()
    }

    fn grams(&self, open: &[usize]) -> Split {
        let mut grams = [0.0; ZONES];
        for &o in open {
            let place = &self.survey.open[o];
            grams[zone_of(place.zone, place.part)] += self.mass(o);
        }
        grams
    }

    /// Lays out, judges every site exactly, strikes out what does not hold and
    /// lays out again.
    fn lay_exactly(&mut self, wanted: &Split, listener: &mut dyn FnMut(Progress) -> search::Wish) -> Laid {
        let mut laid = self.lay(wanted, listener);
        for _ in 0..MOST_TRIES {
            let bad: Vec<usize> = laid.open.iter().copied().filter(|&o| self.judge(o).is_none()).collect();
            if bad.is_empty() {
                break;
            }
            self.refused.extend(bad);
            laid = self.lay(wanted, listener);
        }
        laid.open.retain(|&o| self.judge(o).is_some());
        laid
    }

    /// The exact site of a place, or nothing when it breaks a limit after all.
    fn judge(&mut self, open: usize) -> Option<&Site> {
        let placed = self.placed(open);
        let line = &self.survey.levels[self.survey.open[open].level].line;
        let request = self.request;
        self.judged
            .entry(open)
            .or_insert_with(|| {
                let mut faults = Vec::new();
                site_at(request, &placed, line, RowSetting::SideBySide, &mut faults).filter(|_| faults.is_empty())
            })
            .as_ref()
    }

    /// Of a layout and its runners-up the one of fewest points, judged alike.
    fn pick(&self, mut laid: Laid, wanted: &Split) -> Laid {
        let points = |open: &Vec<usize>| self.points_of(open, self.short(open, wanted));
        let mut all = std::mem::take(&mut laid.others);
        all.insert(0, std::mem::take(&mut laid.open));
        all.sort_by(|a, b| points(a).total_cmp(&points(b)));
        laid.open = all.remove(0);
        laid.others = all;
        laid
    }

    /// Lays out from the search, then lets symmetry be weighed against the rest.
    fn lay(&self, wanted: &Split, listener: &mut dyn FnMut(Progress) -> search::Wish) -> Laid {
        let mut laid = self.lay_alike(wanted, listener);
        if self.request.symmetry == Symmetry::Mirrored
            && let Some(open) = self.exchanged(&laid.open, wanted)
        {
            laid.others.insert(0, std::mem::replace(&mut laid.open, open));
            laid.proved = false;
        }
        laid
    }

    fn lay_alike(&self, wanted: &Split, listener: &mut dyn FnMut(Progress) -> search::Wish) -> Laid {
        let mut laid = Laid { open: Vec::new(), others: Vec::new(), proved: true };
        if self.request.symmetry == Symmetry::Mirrored {
            let pairs = self.pairs();
            let targets = [wanted[0], wanted[1], wanted[2] + wanted[3], 0.0];
            laid = self.search(&pairs, &targets, &[], true, listener);
            let have = self.grams(&laid.open);
            let left: Split = std::array::from_fn(|z| (wanted[z] - have[z]).max(0.0));
            let smallest = (0..self.survey.open.len()).map(|o| self.mass(o)).fold(f64::INFINITY, f64::min);
            if left.iter().all(|l| *l < smallest / 2.0) {
                return self.pick(laid, wanted);
            }
            let singles = self.singles(self.request.rules.value(&WORTH_LONE));
            let more = self.search(&singles, &left, &laid.open, false, listener);
            if !more.open.is_empty() {
                laid.proved = false;
                laid.others.push(laid.open.clone());
                laid.open.extend(more.open);
                // The two sides differ: perhaps each does better by itself.
                let free = self.search(&self.singles(0.0), wanted, &[], false, listener);
                laid.others.push(free.open);
            }
            return self.pick(laid, wanted);
        }
        let singles = self.singles(0.0);
        let free = self.search(&singles, wanted, &[], false, listener);
        laid.open = free.open;
        laid.others = free.others;
        laid.proved = free.proved;
        laid
    }

    /// Every place with its mirror image, and those on the midline.
    fn pairs(&self) -> Vec<Item> {
        let mut items = Vec::new();
        for (o, place) in self.survey.open.iter().enumerate() {
            let half = self.survey.kinds[place.kind].tab_half;
            let zone = zone_of(place.zone, place.part).min(2);
            if place.along == 0.0 {
                items.push(Item { open: vec![o], from: -half, to: half, zone, points: self.points[o] });
            } else if place.along > 0.0
                && let Some(m) = self.mirror[o]
            {
                let points = self.points[o] + self.points[m];
                items.push(Item { open: vec![m, o], from: place.along - half, to: place.along + half, zone, points });
            }
        }
        items
    }

    /// Every place by itself, at so many points more where it could have its
    /// mirror image.
    fn singles(&self, lone: f64) -> Vec<Item> {
        let mut items = Vec::new();
        for (o, place) in self.survey.open.iter().enumerate() {
            let half = self.survey.kinds[place.kind].tab_half;
            let has_mirror = place.along != 0.0 && self.mirror[o].is_some_and(|m| !self.refused.contains(&m));
            let points = self.points[o] + if has_mirror { lone } else { 0.0 };
            items.push(Item {
                open: vec![o],
                from: place.along - half,
                to: place.along + half,
                zone: zone_of(place.zone, place.part),
                points,
            });
        }
        items
    }

    fn search(
        &self,
        items: &[Item],
        targets: &Split,
        fixed: &[usize],
        mirrored: bool,
        listener: &mut dyn FnMut(Progress) -> search::Wish,
    ) -> Laid {
        let standing: Vec<Placed> =
            self.request.placed.iter().copied().chain(fixed.iter().map(|&o| self.placed(o))).collect();
        let mut kept: Vec<&Item> = items.iter().filter(|item| self.is_free(item, &standing)).collect();
        // The mirror image of a head gets the mirror image of its layout: of
        // the two ways round always the same one is searched.
        let seen = |item: &Item, turned: bool| {
            let (from, to) = if turned { (-item.to, -item.from) } else { (item.from, item.to) };
            let zone = if turned && item.zone >= 2 { 5 - item.zone } else { item.zone };
            let mm = |x: f64| (x * PER_MM).round() as i32;
            Place {
                row: self.survey.open[item.open[0]].level,
                from: mm(from),
                to: mm(to),
                cost: in_points(item.points),
                mass: (item.open.iter().map(|&o| self.mass(o)).sum::<f64>() * PER_GRAM).round() as i64,
                zone,
            }
        };
        let key = |p: &Place| (p.row, p.from, p.to, p.mass, p.zone, p.cost);
        let ordered = |turned: bool| {
            let mut keys: Vec<_> = kept.iter().map(|item| key(&seen(item, turned))).collect();
            keys.sort_unstable();
            keys
        };
        let turned = !mirrored && ordered(true) < ordered(false);
        kept.sort_by_key(|item| key(&seen(item, turned)));
        let places = kept.iter().map(|item| seen(item, turned)).collect();
        let targets = if turned { [targets[0], targets[1], targets[3], targets[2]] } else { *targets };
        let board = self.board(places, &targets, &standing);
        let effort = Effort::default();
        // A board made here never contradicts itself; were it refused, nothing is added.
        let Ok(found) = search(&board, self.request.seed, effort, listener) else {
            return Laid { open: Vec::new(), others: Vec::new(), proved: false };
        };
        let open_of = |places: &[usize]| -> Vec<usize> {
            let mut open: Vec<usize> = places.iter().flat_map(|&p| kept[p].open.iter().copied()).collect();
            open.sort_unstable();
            open
        };
        Laid {
            open: open_of(&found.best.places),
            others: found.runners_up.iter().map(|l| open_of(&l.places)).collect(),
            proved: found.is_proved(),
        }
    }

    /// Whether an item may be chosen beside what stands.
    fn is_free(&self, item: &Item, standing: &[Placed]) -> bool {
        self.is_for_rows(self.survey.open[item.open[0]].level)
            && item.open.iter().all(|&o| {
                let here = self.placed(o);
                !self.refused.contains(&o) && standing.iter().all(|s| self.setting.clash(&here, s).is_none())
            })
    }

    /// The board of places beside what stands.
    fn board(&self, places: Vec<Place>, targets: &Split, standing: &[Placed]) -> Board {
        let rules = self.request.rules;
        let rows: Vec<BoardRow> = self
            .survey
            .levels
            .iter()
            .enumerate()
            .map(|(index, level)| {
                let height = level.line.above_nape();
                let there = standing.iter().any(|s| same_parting(s.above_nape, height));
                BoardRow {
                    height: (height.to_mm() * PER_MM).round() as i32,
                    cost: if there { 0 } else { in_points(self.row_points(index)) },
                    most: MOST_IN_ROW,
                    counts: !there,
                }
            })
            .collect();
        let mut used: Vec<f64> = standing.iter().map(|s| s.above_nape.to_mm()).collect();
        used.sort_by(f64::total_cmp);
        used.dedup_by(|a, b| (*a - *b).abs() < ONE_PARTING_MM);
        Board {
            rows,
            places,
            gap: (self.setting.gap * PER_MM - 1e-6).ceil() as i32,
            min_row_spacing: (self.setting.spacing * PER_MM - 1e-6).ceil() as i32,
            brick: Brick {
                within: (self.setting.brick_within * PER_MM).round() as i32,
                offset: (self.setting.brick_offset * PER_MM - 1e-6).ceil() as i32,
                above: (self.setting.brick_above * PER_MM).round() as i32,
            },
            max_rows: (rules.value(&ROWS_MOST).round() as usize).saturating_sub(used.len()),
            targets: targets.iter().map(|t| (t * PER_GRAM).round().max(0.0) as i64).collect(),
            shortfall_cost: vec![(rules.value(&WORTH_SHORT) * PER_POINT / PER_GRAM).round() as i64; ZONES],
        }
    }

    /// Where one zone fell short and another did not, the wish moved over;
    /// nothing when there is nothing to move.
    fn shift_wish(&self, wanted: &Split, laid: &Laid) -> Option<Split> {
        let have = self.grams(&laid.open);
        let smallest = (0..self.survey.open.len()).map(|o| self.mass(o)).fold(f64::INFINITY, f64::min);
        let missing: f64 = (0..ZONES).map(|z| (wanted[z] - have[z]).max(0.0)).sum();
        let over: f64 = (0..ZONES).map(|z| (have[z] - wanted[z]).max(0.0)).sum();
        if missing - over < smallest / 2.0 {
            return None;
        }
        let full: Vec<usize> = (0..ZONES).filter(|&z| wanted[z] > 0.0 && have[z] >= wanted[z] - smallest / 2.0).collect();
        let sum: f64 = full.iter().map(|&z| have[z]).sum();
        if sum <= 0.0 {
            return None;
        }
        let mut shifted: Split = std::array::from_fn(|z| have[z].min(wanted[z]).max(0.0));
        for &z in &full {
            shifted[z] = have[z] + missing * have[z] / sum;
        }
        Some(shifted)
    }

    /// Whether a row may be on a parting as far as the first row goes: it lies
    /// on the lowest parting or just above, and the second a spacing higher.
    fn is_for_rows(&self, level: usize) -> bool {
        let Some(lowest) = self.lowest.filter(|_| self.request.placed.is_empty()) else {
            return true;
        };
        let height = |level: usize| self.survey.levels[level].line.above_nape().to_mm();
        let above = height(level) - height(lowest);
        (0.0..=self.request.rules.value(&FIRST_PARTING) + 1e-6).contains(&above) || above >= self.setting.spacing - 1e-6
    }

    /// The points of using a parting at all.
    fn row_points(&self, level: usize) -> f64 {
        if self.lowest == Some(level) && self.request.placed.is_empty() { 0.0 } else { self.request.rules.value(&WORTH_ROW) }
    }

    /// The points of a layout.
    fn points_of(&self, open: &[usize], short: f64) -> f64 {
        let rules = self.request.rules;
        let mirrored = self.request.symmetry == Symmetry::Mirrored;
        let rows: BTreeSet<usize> = open.iter().map(|&o| self.survey.open[o].level).collect();
        let lone = open.iter().filter(|&&o| mirrored && self.is_lone(o, open)).count() as f64;
        open.iter().map(|&o| self.points[o]).sum::<f64>()
            + rows.iter().map(|&level| self.row_points(level)).sum::<f64>()
            + lone * rules.value(&WORTH_LONE)
            + short * rules.value(&WORTH_SHORT)
    }

    /// Whether a place stands without the mirror image it could have.
    fn is_lone(&self, open: usize, all: &[usize]) -> bool {
        self.survey.open[open].along != 0.0 && self.mirror[open].is_some_and(|m| !all.contains(&m))
    }

    fn short(&self, open: &[usize], wanted: &Split) -> f64 {
        let have = self.grams(open);
        match self.request.wish {
            Wish::Total(total) => {
                let there: f64 = wish::placed(self.request).iter().sum();
                (total.to_g() - there - have.iter().sum::<f64>()).max(0.0)
            }
            Wish::Parts { .. } => (0..ZONES).map(|z| (wanted[z] - have[z]).max(0.0)).sum(),
        }
    }

    /// The layout told in the order of work.
    fn tell(&mut self, laid: &Laid, wanted: &Split) -> Placement {
        let mut sites: Vec<Site> = Vec::new();
        for &o in &laid.open {
            let lone = self.request.symmetry == Symmetry::Mirrored && self.is_lone(o, &laid.open);
            let lone_points = self.request.rules.value(&WORTH_LONE);
            if let Some(site) = self.judge(o) {
                let mut site = site.clone();
                if lone {
                    site.points.insert(WORTH_LONE.id, lone_points);
                }
                sites.push(site);
            }
        }
        let mut faults = self.already_in(&mut sites);
        let rows = self.name(&mut sites);
        let short = self.short(&laid.open, wanted);
        faults.extend(self.short_fault(short, wanted));
        let points = self.points_of(&laid.open, short);
        let runners_up = self.runners_up(laid, wanted);
        Placement { rows, sites, faults, short: Grams::g(short), points, proved: laid.proved, runners_up }
    }

    /// Of the other layouts those that hold when judged exactly and share at
    /// most two thirds of their places with the plan and each other.
    fn runners_up(&mut self, laid: &Laid, wanted: &Split) -> Vec<Layout> {
        let mut kept: Vec<&Vec<usize>> = vec![&laid.open];
        for other in &laid.others {
            let holds = !other.is_empty() && other.iter().all(|&o| self.judge(o).is_some());
            if holds && kept.len() <= RUNNERS_UP && kept.iter().all(|k| differ(k, other)) {
                kept.push(other);
            }
        }
        kept[1..]
            .iter()
            .map(|open| Layout {
                sites: open.iter().map(|&o| self.placed(o)).collect(),
                points: self.points_of(open, self.short(open, wanted)),
            })
            .collect()
    }

    /// Adds the sandwiches that were in before, with their numbers; what they
    /// break is told, and they stay.
    fn already_in(&self, sites: &mut Vec<Site>) -> Vec<Fault> {
        let mut faults = Vec::new();
        for placed in &self.request.placed {
            let line = self.request.scalp.line(placed.above_nape);
            let site = line.and_then(|line| site_at(self.request, placed, &line, RowSetting::SideBySide, &mut faults));
            match site {
                Some(site) => sites.push(Site { already_in: true, ..site }),
                None => faults.push(Fault {
                    what: "A sandwich already in does not lie on hair-bearing skin as the head was measured.".into(),
                    place: format!("{:.0} mm above the nape", placed.above_nape.to_mm()),
                    rule: super::limits::BARE_SKIN,
                    cure: "Check the measures of the head and of its parting.".into(),
                }),
            }
        }
        faults
    }

    /// Orders and names the sites, finds their rows and says why.
    fn name(&self, sites: &mut [Site]) -> Vec<Row> {
        sites.sort_by(|a, b| {
            a.part
                .cmp(&b.part)
                .then(a.above_nape.to_mm().total_cmp(&b.above_nape.to_mm()))
                .then(a.along.to_mm().total_cmp(&b.along.to_mm()))
        });
        let heights: Vec<f64> = sites.iter().map(|s| s.above_nape.to_mm()).collect();
        let alongs: Vec<(HeadPart, f64, f64)> =
            sites.iter().map(|s| (s.part, s.above_nape.to_mm(), s.along.to_mm())).collect();
        let mut rows: Vec<Row> = Vec::new();
        for site in sites.iter_mut() {
            let new = rows.last().is_none_or(|r| r.part != site.part || !same_parting(r.above_nape, site.above_nape));
            if new {
                let length = self.request.scalp.line(site.above_nape).map_or(Length::ZERO, |l| l.extent().1 - l.extent().0);
                rows.push(Row {
                    row: rows.len() as u32 + 1,
                    part: site.part,
                    zone: site.zone,
                    above_nape: site.above_nape,
                    length,
                    setting: self.setting.of(site.above_nape.to_mm(), &heights),
                    sites: 0,
                });
            }
            if let Some(row) = rows.last_mut() {
                row.sites += 1;
                site.row = row.row;
                site.id = format!("{}{}.{}", site.part.letter(), row.row, row.sites);
                let lone = site.along.abs().to_mm() > 0.5
                    && !alongs.iter().any(|(_, h, a)| {
                        (h - site.above_nape.to_mm()).abs() < ONE_PARTING_MM && (a + site.along.to_mm()).abs() < 1.0
                    });
                site.why = why::reasons(self.request, site, row.setting, lone && !site.already_in);
            }
        }
        rows
    }

    /// The fault of a wish that could not be met.
    fn short_fault(&self, short: f64, wanted: &Split) -> Option<Fault> {
        let smallest = (0..self.survey.open.len()).map(|o| self.mass(o)).fold(f64::INFINITY, f64::min);
        if short < smallest.min(1.0) {
            return None;
        }
        let most = self.survey.refused.iter().max_by_key(|(rule, count)| (**count, std::cmp::Reverse(**rule)));
        let rule = most.map_or(THRESHOLD.id, |(rule, _)| *rule);
        Some(Fault {
            what: format!("The layout falls {short:.1} g short of the wish."),
            place: "whole head".into(),
            rule: WORTH_SHORT.id,
            cure: format!(
                "{:.1} g were to be placed. What refuses most places: \"{}\" Agree on less hair{}, or on pieces that bring more hair each.",
                wanted.iter().sum::<f64>(),
                why::says(rule),
                if rule == THRESHOLD.id { ", leave out the style that shows most" } else { "" }
            ),
        })
    }
}

/// Whether two layouts share at most two thirds of their places.
fn differ(a: &[usize], b: &[usize]) -> bool {
    3 * a.iter().filter(|o| b.contains(o)).count() <= 2 * a.len().max(b.len())
}

fn in_points(points: f64) -> i64 {
    (points * PER_POINT).round().max(0.0) as i64
}

fn same_parting(a: Length, b: Length) -> bool {
    (a - b).abs().to_mm() < ONE_PARTING_MM
}
