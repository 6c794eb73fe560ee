//! The map in three panels: the back above, either side below with the face
//! outward. Every row is a straight level line, with lengths along it to scale.

mod head;
mod legend;
mod rows;

use super::{Anchor, HEIGHT, INK, PAPER, QUIET, SMALL, Spot, TEXT, Text, WIDTH, Weight, text};
use crate::shade::Shade;
use crate::svg::{Svg, coordinate};
use crate::words::width_em;
use ::head::Panel;
use salon::plan::{MapPair, PanelPlan, PanelsPlan, Plan, RowPlan, SitePlan};

/// Page millimetres to one of the head, at the back: one scale for most heads,
/// so that two sheets can be laid beside each other; a larger head gets less.
const BACK_SCALE: f64 = 0.56;
/// The sides are drawn by so much smaller than the back.
const SIDE_SHARE: f64 = 0.50 / 0.56;
/// Room at the top for the title and the two sides' names.
const TOP: f64 = 25.0;
/// Room under the back for the name of the nape hairline and the neck.
const NECK: f64 = 11.5;
/// Room over the sides for their names.
const NAMES: f64 = 3.5;
/// Room between a line's end and its reading.
const LEAD: f64 = 2.5;
/// The least room left at the edge of the sheet.
const RIM: f64 = 1.0;

/// What the map shows.
pub(crate) struct Subject<'a> {
    pub panels: &'a PanelsPlan,
    pub plan: &'a Plan,
    pub shades: &'a [Shade],
}

impl<'a> Subject<'a> {
    /// A row of a panel with its line, where it has one.
    fn rows(&self, panel: Panel) -> Vec<(&'a RowPlan, f64)> {
        self.panels
            .get(panel)
            .rows
            .iter()
            .filter_map(|line| {
                let row = self.plan.rows.iter().find(|row| row.row == line.row)?;
                Some((row, height_of(row, line.line.first().copied()?, panel)))
            })
            .filter(|(_, height)| height.is_finite())
            .collect()
    }

    /// The sites of a panel.
    fn sites(&self, panel: Panel) -> impl Iterator<Item = &'a SitePlan> {
        self.plan.sites.iter().filter(move |site| site.panel == Some(panel))
    }
}

/// How high a row lies on its panel: at a side its own reading, since its line
/// bends on where only the shape is shown.
fn height_of(row: &RowPlan, first: MapPair, panel: Panel) -> f64 {
    match (row.start, panel) {
        (Some(start), Panel::Left | Panel::Right) => start.up.to_mm(),
        _ => first[1],
    }
}

/// How the millimetres of one panel fall on the page.
#[derive(Debug, Clone, Copy)]
struct Frame {
    scale: f64,
    origin: Spot,
}

impl Frame {
    fn spot(&self, pair: MapPair) -> Spot {
        [self.origin[0] + self.scale * pair[0], self.origin[1] - self.scale * pair[1]]
    }

    fn spots(&self, pairs: &[MapPair]) -> Vec<Spot> {
        pairs.iter().map(|pair| self.spot(*pair)).filter(|s| s[0].is_finite() && s[1].is_finite()).collect()
    }
}

/// Least and greatest of what is finite.
#[derive(Debug, Clone, Copy)]
struct Extent {
    low: MapPair,
    high: MapPair,
}

impl Extent {
    fn of(pairs: impl Iterator<Item = MapPair>) -> Self {
        let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for pair in pairs.filter(|p| p[0].is_finite() && p[1].is_finite()) {
            for axis in 0..2 {
                low[axis] = low[axis].min(pair[axis]);
                high[axis] = high[axis].max(pair[axis]);
            }
        }
        if low[0] > high[0] { Self { low: [-1.0; 2], high: [1.0; 2] } } else { Self { low, high } }
    }

    fn of_panel(panel: &PanelPlan) -> Self {
        let lines = panel.rows.iter().flat_map(|row| row.line.iter());
        Self::of(panel.edge.iter().chain(panel.ears.iter().flatten()).chain(lines).copied())
    }

    /// How far it reaches to either side of nothing.
    fn reach(&self) -> f64 {
        self.high[0].max(-self.low[0]).max(1.0)
    }

    fn height(&self) -> f64 {
        (self.high[1] - self.low[1]).max(1.0)
    }
}

/// Where the three panels stand on the page.
struct Sheet {
    back: Frame,
    left: Frame,
    right: Frame,
    /// The top of the sides' names.
    sides_top: f64,
}

