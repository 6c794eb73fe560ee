//! The head looked over: where along each parting a tab may lie at all, how
//! well a bond would be hidden there, and what a slice would carry.

use super::care::Floor;
use super::part::HeadPart;
use super::rules::{ACROSS_MIDDLE, DENSE_FROM, REST_REACH, REST_VISITS, SKIN_SLACK, TAB_GAP, TOP_FREE};
use super::scalp::{COMB_STEP_MM, Line};
use super::site::Request;
use crate::coverage::{SHOWING_END, Style, chance_of_showing, depth_at_chance};
use crate::load::{NoSlice, Pull, Slice, SliceCase, choose_slice};
use crate::piece::{Cut, Piece};
use head::{Border, Side, SkinPoint, Whereabouts, Zone};
use measure::{Length, RuleBook};
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

/// Cover is looked up every this many comb steps; between, it changes little.
const COVER_EVERY: i32 = 2;

/// One way a piece from the shelf may be set.
#[derive(Debug, Clone, Copy)]
pub struct Kind {
    pub piece: Piece,
    pub tab_half: f64,
    pub slice_half: f64,
    /// What hangs on the slice, g.
    pub grams: f64,
}

impl Kind {
    pub fn is_half(&self) -> bool {
        self.piece.cut == Cut::Half
    }
}

/// Half of a section, as it is combed: the back has two, each side is one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Half {
    BackLeft,
    BackRight,
    Left,
    Right,
}

impl Half {
    pub const ALL: [Self; 4] = [Self::BackLeft, Self::BackRight, Self::Left, Self::Right];

    pub const fn sign(self) -> f64 {
        match self {
            Self::BackLeft | Self::Left => -1.0,
            Self::BackRight | Self::Right => 1.0,
        }
    }

    pub const fn part(self) -> HeadPart {
        match self {
            Self::BackLeft | Self::BackRight => HeadPart::Back,
            Self::Left => HeadPart::Left,
            Self::Right => HeadPart::Right,
        }
    }

    pub const fn mirrored(self) -> Self {
        match self {
            Self::BackLeft => Self::BackRight,
            Self::BackRight => Self::BackLeft,
            Self::Left => Self::Right,
            Self::Right => Self::Left,
        }
    }

    const fn index(self) -> usize {
        self as usize
    }
}

/// One spot of a parting.
#[derive(Debug, Clone, Copy)]
struct Spot {
    point: SkinPoint,
    zone: Zone,
    refused: Option<Floor>,
}

/// A stretch of a parting on which a tab may lie, by distance from the middle, mm.
pub type Stretch = (f64, f64);

/// One parting with its spots.
#[derive(Debug)]
pub struct Level {
    pub line: Rc<Line>,
    pub up: f64,
    first: i32,
    spots: Vec<Spot>,
    /// Where tabs may lie in each half, from the middle outward.
    free: [Vec<Stretch>; 4],
    /// Optical depth at its least over the styles, every few spots; looked up when asked.
    depths: RefCell<BTreeMap<i32, f64>>,
}

impl Level {
    fn spot(&self, step: i32) -> Option<&Spot> {
        usize::try_from(step - self.first).ok().and_then(|i| self.spots.get(i))
    }

    pub fn free(&self, half: Half) -> &[Stretch] {
        &self.free[half.index()]
    }
}

/// What a sandwich at a place would come to.
#[derive(Debug, Clone, Copy)]
pub struct Open {
    pub part: HeadPart,
    /// Optical depth at its worst, in the style that hides it least.
    pub depth: f64,
    /// The chance that it shows.
    pub chance: f64,
    pub slice: Slice,
    /// Slices of the last visit, and of the one before, in the same hair.
    pub rested: [bool; 2],
    /// Share of the wished clearance that is missing, over that beyond the floor; 0 to 1.
    pub near: f64,
}

