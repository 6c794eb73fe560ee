//! The map of a plan on the screen: the back between the two sides, each panel
//! a drawing in millimetres of the head, so that a tap on it is a place on her.
//!
//! Nothing is reckoned here: lines and places are the plan's own. A name stands
//! under its tab, or in it where the rows come too close for that.

use crate::web::frame::swatch;
use craft::placement::{Degree, HeadPart, ROW_SPACING};
use head::Panel;
use measure::Length;
use measure::text::number;
use salon::plan::{MapPair, PanelPlan, PanelsPlan, Plan, PlanSide, SitePlan};
use std::collections::BTreeMap;
use std::fmt::Write;

/// One panel as the page shows it.
pub struct PanelView {
    /// `left`, `back` or `right`: the client's own.
    pub panel: &'static str,
    /// The window on the drawing, mm.
    pub window: String,
    /// What it shows, in words.
    pub says: String,
    /// The drawing.
    pub drawing: String,
}

/// The map and what its marks mean.
pub struct MapView {
    /// Left side, back, right side.
    pub panels: Vec<PanelView>,
    /// The shades: letter, code with name, colour.
    pub shades: Vec<(char, String, String)>,
    /// Whether any bond may show.
    pub may_show: bool,
    /// Whether any slice carries more than usual.
    pub heavy: bool,
}

/// Half the width of the back panel and the width of a side's, and how far up
/// and down, mm: about the largest of ordinary heads; larger ones are drawn smaller.
const BACK_HALF: f64 = 132.0;
const SIDE_FROM: f64 = -14.0;
const SIDE_TO: f64 = 96.0;
const TOP: f64 = 222.0;
/// Where the top of the ears lies on most heads, where no row tells.
const USUAL_EAR_TOP: f64 = 82.0;
const BOTTOM: f64 = -8.0;
/// What the numbers of the rows need beside the back, mm.
const ROW_NAMES: f64 = 14.0;
/// Rows nearer than this leave no room for a name under a tab.
const NAME_NEEDS: f64 = 18.0;
/// A name in a tab narrower than this is set smaller.
const SHORT_TAB: f64 = 30.0;
const LIGHT_INK: &str = "#ffffff";
const DARK_INK: &str = "#1a1816";
/// How tall a tab is drawn.
const TAB: f64 = 8.6;

/// The map of a plan; nothing for plans of before, which have their own.
pub fn map(plan: &Plan) -> Option<MapView> {
    let panels = plan.panels.as_ref()?;
    let letters: BTreeMap<&str, char> = plan.colour.mix.keys().zip('A'..='Z').map(|(code, letter)| (code.as_str(), letter)).collect();
    let ear_top = ear_top(plan);
    let sheet = Sheet { plan, panels, letters, grown: grown(panels, ear_top), ear_top, inside: closest_rows(plan) < NAME_NEEDS };
    let marked = |of: Degree| plan.cautions.iter().any(|caution| caution.degree == of && caution.site.is_some());
    Some(MapView {
        panels: [
            (Panel::Left, "left", "client’s left side"),
            (Panel::Back, "back", "back"),
            (Panel::Right, "right", "client’s right side"),
        ]
        .map(|(panel, word, name)| sheet.view(panel, word, name))
        .into(),
        shades: sheet
            .letters
            .iter()
            .map(|(code, letter)| {
                let name = plan.colour.shade_names.get(*code).map_or_else(String::new, |name| format!(" {name}"));
                (*letter, format!("{code}{name}"), swatch::of_plan(plan, code))
            })
            .collect(),
        may_show: marked(Degree::MayShow),
        heavy: marked(Degree::Heavy),
    })
}

/// About how far up the middle the level of the top of the ears lies: by the row
/// that ends nearest to it.
fn ear_top(plan: &Plan) -> f64 {
    let rows = plan.rows.iter().filter(|row| row.section == Some(HeadPart::Back));
    let ends = rows.filter_map(|row| Some((row.end?.away.to_mm(), row.start?.up.to_mm())));
    ends.min_by(|a, b| a.0.abs().total_cmp(&b.0.abs())).map_or(USUAL_EAR_TOP, |(end, start)| start - end)
}

/// How many times larger the windows must be for this head.
fn grown(panels: &PanelsPlan, ear_top: f64) -> f64 {
    let reach = |panel: &PanelPlan, axis: usize| {
        let all = panel.edge.iter().chain(panel.ears.iter().flatten());
        all.map(|pair| pair[axis].abs()).filter(|v| v.is_finite()).fold(0.0, f64::max)
    };
    [
        (reach(&panels.back, 0) + ROW_NAMES) / BACK_HALF,
        (reach(&panels.back, 1) + 2.0) / TOP,
        (panels.right.edge.iter().map(|pair| pair[1]).filter(|v| v.is_finite()).fold(0.0, f64::max) + ear_top + 2.0) / TOP,
        (reach(&panels.left, 0) + 2.0) / SIDE_TO,
        (reach(&panels.right, 0) + 2.0) / SIDE_TO,
    ]
    .into_iter()
    .fold(1.0, f64::max)
}

