//! What lies under the sites: skin, neck, ears, hairlines, the lines of the
//! sections, the crown, the ties and the regions kept free.

use super::super::marks::{kept_free, numbered, turn_of_hair};
use super::super::pen::{Anchor, EAR, FAINT, INK, QUIET, SKIN, SMALL, TEXT, Text, WIDTH, Weight, text};
use super::line::{Line, Spot, apart};
use super::sheet::{Frame, Subject};
use crate::map::pen::inside;
use crate::svg::{Ending, Svg, coordinate, path_through};
use crate::words::spoken;
use craft::coverage::Style;
use salon::plan::MapPair;

/// Draws everything that the rows are drawn over.
pub(crate) fn draw(svg: &mut Svg, subject: &Subject<'_>, frame: &Frame) {
    let map = subject.map;
    svg.open("g", &[("id", "head"), ("stroke-linejoin", "round"), ("stroke-linecap", "round")]);
    neck(svg, &frame.spots(&map.nape_hairline), frame.scale);
    let mut skin = frame.spots(&map.nape_hairline);
    skin.extend(frame.spots(&map.front_hairline).into_iter().rev());
    svg.empty("path", &[("d", &path_through(&skin, Ending::Closed)), ("fill", SKIN)]);
    for region in &map.kept_free {
        kept_free(svg, &frame.spots(&region.outline), &region.reason);
    }
    for ear in [&map.left_ear, &map.right_ear] {
        let outline = path_through(&frame.spots(ear), Ending::Closed);
        svg.empty("path", &[("d", &outline), ("fill", EAR), ("stroke", QUIET), ("stroke-width", "0.4")]);
    }
    for hairline in [&map.nape_hairline, &map.front_hairline] {
        let path = path_through(&frame.spots(hairline), Ending::Open);
        svg.empty("path", &[("d", &path), ("fill", "none"), ("stroke", INK), ("stroke-width", "0.55")]);
    }
    for (line, dashes) in [(&map.midline, "3 0.9 0.5 0.9"), (&map.ear_to_ear, "1.8 1.2")] {
        let path = path_through(&frame.spots(line), Ending::Open);
        svg.empty(
            "path",
            &[
                ("d", &path),
                ("fill", "none"),
                ("stroke", QUIET),
                ("stroke-width", "0.32"),
                ("stroke-dasharray", dashes),
                ("stroke-linecap", "butt"),
            ],
        );
    }
    for (style, pair) in ties_worn(subject) {
        tie(svg, frame.spot(pair), &spoken(style.word()));
    }
    svg.close();
}

/// Where the hair is tied, for the styles that she wears: those that the bonds
/// were hidden in.
pub(crate) fn ties_worn(subject: &Subject<'_>) -> impl Iterator<Item = (Style, MapPair)> {
    let worn = |style: &Style| subject.sites.iter().any(|site| site.coverage.contains_key(style));
    subject.map.ties.iter().filter(move |(style, _)| worn(style)).map(|(style, pair)| (*style, *pair))
}

/// Two calm lines of a neck below the nape hairline, to say which way is down.
fn neck(svg: &mut Svg, hairline: &[Spot], scale: f64) {
    let Some(line) = Line::through(hairline.iter().copied()) else { return };
    let middle = (line.start()[0] + line.end()[0]) / 2.0;
    for side in [-1.0, 1.0] {
        // A neck is about 110 mm wide at the hairline: half of it to either side.
        let (top, _) = line.at(line.nearest([middle + side * 55.0 * scale, line.start()[1].max(line.end()[1])]));
        let inwards = -side * 5.0 * scale;
        let d = format!(
            "M{} {}C{} {} {} {} {} {}",
            coordinate(top[0]),
            coordinate(top[1]),
            coordinate(top[0] + inwards),
            coordinate(top[1] + 5.0 * scale),
            coordinate(top[0] + inwards),
            coordinate(top[1] + 14.0 * scale),
            coordinate(top[0] + inwards * 0.4),
            coordinate(top[1] + 20.0 * scale),
        );
        svg.empty("path", &[("d", &d), ("fill", "none"), ("stroke", FAINT), ("stroke-width", "0.45")]);
    }
}