/// The head looked over, parting by parting as they are asked for.
pub struct Survey<'a> {
    request: &'a Request<'a>,
    pub kinds: Vec<Kind>,
    keeps: Keeps,
    levels: RefCell<BTreeMap<i64, Option<Rc<Level>>>>,
    slices: RefCell<BTreeMap<(Zone, usize), Result<Slice, NoSlice>>>,
    /// The depth under which nothing is set.
    pub least_depth: f64,
}

/// The kinds of sandwich the shelf gives.
fn kinds(request: &Request) -> Vec<Kind> {
    let mut kinds = Vec::new();
    for piece in &request.pieces {
        for cut in [Cut::Full, Cut::Half] {
            if cut == Cut::Half && (!request.limits.halves || piece.cut == Cut::Half) {
                continue;
            }
            let piece = piece.as_cut(cut);
            let grams = piece.hanging_mass(request.setting);
            if request.limits.heaviest.is_some_and(|most| grams > most) {
                continue;
            }
            kinds.push(Kind {
                piece,
                tab_half: piece.tab.width.to_mm() / 2.0,
                slice_half: piece.tab.slice_length(request.rules).to_mm() / 2.0,
                grams: grams.to_g(),
            });
        }
    }
    // However the shelf was named, the same kinds in the same order.
    kinds.sort_by(|a, b| b.grams.total_cmp(&a.grams).then(b.tab_half.total_cmp(&a.tab_half)));
    kinds
}

/// How the styles she wears draw the hair of a region.
pub fn pull(styles: impl Iterator<Item = Style>, zone: Zone) -> Pull {
    let at_side = matches!(zone, Zone::Parietal | Zone::Temporal | Zone::Frontal);
    let below = matches!(zone, Zone::Nape | Zone::Occipital);
    styles
        .map(|style| match style {
            Style::Down => Pull::WithGrowth,
            Style::LowPonytail | Style::Plait => {
                if at_side {
                    Pull::Across
                } else {
                    Pull::WithGrowth
                }
            }
            Style::MidPonytail => {
                if zone == Zone::Nape {
                    Pull::Against
                } else if at_side {
                    Pull::Across
                } else {
                    Pull::WithGrowth
                }
            }
            Style::HighPonytail | Style::Bun => {
                if below {
                    Pull::Against
                } else if at_side {
                    Pull::Across
                } else {
                    Pull::WithGrowth
                }
            }
            Style::HalfUp => {
                if at_side {
                    Pull::Across
                } else {
                    Pull::WithGrowth
                }
            }
        })
        .max()
        .unwrap_or_default()
}

/// The slice a piece would take in a region.
pub fn slice_case(request: &Request, piece: &Piece, zone: Zone) -> SliceCase {
    SliceCase::new(request.hair, zone, piece, request.setting, request.rules)
        .drawn(pull(request.styles.iter().map(|s| s.style()), zone))
        .with_limits_at(request.limits.load_share)
        .with_care(request.limits.care.load(request.rules))
}

/// What may refuse a spot whatever hangs there, looked up once for a head.
#[derive(Debug, Clone, Copy)]
pub struct Keeps {
    /// Least distance from each border, in the order of [`Border::ALL`].
    floors: [Length; 6],
    /// Nothing at the back starts higher.
    ceiling: Length,
    top_free: bool,
    dense_from: f64,
}

impl Keeps {
    /// The keeps of a request.
    pub fn of(request: &Request) -> Self {
        let slack = Length::mm(request.rules.value(&SKIN_SLACK));
        Self {
            floors: Border::ALL.map(|border| request.limits.floors.from_border(border) + slack),
            ceiling: request.scalp.crown_above_nape() + request.limits.floors.above_crown,
            top_free: request.rules.value(&TOP_FREE) >= 0.5,
            dense_from: request.rules.value(&DENSE_FROM),
        }
    }

    /// How far up the middle the highest row of the back may start.
    pub const fn ceiling(&self) -> Length {
        self.ceiling
    }

