//! What lies under the rows: skin, hairline, ears, neck, and the forehead that
//! says where the face is.

use super::super::marks::{kept_free, numbered, turn_of_hair};
use super::super::pen::{Anchor, EAR, FAINT, INK, QUIET, SKIN, SMALL, Spot, Text, Weight, text};
use super::sheet::{Extent, Frame, Subject, quiet};
use crate::map::pen::inside;
use crate::svg::{Ending, Svg, coordinate, path_through};
use crate::words::spoken;
use ::head::Panel;
use craft::coverage::Style;
use salon::plan::MapPair;

/// The forehead and the root of the nose before the hairline's middle, in parts
/// of the way from the ear-to-ear line to there: enough to say where the face
/// is, and no more of a face than that.
const FOREHEAD: [MapPair; 10] = [
    [0.0, 0.0],
    [0.085, -0.12],
    [0.135, -0.28],
    [0.15, -0.44],
    [0.15, -0.52],
    [0.118, -0.6],
    [0.125, -0.7],
    [0.185, -0.83],
    [0.24, -0.95],
    [0.262, -1.02],
];

/// How far a side reaches with the forehead drawn before it.
pub(super) fn face_reach(reach: f64) -> f64 {
    reach * 1.27
}

/// Writes what fades the forehead out downward.
pub(super) fn define(svg: &mut Svg) {
    svg.open("defs", &[]);
    svg.open("linearGradient", &[("id", "fading"), ("x1", "0"), ("y1", "0"), ("x2", "0"), ("y2", "1")]);
    for (offset, opacity) in [("0", "1"), ("0.6", "0.9"), ("1", "0")] {
        svg.empty("stop", &[("offset", offset), ("stop-color", FAINT), ("stop-opacity", opacity)]);
    }
    svg.close();
    svg.close();
}

/// Draws everything that the rows are drawn over.
pub(super) fn draw(svg: &mut Svg, subject: &Subject<'_>, panel: Panel, frame: &Frame) {
    let lines = subject.panels.get(panel);
    let edge = frame.spots(&lines.edge);
    let outline = path_through(&edge, Ending::Closed);
    svg.open("g", &[("class", "head"), ("stroke-linejoin", "round"), ("stroke-linecap", "round")]);
    match panel {
        Panel::Back => neck(svg, &lines.edge, frame),
        Panel::Left | Panel::Right => forehead(svg, &lines.edge, frame),
    }
    svg.empty("path", &[("d", &outline), ("fill", SKIN)]);
    for region in &lines.kept_free {
        kept_free(svg, &frame.spots(&region.outline), &region.reason);
    }
    svg.empty("path", &[("d", &outline), ("fill", "none"), ("stroke", INK), ("stroke-width", "0.55")]);
    for ear in &lines.ears {
        let outline = path_through(&frame.spots(ear), Ending::Closed);
        svg.empty("path", &[("d", &outline), ("fill", EAR), ("stroke", QUIET), ("stroke-width", "0.4")]);
    }
    if panel == Panel::Back {
        let axis = path_through(&frame.spots(&lines.axis), Ending::Open);
        svg.empty(
            "path",
            &[
                ("d", &axis),
                ("fill", "none"),
                ("stroke", QUIET),
                ("stroke-width", "0.32"),
                ("stroke-dasharray", "3 0.9 0.5 0.9"),
                ("stroke-linecap", "butt"),
            ],
        );
    }
    for (style, pair) in ties_worn(subject, panel) {
        let at = frame.spot(pair);
        if at[0].is_finite() && at[1].is_finite() {
            svg.open("g", &[("class", "tie")]);
            svg.element("title", &[], &format!("Where the hair is tied: {}", spoken(style.word())));
            tie_mark(svg, at);
            svg.close();
        }
    }
    svg.close();
}

/// Where the hair is tied, for the styles that she wears: those that the bonds
/// were hidden in.
pub(super) fn ties_worn(subject: &Subject<'_>, panel: Panel) -> impl Iterator<Item = (Style, MapPair)> {
    let worn = |style: &Style| subject.plan.sites.iter().any(|site| site.coverage.contains_key(style));
    subject.panels.get(panel).ties.iter().filter(move |(style, _)| worn(style)).map(|(style, pair)| (*style, *pair))
}

/// The mark of a place where the hair is tied: a ring with a bar through it.
pub(super) fn tie_mark(svg: &mut Svg, at: Spot) {
    let place = format!("translate({} {})", coordinate(at[0]), coordinate(at[1]));
    let ring = "M-1.5 0A1.5 1.5 0 1 1 1.5 0A1.5 1.5 0 1 1 -1.5 0M-2.6 0H-1.5M1.5 0H2.6";
    svg.empty("path", &[("d", ring), ("transform", &place), ("fill", "none"), ("stroke", INK), ("stroke-width", "0.35")]);
}

