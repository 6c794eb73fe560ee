//! The marks: patterns, tabs, and the words for one site.

use super::pen::{FAINT, INK, PAPER, Spot, letters, shade_of};
use crate::shade::{Pattern, Shade, hex, luminance};
use crate::svg::{Ending, Svg, coordinate, path_through};
use crate::words::one_line;
use craft::placement::Degree;
use measure::text::millimetres;
use salon::plan::{Plan, PlanSide, SitePlan};

/// Writes the patterns that the shades and the kept-free regions use.
pub(crate) fn define(svg: &mut Svg, shades: &[Shade]) {
    svg.open("defs", &[]);
    for (ink, name) in [("#ffffff", "light"), ("#000000", "dark")] {
        for pattern in Pattern::ALL.into_iter().filter(|p| *p != Pattern::Plain) {
            let used = shades.iter().any(|s| s.pattern == pattern && ink_name(s) == name);
            if used {
                define_pattern(svg, pattern, ink, &format!("{}-{name}", pattern.name()));
            }
        }
    }
    tile(svg, "kept-free", 2.2, |svg| {
        stroke(svg, "M-0.55 0.55L0.55 -0.55M0 2.2L2.2 0M1.65 2.75L2.75 1.65", "#b3aba1", "0.28");
    });
    svg.close();
}

fn define_pattern(svg: &mut Svg, pattern: Pattern, ink: &str, id: &str) {
    match pattern {
        Pattern::Plain => {}
        Pattern::Rising => tile(svg, id, 1.6, |svg| {
            stroke(svg, "M-0.4 0.4L0.4 -0.4M0 1.6L1.6 0M1.2 2L2 1.2", ink, "0.42");
        }),
        Pattern::Dots => tile(svg, id, 1.3, |svg| {
            svg.empty("circle", &[("cx", "0.65"), ("cy", "0.65"), ("r", "0.36"), ("fill", ink)]);
        }),
        Pattern::Along => tile(svg, id, 1.1, |svg| stroke(svg, "M0 0.55L1.1 0.55", ink, "0.36")),
        Pattern::Across => tile(svg, id, 1.4, |svg| stroke(svg, "M0.7 0L0.7 1.4", ink, "0.42")),
        Pattern::Crossed => tile(svg, id, 1.6, |svg| {
            stroke(svg, "M0 1.6L1.6 0M0 0L1.6 1.6", ink, "0.34");
        }),
    }
}

fn tile(svg: &mut Svg, id: &str, side: f64, inside: impl FnOnce(&mut Svg)) {
    let side = coordinate(side);
    svg.open("pattern", &[("id", id), ("width", &side), ("height", &side), ("patternUnits", "userSpaceOnUse")]);
    inside(svg);
    svg.close();
}

fn stroke(svg: &mut Svg, path: &str, colour: &str, width: &str) {
    svg.empty("path", &[("d", path), ("stroke", colour), ("stroke-width", width), ("fill", "none")]);
}

/// A region that is kept free, with its reason to be read aloud.
pub(crate) fn kept_free(svg: &mut Svg, outline: &[Spot], reason: &str) {
    let outline = path_through(outline, Ending::Closed);
    svg.open("g", &[("class", "kept-free")]);
    svg.element("title", &[], &format!("Kept free: {}", one_line(reason)));
    svg.empty(
        "path",
        &[("d", &outline), ("fill", "url(#kept-free)"), ("stroke", FAINT), ("stroke-width", "0.2"), ("stroke-dasharray", "0.8 0.8")],
    );
    svg.close();
}

/// A small turn of hair where the crown is.
pub(crate) fn turn_of_hair(svg: &mut Svg, at: Spot) {
    let (x, y) = (coordinate(at[0]), coordinate(at[1]));
    let turn = "M0 0C0.6 -0.6 1.3 0.1 0.8 0.9C0.1 1.7 -1.3 1.3 -1.3 0C-1.4 -1.4 0.4 -2 1.5 -1.3";
    svg.empty(
        "path",
        &[
            ("d", turn),
            ("transform", &format!("translate({x} {y})")),
            ("fill", "none"),
            ("stroke", INK),
            ("stroke-width", "0.5"),
            ("stroke-linecap", "round"),
        ],
    );
}

