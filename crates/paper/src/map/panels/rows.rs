//! The lines of the rows with their ticks and readings, and the sandwiches
//! under them.

use super::super::marks::{self, Tab};
use super::super::pen::{Anchor, FAINT, INK, PAPER, QUIET, SMALL, Spot, TEXT, Text, WIDTH, Weight, letters, rimmed, shade_of, text};
use super::super::spread::spread;
use super::sheet::{Frame, LEAD, RIM, Subject, quiet, wide};
use crate::svg::{Ending, Svg, coordinate, path_through};
use ::head::Panel;
use craft::placement::Degree;
use measure::Length;
use measure::text::millimetres;
use salon::plan::{MapPair, RowPlan, SitePlan};

/// A row as drawn: a level line on the page.
struct Drawn<'a> {
    row: &'a RowPlan,
    /// Its ends, left to right.
    ends: [Spot; 2],
}

/// How large the marks of a sandwich are drawn.
#[derive(Clone, Copy)]
struct Sizes {
    tab: f64,
    name: f64,
    /// From the tab's lower edge to the name's foot line.
    drop: f64,
}

impl Sizes {
    fn least(self, other: Option<Self>) -> Self {
        other.filter(|other| other.tab < self.tab).unwrap_or(self)
    }
}

/// A stretch of the page that something stands on.
#[derive(Clone, Copy)]
struct Taken {
    low: Spot,
    high: Spot,
}

impl Taken {
    fn meets(&self, other: &Self) -> bool {
        (0..2).all(|axis| self.low[axis] < other.high[axis] && other.low[axis] < self.high[axis])
    }
}

/// A sandwich with its place on the page.
struct Set<'a> {
    site: &'a SitePlan,
    middle: Spot,
    /// Half its tab's width.
    half: f64,
    words: String,
    /// How far the name is moved aside from the tab's middle.
    aside: f64,
}

/// Width of the widest reading at the edge of the sheet.
pub(super) fn widest_label(subject: &Subject<'_>) -> f64 {
    let rows = subject.rows(Panel::Back);
    rows.iter()
        .map(|(row, _)| wide(&end_label(row), TEXT, Weight::Plain).max(wide(&start_label(row), TEXT, Weight::Plain)))
        .fold(18.0, f64::max)
}

/// How far from the middle of the sheet the ear-to-ear lines stand at least, so
/// that the readings of both sides stand between them.
pub(super) fn side_labels(subject: &Subject<'_>) -> f64 {
    let both = [Panel::Left, Panel::Right].into_iter().flat_map(|panel| subject.rows(panel));
    both.map(|(row, _)| wide(&start_label(row), TEXT, Weight::Plain)).fold(17.0, f64::max) + 2.0
}

fn start_label(row: &RowPlan) -> String {
    let line = row.line();
    format!("{} · {}", line.number, millimetres(line.start))
}

fn end_label(row: &RowPlan) -> String {
    let line = row.line();
    match line.end {
        Some(_) => format!("{} · {}", line.number, line.end_short()),
        None => line.number.to_string(),
    }
}

/// Draws lines, ticks, readings and sandwiches of one panel.
pub(super) fn draw(svg: &mut Svg, subject: &Subject<'_>, panel: Panel, frame: &Frame) {
    let rows = drawn(subject, panel, frame);
    svg.open("g", &[("class", "rows"), ("fill", "none")]);
    for row in &rows {
        let path = path_through(&row.ends, Ending::Open);
        let number = row.row.row.to_string();
        svg.empty("path", &[("d", &path), ("class", "row-line"), ("data-row", &number), ("stroke", QUIET), ("stroke-width", "0.32")]);
        ticks(svg, panel, row, frame);
    }
    svg.close();
    // Both sides are drawn alike.
    let other = match panel {
        Panel::Back => None,
        Panel::Left => Some(Panel::Right),
        Panel::Right => Some(Panel::Left),
    };
    let sizes = sizes(&rows).least(other.map(|other| self::sizes(&drawn(subject, other, frame))));
    let sets = sets(subject, panel, frame, &rows, sizes);
    count_ticks(svg, panel, frame, &rows, &sets, sizes);
    svg.open("g", &[("class", "sites")]);
    for set in &sets {
        sandwich(svg, subject, set, sizes);
    }
    svg.close();
    svg.open("g", &[("class", "readings")]);
    match panel {
        Panel::Back => back_readings(svg, &rows, frame),
        Panel::Left | Panel::Right => side_readings(svg, panel, &rows, frame),
    }
    // Once, between both sides, over the higher of their highest rows.
    if panel == Panel::Right {
        let both = [Panel::Left, Panel::Right].into_iter().flat_map(|side| subject.rows(side));
        if let Some(highest) = both.map(|(_, height)| frame.spot([0.0, height])[1]).reduce(f64::min) {
            for (line, words) in ["row · start, up the", "ear-to-ear line from", "the top of the ear"].into_iter().enumerate() {
                text(svg, quiet([WIDTH / 2.0, highest - 12.4 + 3.6 * line as f64], Anchor::Middle), words);
            }
        }
    }
    svg.close();
}