fn closest_rows(plan: &Plan) -> f64 {
    let closest = plan.rows.windows(2).filter(|pair| pair[0].section == pair[1].section).map(|pair| {
        let start = |at: usize| pair[at].start.map_or(0.0, |start| start.up.to_mm());
        start(1) - start(0)
    });
    closest.fold(f64::INFINITY, f64::min)
}

struct Sheet<'a> {
    plan: &'a Plan,
    panels: &'a PanelsPlan,
    letters: BTreeMap<&'a str, char>,
    grown: f64,
    /// The height of the top of the ears on the back panel, mm.
    ear_top: f64,
    /// Whether names stand in their tabs.
    inside: bool,
}

impl Sheet<'_> {
    fn view(&self, panel: Panel, word: &'static str, name: &'static str) -> PanelView {
        let k = self.grown;
        // The sides stand as high as they do beside the back.
        let low = match panel {
            Panel::Back => BOTTOM * k,
            Panel::Left | Panel::Right => BOTTOM * k - self.ear_top,
        };
        let (from, wide) = match panel {
            Panel::Back => (-BACK_HALF * k, 2.0 * BACK_HALF * k),
            Panel::Left => (-SIDE_TO * k, (SIDE_TO - SIDE_FROM) * k),
            Panel::Right => (SIDE_FROM * k, (SIDE_TO - SIDE_FROM) * k),
        };
        let tall = (TOP - BOTTOM) * k;
        let sites: Vec<&SitePlan> = self.plan.sites.iter().filter(|site| site.panel == Some(panel)).collect();
        PanelView {
            panel: word,
            window: format!("{from:.1} {:.1} {wide:.1} {tall:.1}", -(low + tall)),
            says: self.says(name, &sites),
            drawing: self.drawing(panel, &sites),
        }
    }

    fn says(&self, name: &str, sites: &[&SitePlan]) -> String {
        let places: Vec<String> = sites.iter().map(|site| format!("{}, {}", site.site, from_line(site))).collect();
        match places.len() {
            0 => format!("The {name}: nothing is set there."),
            1 => format!("The {name}, one sandwich. {}.", places[0]),
            count => format!("The {name}, {count} sandwiches. {}.", places.join("; ")),
        }
    }

    fn drawing(&self, panel: Panel, sites: &[&SitePlan]) -> String {
        let lines = self.panels.get(panel);
        let mut out = String::new();
        let behind = panel == Panel::Back;
        let ears: String = lines.ears.iter().map(|ear| format!("<path class=\"ear\" d=\"{}Z\"/>", path(ear))).collect();
        if behind {
            out += &ears;
        }
        let _ = write!(out, "<path class=\"scalp\" d=\"{}Z\"/>", path(&lines.edge));
        if !behind {
            out += &ears;
        }
        for region in &lines.kept_free {
            let _ = write!(
                out,
                "<path class=\"kept-free\" d=\"{}Z\"><title>{}</title></path>",
                path(&region.outline),
                escaped(&format!("Kept free: {}", region.reason))
            );
        }
        let _ = write!(out, "<path class=\"axis\" d=\"{}\"/>", path(&lines.axis));
        for row in &lines.rows {
            let _ = write!(out, "<path class=\"row-line\" d=\"{}\"/>", path(&row.line));
            out += &self.row_name(panel, row.row, &row.line);
        }
        if let Some([x, y]) = lines.crown {
            let _ = write!(
                out,
                "<path class=\"crown\" d=\"M{:.1} {:.1}a3.4 3.4 0 1 1 -3.4 3.4M{x:.1} {:.1}a1.6 1.6 0 0 0 1.6 1.6\"/>",
                x,
                -y - 3.4,
                -y
            );
        }
        for site in sites {
            out += &self.site(site);
        }
        out
    }

    /// The row's number beside the back, all in one column, with a thread to its line.
    fn row_name(&self, panel: Panel, row: u32, line: &[MapPair]) -> String {
        if panel != Panel::Back {
            return String::new();
        }
        let Some([x, y]) = line.first() else { return String::new() };
        let back = &self.panels.back;
        let column =
            back.edge.iter().chain(back.ears.iter().flatten()).map(|pair| pair[0]).filter(|v| v.is_finite()).fold(0.0, f64::min) - 3.0;
        let name = self.plan.rows.iter().find(|known| known.row == row).map_or("", |known| known.name.as_str());
        format!(
            "<path class=\"thread\" d=\"M{:.1} {:.1}H{x:.1}\"/><text class=\"row-name\" x=\"{column:.1}\" y=\"{:.1}\" text-anchor=\"end\">{}</text>",
            column + 1.5,
            -y,
            -y + 2.6,
            escaped(name.trim_start_matches('B'))
        )
    }

    fn site(&self, site: &SitePlan) -> String {
        let [a, b] = site.map_mm;
        if !a.iter().chain(&b).all(|v| v.is_finite()) {
            return String::new();
        }
        let (x, y) = ((a[0] + b[0]) / 2.0, -(a[1] + b[1]) / 2.0);
        let wide = site.width.to_mm();
        let fill = swatch::of_plan(self.plan, &site.piece.shade);
        let letter = self.letters.get(site.piece.shade.as_str()).copied().unwrap_or('A');
        let marks = marks(self.plan, site);
        let mut out = format!(
            "<g class=\"site\" data-site=\"{}\"><title>{}</title><rect class=\"tab\" x=\"{:.1}\" y=\"{y:.1}\" width=\"{wide:.1}\" height=\"{TAB}\" rx=\"1.2\" fill=\"{fill}\"/>",
            site.site,
            escaped(&format!("{}, {}", site.site, from_line(site))),
            x - wide / 2.0,
        );
        let ink = ink_on(&fill);
        out += &pattern(letter, x, y, wide, ink);
        let name_at = if self.inside { y + TAB - 1.7 } else { y + TAB + 7.0 };
        let class = match (self.inside, wide < SHORT_TAB, ink == LIGHT_INK) {
            (false, _, _) => "name",
            (true, false, true) => "name in on-dark",
            (true, true, true) => "name in short on-dark",
            (true, false, false) => "name in on-light",
            (true, true, false) => "name in short on-light",
        };
        let _ = write!(out, "<text class=\"{class}\" x=\"{x:.1}\" y=\"{name_at:.1}\" text-anchor=\"middle\">{}</text>", site.site);
        if marks.0 {
            let _ = write!(out, "<path class=\"may-show\" d=\"M{:.1} {:.1}h7l-3.5 5.6z\"/>", x + wide / 2.0 - 8.5, y - 1.4);
        }
        if marks.1 {
            let _ = write!(out, "<path class=\"heavy\" d=\"M{:.1} {:.1}h8m-8 2h8\"/>", x - wide / 2.0 + 1.0, y + TAB + 1.4);
        }
        out + "</g>"
    }
}

