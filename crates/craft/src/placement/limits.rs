//! Where a sandwich may stand at all: limits can only refuse.
//!
//! Every parting is looked at every few millimetres; each spot knows its
//! clearances, its region, and how well a bond there is hidden in every style.
//! A place is open when all the spots under its tab are, and a slice can be
//! taken that bears it. What refused is counted, so that an empty head can say
//! which limit to talk about.

use super::rules::{BOW, DENSE_FROM, REST_REACH, REST_VISITS, ROW_SPACING, SKIN_SLACK, TOP_FREE};
use super::scalp::{COMB_STEP_MM, Line};
use super::site::{Fault, HeadPart, Request};
use crate::coverage::{CROWN_CEILING, EAR_FLOOR, NAPE_FLOOR, SIDE_FLOOR, Style, THRESHOLD};
use crate::load::{NoSlice, Pull, Slice, SliceCase, choose_slice};
use crate::piece::{Cut, Piece};
use head::{Border, Side, SkinPoint, Whereabouts, Zone};
use measure::{Length, Rule};
use std::collections::BTreeMap;

/// Partings that could carry a row are tried this far apart, mm. Finer finds
/// slightly better rows and takes longer in proportion.
const LEVEL_STEP_MM: f64 = 5.0;
/// Cover is looked up every this many comb steps; between, it changes little.
const COVER_EVERY: i32 = 2;
/// Beside these shares of the threshold the spots about a slice tell whether
/// its bond is hidden; between, it is looked up along the slice itself, as it
/// will be judged. Wider apart costs more and refuses no place wrongly.
const SURELY_SHOWS: f64 = 0.7;
const SURELY_HIDDEN: f64 = 1.4;
/// Places along a parting are tried every this many comb steps.
const ALONG_EVERY: i32 = 2;
/// The id under which a technician's own keep-out is named.
pub const AVOID: &str = "limits-avoid";
/// The id under which skin without hair is named.
pub const BARE_SKIN: &str = "limits-bare-skin";

/// One way a piece from the shelf may be set.
#[derive(Debug, Clone, Copy)]
pub struct Kind {
    pub piece: Piece,
    pub tab_half: f64,
    pub slice_half: f64,
}

/// One spot of a parting.
#[derive(Debug, Clone, Copy)]
pub struct Spot {
    pub point: SkinPoint,
    pub zone: Zone,
    pub part: HeadPart,
    /// What refuses it, if anything does.
    pub refused: Option<&'static str>,
    /// Optical depth over the threshold, in the style that hides it least;
    /// known only every few spots.
    pub hidden: f64,
}

/// One parting with its spots.
#[derive(Debug, Clone)]
pub struct Level {
    pub line: Line,
    /// Comb step of the first spot, from the middle.
    pub first: i32,
    pub spots: Vec<Spot>,
}

impl Level {
    fn spot(&self, step: i32) -> Option<&Spot> {
        usize::try_from(step - self.first).ok().and_then(|i| self.spots.get(i))
    }
}

/// A place where a sandwich may stand.
#[derive(Debug, Clone, Copy)]
pub struct Open {
    pub level: usize,
    pub kind: usize,
    /// Its middle, mm along.
    pub along: f64,
    pub zone: Zone,
    pub part: HeadPart,
    /// Optical depth over the threshold at its worst.
    pub hidden: f64,
    pub slice: Slice,
    /// Slices of the last visit, and of the one before, in the same hair.
    pub rested: [bool; 2],
}

/// The head looked over.
#[derive(Debug)]
pub struct Survey {
    pub kinds: Vec<Kind>,
    pub levels: Vec<Level>,
    pub open: Vec<Open>,
    /// How many places each rule refused.
    pub refused: BTreeMap<&'static str, usize>,
    /// Slices that no thickness satisfies, with their proposals.
    pub no_slice: Vec<NoSlice>,
}

