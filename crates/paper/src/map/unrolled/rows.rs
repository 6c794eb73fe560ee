//! Partings with their ticks and heights, and the sandwiches under them.

use super::super::marks::{self, Tab};
use super::super::pen::{Anchor, FAINT, INK, QUIET, SMALL, TEXT, Text, WIDTH, Weight, letters, rimmed, shade_of, text};
use super::super::spread::spread;
use super::line::{Line, Ruler, Spot};
use super::sheet::{Frame, Subject};
use crate::svg::{Ending, Svg, coordinate, path_through};
use measure::Angle;
use measure::real::atan2;
use measure::text::number;
use salon::plan::{RowPlan, SitePlan};

/// One parting as drawn, with the row that stands along it.
struct Parting<'a> {
    row: &'a RowPlan,
    line: Line,
    ruler: Option<Ruler>,
}

impl Parting<'_> {
    /// Its place at a distance from the midline, where it reaches so far.
    fn spot(&self, along: f64) -> Option<Spot> {
        self.spot_and_way(along).map(|(spot, _)| spot)
    }

    /// The same with the direction in which the parting runs there.
    fn spot_and_way(&self, along: f64) -> Option<(Spot, [f64; 2])> {
        self.ruler.as_ref()?.run(along).map(|run| self.line.at(run))
    }
}

/// How large the marks of a sandwich are drawn.
#[derive(Clone, Copy)]
struct Sizes {
    tab: f64,
    name: f64,
}

/// Names every guide once, beside whichever of its partings leaves most room.
fn name_guides(svg: &mut Svg, partings: &[Parting<'_>], taken: &[Spot]) {
    for step in 1..=4 {
        for along in [-50.0 * f64::from(step), 50.0 * f64::from(step)] {
            let room = |spot: Spot| taken.iter().map(|other| super::line::apart(*other, spot)).fold(f64::INFINITY, f64::min);
            let places = partings.iter().filter_map(|p| p.spot_and_way(along)).flat_map(|(spot, way)| {
                // Above the ticks, or below where a sandwich would hang.
                [-3.5, 11.0].map(|off| [spot[0] - way[1] * off, spot[1] + way[0] * off])
            });
            let Some(at) = places.reduce(|best, spot| if room(spot) > room(best) { spot } else { best }) else { continue };
            let how = Text { at: [at[0], at[1] + 1.0], size: SMALL, anchor: Anchor::Middle, weight: Weight::Plain, colour: QUIET };
            text(svg, how, &measure::text::millimetres(measure::Length::mm(along.abs())));
        }
    }
}

/// Where each parting starts, so far up the midline, wherever no sandwich and
/// its name are in the way; the run sheet has them all.
fn heights_on_midline(svg: &mut Svg, partings: &[Parting<'_>], taken: &[Spot]) {
    for parting in partings {
        let Some((spot, _)) = parting.spot_and_way(0.0) else { continue };
        let at = [spot[0] + 1.0, spot[1] - 1.6];
        let words = measure::text::millimetres(parting.row.up_the_middle());
        let middle = [at[0] + 3.5, at[1] - 1.0];
        if taken.iter().all(|other| (other[0] - middle[0]).abs() > 9.0 || (other[1] - middle[1]).abs() > 3.4) {
            text(svg, Text { at, size: SMALL, anchor: Anchor::Start, weight: Weight::Plain, colour: QUIET }, &words);
        }
    }
}

/// What a name would hide: crown, ears, the front hairline, and spots along
/// every sandwich, on its tab and under its name.
fn taken(subject: &Subject<'_>, frame: &Frame, sizes: Sizes) -> Vec<Spot> {
    let mut spots = vec![frame.spot(subject.map.crown)];
    spots.extend(frame.spots(&subject.map.left_ear));
    spots.extend(frame.spots(&subject.map.right_ear));
    spots.extend(frame.spots(&subject.map.front_hairline));
    for site in subject.sites {
        let [a, b] = site.map_mm.map(|pair| frame.spot(pair));
        let drawn = super::line::apart(a, b).max(1e-9);
        let down = [(a[1] - b[1]) / drawn, (b[0] - a[0]) / drawn];
        for share in [0.0, 0.5, 1.0] {
            for depth in [sizes.tab / 2.0, sizes.tab + sizes.name * 0.6] {
                let on = |i: usize| a[i] + (b[i] - a[i]) * share + down[i] * depth;
                spots.push([on(0), on(1)]);
            }
        }
    }
    spots
}

/// Draws partings, guides, ticks, sandwiches and the heights at the edges.
pub(crate) fn draw(svg: &mut Svg, subject: &Subject<'_>, frame: &Frame) {
    let partings = partings(subject, frame);
    svg.open("g", &[("id", "partings"), ("fill", "none")]);
    guides(svg, &partings);
    for parting in &partings {
        let path = path_through(parting.line.spots(), Ending::Open);
        svg.empty("path", &[("d", &path), ("stroke", QUIET), ("stroke-width", "0.32")]);
        ticks(svg, parting);
    }
    svg.close();
    let sizes = sizes(subject.rows, frame);
    let taken = taken(subject, frame, sizes);
    name_guides(svg, &partings, &taken);
    svg.open("g", &[("id", "sites")]);
    for site in subject.sites {
        sandwich(svg, subject, frame, site, sizes);
    }
    svg.close();
    svg.open("g", &[("id", "heights")]);
    heights_on_midline(svg, &partings, &taken);
    heights(svg, &partings);
    svg.close();
}

fn partings<'a>(subject: &Subject<'a>, frame: &Frame) -> Vec<Parting<'a>> {
    let midline = Line::through(frame.spots(&subject.map.midline));
    let mut found = Vec::new();
    for (row, pairs) in subject.rows.iter().zip(&subject.map.partings) {
        let mut spots = frame.spots(pairs);
        if spots.first().zip(spots.last()).is_some_and(|(a, b)| a[0] > b[0]) {
            spots.reverse();
        }
        let Some(line) = Line::through(spots) else { continue };
        let mut known: Vec<[f64; 2]> = subject
            .sites
            .iter()
            .filter(|site| site.row == row.row)
            .map(|site| [site.along.to_mm(), line.nearest(middle(frame, site))])
            .collect();
        known.extend(midline.as_ref().and_then(|m| line.crossing(m)).map(|run| [0.0, run]));
        let ruler = Ruler::new(&line, known, frame.scale);
        found.push(Parting { row, line, ruler });
    }
    found
}