    /// What refuses a spot of a section, if anything does.
    pub fn refuse(&self, request: &Request, above_nape: Length, part: HeadPart, p: SkinPoint, here: &Whereabouts) -> Option<Floor> {
        if !here.bears_hair {
            return Some(Floor::BareSkin);
        }
        for (border, (clear, floor)) in Border::ALL.into_iter().zip(here.clearances.into_iter().zip(self.floors)) {
            if clear < floor {
                return Some(Floor::Border(border));
            }
        }
        let zone = here.zone;
        if part == HeadPart::Back && above_nape > self.ceiling {
            return Some(Floor::Crown);
        }
        if part != HeadPart::Back && zone == Zone::Frontal && self.top_free {
            return Some(Floor::Top);
        }
        let side = if p.0[0] < 0.0 { Side::Left } else { Side::Right };
        if request.limits.avoid.iter().any(|a| a.zone == zone && (a.side == Side::Centre || a.side == side)) {
            return Some(Floor::KeptFree);
        }
        if request.limits.dense_places_only {
            let share = request.hair.density_in(zone).value.to_per_cm2() / request.hair.density.value.to_per_cm2();
            if share < self.dense_from {
                return Some(Floor::Sparse);
            }
        }
        None
    }
}

/// Which of the last two visits had a slice in the same hair.
pub fn rested(request: &Request, above_nape: Length, along: f64, slice_half: f64) -> [bool; 2] {
    let reach = request.rules.value(&REST_REACH);
    let mut met = [false; 2];
    for (met, visit) in met.iter_mut().zip(&request.earlier) {
        *met = visit.iter().any(|a| {
            (a.above_nape - above_nape).abs().to_mm() < reach && (a.along.to_mm() - along).abs() < a.width.to_mm() / 2.0 + slice_half
        });
    }
    met
}

/// Whether a slice would take hair that was passed over at the chair.
pub fn is_left_out(request: &Request, above_nape: Length, along: f64, slice_half: f64) -> bool {
    let reach = request.rules.value(&REST_REACH);
    request.left_out.iter().any(|out| {
        let half = out.piece.tab.slice_length(request.rules).to_mm() / 2.0;
        (out.above_nape - above_nape).abs().to_mm() < reach && (out.along.to_mm() - along).abs() < half + slice_half
    })
}

/// Whether the rests asked for refuse a place.
pub fn rest_refuses(request: &Request, rested: [bool; 2]) -> bool {
    if request.rules.value(&REST_VISITS) < 1.5 { rested[0] } else { rested[0] && rested[1] }
}

/// How much of the clearance that is wished for beyond the floor is missing: 1
/// at the floor, 0 from the wished clearance on.
pub fn nearness(request: &Request, clearances: [Length; 6]) -> f64 {
    let slack = Length::mm(request.rules.value(&SKIN_SLACK));
    Border::ALL
        .into_iter()
        .zip(clearances)
        .map(|(border, clear)| {
            let floor = request.limits.floors.from_border(border) + slack;
            let wished = request.limits.wished.from_border(border) + slack;
            if wished > floor { ((wished - clear) / (wished - floor)).clamp(0.0, 1.0) } else { 0.0 }
        })
        .fold(0.0, f64::max)
}

/// The depth under which nothing is set.
pub fn least_depth(rules: &RuleBook) -> f64 {
    depth_at_chance(rules.value(&SHOWING_END), rules)
}

impl<'a> Survey<'a> {
    pub fn of(request: &'a Request<'a>) -> Self {
        Self {
            request,
            kinds: kinds(request),
            keeps: Keeps::of(request),
            levels: RefCell::new(BTreeMap::new()),
            slices: RefCell::new(BTreeMap::new()),
            least_depth: least_depth(request.rules),
        }
    }

    pub fn keeps(&self) -> &Keeps {
        &self.keeps
    }

