//! The head map: every site on the head seen from behind, unrolled flat.
//!
//! User units are millimetres on an A4 sheet. The head is drawn as large as the
//! legend leaves room for; tabs are to the scale of the map where they lie.

mod ground;
mod legend;
mod line;
mod marks;
mod rows;

pub(crate) use legend::HOW_TO_MEASURE;

use crate::shade::Shade;
use crate::svg::{Svg, coordinate};
use line::Spot;
use salon::plan::{MapPair, MapPlan, RowPlan, SitePlan};

/// Width of the drawing: A4 less margins of 10 mm.
pub(crate) const WIDTH: f64 = 190.0;
/// Height of the drawing: A4 less margins and a line of page number.
pub(crate) const HEIGHT: f64 = 265.0;
/// Room at the top for the title and the two sides' names.
const TOP: f64 = 27.0;
/// Room at either edge for the names of the rows.
const EDGE: f64 = 19.0;

/// Text on the map; at least 4.5 to 1 on white and on every ground below
/// (WCAG 2.2, 1.4.3; a test computes it).
pub(crate) const INK: &str = "#22201d";
/// Quieter text and the lines that are measured from.
pub(crate) const QUIET: &str = "#55504a";
/// Lines that only guide the eye.
pub(crate) const FAINT: &str = "#a39c93";
/// The hair-bearing skin.
pub(crate) const SKIN: &str = "#f7f4ef";
/// Ears and neck.
pub(crate) const EAR: &str = "#ece6dd";
/// Paper.
pub(crate) const PAPER: &str = "#ffffff";

/// The smallest text on the map: 8 pt on A4, 11 px on a tablet 768 px wide.
pub(crate) const SMALL: f64 = 2.85;
/// The usual size of text on the map.
pub(crate) const TEXT: f64 = 3.4;

/// What the map shows.
pub(crate) struct Subject<'a> {
    pub map: &'a MapPlan,
    pub rows: &'a [RowPlan],
    pub sites: &'a [SitePlan],
    pub shades: &'a [Shade],
}

/// How the head's millimetres fall on the page.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Frame {
    /// Page millimetres to one of the head.
    pub scale: f64,
    origin: Spot,
}

impl Frame {
    /// The largest frame that shows all of `map` in the room left above `floor`.
    fn fitting(subject: &Subject<'_>, floor: f64) -> Self {
        let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for pair in every_pair(subject) {
            for axis in 0..2 {
                if pair[axis].is_finite() {
                    low[axis] = low[axis].min(pair[axis]);
                    high[axis] = high[axis].max(pair[axis]);
                }
            }
        }
        if !(low[0] < high[0] && low[1] < high[1]) {
            (low, high) = ([-1.0, -1.0], [1.0, 1.0]);
        }
        let room = [WIDTH - 2.0 * EDGE, floor - TOP];
        let scale = (room[0] / (high[0] - low[0])).min(room[1] / (high[1] - low[1]));
        let middle = [(low[0] + high[0]) / 2.0, (low[1] + high[1]) / 2.0];
        let centre = [WIDTH / 2.0, TOP + room[1] / 2.0];
        Self { scale, origin: [centre[0] - scale * middle[0], centre[1] + scale * middle[1]] }
    }

    /// Where a place of the map falls on the page.
    pub(crate) fn spot(&self, pair: MapPair) -> Spot {
        [self.origin[0] + self.scale * pair[0], self.origin[1] - self.scale * pair[1]]
    }

    /// The same for all of a line.
    pub(crate) fn spots(&self, pairs: &[MapPair]) -> Vec<Spot> {
        pairs.iter().map(|pair| self.spot(*pair)).filter(|s| s[0].is_finite() && s[1].is_finite()).collect()
    }
}

fn every_pair<'a>(subject: &'a Subject<'_>) -> impl Iterator<Item = MapPair> + 'a {
    let map = subject.map;
    [&map.nape_hairline, &map.front_hairline, &map.left_ear, &map.right_ear, &map.midline, &map.ear_to_ear]
        .into_iter()
        .chain(map.partings.iter())
        .chain(map.kept_free.iter().map(|region| &region.outline))
        .flatten()
        .copied()
        .chain(subject.sites.iter().flat_map(|site| site.map_mm))
}