/// The kinds of sandwich the shelf gives.
pub fn kinds(request: &Request) -> Vec<Kind> {
    let mut kinds = Vec::new();
    for piece in &request.pieces {
        for cut in [Cut::Full, Cut::Half] {
            if cut == Cut::Half && (!request.limits.halves || piece.cut == Cut::Half) {
                continue;
            }
            let piece = piece.as_cut(cut);
            if request.limits.heaviest.is_some_and(|most| piece.hanging_mass(request.setting) > most) {
                continue;
            }
            kinds.push(Kind {
                piece,
                tab_half: piece.tab.width.to_mm() / 2.0,
                slice_half: piece.tab.slice_length(request.rules).to_mm() / 2.0,
            });
        }
    }
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
                if at_side { Pull::Across } else { Pull::WithGrowth }
            }
            Style::MidPonytail => {
                if zone == Zone::Nape { Pull::Against } else if at_side { Pull::Across } else { Pull::WithGrowth }
            }
            Style::HighPonytail | Style::Bun => {
                if below { Pull::Against } else if at_side { Pull::Across } else { Pull::WithGrowth }
            }
            Style::HalfUp => {
                if at_side { Pull::Across } else { Pull::WithGrowth }
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
}

/// What may refuse a spot whatever hangs there, looked up once for a head.
#[derive(Debug, Clone, Copy)]
pub struct Keeps {
    /// Least distance from each border, in the order of [`Border::ALL`].
    floors: [Length; 4],
    /// Nothing at the back lies farther from the nape hairline.
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

    /// What refuses a spot, if anything does.
    pub fn refuse(&self, request: &Request, above_nape: Length, p: SkinPoint, here: &Whereabouts) -> Option<&'static str> {
        if !here.bears_hair {
            return Some(BARE_SKIN);
        }
        for (border, (clear, floor)) in Border::ALL.into_iter().zip(here.clearances.into_iter().zip(self.floors)) {
            if clear < floor {
                return Some(border_rule(border).id);
            }
        }
        let zone = here.zone;
        if here.is_behind_ears && (above_nape > self.ceiling || request.scalp.is_above_crown(p)) {
            return Some(CROWN_CEILING.id);
        }
        if zone == Zone::Frontal && self.top_free {
            return Some(TOP_FREE.id);
        }
        let side = if p.0[0] < 0.0 { Side::Left } else { Side::Right };
        if request.limits.avoid.iter().any(|a| a.zone == zone && (a.side == Side::Centre || a.side == side)) {
            return Some(AVOID);
        }
        if request.limits.dense_places_only {
            let share = request.hair.density_in(zone).value.to_per_cm2() / request.hair.density.value.to_per_cm2();
            if share < self.dense_from {
                return Some(DENSE_FROM.id);
            }
        }
        None
    }
}

/// The rule that keeps a sandwich off a border.
pub const fn border_rule(border: Border) -> &'static Rule {
    match border {
        Border::NapeHairline => &NAPE_FLOOR,
        Border::FrontHairline => &SIDE_FLOOR,
        Border::LeftEar | Border::RightEar => &EAR_FLOOR,
    }
}

/// The part of the head a spot is in.
pub fn part_of(is_behind_ears: bool, p: SkinPoint) -> HeadPart {
    if is_behind_ears {
        HeadPart::Back
    } else if p.0[0] < 0.0 {
        HeadPart::Left
    } else {
        HeadPart::Right
    }
}

/// Optical depth over the threshold at the worst place of a bond, in the style
/// that hides it least; nothing where the slice reaches beyond the parting.
fn hidden_exactly(request: &Request, line: &Line, along: f64, slice_half: f64) -> Option<f64> {
    let ends = (line.at(Length::mm(along - slice_half))?, line.at(Length::mm(along + slice_half))?);
    let depth = request.styles.iter().map(|style| style.worst_over_bond(ends).optical_depth);
    Some(depth.fold(f64::INFINITY, f64::min) / request.rules.value(&THRESHOLD))
}

/// Which of the last two visits had a slice in the same hair.
pub fn rested(request: &Request, above_nape: Length, along: f64, slice_half: f64) -> [bool; 2] {
    let reach = request.rules.value(&REST_REACH);
    let mut met = [false; 2];
    for (met, visit) in met.iter_mut().zip(&request.earlier) {
        *met = visit.iter().any(|a| {
            (a.above_nape - above_nape).abs().to_mm() < reach
                && (a.along.to_mm() - along).abs() < a.width.to_mm() / 2.0 + slice_half
        });
    }
    met
}