/// Names the landmarks, over the sites so that nothing hides them.
pub(crate) fn label(svg: &mut Svg, subject: &Subject<'_>, frame: &Frame) {
    svg.open("g", &[("id", "landmarks")]);
    let map = subject.map;
    ear(svg, &frame.spots(&map.left_ear), "client’s", "left ear");
    ear(svg, &frame.spots(&map.right_ear), "client’s", "right ear");
    let quiet = |at, anchor| Text { at, size: SMALL, anchor, weight: Weight::Plain, colour: QUIET };
    if let Some(line) = Line::through(frame.spots(&map.nape_hairline)) {
        let low = lowest(line.spots());
        text(svg, quiet([low[0], low[1] + 4.2], Anchor::Middle), "nape hairline (0 mm)");
    }
    if let Some(line) = Line::through(frame.spots(&map.front_hairline)) {
        let (top, _) = line.at(line.length() / 2.0);
        text(svg, quiet([top[0], top[1] - 1.6], Anchor::Middle), "front hairline");
    }
    if let Some(line) = Line::through(frame.spots(&map.ear_to_ear)) {
        let at = clearest(&line, &sites_on_page(subject, frame));
        text(svg, quiet([at[0], at[1] + 1.0], Anchor::Middle), "ear to ear");
    }
    if let Some(line) = Line::through(frame.spots(&map.midline)) {
        // The upper end, whichever way the line runs: the sites stand lower.
        let share = if line.start()[1] < line.end()[1] { 0.08 } else { 0.92 };
        let (at, _) = line.at(line.length() * share);
        text(svg, quiet([at[0] + 1.5, at[1] + 1.0], Anchor::Start), "midline");
    }
    crown(svg, frame.spot(map.crown));
    for (number, region) in numbered_regions(subject) {
        if let Some(inside) = inside(&frame.spots(&region.outline)) {
            numbered(svg, inside, &number.to_string());
        }
    }
    svg.close();
}

/// The kept-free regions with the number of their reason: equal reasons share one.
pub(crate) fn numbered_regions<'a>(subject: &'a Subject<'_>) -> Vec<(usize, &'a salon::plan::KeptFree)> {
    let reasons = reasons(subject);
    subject.map.kept_free.iter().map(|region| (reasons.iter().position(|r| *r == region.reason).map_or(0, |i| i + 1), region)).collect()
}

/// The reasons for keeping regions free, each once.
pub(crate) fn reasons<'a>(subject: &'a Subject<'_>) -> Vec<&'a str> {
    let mut reasons: Vec<&str> = Vec::new();
    for region in &subject.map.kept_free {
        if !reasons.contains(&region.reason.as_str()) {
            reasons.push(&region.reason);
        }
    }
    reasons
}

fn sites_on_page(subject: &Subject<'_>, frame: &Frame) -> Vec<Spot> {
    subject.sites.iter().flat_map(|site| frame.spots(&site.map_mm)).collect()
}

/// The place on a line that lies farthest from all sites, its ends left out.
fn clearest(line: &Line, sites: &[Spot]) -> Spot {
    let free = |spot: Spot| sites.iter().map(|site| apart(*site, spot)).fold(f64::INFINITY, f64::min);
    (3..=17)
        .map(|step| line.at(line.length() * f64::from(step) / 20.0).0)
        .reduce(|best, spot| if free(spot) > free(best) { spot } else { best })
        .unwrap_or_else(|| line.start())
}

fn ear(svg: &mut Svg, outline: &[Spot], first: &str, second: &str) {
    if outline.is_empty() {
        return;
    }
    let low = lowest(outline);
    let middle = outline.iter().map(|s| s[0]).sum::<f64>() / outline.len() as f64;
    let x = middle.clamp(9.0, WIDTH - 9.0);
    for (line, words) in [first, second].into_iter().enumerate() {
        let how =
            Text { at: [x, low[1] + 4.2 + 3.7 * line as f64], size: TEXT, anchor: Anchor::Middle, weight: Weight::Plain, colour: INK };
        text(svg, how, words);
    }
}

fn tie(svg: &mut Svg, at: Spot, name: &str) {
    if !(at[0].is_finite() && at[1].is_finite()) {
        return;
    }
    svg.open("g", &[("class", "tie")]);
    svg.element("title", &[], &format!("Where the hair is tied: {name}"));
    tie_mark(svg, at);
    svg.close();
}

/// The mark of a place where the hair is tied: a ring with a bar through it.
pub(crate) fn tie_mark(svg: &mut Svg, at: Spot) {
    let (x, y) = (coordinate(at[0]), coordinate(at[1]));
    let ring = "M-2.3 0A2.3 2.3 0 1 1 2.3 0A2.3 2.3 0 1 1 -2.3 0M-3.6 0H-2.3M2.3 0H3.6";
    svg.empty(
        "path",
        &[("d", ring), ("transform", &format!("translate({x} {y})")), ("fill", "none"), ("stroke", INK), ("stroke-width", "0.4")],
    );
}

/// The crown, with its name.
fn crown(svg: &mut Svg, at: Spot) {
    if !(at[0].is_finite() && at[1].is_finite()) {
        return;
    }
    turn_of_hair(svg, at);
    text(svg, Text { at: [at[0] + 4.0, at[1] + 1.1], size: TEXT, anchor: Anchor::Start, weight: Weight::Plain, colour: INK }, "crown");
}

fn lowest(spots: &[Spot]) -> Spot {
    spots.iter().copied().reduce(|a, b| if b[1] > a[1] { b } else { a }).unwrap_or([0.0, 0.0])
}
