//! Nothing left behind: a slow and plain search for one more sandwich.
//!
//! Every section, every 2 mm of height, every 2 mm along and close up to every
//! neighbour, on the rows that stand and between them, whole and half. A place
//! counts as open only when it keeps every floor with a millimetre and a half to
//! spare, so that a place at its very edge is nobody's fault; the benchmark
//! counts those with less to spare too. What hides it and what its slice bears come
//! from the traced flow of each style and the load on a slice, and are held
//! against the ends beyond which nobody sets one: more likely to show than not,
//! or 1.6 times the usual load.

use super::Complaint;
use super::means::Means;
use super::panel::Figures;
use super::seen::{Section, Seen, SeenRow, View, margin};
use super::skin::Line;
use head::{SkinPoint, Zone};

/// Steps of the search, up and along, mm.
const STEP: f64 = 2.0;
/// To spare on every floor and spacing, mm, before a place counts as left behind.
pub const SPARE: f64 = 1.5;
/// To spare for the strictest search, mm: less than nothing by what rounding
/// takes, so that a place packed to the last tenth is found too. Some that it
/// finds may lie a hair beyond a limit; it is counted, never asserted.
pub const HARDLY: f64 = -0.05;
/// The skin slack that every floor is kept with, mm (the project's own rule).
const SLACK: f64 = 1.0;
/// A border nearer than this has been crossed, mm.
const CROSSED: f64 = 4.0;
/// A depth at which a bond shows as likely as not, 3 (1/9)^(1/5), and a little.
const SHOWS_AS_LIKELY: f64 = 1.933 * 1.02;
/// A slice bears at most so many times the usual load, and a little less.
const BEARS: f64 = 1.6 * 0.97;
/// A level line's steepest side rows: the horseshoe line lies where the skin
/// faces 45 degrees up; kept clear by about a millimetre and a half.
const HORSESHOE: f64 = 0.695;
/// Bow under a tab, less a little, mm.
const BOW: f64 = 4.7;
/// Enough places to tell of.
const ENOUGH: usize = 3;

/// A place where one more sandwich could stand.
#[derive(Debug, Clone)]
pub struct Open {
    section: Section,
    reading: f64,
    on_a_row: bool,
    s: f64,
    from_line: f64,
    half: bool,
    depth: f64,
    hanging: f64,
    tug: f64,
    thick: f64,
    spare: f64,
    zone: Zone,
}

impl std::fmt::Display for Open {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Self { section, reading, s, from_line, depth, hanging, tug, thick, spare, zone, .. } = self;
        let cut = if self.half { "half" } else { "whole" };
        let row = if self.on_a_row { "the row" } else { "a new row" };
        write!(
            f,
            "{section:?}, {row} {reading:.1} mm up, {from_line:.1} mm from its line (s {s:.1}), {cut}, {zone:?}: depth {depth:.2}, \
             hanging {hanging:.2} and tug {tug:.2} of their limits at {thick:.1} mm, {spare:.1} mm to spare at the borders"
        )
    }
}

/// Places that a plan which falls short of its wish has left open.
pub fn complaints(view: &mut View) -> Result<Vec<Complaint>, Complaint> {
    let figures = Figures::of(&view.trial.plan)?;
    // On a head whose sides are alike one more is one more on either side.
    let at_once = if view.trial.client.is_mirrored() { 2.0 } else { 1.0 };
    if figures.wished > 0.0 && figures.short() < at_once * figures.smallest {
        return Ok(Vec::new());
    }
    let short = if figures.wished > 0.0 { format!("{:.1} g short", figures.short()) } else { "nothing placed".to_owned() };
    let found = search(view, if figures.wished > 0.0 { figures.short() / at_once } else { f64::INFINITY }, SPARE)?;
    Ok(found.iter().map(|open| Complaint::new("open", format!("{short}, and open: {open}"))).collect())
}

/// Searches every section for places that take a sandwich of at most so many
/// grams and keep so much to spare.
pub fn search(view: &mut View, room_g: f64, spare: f64) -> Result<Vec<Open>, Complaint> {
    let ways = Means::of(view, spare)?;
    let mut found = Vec::new();
    for section in Section::ALL {
        let rows: Vec<SeenRow> = view.rows_of(section).into_iter().cloned().collect();
        let mut heights: Vec<(f64, Option<usize>)> = rows.iter().enumerate().map(|(at, row)| (row.reading, Some(at))).collect();
        let (from, to) = if section == Section::Back { (24.0, 220.0) } else { (24.0, 130.0) };
        // Every so many millimetres, and close up to every row that stands.
        let apart = 12.0 + spare;
        let steps = (0..).map(|k| from + STEP * f64::from(k)).take_while(|reading| *reading <= to);
        let close = rows.iter().flat_map(|row| [row.reading - apart, row.reading + apart]).filter(|reading| (from..=to).contains(reading));
        for reading in steps.chain(close) {
            if rows.iter().all(|row| (row.reading - reading).abs() >= apart - 1e-6) {
                heights.push((reading, None));
            }
        }
        let mut here = Vec::new();
        for (reading, row) in heights {
            let level = match (row, section) {
                (Some(at), _) => Some(rows[at].level),
                (None, Section::Back) => view.skin.level_up(reading),
                (None, _) => view.skin.level_at_e(reading),
            };
            let Some(level) = level else { continue };
            if section == Section::Back && level > view.skin.crown_level - spare {
                continue;
            }
            look_along(view, &ways, section, (reading, level, row), &rows, room_g, &mut here);
            if here.len() >= ENOUGH {
                break;
            }
        }
        found.extend(here);
    }
    Ok(found)
}