/// Two calm lines of a neck, from where the nape hairline turns up.
fn neck(svg: &mut Svg, edge: &[MapPair], frame: &Frame) {
    let low = Extent::of(edge.iter().copied()).low[1];
    // The corner of the nape: as far aside as the hairline stays low.
    let corner = edge.iter().filter(|p| p[1] < low + 6.0).map(|p| p[0].abs()).fold(0.0, f64::max);
    let Some(height) = edge.iter().filter(|p| (p[0].abs() - corner).abs() < 1e-9).map(|p| p[1]).reduce(f64::min) else { return };
    for side in [-1.0, 1.0] {
        let [x, y] = frame.spot([side * corner, height]);
        let step = |mm: f64| coordinate(mm * frame.scale);
        let d = format!(
            "M{} {}c{} {} {} {} {} {}",
            coordinate(x),
            coordinate(y),
            step(-side),
            step(6.0),
            step(side * -1.5),
            step(12.0),
            step(side * -0.5),
            step(20.0)
        );
        svg.empty("path", &[("d", &d), ("fill", "none"), ("stroke", FAINT), ("stroke-width", "0.45")]);
    }
}

/// The forehead, from the hairline's middle down to the root of the nose.
fn forehead(svg: &mut Svg, edge: &[MapPair], frame: &Frame) {
    let Some(front) =
        edge.iter().copied().filter(|p| p[0].is_finite() && p[1].is_finite()).reduce(|a, b| if b[0].abs() > a[0].abs() { b } else { a })
    else {
        return;
    };
    let pairs: Vec<MapPair> = FOREHEAD.iter().map(|part| [front[0] * (1.0 + part[0]), front[1] + front[0].abs() * part[1]]).collect();
    svg.empty("path", &[("d", &smooth(&frame.spots(&pairs))), ("fill", "none"), ("stroke", "url(#fading)"), ("stroke-width", "0.45")]);
}

/// A smooth path through spots: each is passed in the direction of its
/// neighbours.
fn smooth(spots: &[Spot]) -> String {
    let Some(first) = spots.first() else { return String::new() };
    let mut d = format!("M{} {}", coordinate(first[0]), coordinate(first[1]));
    let way = |i: usize| {
        let (a, b) = (spots[i.saturating_sub(1)], spots[(i + 1).min(spots.len() - 1)]);
        [(b[0] - a[0]) / 6.0, (b[1] - a[1]) / 6.0]
    };
    for i in 1..spots.len() {
        let (from, to, out, into) = (spots[i - 1], spots[i], way(i - 1), way(i));
        let at = |x: f64, y: f64| format!("{} {}", coordinate(x), coordinate(y));
        d.push_str(&format!("C{} {} {}", at(from[0] + out[0], from[1] + out[1]), at(to[0] - into[0], to[1] - into[1]), at(to[0], to[1])));
    }
    d
}

/// The reasons for keeping regions free, each once.
pub(super) fn reasons<'a>(subject: &Subject<'a>) -> Vec<&'a str> {
    let mut reasons: Vec<&str> = Vec::new();
    for panel in super::sheet::PANELS {
        for region in &subject.panels.get(panel).kept_free {
            if !reasons.contains(&region.reason.as_str()) {
                reasons.push(&region.reason);
            }
        }
    }
    reasons
}

/// Names the landmarks, over the sites so that nothing hides them.
pub(super) fn label(svg: &mut Svg, subject: &Subject<'_>, panel: Panel, frame: &Frame) {
    let lines = subject.panels.get(panel);
    let extent = Extent::of(lines.edge.iter().copied());
    if panel == Panel::Back {
        let [_, low] = frame.spot(extent.low);
        let [middle, _] = frame.spot([0.0; 2]);
        text(svg, quiet([middle, low + 3.9], Anchor::Middle), "nape hairline, 0 mm");
        if let Some(crown) = lines.crown.filter(|p| p[0].is_finite() && p[1].is_finite()) {
            self::crown(svg, frame.spot(crown));
            let [_, top] = frame.spot(extent.high);
            let [x, y] = frame.spot([0.0, crown[1]]);
            // A third of the way down from the top, where the head is wide enough.
            let at = top + 0.62 * (y - top);
            text(svg, quiet([x, at - 1.9], Anchor::Middle), "nothing set here,");
            text(svg, quiet([x, at + 1.5], Anchor::Middle), "shape only");
        }
    } else if lines.edge.len() > 2 {
        // Between the highest row and the top.
        let rows = subject.rows(panel).into_iter().map(|(_, height)| height);
        let from = rows.chain(lines.shape_only_from).fold(f64::NEG_INFINITY, f64::max);
        let up = if from.is_finite() { from + 0.6 * (extent.high[1] - from) } else { extent.high[1] * 0.8 };
        let reach = if panel == Panel::Left { extent.low[0] } else { extent.high[0] };
        let at = frame.spot([reach * 0.22, up.min(extent.high[1] - 6.0 / frame.scale)]);
        text(svg, quiet([at[0], at[1] + 1.0], Anchor::Middle), "top: left free");
    }
    let numbers = reasons(subject);
    for region in &lines.kept_free {
        let number = numbers.iter().position(|reason| *reason == region.reason).map_or(0, |i| i + 1);
        if let Some(at) = inside(&frame.spots(&region.outline)) {
            numbered(svg, at, &number.to_string());
        }
    }
}

/// The crown, with its name.
fn crown(svg: &mut Svg, at: Spot) {
    turn_of_hair(svg, at);
    let how = Text { at: [at[0] + 4.2, at[1] + 0.9], size: SMALL, anchor: Anchor::Start, weight: Weight::Plain, colour: INK };
    text(svg, how, "crown");
}
