//! The legend: how to measure, shades, marks with their counts, why regions are
//! kept free, one scale bar for the back and one for the sides.

use super::super::marks::{self, Tab, numbered};
use super::super::pen::{Anchor, FAINT, INK, QUIET, SMALL, TEXT, Text, WIDTH, Weight, shade_of, text};
use super::sheet::{Sheet, Subject};
use super::{head, rows};
use crate::shade::Shade;
use crate::svg::{Svg, coordinate};
use crate::words::{one_line, shortened, wrapped};
use ::head::Panel;
use craft::combing::how_to_comb;
use craft::placement::Degree;
use measure::text::{counted, number};

/// What the drawing keeps and what it bends.
const TRUE_TO: &str = "Lengths along the lines are true, distances between lines within a tenth; above the crown only the shape is shown.";
/// Height of one line of the legend.
const LINE: f64 = 4.7;
/// Height of a line of small text.
const SMALL_LINE: f64 = 3.6;
/// Columns of the legend, and the room between them.
const COLUMNS: usize = 3;
const BETWEEN: f64 = 3.0;
/// Room for a mark before its words.
const MARK: f64 = 14.0;
/// Ems that a line of notes takes: the face is the reader's own, and the widest
/// of the usual ones runs a sixth wider than reckoned.
const NOTE_EMS: f64 = WIDTH / SMALL / 1.17;

/// One entry.
enum Entry<'a> {
    Shade(&'a Shade, String),
    Mark(Mark, Vec<String>),
}

/// A mark of the map.
#[derive(Clone, Copy)]
enum Mark {
    Scale(Panel),
    Tick,
    Half,
    MayShow,
    Heavy,
    Standing,
    Tie,
    KeptFree(usize),
}

/// The legend's lines, laid out before they are drawn, since the head gets what
/// they leave.
pub(super) struct Legend<'a> {
    notes: Vec<String>,
    columns: Vec<Vec<Entry<'a>>>,
}

fn column_width() -> f64 {
    (WIDTH - BETWEEN * (COLUMNS - 1) as f64) / COLUMNS as f64
}

impl Entry<'_> {
    fn height(&self) -> f64 {
        match self {
            Self::Shade(..) => LINE + SMALL_LINE + 0.4,
            Self::Mark(_, lines) => LINE + SMALL_LINE * lines.len().saturating_sub(1) as f64,
        }
    }
}

impl<'a> Legend<'a> {
    /// The legend of a map.
    pub(super) fn of(subject: &Subject<'a>) -> Self {
        let mut notes: Vec<String> = Vec::new();
        for says in [how_to_comb(), TRUE_TO] {
            notes.extend(wrapped(says, NOTE_EMS));
        }
        let mut entries: Vec<Entry<'a>> = subject.shades.iter().map(|shade| Entry::Shade(shade, counts(subject, shade))).collect();
        entries.extend(marks_of(subject));
        // Filled down the columns, each as high as need be.
        let whole: f64 = entries.iter().map(Entry::height).sum();
        let tallest = entries.iter().map(Entry::height).fold(0.0, f64::max);
        let aim = (whole / COLUMNS as f64).max(tallest) + tallest / 3.0;
        let mut columns: Vec<Vec<Entry<'a>>> = vec![Vec::new()];
        let mut filled = 0.0;
        for entry in entries {
            let height = entry.height();
            if filled + height > aim && columns.len() < COLUMNS {
                columns.push(Vec::new());
                filled = 0.0;
            }
            filled += height;
            if let Some(column) = columns.last_mut() {
                column.push(entry);
            }
        }
        Self { notes, columns }
    }

    /// How much of the sheet it takes.
    pub(super) fn height(&self) -> f64 {
        let column = self.columns.iter().map(|column| column.iter().map(Entry::height).sum::<f64>()).fold(0.0, f64::max);
        5.0 + self.notes.len() as f64 * SMALL_LINE + column + 1.4
    }