/// Whether a site may show, and whether its slice is heavy.
fn marks(plan: &Plan, site: &SitePlan) -> (bool, bool) {
    let of = |degree| plan.degree_at(site.site, degree);
    (of(Degree::MayShow), of(Degree::Heavy))
}

/// The marks of the second and third shade: diagonals and dots; the first has none.
fn pattern(letter: char, x: f64, y: f64, wide: f64, ink: &str) -> String {
    let (left, right) = (x - wide / 2.0, x + wide / 2.0);
    let mut out = String::new();
    let mut at = left + 3.0;
    while at < right - 3.0 {
        match letter {
            'B' => {
                let _ = write!(out, "M{at:.1} {:.1}l-2.4 2.4", y + 0.6);
            }
            'C' => {
                let _ = write!(out, "M{at:.1} {:.1}h.01", y + 1.6);
            }
            _ => return out,
        }
        at += 4.0;
    }
    let class = if letter == 'C' { "dots" } else { "stripes" };
    format!("<path class=\"{class}\" stroke=\"{ink}\" d=\"{out}\"/>")
}

/// White or black, whichever is read better on a colour.
fn ink_on(fill: &str) -> &'static str {
    let byte = |at: usize| fill.get(at..at + 2).and_then(|hex| u8::from_str_radix(hex, 16).ok()).map_or(0.5, f64::from) / 255.0;
    let light = 0.2126 * byte(1).powf(2.2) + 0.7152 * byte(3).powf(2.2) + 0.0722 * byte(5).powf(2.2);
    // The two contrasts are equal at a luminance of 0.18. *Source*: key `wcag22`.
    if light > 0.18 { DARK_INK } else { LIGHT_INK }
}

fn path(line: &[MapPair]) -> String {
    let spots: Vec<String> =
        line.iter().filter(|pair| pair.iter().all(|v| v.is_finite())).map(|[x, y]| format!("{x:.1} {:.1}", -y)).collect();
    if spots.is_empty() { String::new() } else { format!("M{}", spots.join("L")) }
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

/// Where a site is found along its row, and on which side.
pub fn from_line(site: &SitePlan) -> String {
    match site.side {
        PlanSide::Centre => site.along_words(),
        side => format!("{}, {}", site.along_words(), side.words()),
    }
}

/// What is marked, counted, each with the name of its mark; in the papers' own words.
pub fn cautions_in_words(plan: &Plan) -> Vec<(&'static str, String)> {
    let mark = |says: &str| match says {
        says if says.contains("may show") => "may-show",
        says if says.contains("more than usual") => "heavy",
        _ => "watch",
    };
    let mut said: Vec<(&'static str, String)> = plan.caution_summary().into_iter().map(|says| (mark(&says), says)).collect();
    if let Some(spacing) = plan.row_spacing.map(Length::to_mm).filter(|spacing| *spacing < ROW_SPACING.value) {
        said.push(("watch", format!("Rows {} mm apart: no hair rests between them", number(spacing, 0))));
    }
    said
}
