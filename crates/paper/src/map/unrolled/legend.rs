//! The legend: shades, marks, why regions are kept free, how to measure.

use super::super::marks::{self, Tab, numbered};
use super::super::pen::{Anchor, FAINT, INK, QUIET, SMALL, TEXT, Text, WIDTH, Weight, text};
use super::ground;
use super::sheet::{Frame, Subject};
use crate::shade::Shade;
use crate::svg::{Svg, coordinate};
use crate::words::{one_line, shortened, wrapped};
use measure::text::{counted, number};

/// Height of one line of the legend.
const LINE: f64 = 5.2;
/// Where the second column begins.
const COLUMN: f64 = 104.0;
/// How a site is found, in one sentence.
pub(crate) const HOW_TO_MEASURE: &str = "To find a site: from the nape hairline measure straight up the midline to where its row starts, \
comb the parting from there so that it keeps the row’s distance from the nape hairline all along, as drawn, \
then measure along the parting from the midline to the middle of the tab.";

/// The legend's lines, laid out before they are drawn, since the head gets what
/// they leave.
pub(crate) struct Legend<'a> {
    shades: Vec<(&'a Shade, String)>,
    kept_free: Vec<(usize, Vec<String>)>,
    notes: Vec<String>,
    halves: bool,
    ties: bool,
}

/// Ems that a line of notes takes: the face is the reader's own, and the widest
/// of the usual ones runs a sixth wider than reckoned.
const NOTE_EMS: f64 = WIDTH / SMALL / 1.17;
/// Height of a line of small text.
const SMALL_LINE: f64 = 3.8;

impl<'a> Legend<'a> {
    /// The legend of a map.
    pub(crate) fn of(subject: &Subject<'a>) -> Self {
        let shades = subject.shades.iter().map(|shade| (shade, counts(subject, shade))).collect();
        let column = (WIDTH - COLUMN - 16.0) / SMALL / 1.17;
        let kept_free = ground::reasons(subject)
            .into_iter()
            .enumerate()
            .map(|(i, reason)| (i + 1, wrapped(&shortened(&one_line(reason), column * 3.0), column)))
            .collect();
        let mut notes = wrapped(HOW_TO_MEASURE, NOTE_EMS);
        notes.extend(wrapped(&one_line(&subject.map.distortion), NOTE_EMS));
        let halves = subject.sites.iter().any(|site| site.piece.cut.is_half());
        Self { shades, kept_free, notes, halves, ties: ground::ties_worn(subject).next().is_some() }
    }

    /// How much of the sheet it takes.
    pub(crate) fn height(&self) -> f64 {
        let kept: usize = self.kept_free.iter().map(|(_, lines)| lines.len()).sum();
        let left = self.shades.len() as f64 * (LINE + SMALL_LINE) + 1.0;
        let marks = 2 + usize::from(self.halves) + usize::from(self.ties);
        let right = marks as f64 * LINE + kept as f64 * SMALL_LINE + self.kept_free.len() as f64 + 1.0;
        6.5 + left.max(right) + self.notes.len() as f64 * SMALL_LINE + 1.5
    }

    /// Draws it below `top`.
    pub(crate) fn draw(&self, svg: &mut Svg, frame: &Frame, top: f64) {
        svg.open("g", &[("id", "legend")]);
        let (y, w) = (coordinate(top), coordinate(WIDTH));
        svg.empty("line", &[("x1", "0"), ("x2", &w), ("y1", &y), ("y2", &y), ("stroke", FAINT), ("stroke-width", "0.25")]);
        let mut left = top + 5.6;
        for (shade, counts) in &self.shades {
            self.shade(svg, shade, counts, left);
            left += LINE + SMALL_LINE;
        }
        let right = self.marks(svg, frame, top + 5.6);
        let mut y = left.max(right) + 0.8;
        for note in &self.notes {
            text(svg, plain([0.0, y], SMALL, QUIET), note);
            y += SMALL_LINE;
        }
        svg.close();
    }

    fn shade(&self, svg: &mut Svg, shade: &Shade, counts: &str, y: f64) {
        marks::tab(svg, Tab { left: 0.2, right: 12.0, top: y - 3.0, height: 3.6 }, Some(shade), None);
        text(svg, Text { at: [14.0, y], size: TEXT, anchor: Anchor::Start, weight: Weight::Bold, colour: INK }, &shade.letter);
        let name = if shade.name.is_empty() || shade.name == shade.code {
            one_line(&shade.code)
        } else {
            format!("{}, {}", one_line(&shade.code), shade.name)
        };
        text(svg, plain([19.0, y], TEXT, INK), &shortened(&name, 19.0));
        text(svg, plain([19.0, y + SMALL_LINE + 0.2], SMALL, QUIET), counts);
    }