    /// The slices that no thickness satisfies, with what would open them.
    pub fn no_slices(&self) -> Vec<NoSlice> {
        self.slices.borrow().values().filter_map(|slice| slice.clone().err()).collect()
    }

    /// A parting looked over, once.
    pub fn level(&self, up: f64, line: impl Fn() -> Option<Rc<Line>>) -> Option<Rc<Level>> {
        let key = (up * 1000.0).round() as i64;
        if let Some(level) = self.levels.borrow().get(&key) {
            return level.clone();
        }
        let level = line().map(|line| Rc::new(self.look_along(up, line)));
        self.levels.borrow_mut().insert(key, level.clone());
        level
    }

    fn look_along(&self, up: f64, line: Rc<Line>) -> Level {
        let (from, to) = line.extent();
        let first = (from.to_mm() / COMB_STEP_MM).round() as i32;
        let last = (to.to_mm() / COMB_STEP_MM).round() as i32;
        let spots: Vec<Spot> = (first..=last)
            .filter_map(|step| {
                let along = Length::mm(f64::from(step) * COMB_STEP_MM);
                let point = line.at(along)?;
                let here = self.request.scalp.whereabouts(point);
                let refused = self.keeps.refuse(self.request, Length::mm(up), line.part_at(along), point, &here);
                Some(Spot { point, zone: here.zone, refused })
            })
            .collect();
        let mut level = Level { line, up, first, spots, free: Default::default(), depths: RefCell::default() };
        level.free = Half::ALL.map(|half| self.stretches(&level, half));
        level
    }

    /// Where tabs may lie in a half, exactly to where a floor begins.
    fn stretches(&self, level: &Level, half: Half) -> Vec<Stretch> {
        let section = level.line.section().to_mm();
        let end = level.line.extent().1.to_mm();
        let from_middle = if self.request.limits.across_middle { 0.0 } else { self.request.rules.value(&TAB_GAP) / 2.0 };
        let (from, to) = match half.part() {
            HeadPart::Back => (from_middle, section.min(end)),
            HeadPart::Left | HeadPart::Right => (section, end),
        };
        let is_free = |along: f64| -> bool {
            let at = Length::mm(half.sign() * along);
            level.line.at(at).is_some_and(|p| {
                let here = self.request.scalp.whereabouts(p);
                self.keeps.refuse(self.request, Length::mm(level.up), half.part(), p, &here).is_none()
            })
        };
        if to - from < 5.0 {
            return Vec::new();
        }
        // The ends themselves, and every spot between.
        let mut marks: Vec<(f64, bool)> = vec![(from, is_free(from + 1e-6))];
        let steps = ((from / COMB_STEP_MM).floor() as i32 + 1)..=((to / COMB_STEP_MM).ceil() as i32 - 1);
        for step in steps {
            let signed = if half.sign() < 0.0 { -step } else { step };
            let along = f64::from(step) * COMB_STEP_MM;
            // A spot on the line itself belongs to the section before it.
            let free =
                if (along - section).abs() < 1e-9 { is_free(along) } else { level.spot(signed).is_some_and(|s| s.refused.is_none()) };
            marks.push((along, free));
        }
        marks.push((to, is_free(to - 1e-6)));
        let edge = |mut inside: f64, mut outside: f64| {
            for _ in 0..9 {
                let middle = 0.5 * (inside + outside);
                if is_free(middle) { inside = middle } else { outside = middle }
            }
            inside
        };
        let mut free: Vec<Stretch> = Vec::new();
        let mut start: Option<f64> = None;
        for i in 0..marks.len() {
            let (along, ok) = marks[i];
            match (ok, start) {
                (true, None) => start = Some(if i == 0 { along } else { edge(along, marks[i - 1].0) }),
                (false, Some(begun)) => {
                    free.push((begun, edge(marks[i - 1].0, along)));
                    start = None;
                }
                _ => {}
            }
        }
        if let Some(begun) = start {
            free.push((begun, to));
        }
        free
    }