/// The spare over the floors along the right half of a line, every `STEP` from
/// where the section begins; it ends where a border is crossed.
fn profile(view: &View, section: Section, line: &Line, (from, to): (f64, f64), kept: f64) -> Vec<f64> {
    let nape = if view.trial.client.bares_her_nape() { 38.0 } else { 25.0 };
    let mut spare = Vec::new();
    let mut s = from;
    while s <= to + 1e-9 {
        let p = line.at(s);
        let clear = view.skin.clear(p);
        if clear.iter().any(|far| *far < CROSSED) || (section != Section::Back && view.skin.faces_up(p) > HORSESHOE) {
            break;
        }
        let least = clear.iter().enumerate().map(|(edge, far)| far - if edge == 0 { nape } else { 25.0 } - SLACK - kept);
        spare.push(least.fold(f64::INFINITY, f64::min));
        s += STEP;
    }
    spare
}

fn look_along(
    view: &mut View,
    ways: &Means,
    section: Section,
    (reading, level, row): (f64, f64, Option<usize>),
    rows: &[SeenRow],
    room_g: f64,
    found: &mut Vec<Open>,
) {
    let line = view.line(level);
    let over_the_ear = line.passes(view.skin.ear_plane);
    let (from, to) = match (section, over_the_ear) {
        (Section::Back, passes) => (0.0, passes.unwrap_or(140.0)),
        (_, Some(passes)) => (passes, passes + 110.0),
        (_, None) => return,
    };
    let spare = profile(view, section, &line, (from, to), ways.spare);
    let room = rows.iter().map(|other| other.reading - reading).filter(|far| *far > 0.5).fold(f64::INFINITY, f64::min);
    for half in [true, false] {
        if ways.hangs() * if half { 0.5 } else { 1.0 } > room_g + 1e-6 {
            continue;
        }
        let tab_half = ways.whole.tab.width.to_mm() * if half { 0.25 } else { 0.5 };
        // Lines are cut exactly here: a few tenths clear of them are enough.
        let clear = ways.spare.clamp(0.0, 0.3);
        let begins = if section == Section::Back { 2.5 + clear } else { clear };
        let ends = if section == Section::Back && over_the_ear.is_some() { to - clear } else { to };
        let last = ends.min(from + last_free(&spare));
        for middle in middles(view, (row, rows), (from + begins, last), tab_half, 5.0 + ways.spare) {
            let least = least_spare(&spare, middle - tab_half - from, middle + tab_half - from);
            if let Some(least) = least.filter(|least| *least >= 0.0)
                && line.bow(middle - tab_half, middle + tab_half) <= BOW
            {
                for side in [-1.0, 1.0] {
                    if section == Section::Left && side > 0.0 || section == Section::Right && side < 0.0 {
                        continue;
                    }
                    let place = Place { section, reading, level, row, s: side * middle, tab_half, half };
                    if let Some(open) = judge(view, ways, &line, &place, rows, room, from, least) {
                        found.push(open);
                        if found.len() >= ENOUGH {
                            return;
                        }
                    }
                }
            }
        }
    }
}

/// The middles to try on either side of a row: every so many millimetres, and
/// close up to every tab that stands there.
fn middles(view: &View, (row, rows): (Option<usize>, &[SeenRow]), (from, to): (f64, f64), tab_half: f64, gap: f64) -> Vec<f64> {
    let steps = (0..).map(|k| from + tab_half + STEP * f64::from(k)).take_while(|middle| middle + tab_half <= to);
    let there = row.map_or(&[][..], |row| &rows[row].sites[..]);
    let close = there.iter().flat_map(|at| {
        let [near, far] = view.sites[*at].outward();
        [near - gap - tab_half, far + gap + tab_half]
    });
    let close = close.chain([to - tab_half]);
    let mut middles: Vec<f64> = steps.chain(close.filter(|middle| *middle >= from + tab_half && middle + tab_half <= to)).collect();
    middles.sort_by(f64::total_cmp);
    middles
}

/// The spare at a way along, straight between the steps; none beyond them.
fn spare_at(spare: &[f64], far: f64) -> Option<f64> {
    let at = far / STEP;
    let below = at.floor().max(0.0) as usize;
    let above = spare.get(below + 1)?;
    Some(spare[below] + (above - spare[below]) * (at - below as f64))
}