    /// Draws it below `top`.
    pub(super) fn draw(&self, svg: &mut Svg, sheet: &Sheet, top: f64) {
        svg.open("g", &[("id", "legend")]);
        let (y, w) = (coordinate(top), coordinate(WIDTH));
        svg.empty("line", &[("x1", "0"), ("x2", &w), ("y1", &y), ("y2", &y), ("stroke", FAINT), ("stroke-width", "0.25")]);
        let mut y = top + 4.2;
        for note in &self.notes {
            text(svg, plain([0.3, y], SMALL, QUIET), note);
            y += SMALL_LINE;
        }
        let begin = y + 1.6;
        for (i, column) in self.columns.iter().enumerate() {
            let x = (column_width() + BETWEEN) * i as f64;
            let mut y = begin;
            for entry in column {
                match entry {
                    Entry::Shade(shade, counts) => self::shade(svg, shade, counts, [x, y]),
                    Entry::Mark(mark, lines) => self::mark(svg, sheet, *mark, lines, [x, y]),
                }
                y += entry.height();
            }
        }
        svg.close();
    }
}

fn marks_of<'a>(subject: &Subject<'a>) -> Vec<Entry<'a>> {
    let plan = subject.plan;
    let sites = || plan.sites.iter();
    let count = |degree: Degree| sites().filter(|site| plan.degree_at(site.site, degree)).count();
    let mut entries = Vec::new();
    let mut add = |mark: Mark, says: String| {
        let lines = wrapped(&shortened(&says, (column_width() - MARK) / SMALL * 2.6), (column_width() - MARK) / SMALL / 1.12);
        entries.push(Entry::Mark(mark, lines));
    };
    let (show, heavy) = (count(Degree::MayShow), count(Degree::Heavy));
    if show > 0 {
        add(Mark::MayShow, format!("may show: {show} of {}", plan.sites.len()));
    }
    if heavy > 0 {
        add(Mark::Heavy, format!("carries more than usual: {heavy}"));
    }
    if plan.set_by_hand.as_ref().is_some_and(|set| sites().any(|site| set.sites.contains(&site.site))) {
        add(Mark::Standing, "already in, or set by hand".into());
    }
    if sites().any(|site| site.piece.cut.is_half()) {
        add(Mark::Half, "whole, and cut in half".into());
    }
    add(Mark::Tick, "a tick every 10 mm".into());
    if head::ties_worn(subject, Panel::Back).next().is_some() {
        add(Mark::Tie, "where the hair is tied".into());
    }
    for (i, reason) in head::reasons(subject).into_iter().enumerate() {
        add(Mark::KeptFree(i + 1), one_line(reason));
    }
    for panel in [Panel::Back, Panel::Right] {
        add(Mark::Scale(panel), String::new());
    }
    entries
}

fn shade(svg: &mut Svg, shade: &Shade, counts: &str, [x, y]: [f64; 2]) {
    marks::tab(svg, Tab { left: x + 0.3, right: x + 10.5, top: y - 2.9, height: 3.4 }, Some(shade), None);
    text(svg, Text { at: [x + MARK - 1.5, y], size: TEXT, anchor: Anchor::Start, weight: Weight::Bold, colour: INK }, &shade.letter);
    let name = if shade.name.is_empty() || shade.name == shade.code {
        one_line(&shade.code)
    } else {
        format!("{}, {}", one_line(&shade.code), shade.name)
    };
    let at = x + MARK + 2.6 + if shade.letter.len() > 1 { 2.0 } else { 0.0 };
    text(svg, plain([at, y], TEXT, INK), &shortened(&name, (column_width() - (at - x)) / TEXT / 1.1));
    text(svg, plain([at, y + SMALL_LINE], SMALL, QUIET), &shortened(counts, (column_width() - (at - x)) / SMALL / 1.1));
}

