//! What every map is drawn with: the sheet, its inks and sizes of text, texts
//! that no line runs through, and the letters of shades.

use crate::shade::Shade;
use crate::svg::{Svg, coordinate};
use salon::plan::SitePlan;

/// A place on the page, mm from its upper left corner, y downwards.
pub(crate) type Spot = [f64; 2];

/// Width of the drawing: A4 less margins of 10 mm.
pub(crate) const WIDTH: f64 = 190.0;

/// Height of the drawing: A4 less margins and a line of page number.
pub(crate) const HEIGHT: f64 = 265.0;

/// Text on the map; at least 4.5 to 1 on white and on every ground below
/// (a test computes it). *Source*: key `wcag22`, 1.4.3.
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
    rimmed(svg, how, "0.9", words);
}

/// Writes a text with a rim of paper of its own width, mm.
pub(crate) fn rimmed(svg: &mut Svg, how: Text, rim: &str, words: &str) {
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
            ("stroke-width", rim),
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

/// A spot well inside an outline: the middle of the widest stretch that a few
/// level lines cut out of it.
pub(crate) fn inside(outline: &[Spot]) -> Option<Spot> {
    let low = outline.iter().map(|s| s[1]).fold(f64::INFINITY, f64::min);
    let high = outline.iter().map(|s| s[1]).fold(f64::NEG_INFINITY, f64::max);
    let mut best: Option<(f64, Spot)> = None;
    for step in 1..12 {
        let y = low + (high - low) * f64::from(step) / 12.0;
        let mut cuts: Vec<f64> = (0..outline.len())
            .filter_map(|i| {
                let (a, b) = (outline[i], outline[(i + 1) % outline.len()]);
                ((a[1] > y) != (b[1] > y)).then(|| a[0] + (y - a[1]) * (b[0] - a[0]) / (b[1] - a[1]))
            })
            .collect();
        cuts.sort_by(f64::total_cmp);
        for pair in cuts.chunks_exact(2) {
            let wide = pair[1] - pair[0];
            if best.is_none_or(|(so_far, _)| wide > so_far) {
                best = Some((wide, [(pair[0] + pair[1]) / 2.0, y]));
            }
        }
    }
    best.map(|(_, spot)| spot)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn channel(hex: &str) -> [u8; 3] {
        [1, 3, 5].map(|i| u8::from_str_radix(&hex[i..i + 2], 16).unwrap())
    }

    /// *Source*: key `wcag22`, success criterion 1.4.3: 4.5 to 1 for text (from
    /// memory).
    #[test]
    fn text_stands_out_from_every_ground() {
        for ink in [INK, QUIET] {
            for ground in [PAPER, SKIN, EAR] {
                let (dark, light) = (crate::shade::luminance(channel(ink)), crate::shade::luminance(channel(ground)));
                assert!((light + 0.05) / (dark + 0.05) >= 4.5, "{ink} on {ground}");
            }
        }
    }

    #[test]
    fn a_number_stands_inside_its_region_even_when_its_middle_is_outside() {
        // A horseshoe whose centre of mass lies in the gap.
        let shoe = [[0.0, 0.0], [2.0, 0.0], [2.0, 8.0], [8.0, 8.0], [8.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]];
        let [x, y] = inside(&shoe).unwrap();
        assert!((0.0..=10.0).contains(&x) && (8.0..=10.0).contains(&y), "{x} {y}");
        assert!(inside(&[]).is_none());
    }
}