fn drawn<'a>(subject: &Subject<'a>, panel: Panel, frame: &Frame) -> Vec<Drawn<'a>> {
    subject
        .rows(panel)
        .into_iter()
        .map(|(row, height)| {
            let reach = match panel {
                Panel::Back => row.length.to_mm() / 2.0,
                // A side's line is drawn as far as its panel's edge: beyond, only the shape is shown.
                Panel::Left | Panel::Right => row.length.to_mm().min(edge_at(&subject.panels.get(panel).edge, height)),
            };
            let reach = if reach.is_finite() { reach } else { 0.0 };
            let ends = match panel {
                Panel::Back => [-reach, reach],
                Panel::Left => [-reach, 0.0],
                Panel::Right => [0.0, reach],
            };
            Drawn { row, ends: ends.map(|x| frame.spot([x, height])) }
        })
        .collect()
}

/// How far aside an outline reaches at a height.
fn edge_at(edge: &[MapPair], height: f64) -> f64 {
    let cuts = (0..edge.len()).filter_map(|i| {
        let (a, b) = (edge[i], edge[(i + 1) % edge.len()]);
        ((a[1] > height) != (b[1] > height)).then(|| (a[0] + (height - a[1]) * (b[0] - a[0]) / (b[1] - a[1])).abs())
    });
    // The first time the skin ends: above it the outline may come back.
    let beyond: Vec<f64> = cuts.filter(|cut| *cut > 5.0).collect();
    beyond.into_iter().reduce(f64::min).unwrap_or(f64::INFINITY)
}