impl Sheet {
    /// The largest frames, up to the usual scale, that leave `floor` free below.
    fn fitting(subject: &Subject<'_>, floor: f64) -> Self {
        let back = Extent::of_panel(&subject.panels.back);
        let sides = [&subject.panels.left, &subject.panels.right].map(Extent::of_panel);
        let reach = sides[0].reach().max(sides[1].reach());
        let low = sides[0].low[1].min(sides[1].low[1]);
        let high = sides[0].high[1].max(sides[1].high[1]);
        let label = rows::widest_label(subject);
        let row_reach =
            subject.panels.back.rows.iter().flat_map(|row| &row.line).map(|p| p[0].abs()).filter(|x| x.is_finite()).fold(1.0, f64::max);
        let apart = rows::side_labels(subject) + 1.5;
        let room = floor - TOP - NECK - NAMES;
        let scale = [
            BACK_SCALE,
            (WIDTH / 2.0 - label - LEAD - RIM) / row_reach,
            (WIDTH / 2.0 - RIM) / back.reach(),
            (WIDTH / 2.0 - apart - RIM) / head::face_reach(reach) / SIDE_SHARE,
            room / (back.height() + SIDE_SHARE * (high - low).max(1.0)),
        ]
        .into_iter()
        .filter(|scale| scale.is_finite() && *scale > 0.0)
        .fold(BACK_SCALE, f64::min);
        let side_scale = scale * SIDE_SHARE;
        let spare = (room - scale * back.height() - side_scale * (high - low)).max(0.0);
        let top = TOP + spare * 0.4;
        let sides_top = top + scale * back.height() + NECK + spare * 0.3;
        let side_at = |x: f64| Frame { scale: side_scale, origin: [x, sides_top + NAMES + side_scale * high] };
        Self {
            back: Frame { scale, origin: [WIDTH / 2.0, top + scale * back.high[1]] },
            left: side_at(WIDTH / 2.0 - apart),
            right: side_at(WIDTH / 2.0 + apart),
            sides_top,
        }
    }

    const fn frame(&self, panel: Panel) -> &Frame {
        match panel {
            Panel::Back => &self.back,
            Panel::Left => &self.left,
            Panel::Right => &self.right,
        }
    }
}

/// The panels in the order of work.
const PANELS: [Panel; 3] = [Panel::Back, Panel::Left, Panel::Right];

const fn word(panel: Panel) -> &'static str {
    match panel {
        Panel::Back => "back",
        Panel::Left => "left",
        Panel::Right => "right",
    }
}

/// Draws the map.
pub(crate) fn draw(subject: &Subject<'_>) -> String {
    let legend = legend::Legend::of(subject);
    let floor = HEIGHT - legend.height() - 2.0;
    let sheet = Sheet::fitting(subject, floor);
    let mut svg = Svg::new(WIDTH, HEIGHT, "Head map", &super::described(subject.plan, subject.shades));
    super::marks::define(&mut svg, subject.shades);
    head::define(&mut svg);
    let (w, h) = (coordinate(WIDTH), coordinate(HEIGHT));
    svg.empty("rect", &[("width", &w), ("height", &h), ("fill", PAPER)]);
    heading(&mut svg, &sheet);
    for panel in PANELS {
        let frame = sheet.frame(panel);
        let origin = format!("{} {}", coordinate(frame.origin[0]), coordinate(frame.origin[1]));
        let scale = measure::text::number(frame.scale, 5);
        let id = format!("map-{}", word(panel));
        svg.open("g", &[("id", &id), ("class", "panel"), ("data-panel", word(panel)), ("data-scale", &scale), ("data-origin", &origin)]);
        head::draw(&mut svg, subject, panel, frame);
        rows::draw(&mut svg, subject, panel, frame);
        head::label(&mut svg, subject, panel, frame);
        svg.close();
    }
    legend.draw(&mut svg, &sheet, HEIGHT - legend.height());
    svg.finish()
}

fn heading(svg: &mut Svg, sheet: &Sheet) {
    let bold = |at, size, anchor| Text { at, size, anchor, weight: Weight::Bold, colour: INK };
    text(svg, bold([WIDTH / 2.0, 8.0], 6.6, Anchor::Middle), "Head map");
    let quiet = Text { at: [WIDTH / 2.0, 14.0], size: TEXT, anchor: Anchor::Middle, weight: Weight::Plain, colour: QUIET };
    text(svg, quiet, "Back of the head, as you stand behind the client");
    text(svg, bold([0.5, 14.0], 4.6, Anchor::Start), "◀ client’s left");
    text(svg, bold([WIDTH - 0.5, 14.0], 4.6, Anchor::End), "client’s right ▶");
    for (frame, sign, says) in [(&sheet.left, -1.0, "Left side"), (&sheet.right, 1.0, "Right side")] {
        let x = frame.origin[0] + sign * 21.0;
        text(svg, bold([x, sheet.sides_top + 1.5], 4.2, Anchor::Middle), says);
    }
}

/// How wide a text prints on the map, with room for the reader's own face.
fn wide(words: &str, size: f64, weight: Weight) -> f64 {
    width_em(words) * size * if weight == Weight::Bold { 1.14 } else { 1.06 }
}

fn quiet(at: Spot, anchor: Anchor) -> Text {
    Text { at, size: SMALL, anchor, weight: Weight::Plain, colour: QUIET }
}
