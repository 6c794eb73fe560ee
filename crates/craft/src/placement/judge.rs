//! Judging one sandwich where it is, or where somebody would move it.

use super::apart::{Apart, Tab};
use super::care::{Caution, Degree, Floor};
use super::part::HeadPart;
use super::rules::{BOW, WORTH_REST};
use super::scalp::{COMB_STEP_MM, Line};
use super::site::{Fault, Placed, Request, RowSetting, Site, place_of};
use super::site_id::SiteId;
use super::survey::{Keeps, Open, is_left_out, least_depth, nearness, rest_refuses, rested, slice_case};
use super::{why, worth};
use crate::coverage::{FINE_OR_TIED, Style, THRESHOLD, chance_of_showing, gaps_seen};
use crate::load::{LOAD_END, STATIC_LIMIT, TUG_LIMIT, choose_slice, judge_slice};
use crate::words::Message;
use head::{Border, Side, SkinPoint, Zone};
use measure::Length;
use measure::text::{fixed, millimetres, whole};
use serde::Serialize;
use std::collections::BTreeMap;

/// What is to be said of a sandwich at a place.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SiteJudgement {
    /// The site with its numbers; nothing when the place is off the parting.
    pub site: Option<Site>,
    /// Every floor it breaks, with its cure; none when it may stand there.
    pub faults: Vec<Fault>,
}

impl SiteJudgement {
    /// Whether the sandwich may stand there.
    #[must_use]
    pub fn is_allowed(&self) -> bool {
        self.site.is_some() && self.faults.is_empty()
    }
}

/// Judges a sandwich at a place, beside the sandwiches already placed.
///
/// *Meaning*: everything is looked up exactly, at the ends and along the whole
/// bond; the same floors hold as for a plan. The sandwich that is being moved
/// must not be among the placed ones.
///
/// ```
/// # mod client { include!(concat!(env!("CARGO_MANIFEST_DIR"), "/examples/shared/client.rs")); }
/// use craft::placement::{Placed, judge};
/// use measure::Length;
/// let client = client::Client::new();
/// let request = client.request(30.0);
/// let at = |up| Placed { above_nape: Length::mm(up), along: Length::mm(30.0), piece: request.pieces[0] };
/// assert!(!judge(&request, &at(2.0)).is_allowed(), "on the nape hairline");
/// ```
#[must_use]
pub fn judge(request: &Request, at: &Placed) -> SiteJudgement {
    Beside::of(request).judge(at)
}

/// The sandwiches already placed, made ready once to judge many places beside them.
///
/// ```
/// # mod client { include!(concat!(env!("CARGO_MANIFEST_DIR"), "/examples/shared/client.rs")); }
/// use craft::placement::{Beside, Placed, Request};
/// use measure::Length;
/// let client = client::Client::new();
/// let piece = client.request(30.0).pieces[0];
/// let at = |along| Placed { above_nape: Length::mm(70.0), along: Length::mm(along), piece };
/// let request = Request { placed: vec![at(30.0)], ..client.request(30.0) };
/// let beside = Beside::of(&request);
/// assert!(!beside.leaves_room(&at(35.0)) && beside.leaves_room(&at(-30.0)));
/// ```
pub struct Beside<'a> {
    request: &'a Request<'a>,
    apart: Apart<'a>,
    others: Vec<Tab>,
}

impl<'a> Beside<'a> {
    /// The sandwiches that a request names as placed.
    #[must_use]
    pub fn of(request: &'a Request<'a>) -> Self {
        // It is asked by pages, which know every place to a tenth.
        let apart = Apart::as_told(request);
        let others = request.placed.iter().filter_map(|placed| apart.tab(placed)).collect();
        Self { request, apart, others }
    }

    /// Whether the others leave room for a sandwich: gaps, rows and brick alone,
    /// which is a thousandth of the work of judging the place itself.
    #[must_use]
    pub fn leaves_room(&self, at: &Placed) -> bool {
        self.apart.tab(at).is_some_and(|tab| self.apart.breaks(&tab, &self.others).is_empty())
    }

