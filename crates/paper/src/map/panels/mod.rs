//! The map in three panels: the back above, either side below with the face
//! outward. Every row is a straight level line, with lengths along it to scale.

mod head;
mod legend;
mod rows;
mod sheet;

pub(super) use sheet::Subject;

use super::pen::{Anchor, HEIGHT, INK, PAPER, QUIET, TEXT, Text, WIDTH, Weight, text};
use crate::svg::{Svg, coordinate};
use ::head::Panel;
use sheet::{Extent, Frame, LEAD, PANELS, RIM, Sheet};

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

/// The largest frames, up to the usual scale, that leave `floor` free below.
fn fitting(subject: &Subject<'_>, floor: f64) -> Sheet {
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
    Sheet {
        back: Frame { scale, origin: [WIDTH / 2.0, top + scale * back.high[1]] },
        left: side_at(WIDTH / 2.0 - apart),
        right: side_at(WIDTH / 2.0 + apart),
        sides_top,
    }
}

const fn word(panel: Panel) -> &'static str {
    match panel {
        Panel::Back => "back",
        Panel::Left => "left",
        Panel::Right => "right",
    }
}

/// Draws the map, with `said` for somebody who hears it.
pub(crate) fn draw(subject: &Subject<'_>, said: &str) -> String {
    let legend = legend::Legend::of(subject);
    let floor = HEIGHT - legend.height() - 2.0;
    let sheet = fitting(subject, floor);
    let mut svg = Svg::new(WIDTH, HEIGHT, "Head map", said);
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