fn mark(svg: &mut Svg, sheet: &Sheet, mark: Mark, lines: &[String], [x, y]: [f64; 2]) {
    let example = Tab { left: x + 0.8, right: x + 10.0, top: y - 2.8, height: 2.8 };
    match mark {
        Mark::Scale(panel) => return scale_bar(svg, sheet, panel, [x, y]),
        Mark::Tick => {
            let d = format!("M{} {}h10m-9 0v-0.9m2 0v0.9m2 0v-0.9m2 0v0.9m2 0v-1.6", coordinate(x + 0.5), coordinate(y - 0.4));
            svg.empty("path", &[("d", &d), ("fill", "none"), ("stroke", QUIET), ("stroke-width", "0.3")]);
        }
        Mark::Half => {
            open_tab(svg, Tab { left: x + 0.5, right: x + 6.9, ..example });
            open_tab(svg, Tab { left: x + 8.0, right: x + 11.2, ..example });
        }
        Mark::MayShow => {
            open_tab(svg, example);
            rows::may_show(svg, [x + 5.4, y - 1.4], 3.0);
        }
        Mark::Heavy => {
            let example = Tab { top: y - 3.2, height: 2.2, ..example };
            open_tab(svg, example);
            rows::heavy(svg, example);
        }
        Mark::Standing => {
            open_tab(svg, example);
            rows::standing(svg, example);
        }
        Mark::Tie => head::tie_mark(svg, [x + 5.4, y - 1.3]),
        Mark::KeptFree(count) => {
            let (l, t) = (coordinate(x + 0.3), coordinate(y - 3.0));
            svg.empty(
                "rect",
                &[
                    ("x", &l),
                    ("y", &t),
                    ("width", "6"),
                    ("height", "3.4"),
                    ("fill", "url(#kept-free)"),
                    ("stroke", FAINT),
                    ("stroke-width", "0.2"),
                ],
            );
            numbered(svg, [x + 9.4, y - 1.2], &count.to_string());
        }
    }
    for (i, line) in lines.iter().enumerate() {
        text(svg, plain([x + MARK, y + SMALL_LINE * i as f64], SMALL, INK), line);
    }
}

fn open_tab(svg: &mut Svg, tab: Tab) {
    let (l, t, w, h) = (coordinate(tab.left), coordinate(tab.top), coordinate(tab.right - tab.left), coordinate(tab.height));
    svg.empty(
        "rect",
        &[("x", &l), ("y", &t), ("width", &w), ("height", &h), ("rx", "0.5"), ("fill", "none"), ("stroke", INK), ("stroke-width", "0.3")],
    );
}

fn scale_bar(svg: &mut Svg, sheet: &Sheet, panel: Panel, [x, y]: [f64; 2]) {
    let bar = 50.0 * sheet.frame(panel).scale;
    let (a, b) = (coordinate(y - 2.0), coordinate(y - 0.2));
    let d = format!(
        "M{} {a}V{b}M{} {}H{}M{} {a}V{b}",
        coordinate(x + 0.3),
        coordinate(x + 0.3),
        coordinate(y - 1.1),
        coordinate(x + 0.3 + bar),
        coordinate(x + 0.3 + bar)
    );
    let id = if panel == Panel::Back { "scale-back" } else { "scale-sides" };
    svg.empty("path", &[("id", id), ("d", &d), ("fill", "none"), ("stroke", INK), ("stroke-width", "0.35")]);
    let says = if panel == Panel::Back { "50 mm, back" } else { "50 mm, sides" };
    text(svg, plain([x + bar + 2.3, y], SMALL, INK), says);
}

fn plain(at: [f64; 2], size: f64, colour: &'static str) -> Text {
    Text { at, size, anchor: Anchor::Start, weight: Weight::Plain, colour }
}

/// `9 sandwiches, 450/500 mm`.
fn counts(subject: &Subject<'_>, shade: &Shade) -> String {
    let uses = |code: &str| shade_of(subject.shades, code) == Some(shade);
    let with: Vec<_> =
        subject.plan.sites.iter().filter(|site| uses(&site.piece.shade) || site.piece.under_shade.as_deref().is_some_and(uses)).collect();
    let mut lengths: Vec<f64> = with.iter().map(|site| site.piece.length.to_mm()).collect();
    lengths.sort_by(f64::total_cmp);
    lengths.dedup();
    let lengths: Vec<String> = lengths.into_iter().map(|length| number(length, 0)).collect();
    format!("{}, {} mm", counted(with.len(), "sandwich", "sandwiches"), lengths.join("/"))
}
