//! The one-sheet map of plans of before: the head seen from behind, unrolled flat.

mod ground;
mod legend;
mod line;
mod rows;

pub(crate) use legend::HOW_TO_MEASURE;

use super::{Anchor, EAR, FAINT, HEIGHT, INK, PAPER, QUIET, SKIN, SMALL, TEXT, Text, WIDTH, Weight, letters, marks, shade_of, text};
use crate::shade::Shade;
use crate::svg::{Svg, coordinate};
use line::Spot;
use salon::plan::{MapPair, MapPlan, RowPlan, SitePlan};

/// Room at the top for the title and the two sides' names.
const TOP: f64 = 27.0;
/// Room at either edge for the names of the rows.
const EDGE: f64 = 19.0;

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

fn described(subject: &Subject<'_>) -> String {
    let rows = measure::text::counted(subject.rows.len(), "row", "rows");
    let sites = measure::text::counted(subject.sites.len(), "sandwich", "sandwiches");
    let listed: Vec<String> = subject.sites.iter().map(|site| marks::spoken_on_one_sheet(site, subject.shades)).collect();
    format!("{sites} in {rows}, seen from behind. {}", listed.join(" "))
}