/// Whether a slice would take hair that was passed over at the chair.
fn is_left_out(request: &Request, above_nape: Length, along: f64, slice_half: f64) -> bool {
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

impl Survey {
    /// Looks over the whole head.
    pub fn of(request: &Request) -> Self {
        let kinds = kinds(request);
        let levels = levels(request);
        let mut survey = Self { kinds, levels, open: Vec::new(), refused: BTreeMap::new(), no_slice: Vec::new() };
        let mut slices: BTreeMap<(Zone, usize), Option<Slice>> = BTreeMap::new();
        for level in 0..survey.levels.len() {
            for kind in 0..survey.kinds.len() {
                survey.look_along(request, level, kind, &mut slices);
            }
        }
        survey
    }

    fn look_along(
        &mut self,
        request: &Request,
        level: usize,
        kind: usize,
        slices: &mut BTreeMap<(Zone, usize), Option<Slice>>,
    ) {
        let half = self.kinds[kind].tab_half;
        for middle in middles(request, half, &self.levels[level]) {
            match self.look(request, level, kind, middle, slices) {
                Ok(open) => self.open.push(open),
                Err(rule) => *self.refused.entry(rule).or_insert(0) += 1,
            }
        }
    }

    fn look(
        &mut self,
        request: &Request,
        level: usize,
        kind: usize,
        along: f64,
        slices: &mut BTreeMap<(Zone, usize), Option<Slice>>,
    ) -> Result<Open, &'static str> {
        let Kind { piece, tab_half, slice_half } = self.kinds[kind];
        let here = &self.levels[level];
        // Outward to the next spot, so that no end is missed.
        let from = ((along - tab_half) / COMB_STEP_MM).floor() as i32;
        let to = ((along + tab_half) / COMB_STEP_MM).ceil() as i32;
        for step in from..=to {
            let spot = here.spot(step).ok_or(BARE_SKIN)?;
            if let Some(rule) = spot.refused {
                return Err(rule);
            }
        }
        let bow = here.line.bow(Length::mm(along), Length::mm(tab_half)).ok_or(BARE_SKIN)?;
        if bow.to_mm() > request.rules.value(&BOW) {
            return Err(BOW.id);
        }
        let wide = COMB_STEP_MM * f64::from(COVER_EVERY);
        let first = ((along - slice_half) / wide).floor() as i32;
        let last = ((along + slice_half) / wide).ceil() as i32;
        let mut hidden = f64::INFINITY;
        for step in first..=last {
            if let Some(spot) = here.spot(step * COVER_EVERY) {
                hidden = hidden.min(spot.hidden);
            }
        }
        if (SURELY_SHOWS..SURELY_HIDDEN).contains(&hidden) {
            hidden = hidden_exactly(request, &here.line, along, slice_half).ok_or(BARE_SKIN)?;
        }
        if hidden < 1.0 {
            return Err(THRESHOLD.id);
        }
        let middle = here.spot((along / COMB_STEP_MM).round() as i32).ok_or(BARE_SKIN)?;
        let (zone, part) = (middle.zone, middle.part);
        let rested = rested(request, here.line.above_nape(), along, slice_half);
        if rest_refuses(request, rested) {
            return Err(REST_VISITS.id);
        }
        if is_left_out(request, here.line.above_nape(), along, slice_half) {
            return Err(AVOID);
        }
        let no_slice = &mut self.no_slice;
        let slice = slices.entry((zone, kind)).or_insert_with(|| {
            choose_slice(&slice_case(request, &piece, zone), request.rules).map_err(|none| no_slice.push(none)).ok()
        });
        let slice = slice.ok_or(crate::load::STATIC_LIMIT.id)?;
        Ok(Open { level, kind, along, zone, part, hidden, slice, rested })
    }

    /// Why nothing may be placed: the limits that refused most, worst first.
    pub fn faults(&self, request: &Request) -> Vec<Fault> {
        let mut faults = Vec::new();
        if self.kinds.is_empty() {
            faults.push(Fault {
                what: "No piece on the shelf may be used.".into(),
                place: "pieces".into(),
                rule: crate::load::STATIC_LIMIT.id,
                cure: match request.limits.heaviest {
                    Some(most) => format!("Offer pieces whose sandwich weighs at most {:.1} g.", most.to_g()),
                    None => "Offer at least one piece.".into(),
                },
            });
        }
        if self.levels.is_empty() {
            faults.push(Fault {
                what: format!(
                    "The nape keeps {:.0} mm free and nothing goes above {:.0} mm at the crown: no parting lies between.",
                    request.limits.floors.nape.to_mm(),
                    (request.scalp.crown_above_nape() + request.limits.floors.above_crown).to_mm()
                ),
                place: "back of the head".into(),
                rule: NAPE_FLOOR.id,
                cure: "Ask whether she can leave out wearing her hair up, and measure the nape hairline again.".into(),
            });
        }
        let mut by_count: Vec<_> = self.refused.iter().collect();
        by_count.sort_by_key(|(rule, count)| (std::cmp::Reverse(**count), **rule));
        let all: usize = self.refused.values().sum::<usize>() + self.open.len();
        for (rule, count) in by_count {
            if *rule == crate::load::STATIC_LIMIT.id {
                continue;
            }
            faults.push(Fault {
                what: format!("{count} of {all} places looked at are refused: {}", super::why::says(rule)),
                place: "whole head".into(),
                rule,
                cure: super::why::cure(rule).into(),
            });
        }
        for none in &self.no_slice {
            faults.push(super::why::no_slice_fault(none));
        }
        faults
    }
}

