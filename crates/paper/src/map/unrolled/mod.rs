//! The one-sheet map of plans of before: the head seen from behind, unrolled flat.

mod ground;
mod legend;
mod line;
mod rows;
mod sheet;

pub(crate) use legend::HOW_TO_MEASURE;
pub(super) use sheet::Subject;

use super::marks;
use super::pen::{Anchor, HEIGHT, INK, PAPER, QUIET, TEXT, Text, WIDTH, Weight, text};
use crate::svg::{Svg, coordinate};
use sheet::Frame;

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