/// Tab and name share the room between two lines.
fn sizes(rows: &[Drawn<'_>]) -> Sizes {
    let mut heights: Vec<f64> = rows.iter().map(|row| row.ends[0][1]).collect();
    heights.sort_by(f64::total_cmp);
    let room = heights.windows(2).map(|pair| pair[1] - pair[0]).filter(|gap| *gap > 0.5).fold(12.0, f64::min);
    let name = (room * 0.29).clamp(SMALL, 3.2);
    // A letter stands three quarters of its size high; half a millimetre each
    // goes to the bars under the tab and to the line below.
    let drop = name * 0.74 + if room > 8.0 { 1.5 } else { 1.0 };
    Sizes { tab: (room - drop - 0.7).clamp(1.8, 4.6), name, drop }
}

fn sets<'a>(subject: &Subject<'a>, panel: Panel, frame: &Frame, rows: &[Drawn<'_>], sizes: Sizes) -> Vec<Set<'a>> {
    let mut sets: Vec<Set<'a>> = subject
        .sites(panel)
        .filter_map(|site| {
            let middle = middle(site, panel, frame, rows);
            let words = format!("{} {}", site.site, letters(site, subject.shades));
            let half = site.width.to_mm() * frame.scale / 2.0;
            (middle[0].is_finite() && middle[1].is_finite() && half.is_finite()).then_some(Set { site, middle, half, words, aside: 0.0 })
        })
        .collect();
    // Names of one line keep clear of each other.
    let lines: std::collections::BTreeSet<u32> = sets.iter().map(|set| set.site.row).collect();
    for line in lines {
        let of_line: Vec<usize> = (0..sets.len()).filter(|i| sets[*i].site.row == line).collect();
        let wanted: Vec<f64> = of_line.iter().map(|i| sets[*i].middle[0]).collect();
        let extents: Vec<f64> = of_line.iter().map(|i| wide(&sets[*i].words, sizes.name, Weight::Bold) + 0.8).collect();
        for (at, (i, placed)) in of_line.iter().zip(spread(&wanted, &extents)).enumerate() {
            sets[*i].aside = placed - wanted[at];
        }
        if panel != Panel::Back {
            clear_of_axis(&mut sets, &of_line, &extents, frame.origin[0]);
        }
    }
    sets
}

/// At a side no name lies over the ear-to-ear line: the first is moved outward,
/// and those after it where they must.
fn clear_of_axis(sets: &mut [Set<'_>], of_line: &[usize], extents: &[f64], axis: f64) {
    let out = |set: &Set<'_>| (set.middle[0] + set.aside - axis).abs();
    let mut order: Vec<usize> = (0..of_line.len()).collect();
    order.sort_by(|a, b| out(&sets[of_line[*a]]).total_cmp(&out(&sets[of_line[*b]])));
    let mut from = 0.3;
    for at in order {
        let set = &mut sets[of_line[at]];
        let away = if set.middle[0] < axis { -1.0 } else { 1.0 };
        let centre = ((set.middle[0] + set.aside - axis) * away).max(from + extents[at] / 2.0);
        set.aside = axis + away * centre - set.middle[0];
        from = centre + extents[at] / 2.0;
    }
}

/// The middle of a tab's upper edge: along its line exactly as a tape reads it.
fn middle(site: &SitePlan, panel: Panel, frame: &Frame, rows: &[Drawn<'_>]) -> Spot {
    let drawn = site.map_mm.map(|pair| frame.spot(pair));
    let height = rows.iter().find(|row| row.row.row == site.row).map_or(drawn[0][1], |row| row.ends[0][1]);
    let along = match (panel, site.from_line.map(Length::to_mm)) {
        (Panel::Back, _) => frame.spot([site.along.to_mm(), 0.0])[0],
        (Panel::Left, Some(mm)) => frame.spot([-mm, 0.0])[0],
        (Panel::Right, Some(mm)) => frame.spot([mm, 0.0])[0],
        (_, None) => f64::midpoint(drawn[0][0], drawn[1][0]),
    };
    [along, height]
}

/// A tick every 10 mm above the line, a longer one every 50.
fn ticks(svg: &mut Svg, panel: Panel, row: &Drawn<'_>, frame: &Frame) {
    let mut path = String::new();
    for mm in tick_places(panel, row, frame, 10) {
        let x = frame.origin[0] + frame.scale * f64::from(mm);
        let long = if mm % 50 == 0 { 1.5 } else { 0.8 };
        path.push_str(&path_through(&[[x, row.ends[0][1]], [x, row.ends[0][1] - long]], Ending::Open));
    }
    if !path.is_empty() {
        svg.empty("path", &[("d", &path), ("stroke", QUIET), ("stroke-width", "0.22")]);
    }
}

/// Distances in steps that lie on a row's line.
fn tick_places(panel: Panel, row: &Drawn<'_>, frame: &Frame, step: i32) -> Vec<i32> {
    let on_line = |mm: &i32| {
        let x = frame.origin[0] + frame.scale * f64::from(*mm);
        *mm != 0 && x >= row.ends[0][0] - 1e-6 && x <= row.ends[1][0] + 1e-6
    };
    let steps = if panel == Panel::Back { -40..=40 } else { -20..=20 };
    steps.map(|k| k * step).filter(on_line).collect()
}

/// Writes 50 and 100 over the tick of whichever line has room there, once each.
fn count_ticks(svg: &mut Svg, panel: Panel, frame: &Frame, rows: &[Drawn<'_>], sets: &[Set<'_>], sizes: Sizes) {
    let mut taken: Vec<Taken> = sets.iter().flat_map(|set| patches(set, sizes)).collect();
    taken.extend(rows.iter().map(|row| Taken { low: [row.ends[0][0], row.ends[0][1] - 0.4], high: row.ends[1] }));
    let mut longest: Vec<&Drawn<'_>> = rows.iter().collect();
    longest.sort_by(|a, b| (b.ends[1][0] - b.ends[0][0]).total_cmp(&(a.ends[1][0] - a.ends[0][0])));
    let mut told = std::collections::BTreeSet::new();
    for row in longest {
        for mm in tick_places(panel, row, frame, 50) {
            let x = frame.origin[0] + frame.scale * f64::from(mm);
            let words = mm.abs().to_string();
            let half = wide(&words, SMALL, Weight::Plain) / 2.0;
            let foot = row.ends[0][1] - 2.0;
            let patch = Taken { low: [x - half - 0.3, foot - SMALL * 0.74], high: [x + half + 0.3, foot + 0.2] };
            if !told.contains(&mm) && taken.iter().all(|other| !patch.meets(other)) {
                told.insert(mm);
                text(svg, quiet([x, foot], Anchor::Middle), &words);
            }
        }
    }
}

/// What a sandwich stands on: its tab and its name.
fn patches(set: &Set<'_>, sizes: Sizes) -> [Taken; 2] {
    let [x, y] = set.middle;
    let name = wide(&set.words, sizes.name, Weight::Bold) / 2.0 + 0.9;
    let below = y + sizes.tab + sizes.drop;
    [
        Taken { low: [x - set.half, y], high: [x + set.half, y + sizes.tab] },
        Taken { low: [x + set.aside - name, below - sizes.name * 0.74], high: [x + set.aside + name, below + 0.2] },
    ]
}

/// A sandwich under its line, as wide as its tab, with its marks and its name.
fn sandwich(svg: &mut Svg, subject: &Subject<'_>, set: &Set<'_>, sizes: Sizes) {
    let site = set.site;
    let place = format!("translate({} {})", coordinate(set.middle[0]), coordinate(set.middle[1]));
    let name = site.site.to_string();
    svg.open("g", &[("class", "site"), ("data-site", &name), ("transform", &place)]);
    svg.element("title", &[], &marks::spoken_site(subject.plan, site, subject.shades));
    let over = shade_of(subject.shades, &site.piece.shade);
    let under = site.piece.under_shade.as_ref().and_then(|code| shade_of(subject.shades, code));
    let tab = Tab { left: -set.half, right: set.half, top: 0.0, height: sizes.tab };
    marks::tab(svg, tab, over, under);
    let marked = |degree| subject.plan.degree_at(site.site, degree);
    if subject.plan.set_by_hand.as_ref().is_some_and(|set| set.sites.contains(&site.site)) {
        standing(svg, tab);
    }
    if marked(Degree::MayShow) {
        may_show(svg, [0.0, sizes.tab / 2.0], sizes.tab);
    }
    if marked(Degree::Heavy) {
        heavy(svg, tab);
    }
    let below = [set.aside, sizes.tab + sizes.drop];
    let how = Text { at: below, size: sizes.name, anchor: Anchor::Middle, weight: Weight::Bold, colour: INK };
    rimmed(svg, how, "0.7", &set.words);
    svg.close();
}

/// The mark of a bond that may show: a small open triangle on the tab.
pub(super) fn may_show(svg: &mut Svg, at: Spot, tab: f64) {
    let high = (tab * 0.72).min(2.7);
    let d = format!(
        "M{} {}l{} {}h{}Z",
        coordinate(at[0]),
        coordinate(at[1] - high / 2.0),
        coordinate(high * 0.6),
        coordinate(high),
        coordinate(-1.2 * high)
    );
    svg.empty(
        "path",
        &[("d", &d), ("class", "may-show"), ("fill", PAPER), ("stroke", INK), ("stroke-width", "0.35"), ("stroke-linejoin", "round")],
    );
}

/// The mark of a slice that carries more than usual: two bars under the tab.
pub(super) fn heavy(svg: &mut Svg, tab: Tab) {
    let wide = tab.right - tab.left;
    let (from, low) = (tab.left + wide * 0.2, tab.top + tab.height);
    let bar = |down: f64| format!("M{} {}h{}", coordinate(from), coordinate(low + down), coordinate(wide * 0.6));
    let d = format!("{}{}", bar(0.5), bar(1.05));
    svg.empty("path", &[("d", &d), ("class", "heavy"), ("fill", "none"), ("stroke", INK), ("stroke-width", "0.3")]);
}

/// The mark of a sandwich that stood already or was set by hand: a second edge.
pub(super) fn standing(svg: &mut Svg, tab: Tab) {
    let d = format!(
        "M{} {}V{}H{}V{}",
        coordinate(tab.left - 0.7),
        coordinate(tab.top),
        coordinate(tab.top + tab.height + 0.2),
        coordinate(tab.right + 0.7),
        coordinate(tab.top)
    );
    svg.empty("path", &[("d", &d), ("class", "standing"), ("fill", "none"), ("stroke", INK), ("stroke-width", "0.4")]);
}

/// Start and end of every line of the back, at the two edges of the sheet.
fn back_readings(svg: &mut Svg, rows: &[Drawn<'_>], frame: &Frame) {
    let wanted: Vec<f64> = rows.iter().map(|row| row.ends[0][1] + 1.1).collect();
    let placed = spread(&wanted, &vec![TEXT + 0.7; wanted.len()]);
    for (row, y) in rows.iter().zip(&placed) {
        for (end, anchor, x, words) in [(0, Anchor::Start, RIM, start_label(row.row)), (1, Anchor::End, WIDTH - RIM, end_label(row.row))] {
            let label = wide(&words, TEXT, Weight::Plain);
            let inner = if end == 0 { x + label } else { x - label };
            lead(svg, [inner, y - 1.1], row.ends[end]);
            text(svg, Text { at: [x, *y], size: TEXT, anchor, weight: Weight::Plain, colour: INK }, &words);
        }
    }
    let Some(highest) = placed.iter().copied().reduce(f64::min) else {
        text(svg, quiet([frame.origin[0], frame.origin[1] - 40.0 * frame.scale], Anchor::Middle), "no sandwich at the back");
        return;
    };
    let heads = [
        (RIM, Anchor::Start, ["row · start, up the", "middle from the nape"]),
        (WIDTH - RIM, Anchor::End, ["row · end, from the", "top of the ear"]),
    ];
    for (x, anchor, lines) in heads {
        for (line, words) in lines.into_iter().enumerate() {
            text(svg, quiet([x, highest - 9.5 + 3.6 * line as f64], anchor), words);
        }
    }
}

fn lead(svg: &mut Svg, from: Spot, to: Spot) {
    let path = path_through(&[from, to], Ending::Open);
    svg.empty(
        "path",
        &[
            ("d", &path),
            ("fill", "none"),
            ("stroke", FAINT),
            ("stroke-width", "0.2"),
            ("stroke-dasharray", "0.2 0.9"),
            ("stroke-linecap", "round"),
        ],
    );
}

/// Start of every line of a side beside the ear-to-ear line, its end before the
/// hairline.
fn side_readings(svg: &mut Svg, panel: Panel, rows: &[Drawn<'_>], frame: &Frame) {
    let (start, away) = if panel == Panel::Left { (1, 1.0) } else { (0, -1.0) };
    let (near, far) = if panel == Panel::Left { (Anchor::Start, Anchor::End) } else { (Anchor::End, Anchor::Start) };
    let wanted: Vec<f64> = rows.iter().map(|row| row.ends[0][1] + 1.1).collect();
    let placed = spread(&wanted, &vec![TEXT + 0.7; wanted.len()]);
    for (row, y) in rows.iter().zip(&placed) {
        let x = row.ends[start][0] + away * 1.4;
        text(svg, Text { at: [x, *y], size: TEXT, anchor: near, weight: Weight::Plain, colour: INK }, &start_label(row.row));
        let line = row.row.line();
        if line.end.is_some() {
            let x = row.ends[1 - start][0] - away * LEAD;
            text(svg, Text { at: [x, *y], size: TEXT, anchor: far, weight: Weight::Plain, colour: INK }, &line.end_short());
        }
    }
    let Some((lowest, y)) = rows.iter().zip(&placed).reduce(|a, b| if b.1 > a.1 { b } else { a }) else {
        text(svg, quiet(frame.spot([-away * 34.0, 30.0]), Anchor::Middle), "no sandwich here");
        return;
    };
    if lowest.row.line().end.is_some() {
        let x = lowest.ends[1 - start][0] - away * LEAD;
        for (line, words) in ["hairline from", "front of ear"].into_iter().enumerate() {
            text(svg, quiet([x, y + 4.6 + 3.4 * line as f64], far), words);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::edge_at;

    #[test]
    fn a_line_ends_where_the_skin_first_ends() {
        // A square whose right edge is 20 aside, with a bay at half height.
        let edge = [[0.0, 0.0], [20.0, 0.0], [20.0, 4.0], [12.0, 5.0], [20.0, 6.0], [20.0, 10.0], [0.0, 10.0]];
        assert_eq!((edge_at(&edge, 2.0), edge_at(&edge, 5.0)), (20.0, 12.0));
        assert!(edge_at(&edge, 11.0).is_infinite());
    }
}
