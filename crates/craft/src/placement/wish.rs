//! How the wish is spread over the head.

use super::limits::{Open, Survey};
use super::rules::{ROW_SPACING, TAB_GAP};
use super::site::{HeadPart, Request, Wish};
use crate::piece::Cut;
use head::Zone;
use measure::Grams;

/// The zones a wish is kept account of: nape, back, left, right.
pub const ZONES: usize = 4;

/// The zone of a place.
pub fn zone_of(zone: Zone, part: HeadPart) -> usize {
    match part {
        HeadPart::Left => 2,
        HeadPart::Right => 3,
        HeadPart::Back if zone == Zone::Nape => 0,
        HeadPart::Back => 1,
    }
}

/// Grams wanted in each zone.
pub type Split = [f64; ZONES];

/// What lies in each zone already.
pub fn placed(request: &Request) -> Split {
    let mut grams = [0.0; ZONES];
    for placed in &request.placed {
        let point = request.scalp.line(placed.above_nape).and_then(|line| line.at(placed.along));
        if let Some(p) = point {
            let zone = zone_of(request.scalp.zone(p), super::limits::part_of(request.scalp.is_behind_ears(p), p));
            grams[zone] += placed.piece.hanging_mass(request.setting).to_g();
        }
    }
    grams
}

/// About how many grams each zone has room for: the length of parting that is
/// open, row by row, filled tab to tab.
pub fn room(request: &Request, survey: &Survey) -> Split {
    let gap = request.rules.value(&TAB_GAP);
    let spacing = request.rules.value(&ROW_SPACING);
    let mut room = [0.0; ZONES];
    // Every place stands for its share of its parting, and every parting for
    // its share of the height between two rows.
    for pair in survey.levels.windows(2).enumerate().map(|(i, w)| (i, (w[1].line.above_nape() - w[0].line.above_nape()).to_mm())) {
        let (level, height) = pair;
        let mut tabs: Vec<_> = survey.open.iter().filter(|o| o.level == level).collect();
        tabs.sort_by(|a, b| a.along.total_cmp(&b.along));
        let mut per_mm: f64 = 0.0;
        for open in &tabs {
            let kind = &survey.kinds[open.kind];
            per_mm = per_mm.max(kind.piece.hanging_mass(request.setting).to_g() / (2.0 * kind.tab_half + gap));
        }
        // From either side in turn: where tabs of two zones overlap, each zone
        // has half of it, so that the mirror image has the mirrored room.
        let one = swept(survey, tabs.iter().copied(), 1.0);
        let other = swept(survey, tabs.iter().rev().copied(), -1.0);
        let length: Split = std::array::from_fn(|z| (one[z] + other[z]) / 2.0);
        for z in 0..ZONES {
            room[z] += length[z] * per_mm * (height / spacing).min(1.0);
        }
    }
    room
}

/// The length of parting that tabs cover, by zone, met in this order; what an
/// earlier tab covers is not counted again.
fn swept<'o>(survey: &Survey, tabs: impl Iterator<Item = &'o Open>, sign: f64) -> Split {
    let mut length = [0.0; ZONES];
    let mut reached = f64::NEG_INFINITY;
    for open in tabs {
        let half = survey.kinds[open.kind].tab_half;
        let (from, to) = (sign * open.along - half, sign * open.along + half);
        length[zone_of(open.zone, open.part)] += (to - from.max(reached)).max(0.0);
        reached = reached.max(to);
    }
    length
}

/// The wish by zone, what is placed already taken off.
pub fn split(request: &Request, survey: &Survey) -> Split {
    let there = placed(request);
    match request.wish {
        Wish::Parts { nape, back, left, right } => {
            let wanted = [nape, back, left, right].map(Grams::to_g);
            std::array::from_fn(|z| (wanted[z] - there[z]).max(0.0))
        }
        Wish::Total(total) => {
            let room = room(request, survey);
            let sum: f64 = room.iter().sum();
            let missing = (total.to_g() - there.iter().sum::<f64>()).max(0.0);
            if sum <= 0.0 {
                return [0.0; ZONES];
            }
            in_sandwiches(request, survey, room.map(|r| missing * r / sum))
        }
    }
}

/// Rounds shares to whole sandwiches of the lightest uncut kind, both sides
/// alike when they were nearly so; the back takes up the difference.
fn in_sandwiches(request: &Request, survey: &Survey, shares: Split) -> Split {
    let whole = survey
        .kinds
        .iter()
        .filter(|kind| kind.piece.cut == Cut::Full)
        .map(|kind| kind.piece.hanging_mass(request.setting).to_g())
        .fold(f64::INFINITY, f64::min);
    if !whole.is_finite() {
        return shares;
    }
    let total: f64 = shares.iter().sum();
    let mut rounded = shares.map(|share| (share / whole).round() * whole);
    if (shares[2] - shares[3]).abs() < whole {
        let side = ((shares[2] + shares[3]) / 2.0 / whole).round() * whole;
        rounded[2] = side;
        rounded[3] = side;
    }
    rounded[1] = (total - rounded[0] - rounded[2] - rounded[3]).max(0.0);
    rounded
}