/// The last way along at which the floors are kept.
fn last_free(spare: &[f64]) -> f64 {
    let last = spare.iter().rposition(|here| *here >= 0.0).unwrap_or(0);
    let share = spare.get(last + 1).map_or(0.0, |next| spare[last] / (spare[last] - next).max(1e-9));
    STEP * (last as f64 + share.clamp(0.0, 1.0)) - 0.01
}

/// The least spare from one way along to another; none beyond what was looked at.
fn least_spare(spare: &[f64], from: f64, to: f64) -> Option<f64> {
    let (first, last) = ((from / STEP).ceil().max(0.0) as usize, (to / STEP).floor() as usize);
    let inside = spare.get(first..=last)?.iter().copied().fold(f64::INFINITY, f64::min);
    Some(inside.min(spare_at(spare, from)?).min(spare_at(spare, to)?))
}

/// A place to be judged.
struct Place {
    section: Section,
    reading: f64,
    level: f64,
    row: Option<usize>,
    s: f64,
    tab_half: f64,
    half: bool,
}

#[expect(clippy::too_many_arguments, reason = "a judge hears everything at once")]
fn judge(view: &mut View, ways: &Means, line: &Line, place: &Place, rows: &[SeenRow], room: f64, begins: f64, spare: f64) -> Option<Open> {
    if !is_free(view, place, rows, ways.spare) || !is_in_brick(view, place, rows, ways.spare) {
        return None;
    }
    let slice_half = place.tab_half - margin(place.half);
    let depth = ways.depth(line, [place.s - slice_half, place.s + slice_half]);
    if depth < SHOWS_AS_LIKELY {
        return None;
    }
    let zone = ways.head.zone(SkinPoint(line.at(place.s)));
    let (hanging, tug, thick) = ways.load(place.half, zone, room);
    if hanging > BEARS || tug > BEARS {
        return None;
    }
    Some(Open {
        section: place.section,
        reading: place.reading,
        on_a_row: place.row.is_some(),
        s: place.s,
        from_line: place.s.abs() - begins,
        half: place.half,
        depth,
        hanging,
        tug,
        thick,
        spare,
        zone,
    })
}

/// Whether the gaps are kept: along its row, and across the line from ear to ear.
fn is_free(view: &mut View, place: &Place, rows: &[SeenRow], spare: f64) -> bool {
    let gap = 5.0 + spare - 1e-6;
    let (from, to) = (place.s - place.tab_half - gap, place.s + place.tab_half + gap);
    if let Some(row) = place.row
        && rows[row].sites.iter().any(|at| view.sites[*at].tab[1] > from && view.sites[*at].tab[0] < to)
    {
        return false;
    }
    let beyond: Vec<Seen> = view
        .sites
        .iter()
        .filter(|site| (site.section == Section::Back) != (place.section == Section::Back))
        .filter(|site| site.side() == place.s.signum() && (site.level - place.level).abs() < 10.0 + spare)
        .cloned()
        .collect();
    let Some(mine) = view.line(place.level).passes(view.skin.ear_plane) else { return true };
    beyond.iter().all(|site| {
        let Some(theirs) = view.line(site.level).passes(view.skin.ear_plane) else { return true };
        let [near, far] = site.outward();
        let between = if place.section == Section::Back {
            mine - (place.s.abs() + place.tab_half) + near - theirs
        } else {
            place.s.abs() - place.tab_half - mine + theirs - far
        };
        between >= gap
    })
}

/// Whether brick holds after the place is taken: from the third row of its
/// section every middle stands aside of those on the row directly below.
fn is_in_brick(view: &mut View, place: &Place, rows: &[SeenRow], spare: f64) -> bool {
    // The rows as they would be, by reading: the middles of each.
    let mut after: Vec<(f64, f64, Vec<f64>)> =
        rows.iter().map(|row| (row.reading, row.level, row.sites.iter().map(|at| view.sites[*at].middle()).collect())).collect();
    let own = match place.row {
        Some(row) => {
            after[row].2.push(place.s);
            row
        }
        None => {
            let at = after.partition_point(|row| row.0 < place.reading);
            after.insert(at, (place.reading, place.level, vec![place.s]));
            at
        }
    };
    for upper in 2..after.len() {
        let lower = upper - 1;
        let concerned = upper == own || lower == own || place.row.is_none() && own < upper && upper == 2;
        if !concerned || after[upper].0 - after[lower].0 >= 40.0 + spare {
            continue;
        }
        for s in after[upper].2.clone() {
            // Only pairs that the new one makes, or that a new row turns into brick.
            let new_upper = upper == own && (place.row.is_none() || s == place.s);
            let foot = view.foot(after[upper].1, s, after[lower].1);
            let clash = after[lower].2.iter().any(|below| {
                let concerns = new_upper || (lower == own && (place.row.is_none() || *below == place.s)) || place.row.is_none();
                concerns && (foot - below).abs() < 10.0 + spare
            });
            if clash {
                return false;
            }
        }
    }
    true
}
