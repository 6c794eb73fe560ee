//! Judging one sandwich where it is, or where somebody would move it.

use super::limits::{Keeps, Open, part_of, rest_refuses, rested, slice_case};
use super::rules::{BOW, REST_VISITS, ROW_SPACING, TAB_GAP};
use super::scalp::{COMB_STEP_MM, Line};
use super::site::{Fault, Placed, Request, RowSetting, Site};
use super::{plan::Setting, why, worth};
use crate::coverage::{THRESHOLD, gaps_seen};
use crate::load::{choose_slice, judge_slice};
use head::{Border, Side, SkinPoint};
use measure::Length;
use serde::Serialize;
use std::collections::BTreeMap;

/// What is to be said of a sandwich at a place.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Judgement {
    /// The site with its numbers; nothing when the place is off the parting.
    pub site: Option<Site>,
    /// Every limit it breaks, with its cure; none when it may stand there.
    pub faults: Vec<Fault>,
}

impl Judgement {
    /// Whether the sandwich may stand there.
    #[must_use]
    pub fn is_allowed(&self) -> bool {
        self.site.is_some() && self.faults.is_empty()
    }
}

/// Judges a sandwich at a place, beside the sandwiches already placed.
///
/// *Meaning*: everything is looked up exactly, at the ends and along the whole
/// bond; the same limits hold as for a plan. The sandwich that is being moved
/// must not be among the placed ones.
#[must_use]
pub fn judge(request: &Request, at: &Placed) -> Judgement {
    let Some(line) = request.scalp.line(at.above_nape) else {
        let what = format!("There is no parting {:.0} mm above the nape hairline.", at.above_nape.to_mm());
        let fault = fault_of(super::limits::BARE_SKIN, what, at);
        return Judgement { site: None, faults: vec![fault] };
    };
    let setting = Setting::new(request, Some(at.above_nape));
    let mut faults = Vec::new();
    let site = site_at(request, at, &line, setting.of_height(request, at.above_nape), &mut faults);
    if site.is_none() {
        faults.push(fault_of(super::limits::BARE_SKIN, "The tab reaches beyond the end of the parting.".into(), at));
    }
    neighbours(request, at, &setting, &mut faults);
    Judgement { site, faults }
}

fn fault_of(rule: &'static str, what: String, at: &Placed) -> Fault {
    let place = format!("{:.0} mm above the nape, {:.0} mm along", at.above_nape.to_mm(), at.along.to_mm());
    Fault { what, place, rule, cure: why::cure(rule).into() }
}

/// Faults against the sandwiches already placed.
fn neighbours(request: &Request, at: &Placed, setting: &Setting, faults: &mut Vec<Fault>) {
    for other in &request.placed {
        if let Some(rule) = setting.clash(at, other) {
            let what = match rule {
                id if id == TAB_GAP.id => "It stands too near its neighbour in the row.",
                id if id == ROW_SPACING.id => "Its parting is too near that of another row.",
                _ => "It stands over a piece of the row below, where brick is due.",
            };
            if !faults.iter().any(|f| f.rule == rule) {
                faults.push(fault_of(rule, what.into(), at));
            }
        }
    }
}

/// The site of a sandwich with exact numbers; what it breaks goes to `faults`.
/// Nothing when its tab reaches beyond the parting.
pub fn site_at(request: &Request, at: &Placed, line: &Line, setting: RowSetting, faults: &mut Vec<Fault>) -> Option<Site> {
    let tab_half = at.piece.tab.width / 2.0;
    let slice_half = at.piece.tab.slice_length(request.rules) / 2.0;
    let ends = [line.at(at.along - slice_half)?, line.at(at.along + slice_half)?];
    let middle = line.at(at.along)?;
    let mut nearest = (Length::mm(f64::INFINITY), Border::NapeHairline);
    let mut refused: Vec<&'static str> = Vec::new();
    let keeps = Keeps::of(request);
    let steps = (at.piece.tab.width.to_mm() / COMB_STEP_MM).ceil().max(1.0);
    for i in 0..=steps as usize {
        let p = line.at(at.along - tab_half + at.piece.tab.width * (i as f64 / steps))?;
        let here = request.scalp.whereabouts(p);
        for (border, clear) in Border::ALL.into_iter().zip(here.clearances) {
            if clear < nearest.0 {
                nearest = (clear, border);
            }
        }
        let rule = keeps.refuse(request, at.above_nape, p, &here);
        refused.extend(rule.filter(|rule| !refused.contains(rule)));
    }
    for rule in refused {
        faults.push(fault_of(rule, format!("Against a limit: {}", why::says(rule)), at));
    }
    if line.bow(at.along, tab_half)?.to_mm() > request.rules.value(&BOW) {
        faults.push(fault_of(BOW.id, "The parting bends too much under the tab.".into(), at));
    }
    let threshold = request.rules.value(&THRESHOLD);
    let mut hidden = f64::INFINITY;
    let (mut coverage, mut gaps) = (BTreeMap::new(), BTreeMap::new());
    for style in &request.styles {
        let covering = style.worst_over_bond((ends[0], ends[1]));
        coverage.insert(style.style(), covering.coverage);
        gaps.insert(style.style(), gaps_seen(&covering, at.piece.tab.width, request.rules));
        if covering.optical_depth < threshold {
            let what = format!("It shows when hair is worn {}.", style.style().word().replace('_', " "));
            faults.push(fault_of(THRESHOLD.id, what, at));
        }
        hidden = hidden.min(covering.optical_depth / threshold);
    }
    let (zone, part) = (request.scalp.zone(middle), part_of(request.scalp.is_behind_ears(middle), middle));
    let rested = rested(request, at.above_nape, at.along.to_mm(), slice_half.to_mm());
    if rest_refuses(request, rested) {
        faults.push(fault_of(REST_VISITS.id, "This hair has carried slices at the last visits and must rest.".into(), at));
    }
    let case = slice_case(request, &at.piece, zone);
    let slice = choose_slice(&case, request.rules).unwrap_or_else(|none| {
        faults.push(why::no_slice_fault(&none));
        judge_slice(&case, none.window.most.max(Length::mm(0.5)).min(Length::mm(20.0)), request.rules)
    });
    let open = Open { level: 0, kind: 0, along: at.along.to_mm(), zone, part, hidden, slice, rested };
    let mut site = Site {
        id: String::new(),
        row: 0,
        part,
        side: side_of(middle, at.along),
        zone,
        along: at.along,
        above_nape: at.above_nape,
        piece: at.piece,
        cut: at.piece.cut,
        slice,
        coverage,
        gaps,
        clearance: nearest.0,
        clearance_to: nearest.1,
        sigma: request.scalp.sigma_at(middle),
        ends,
        already_in: false,
        points: worth::points(&open, at.piece.cut, at.above_nape - request.limits.floors.nape, request.styles.len(), request.rules),
        why: Vec::new(),
    };
    site.why = why::reasons(request, &site, setting, false);
    Some(site)
}

fn side_of(middle: SkinPoint, along: Length) -> Side {
    if along.abs().to_mm() < 0.5 {
        Side::Centre
    } else if middle.0[0] < 0.0 {
        Side::Left
    } else {
        Side::Right
    }
}