fn middle(frame: &Frame, site: &SitePlan) -> Spot {
    let [a, b] = site.map_mm.map(|pair| frame.spot(pair));
    [(a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0]
}

/// Tab and name share the room between two partings.
fn sizes(rows: &[RowPlan], frame: &Frame) -> Sizes {
    let mut heights: Vec<f64> = rows.iter().map(|row| row.parting_above_nape.to_mm()).filter(|h| h.is_finite()).collect();
    heights.sort_by(f64::total_cmp);
    let closest = heights.windows(2).map(|pair| pair[1] - pair[0]).filter(|gap| *gap > 1.0).fold(20.0, f64::min);
    let room = closest * frame.scale;
    let name = (room * 0.48).clamp(SMALL, TEXT);
    Sizes { tab: (room - name - 1.0).clamp(2.0, 4.0), name }
}

/// Lines that join the places of equal distance from the midline.
fn guides(svg: &mut Svg, partings: &[Parting<'_>]) {
    for step in 1..=4 {
        for along in [-50.0 * f64::from(step), 50.0 * f64::from(step)] {
            let spots: Vec<Spot> = partings.iter().filter_map(|p| p.spot(along)).collect();
            let Some(line) = Line::through(spots) else { continue };
            let path = path_through(line.spots(), Ending::Open);
            svg.empty(
                "path",
                &[("d", &path), ("stroke", FAINT), ("stroke-width", "0.25"), ("stroke-dasharray", "0.3 1.1"), ("stroke-linecap", "round")],
            );
        }
    }
}

/// A tick every 10 mm above the parting, a longer one every 50.
fn ticks(svg: &mut Svg, parting: &Parting<'_>) {
    let Some(ruler) = &parting.ruler else { return };
    let mut path = String::new();
    for step in -40_i32..=40 {
        let Some(run) = ruler.run(f64::from(step * 10)) else { continue };
        let (spot, way) = parting.line.at(run);
        let long = if step % 5 == 0 { 1.5 } else { 0.8 };
        // Upwards on the page whichever way the line runs.
        let up = [way[1] * long, -way[0] * long];
        path.push_str(&path_through(&[spot, [spot[0] + up[0], spot[1] + up[1]]], Ending::Open));
    }
    if !path.is_empty() {
        svg.empty("path", &[("d", &path), ("stroke", QUIET), ("stroke-width", "0.22")]);
    }
}

/// A sandwich under its parting, as wide as its tab is on the map.
fn sandwich(svg: &mut Svg, subject: &Subject<'_>, frame: &Frame, site: &SitePlan, sizes: Sizes) {
    let [mut a, mut b] = site.map_mm.map(|pair| frame.spot(pair));
    if !(a.iter().chain(&b).all(|c| c.is_finite())) {
        return;
    }
    if a[0] > b[0] {
        std::mem::swap(&mut a, &mut b);
    }
    let drawn = super::line::apart(a, b);
    let local = if site.slice_width.to_mm() > 0.0 && drawn > 0.0 { drawn / site.slice_width.to_mm() } else { frame.scale };
    let half = site.width.to_mm() * local / 2.0;
    let centre = middle(frame, site);
    let turn = Angle::rad(atan2(b[1] - a[1], b[0] - a[0])).to_deg();
    let place = format!("translate({} {}) rotate({})", coordinate(centre[0]), coordinate(centre[1]), coordinate(turn));
    svg.open("g", &[("class", "site"), ("data-site", &site.site.to_string()), ("transform", &place)]);
    svg.element("title", &[], &marks::spoken_on_one_sheet(site, subject.shades));
    let over = shade_of(subject.shades, &site.piece.shade);
    let under = site.piece.under_shade.as_ref().and_then(|code| shade_of(subject.shades, code));
    marks::tab(svg, Tab { left: -half, right: half, top: 0.0, height: sizes.tab }, over, under);
    let below = [0.0, sizes.tab + sizes.name * 0.86];
    let words = format!("{} {}", site.site, letters(site, subject.shades));
    let how = Text { at: below, size: sizes.name, anchor: Anchor::Middle, weight: Weight::Bold, colour: INK };
    rimmed(svg, how, "0.8", &words);
    svg.close();
}

/// Row and height of every parting, at both edges of the sheet.
fn heights(svg: &mut Svg, partings: &[Parting<'_>]) {
    for edge in [Edge::Left, Edge::Right] {
        let wanted: Vec<Spot> = partings.iter().map(|p| if edge == Edge::Left { p.line.start() } else { p.line.end() }).collect();
        let placed = spread(&wanted.iter().map(|spot| spot[1] + 1.1).collect::<Vec<_>>(), &vec![TEXT + 0.7; wanted.len()]);
        for ((parting, spot), y) in partings.iter().zip(wanted).zip(placed) {
            let (x, anchor, inner) = match edge {
                Edge::Left => (0.5, Anchor::Start, 17.5),
                Edge::Right => (WIDTH - 0.5, Anchor::End, WIDTH - 17.5),
            };
            let lead = path_through(&[[inner, y - 1.1], spot], Ending::Open);
            svg.empty(
                "path",
                &[
                    ("d", &lead),
                    ("fill", "none"),
                    ("stroke", FAINT),
                    ("stroke-width", "0.2"),
                    ("stroke-dasharray", "0.2 0.9"),
                    ("stroke-linecap", "round"),
                ],
            );
            let how = Text { at: [x, y], size: TEXT, anchor, weight: Weight::Plain, colour: INK };
            let reading = if edge == Edge::Left { parting.row.parting_above_nape.to_mm() } else { parting.row.up_the_middle().to_mm() };
            text(svg, how, &format!("{} · {} mm", parting.row.row, number(reading, 0)));
        }
    }
    if let Some(highest) = partings.iter().flat_map(|p| [p.line.start()[1], p.line.end()[1]]).reduce(f64::min) {
        let heads = [(0.5, Anchor::Start, ["row · mm from", "nape hairline"]), (WIDTH - 0.5, Anchor::End, ["row · mm up", "the midline"])];
        for (x, anchor, lines) in heads {
            for (line, words) in lines.into_iter().enumerate() {
                let y = highest - 10.0 + 3.2 * line as f64;
                text(svg, Text { at: [x, y], size: SMALL, anchor, weight: Weight::Plain, colour: QUIET }, words);
            }
        }
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Edge {
    Left,
    Right,
}