/// A pattern is drawn in whichever of black and white stands out from the fill.
fn ink_name(shade: &Shade) -> &'static str {
    // Equal contrast to black and to white lies at a luminance of 0.179.
    if luminance(shade.fill) > 0.179 { "dark" } else { "light" }
}

/// A tab lying from `left` to `right` along the x axis, hanging down by `height`.
#[derive(Clone, Copy)]
pub(crate) struct Tab {
    pub left: f64,
    pub right: f64,
    pub top: f64,
    pub height: f64,
}

/// Draws a tab: the upper half in the shade of the piece over the slice, the
/// lower in that of the piece under it when the two differ.
pub(crate) fn tab(svg: &mut Svg, place: Tab, over: Option<&Shade>, under: Option<&Shade>) {
    match (over, under) {
        (Some(over), Some(under)) if over != under => {
            let half = place.height / 2.0;
            filled(svg, Tab { height: half, ..place }, over);
            filled(svg, Tab { top: place.top + half, height: half, ..place }, under);
        }
        (Some(shade), _) | (None, Some(shade)) => filled(svg, place, shade),
        (None, None) => {}
    }
    rectangle(svg, place, &[("fill", "none"), ("stroke", INK), ("stroke-width", "0.3"), ("rx", "0.5")]);
}

fn filled(svg: &mut Svg, place: Tab, shade: &Shade) {
    rectangle(svg, place, &[("fill", &hex(shade.fill)), ("rx", "0.5")]);
    if shade.pattern != Pattern::Plain {
        let pattern = format!("url(#{}-{})", shade.pattern.name(), ink_name(shade));
        rectangle(svg, place, &[("fill", &pattern), ("rx", "0.5")]);
    }
}

fn rectangle(svg: &mut Svg, place: Tab, more: &[(&str, &str)]) {
    let (x, y) = (coordinate(place.left), coordinate(place.top));
    let (w, h) = (coordinate((place.right - place.left).max(0.0)), coordinate(place.height.max(0.0)));
    let mut attributes = vec![("x", x.as_str()), ("y", &y), ("width", &w), ("height", &h)];
    attributes.extend_from_slice(more);
    svg.empty("rect", &attributes);
}

/// Draws a small disc with a number in it.
pub(crate) fn numbered(svg: &mut Svg, at: [f64; 2], number: &str) {
    let (x, y) = (coordinate(at[0]), coordinate(at[1]));
    svg.empty("circle", &[("cx", &x), ("cy", &y), ("r", "2.4"), ("fill", PAPER), ("stroke", INK), ("stroke-width", "0.25")]);
    let below = coordinate(at[1] + 1.05);
    svg.element("text", &[("x", &x), ("y", &below), ("font-size", "3"), ("text-anchor", "middle"), ("fill", INK)], number);
}

/// One site in a sentence, with everything needed to find and fill it.
pub(crate) fn spoken_site(plan: &Plan, site: &SitePlan, shades: &[Shade]) -> String {
    let Some(row) = plan.rows.iter().find(|row| row.row == site.row && row.section.is_some()) else {
        return spoken_on_one_sheet(site, shades);
    };
    let mut said = format!(
        "{}: {}, {}; {}",
        site.site,
        row.called(),
        if site.side == PlanSide::Centre { site.along_words() } else { format!("{}, {}", site.along_words(), site.side.words()) },
        spoken_piece(site, shades)
    );
    for (degree, words) in [(Degree::MayShow, "It may show."), (Degree::Heavy, "It carries more than usual for such hair.")] {
        if plan.degree_at(site.site, degree) {
            said.push(' ');
            said.push_str(words);
        }
    }
    said
}

/// The same of a site of a plan of before.
pub(crate) fn spoken_on_one_sheet(site: &SitePlan, shades: &[Shade]) -> String {
    let place = match site.side {
        PlanSide::Centre => "in the middle".to_owned(),
        side => format!("{} from the midline, {}", millimetres(site.along.abs()), side.words()),
    };
    format!("{}: parting {} from the nape hairline, {place}; {}", site.site, millimetres(site.above_nape), spoken_piece(site, shades))
}

fn spoken_piece(site: &SitePlan, shades: &[Shade]) -> String {
    let cut = if site.piece.cut.is_half() { "half pieces, " } else { "" };
    let code = shade_of(shades, &site.piece.shade).map(|s| one_line(&s.code)).unwrap_or_default();
    format!("{cut}shade {} ({code}), {} long.", letters(site, shades), millimetres(site.piece.length))
}