    /// Optical depth over a slice taken at a spot, in the style that hides it least.
    fn depth_at(&self, level: &Level, step: i32) -> f64 {
        if let Some(depth) = level.depths.borrow().get(&step) {
            return *depth;
        }
        let Some(spot) = level.spot(step * COVER_EVERY) else { return f64::INFINITY };
        let depth = self.request.styles.iter().map(|style| style.at(spot.point).optical_depth).fold(f64::INFINITY, f64::min);
        level.depths.borrow_mut().insert(step, depth);
        depth
    }

    /// About how deep hair lies over a bond at its worst: at the two ends of the
    /// slice, between the spots next to them, and at the spots it covers.
    fn about_depth(&self, level: &Level, along: f64, slice_half: f64) -> f64 {
        let wide = COMB_STEP_MM * f64::from(COVER_EVERY);
        let at_end = |end: f64| {
            let below = (end / wide).floor();
            let share = end / wide - below;
            let (before, after) = (self.depth_at(level, below as i32), self.depth_at(level, below as i32 + 1));
            // The last spot of a parting has none beyond it.
            if share < 1e-9 || after.is_infinite() { before } else { before + share * (after - before) }
        };
        let (from, to) = (along - slice_half, along + slice_half);
        let inner = (from / wide).ceil() as i32..=(to / wide).floor() as i32;
        inner.map(|step| self.depth_at(level, step)).fold(at_end(from).min(at_end(to)), f64::min)
    }

    /// What a sandwich of a kind would come to at a place, about; or what keeps
    /// the place free. The tab must lie on a free stretch.
    ///
    /// *Errors*: the floor that keeps the place free.
    pub fn weigh(&self, level: &Level, half: Half, kind: usize, from_middle: f64) -> Result<Open, Floor> {
        let request = self.request;
        let Kind { tab_half, slice_half, .. } = self.kinds[kind];
        let along = half.sign() * from_middle;
        let bow = level.line.bow(Length::mm(along), Length::mm(tab_half)).ok_or(Floor::BareSkin)?;
        if bow.to_mm() > request.rules.value(&super::rules::BOW) {
            return Err(Floor::Bow);
        }
        let up = Length::mm(level.up);
        let rested = rested(request, up, along, slice_half);
        if rest_refuses(request, rested) {
            return Err(Floor::Rest);
        }
        if is_left_out(request, up, along, slice_half) {
            return Err(Floor::PassedOver);
        }
        let depth = self.about_depth(level, along, slice_half);
        let middle = level.spot((along / COMB_STEP_MM).round() as i32).ok_or(Floor::BareSkin)?;
        let slice = self.slice(middle.zone, kind).map_err(|_| Floor::TooHeavy)?;
        let ends = [-tab_half, tab_half].map(|off| level.line.at(Length::mm(along + off)));
        let near = if request.limits.wished == request.limits.floors {
            0.0
        } else {
            ends.into_iter().flatten().map(|p| nearness(request, request.scalp.whereabouts(p).clearances)).fold(0.0, f64::max)
        };
        let chance = if request.styles.is_empty() { 0.0 } else { chance_of_showing(depth, request.rules) };
        Ok(Open { part: half.part(), depth, chance, slice, rested, near })
    }

    /// The slice of a kind in a region, chosen once.
    ///
    /// *Errors*: no slice can carry the kind.
    pub fn slice(&self, zone: Zone, kind: usize) -> Result<Slice, NoSlice> {
        self.slices
            .borrow_mut()
            .entry((zone, kind))
            .or_insert_with(|| choose_slice(&slice_case(self.request, &self.kinds[kind].piece, zone), self.request.rules))
            .clone()
    }

    /// Whether a tab across the middle is allowed.
    pub fn may_cross_middle(&self) -> bool {
        self.request.limits.across_middle || self.request.rules.value(&ACROSS_MIDDLE) >= 0.5
    }
}