    /// Judges a sandwich at a place, as [`judge`] does.
    #[must_use]
    pub fn judge(&self, at: &Placed) -> SiteJudgement {
        let (Some(line), Some(tab)) = (self.apart.line(at.above_nape.to_mm()), self.apart.tab(at)) else {
            let what = Message::NoPartingStarts { up: millimetres(at.above_nape) };
            return SiteJudgement { site: None, faults: vec![fault(Floor::BareSkin, Some(what), at)] };
        };
        let rows = Apart::rows(self.others.iter().chain([&tab]).copied(), tab.part);
        let setting = rows
            .iter()
            .position(|row| (row.up - tab.up).abs() < super::apart::ONE_PARTING_MM)
            .map_or(RowSetting::SideBySide, |index| self.apart.setting(&rows, index, tab.part));
        let (site, floors) = site_at(self.request, at, &line, setting);
        let mut faults: Vec<Fault> = floors.into_iter().map(|floor| fault(floor, shown_when(floor, site.as_ref()), at)).collect();
        if site.is_none() && faults.is_empty() {
            faults.push(fault(Floor::BareSkin, Some(Message::TabBeyondParting), at));
        }
        faults.extend(self.apart.breaks(&tab, &self.others).into_iter().map(|floor| fault(floor, None, at)));
        SiteJudgement { site, faults }
    }
}

/// The style in which a bond shows most, in words.
fn shown_when(floor: Floor, site: Option<&Site>) -> Option<Message> {
    if floor != Floor::Shows {
        return None;
    }
    let (style, _) = site?.coverage.iter().min_by(|a, b| a.1.total_cmp(b.1))?;
    Some(Message::LikelyShows { style: style.words().to_owned() })
}

fn fault(floor: Floor, what: Option<Message>, at: &Placed) -> Fault {
    let fault = Fault::of_floor(floor, place_of(at.above_nape, at.along));
    match what {
        Some(what) => Fault { what: what.to_string(), ..fault },
        None => fault,
    }
}

/// The site of a sandwich with exact numbers, and the floors it breaks by
/// itself. No site when its tab reaches beyond the parting.
pub fn site_at(request: &Request, at: &Placed, line: &Line, setting: RowSetting) -> (Option<Site>, Vec<Floor>) {
    let mut floors = Vec::new();
    let site = look(request, at, line, setting, &mut floors);
    floors.sort_unstable();
    floors.dedup();
    (site, floors)
}

fn look(request: &Request, at: &Placed, line: &Line, setting: RowSetting, floors: &mut Vec<Floor>) -> Option<Site> {
    let tab_half = at.piece.tab.width / 2.0;
    let slice_half = at.piece.tab.slice_length(request.rules) / 2.0;
    let part = line.part_at(at.along);
    let ends = [line.at(at.along - slice_half)?, line.at(at.along + slice_half)?];
    let middle = line.at(at.along)?;
    let (nearest, near) = along_the_tab(request, at, line, part, floors)?;
    if crosses_a_line(request, at, line, part) {
        floors.push(Floor::SectionLine);
    }
    if line.bow(at.along, tab_half)?.to_mm() > request.rules.value(&BOW) {
        floors.push(Floor::Bow);
    }
    let (depth, coverage, gaps) = hidden(request, at, ends);
    if depth < least_depth(request.rules) {
        floors.push(Floor::Shows);
    }
    let chance = if request.styles.is_empty() { 0.0 } else { chance_of_showing(depth, request.rules) };
    let zone = request.scalp.zone(middle);
    let rested = rested(request, at.above_nape, at.along.to_mm(), slice_half.to_mm());
    if rest_refuses(request, rested) {
        floors.push(Floor::Rest);
    }
    if is_left_out(request, at.above_nape, at.along.to_mm(), slice_half.to_mm()) {
        floors.push(Floor::PassedOver);
    }
    let case = slice_case(request, &at.piece, zone);
    let slice = choose_slice(&case, request.rules).unwrap_or_else(|none| {
        floors.push(Floor::TooHeavy);
        judge_slice(&case, none.window.most, request.rules)
    });
    let open = Open { part, depth, chance, slice, rested, near };
    let mut site = Site {
        id: SiteId::ASKED,
        row: 0,
        part,
        from_line: match part {
            HeadPart::Back => at.along.abs(),
            HeadPart::Left | HeadPart::Right => at.along.abs() - line.section(),
        },
        side: side_of(middle, at.along),
        zone,
        along: at.along,
        above_nape: at.above_nape,
        piece: at.piece,
        cut: at.piece.cut,
        slice,
        coverage,
        chance,
        cautions: Vec::new(),
        gaps,
        clearance: nearest.0,
        clearance_to: nearest.1,
        sigma: request.scalp.sigma_at(middle),
        ends,
        already_in: false,
        points: worth::points(&open, at.piece.cut, at.above_nape - request.limits.floors.nape, request.rules),
        why: Vec::new(),
    };
    site.cautions = cautions(request, &site, &open);
    site.why = why::reasons(request, &site, setting, false);
    Some(site)
}