/// Draws the map.
pub(crate) fn draw(subject: &Subject<'_>) -> String {
    let legend = legend::Legend::of(subject);
    let floor = HEIGHT - legend.height() - 6.0;
    let frame = Frame::fitting(subject, floor);
    let mut svg = Svg::new(WIDTH, HEIGHT, "Head map", &described(subject));
    marks::define(&mut svg, subject.shades);
    let (w, h) = (coordinate(WIDTH), coordinate(HEIGHT));
    svg.empty("rect", &[("width", &w), ("height", &h), ("fill", PAPER)]);
    heading(&mut svg);
    ground::draw(&mut svg, subject, &frame);
    rows::draw(&mut svg, subject, &frame);
    ground::label(&mut svg, subject, &frame);
    legend.draw(&mut svg, &frame, HEIGHT - legend.height());
    svg.finish()
}

fn heading(svg: &mut Svg) {
    text(svg, Text { at: [WIDTH / 2.0, 8.0], size: 6.6, anchor: Anchor::Middle, weight: Weight::Bold, colour: INK }, "Head map");
    let quiet = Text { at: [WIDTH / 2.0, 14.0], size: TEXT, anchor: Anchor::Middle, weight: Weight::Plain, colour: QUIET };
    text(svg, quiet, "The back of the head, unrolled flat, as you stand behind the client");
    let side = |x, anchor| Text { at: [x, 22.0], size: 4.8, anchor, weight: Weight::Bold, colour: INK };
    text(svg, side(0.5, Anchor::Start), "◀ client’s left");
    text(svg, side(WIDTH - 0.5, Anchor::End), "client’s right ▶");
}

/// The map in words, for somebody who hears it.
pub(crate) fn described(subject: &Subject<'_>) -> String {
    let rows = crate::words::counted(subject.rows.len(), "row", "rows");
    let sites = crate::words::counted(subject.sites.len(), "sandwich", "sandwiches");
    let listed: Vec<String> = subject.sites.iter().map(|site| marks::spoken_site(site, subject.shades)).collect();
    format!("{sites} in {rows}, seen from behind. {}", listed.join(" "))
}

/// Where and how a text stands.
#[derive(Clone, Copy)]
pub(crate) struct Text {
    pub at: Spot,
    pub size: f64,
    pub anchor: Anchor,
    pub weight: Weight,
    pub colour: &'static str,
}

/// Which end of a text stands at its spot.
#[derive(Clone, Copy)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

/// How heavy a text is.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Weight {
    Plain,
    Bold,
}

/// Writes a text with a rim of paper round it, so that no line runs through it.
pub(crate) fn text(svg: &mut Svg, how: Text, words: &str) {
    let (x, y, size) = (coordinate(how.at[0]), coordinate(how.at[1]), coordinate(how.size));
    let anchor = match how.anchor {
        Anchor::Start => "start",
        Anchor::Middle => "middle",
        Anchor::End => "end",
    };
    let weight = if how.weight == Weight::Bold { "700" } else { "400" };
    svg.element(
        "text",
        &[
            ("x", &x),
            ("y", &y),
            ("font-size", &size),
            ("font-weight", weight),
            ("text-anchor", anchor),
            ("fill", how.colour),
            ("stroke", PAPER),
            ("stroke-width", "0.9"),
            ("stroke-linejoin", "round"),
            ("paint-order", "stroke"),
        ],
        words,
    );
}

/// The shade of a code.
pub(crate) fn shade_of<'a>(shades: &'a [Shade], code: &str) -> Option<&'a Shade> {
    shades.iter().find(|shade| shade.code == code)
}

/// The letters of a site's shades: `A`, or `A/B` when its two pieces differ.
pub(crate) fn letters(site: &SitePlan, shades: &[Shade]) -> String {
    let letter = |code: &str| shade_of(shades, code).map_or("?", |shade| &shade.letter).to_owned();
    let upper = letter(&site.piece.shade);
    match &site.piece.under_shade {
        Some(under) if *under != site.piece.shade => format!("{upper}/{}", letter(under)),
        _ => upper,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn channel(hex: &str) -> [u8; 3] {
        [1, 3, 5].map(|i| u8::from_str_radix(&hex[i..i + 2], 16).unwrap())
    }

    /// WCAG 2.2, success criterion 1.4.3: 4.5 to 1 for text (from memory).
    #[test]
    fn text_stands_out_from_every_ground() {
        for ink in [INK, QUIET] {
            for ground in [PAPER, SKIN, EAR] {
                let (dark, light) = (crate::shade::luminance(channel(ink)), crate::shade::luminance(channel(ground)));
                assert!((light + 0.05) / (dark + 0.05) >= 4.5, "{ink} on {ground}");
            }
        }
    }
}