    /// The marks and reasons; returns where the next line would stand.
    fn marks(&self, svg: &mut Svg, frame: &Frame, top: f64) -> f64 {
        let (x, words) = (COLUMN, COLUMN + 16.0);
        let mut y = top;
        let bar = 50.0 * frame.scale;
        let (from, to, low) = (coordinate(x), coordinate(x + bar), coordinate(y - 1.0));
        let (a, b) = (coordinate(y - 1.9), coordinate(y - 0.1));
        let path = format!("M{from} {a}V{b}M{from} {low}H{to}M{to} {a}V{b}");
        svg.empty("path", &[("d", &path), ("fill", "none"), ("stroke", INK), ("stroke-width", "0.35")]);
        text(svg, plain([x + bar + 2.5, y], TEXT, INK), "50 mm on the head");
        y += LINE;
        let path = format!("M{} {}h12m-10 0v-0.8m2 0v0.8m2 0v-0.8m2 0v0.8m2 0v-1.5", coordinate(x), coordinate(y - 0.8));
        svg.empty("path", &[("d", &path), ("fill", "none"), ("stroke", QUIET), ("stroke-width", "0.3")]);
        text(svg, plain([words, y], TEXT, INK), "parting, a tick every 10 mm");
        y += LINE;
        if self.halves {
            let outline = |svg: &mut Svg, left: f64, right: f64| {
                let (l, t, w) = (coordinate(left), coordinate(y - 2.9), coordinate(right - left));
                svg.empty(
                    "rect",
                    &[
                        ("x", &l),
                        ("y", &t),
                        ("width", &w),
                        ("height", "3"),
                        ("rx", "0.5"),
                        ("fill", "none"),
                        ("stroke", INK),
                        ("stroke-width", "0.3"),
                    ],
                );
            };
            outline(svg, x, x + 8.0);
            outline(svg, x + 9.6, x + 13.6);
            text(svg, plain([words, y], TEXT, INK), "a whole piece and one cut in half");
            y += LINE;
        }
        if self.ties {
            ground::tie_mark(svg, [x + 6.0, y - 1.1]);
            text(svg, plain([words, y], TEXT, INK), "where the hair is tied");
            y += LINE;
        }
        for (number, lines) in &self.kept_free {
            let (l, t) = (coordinate(x), coordinate(y - 3.0));
            svg.empty(
                "rect",
                &[
                    ("x", &l),
                    ("y", &t),
                    ("width", "8"),
                    ("height", "3.6"),
                    ("fill", "url(#kept-free)"),
                    ("stroke", FAINT),
                    ("stroke-width", "0.2"),
                ],
            );
            numbered(svg, [x + 11.0, y - 1.2], &number.to_string());
            for line in lines {
                text(svg, plain([words, y], SMALL, INK), line);
                y += SMALL_LINE;
            }
            y += 1.0;
        }
        y
    }
}

fn plain(at: [f64; 2], size: f64, colour: &'static str) -> Text {
    Text { at, size, anchor: Anchor::Start, weight: Weight::Plain, colour }
}

/// `9 sandwiches, 2 of them half; 450 and 500 mm`.
fn counts(subject: &Subject<'_>, shade: &Shade) -> String {
    let uses = |code: &String| *code == shade.code;
    let with: Vec<_> =
        subject.sites.iter().filter(|site| uses(&site.piece.shade) || site.piece.under_shade.as_ref().is_some_and(uses)).collect();
    let halves = with.iter().filter(|site| site.piece.cut.is_half()).count();
    let mut lengths: Vec<f64> = with.iter().map(|site| site.piece.length.to_mm()).collect();
    lengths.sort_by(f64::total_cmp);
    lengths.dedup();
    let lengths: Vec<String> = lengths.into_iter().map(|length| number(length, 0)).collect();
    let half = if halves == 0 { String::new() } else { format!(", {halves} half") };
    format!("{}{half}, {} mm", counted(with.len(), "sandwich", "sandwiches"), lengths.join("/"))
}