/// The middles at which a tab is tried on a parting: on the midline, and to
/// either side in steps, leaving the gap between a tab and its mirror image.
fn middles(request: &Request, half: f64, level: &Level) -> Vec<f64> {
    let (from, to) = level.line.extent();
    let (from, to) = (from.to_mm() + half, to.to_mm() - half);
    let start = half + request.rules.value(&super::rules::TAB_GAP) / 2.0;
    let step = COMB_STEP_MM * f64::from(ALONG_EVERY);
    let mut middles = Vec::new();
    if from <= 0.0 && to >= 0.0 {
        middles.push(0.0);
    }
    let mut middle = start;
    while middle <= to.max(-from) {
        for signed in [-middle, middle] {
            if (from..=to).contains(&signed) {
                middles.push(signed);
            }
        }
        middle += step;
    }
    middles
}

/// The partings that could carry a row: those of rows already in, and between
/// them one every few millimetres, far enough from those.
fn levels(request: &Request) -> Vec<Level> {
    let lowest = request.limits.floors.nape.to_mm() + request.rules.value(&SKIN_SLACK);
    let highest = (request.scalp.crown_above_nape() + request.limits.floors.above_crown).to_mm();
    let spacing = request.rules.value(&ROW_SPACING);
    let mut heights: Vec<f64> = request.placed.iter().map(|p| p.above_nape.to_mm()).collect();
    heights.sort_by(f64::total_cmp);
    heights.dedup_by(|a, b| (*a - *b).abs() < 0.5);
    let taken = heights.clone();
    let mut height = lowest;
    while height <= highest && heights.len() < 500 {
        if taken.iter().all(|t| (t - height).abs() >= spacing) {
            heights.push(height);
        }
        height += LEVEL_STEP_MM;
    }
    heights.sort_by(f64::total_cmp);
    let keeps = Keeps::of(request);
    heights.into_iter().filter_map(|height| level(request, &keeps, Length::mm(height))).collect()
}

fn level(request: &Request, keeps: &Keeps, above_nape: Length) -> Option<Level> {
    let line = request.scalp.line(above_nape)?;
    let (from, to) = line.extent();
    let first = (from.to_mm() / COMB_STEP_MM).round() as i32;
    let last = (to.to_mm() / COMB_STEP_MM).round() as i32;
    let threshold = request.rules.value(&THRESHOLD);
    let mut spots: Vec<Spot> = (first..=last)
        .filter_map(|step| {
            let point = line.at(Length::mm(f64::from(step) * COMB_STEP_MM))?;
            let here = request.scalp.whereabouts(point);
            let refused = keeps.refuse(request, above_nape, point, &here);
            let part = part_of(here.is_behind_ears, point);
            Some(Spot { point, zone: here.zone, part, refused, hidden: f64::INFINITY })
        })
        .collect();
    // Cover is dear to look up: only where a tab could lie.
    for i in 0..spots.len() {
        let step = first + i as i32;
        let near = &spots[i.saturating_sub(COVER_EVERY as usize)..(i + 1 + COVER_EVERY as usize).min(spots.len())];
        if step % COVER_EVERY == 0 && near.iter().any(|spot| spot.refused.is_none()) {
            let depth = request.styles.iter().map(|style| style.at(spots[i].point).optical_depth);
            spots[i].hidden = depth.fold(f64::INFINITY, f64::min) / threshold;
        }
    }
    Some(Level { line, first, spots })
}