/// The border that a tab comes nearest to and how far it stays clear of it, and how much
/// nearer than wished it lies to any; what keeps places under it free is added to the floors.
fn along_the_tab(request: &Request, at: &Placed, line: &Line, part: HeadPart, floors: &mut Vec<Floor>) -> Option<((Length, Border), f64)> {
    let mut nearest = (Length::mm(f64::INFINITY), Border::NapeHairline);
    let mut near: f64 = 0.0;
    let keeps = Keeps::of(request);
    let steps = (at.piece.tab.width.to_mm() / COMB_STEP_MM).ceil().max(1.0);
    for i in 0..=steps as usize {
        let p = line.at(at.along - at.piece.tab.width / 2.0 + at.piece.tab.width * (i as f64 / steps))?;
        let here = request.scalp.whereabouts(p);
        for (border, clear) in Border::ALL.into_iter().zip(here.clearances) {
            if clear < nearest.0 {
                nearest = (clear, border);
            }
        }
        near = near.max(nearness(request, here.clearances));
        floors.extend(keeps.refuse(request, at.above_nape, part, p, &here));
    }
    Some((nearest, near))
}

/// How deep a bond lies under the hair where it is hidden least, and, style by style, how
/// much of it is covered and how many gaps are seen.
fn hidden(request: &Request, at: &Placed, ends: [SkinPoint; 2]) -> (f64, BTreeMap<Style, f64>, BTreeMap<Style, f64>) {
    let mut depth = f64::INFINITY;
    let (mut coverage, mut gaps) = (BTreeMap::new(), BTreeMap::new());
    for style in &request.styles {
        let covering = style.worst_over_bond((ends[0], ends[1]));
        coverage.insert(style.style(), covering.coverage);
        gaps.insert(style.style(), gaps_seen(&covering, at.piece.tab.width, request.rules));
        depth = depth.min(covering.optical_depth);
    }
    (depth, coverage, gaps)
}

/// Whether a tab lies across the sectioning line, or across the middle where
/// that is not wanted.
fn crosses_a_line(request: &Request, at: &Placed, line: &Line, part: HeadPart) -> bool {
    /// Places that come back from a plan or a page are told to a tenth, mm.
    const HAIR: f64 = 0.06;
    let (near, far) = {
        let (a, m) = (at.along.abs().to_mm(), at.piece.tab.width.to_mm() / 2.0);
        (a - m, a + m)
    };
    let section = line.section().to_mm();
    match part {
        HeadPart::Back => far > section + HAIR || (near < -HAIR && !request.limits.across_middle),
        HeadPart::Left | HeadPart::Right => near < section - HAIR,
    }
}

/// What the models say of a site that may stand.
fn cautions(request: &Request, site: &Site, open: &Open) -> Vec<Caution> {
    let rules = request.rules;
    let mut cautions = Vec::new();
    let mut say = |degree, rule, what: Message| cautions.push(Caution { site: None, what: what.to_string(), rule, degree });
    if site.chance >= request.limits.care.marked_from(rules) {
        let style = site.coverage.iter().min_by(|a, b| a.1.total_cmp(b.1)).map_or("", |(style, _)| style.words());
        say(Degree::MayShow, THRESHOLD.id, Message::MayShow { style: style.to_owned(), chances: whole(100.0 * site.chance) });
    }
    if open.slice.strain > 1.0 + 1e-9 {
        let rule = if open.slice.traction.hanging >= open.slice.traction.tug { STATIC_LIMIT.id } else { TUG_LIMIT.id };
        say(Degree::Heavy, rule, Message::CarriesMuch { times: fixed(open.slice.strain, 1), end: fixed(rules.value(&LOAD_END), 1) });
    }
    if open.near > 0.3 {
        say(
            Degree::Watch,
            FINE_OR_TIED.id,
            Message::LittleClearance { free: millimetres(site.clearance), border: why::border(site.clearance_to).to_owned() },
        );
    }
    if open.rested[0] {
        say(Degree::Watch, WORTH_REST.id, Message::DoesNotRest);
    }
    cautions
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

/// A zone for a row of sites: that of the first.
pub fn zone_of(sites: &[Site]) -> Zone {
    sites.first().map_or(Zone::Occipital, |site| site.zone)
}
