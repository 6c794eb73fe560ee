//! How a shade is shown on paper: a letter, a fill and a pattern.
//!
//! Never by hue alone: two of the three still tell shades apart in a black and
//! white print, and the letter does so by itself.

use crate::words::one_line;
use colour::lab::Lab;
use colour::white::D65;
use measure::real::pow;
use salon::plan::{Plan, SitePlan};

/// One shade of the set, as the papers show it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Shade {
    /// Its letter on this map: A for the first that is worked.
    pub letter: String,
    /// Its code on the ring.
    pub code: String,
    /// Its name on the ring, where it has one.
    pub name: String,
    /// The screen colour of its hair.
    pub fill: [u8; 3],
    /// Which pattern lies over the fill.
    pub pattern: Pattern,
}

/// The pattern over a fill.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Pattern {
    /// The bare fill.
    Plain,
    /// Lines rising to the right.
    Rising,
    /// Dots.
    Dots,
    /// Lines along the tab.
    Along,
    /// Lines across the tab.
    Across,
    /// Lines both ways.
    Crossed,
}

impl Pattern {
    /// All of them, in the order in which shades take them; further shades
    /// begin again and are told apart by their letters.
    pub(crate) const ALL: [Self; 6] = [Self::Plain, Self::Rising, Self::Dots, Self::Across, Self::Crossed, Self::Along];

    /// Its name inside the drawing.
    pub(crate) const fn name(self) -> &'static str {
        match self {
            Self::Plain => "plain",
            Self::Rising => "rising",
            Self::Dots => "dots",
            Self::Along => "along",
            Self::Across => "across",
            Self::Crossed => "crossed",
        }
    }
}

/// A middle brown, for a shade whose colour nobody measured.
const UNMEASURED: [u8; 3] = [150, 125, 105];

/// The shades of a plan as the papers show them.
pub(crate) fn of_plan(plan: &Plan) -> Vec<Shade> {
    shades(&plan.sites, |code| {
        let lab = plan.colour.shades_lab_d65.get(code).map(|lab| colour::Lab::from(*lab));
        let name = plan.colour.shade_names.get(code).cloned();
        (lab.is_some() || name.is_some()).then(|| (name.unwrap_or_default(), lab))
    })
}

/// The shades of the sites, lettered in the order in which they are worked.
///
/// `known` gives a shade's name and its colour under D65, by code.
pub(crate) fn shades(sites: &[SitePlan], known: impl Fn(&str) -> Option<(String, Option<Lab>)>) -> Vec<Shade> {
    let mut shades: Vec<Shade> = Vec::new();
    for site in sites {
        for code in std::iter::once(&site.piece.shade).chain(site.piece.under_shade.as_ref()) {
            if shades.iter().any(|shade| shade.code == *code) {
                continue;
            }
            let (name, lab) = known(code).unwrap_or_default();
            let count = shades.len();
            shades.push(Shade {
                letter: letter(count),
                code: code.clone(),
                name: one_line(&name),
                fill: lab.filter(|lab| lab.is_finite()).map_or(UNMEASURED, screen_colour),
                pattern: Pattern::ALL[count % Pattern::ALL.len()],
            });
        }
    }
    shades
}

/// A to Z, then AA, AB and on.
fn letter(count: usize) -> String {
    let last = char::from(b'A' + (count % 26) as u8);
    match count / 26 {
        0 => last.to_string(),
        more => format!("{}{last}", letter(more - 1)),
    }
}

/// A colour under D65 as a screen shows it; what a screen cannot show is clipped.
///
/// *Source*: matrix and transfer curve of key `iec61966`, from memory; the tests
/// check white, black and a middle grey.
pub(crate) fn screen_colour(lab: Lab) -> [u8; 3] {
    let xyz = lab.to_xyz(D65);
    let linear = [
        3.240_6 * xyz.x - 1.537_2 * xyz.y - 0.498_6 * xyz.z,
        -0.968_9 * xyz.x + 1.875_8 * xyz.y + 0.041_5 * xyz.z,
        0.055_7 * xyz.x - 0.204 * xyz.y + 1.057 * xyz.z,
    ];
    linear.map(|c| {
        let c = c.clamp(0.0, 1.0);
        let coded = if c <= 0.003_130_8 { 12.92 * c } else { 1.055 * pow(c, 1.0 / 2.4) - 0.055 };
        (coded * 255.0).round() as u8
    })
}

/// Relative luminance of a screen colour.
///
/// *Source*: relative luminance, key `wcag22`, from memory.
pub(crate) fn luminance([r, g, b]: [u8; 3]) -> f64 {
    let linear = |c: u8| {
        let c = f64::from(c) / 255.0;
        if c <= 0.040_45 { c / 12.92 } else { pow((c + 0.055) / 1.055, 2.4) }
    };
    0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b)
}

/// A screen colour as `#rrggbb`.
pub(crate) fn hex([r, g, b]: [u8; 3]) -> String {
    format!("#{r:02x}{g:02x}{b:02x}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn screen_colours_of_greys_are_as_published() {
        // *Source*: key `iec61966`: white and black are the ends of the scale. L*
        // 53.585 is the lightness of sRGB 128, 128, 128 (from memory).
        assert_eq!(screen_colour(Lab::new(100.0, 0.0, 0.0)), [255; 3]);
        assert_eq!(screen_colour(Lab::new(0.0, 0.0, 0.0)), [0; 3]);
        for channel in screen_colour(Lab::new(53.585, 0.0, 0.0)) {
            assert!((i32::from(channel) - 128).abs() <= 1, "{channel}");
        }
        // *Source*: key `iec61966`: sRGB red is L* 53.24, a* 80.09, b* 67.20
        // (from memory).
        let red = screen_colour(Lab::new(53.24, 80.09, 67.20));
        assert!(red[0] >= 253 && red[1] <= 6 && red[2] <= 6, "{red:?}");
    }

    #[test]
    fn letters_go_on_after_z() {
        assert_eq!([0, 25, 26, 52, 701].map(letter), ["A", "Z", "AA", "BA", "ZZ"]);
    }
}
