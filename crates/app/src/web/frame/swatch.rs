//! A shade as the screen shows it.

use colour::{D65, Lab, Xyz};
use craft::matching::{Ring, Shade};
use salon::plan::Plan;

/// A shade with its screen colour.
pub struct Swatch {
    /// Its code on the ring.
    pub code: String,
    /// Its name, where it has one.
    pub name: String,
    /// The screen colour, as `#rrggbb`; grey when nobody measured it.
    pub fill: String,
}

/// What is shown for a colour that nobody measured.
pub const UNMEASURED: &str = "#8c8c8c";

/// The swatch of a shade of the ring, by code.
#[must_use]
pub fn of(ring: &Ring, code: &str) -> Swatch {
    let shade = ring.shades.iter().find(|shade| shade.code == code);
    Swatch {
        code: code.to_owned(),
        name: shade.map(|shade| shade.name.clone()).unwrap_or_default(),
        fill: shade.and_then(|shade| shade.colour().ok()).map_or_else(|| UNMEASURED.to_owned(), screen),
    }
}

/// The swatches of the whole ring.
#[must_use]
pub fn all(ring: &Ring) -> Vec<Swatch> {
    ring.shades.iter().map(|shade| of(ring, &shade.code)).collect()
}

/// The screen colour of a shade as a plan knew it, by code.
#[must_use]
pub fn of_plan(plan: &Plan, code: &str) -> String {
    plan.colour.shades_lab_d65.get(code).map_or_else(|| UNMEASURED.to_owned(), |lab| of_lab((*lab).into()))
}

/// The screen colour of L*a*b* under D65.
#[must_use]
pub fn of_lab(lab: Lab) -> String {
    screen(lab.to_xyz(D65))
}

/// A shade in words: code and name.
#[must_use]
pub fn spoken(shade: &Shade) -> String {
    if shade.name.is_empty() { shade.code.clone() } else { format!("{} · {}", shade.code, shade.name) }
}

/// *Source*: the matrix from X Y Z under D65 and the curve of sRGB, key
/// `iec61966`; colours outside the screen's gamut are clipped.
fn screen(colour: Xyz) -> String {
    let Xyz { x, y, z } = colour;
    let linear = [3.2406 * x - 1.5372 * y - 0.4986 * z, -0.9689 * x + 1.8758 * y + 0.0415 * z, 0.0557 * x - 0.2040 * y + 1.0570 * z];
    let bytes = linear.map(|v| {
        let curved = if v <= 0.003_130_8 { 12.92 * v } else { 1.055 * v.powf(1.0 / 2.4) - 0.055 };
        (curved.clamp(0.0, 1.0) * 255.0).round() as u8
    });
    format!("#{:02x}{:02x}{:02x}", bytes[0], bytes[1], bytes[2])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// *Source*: CIELAB of sRGB primaries and greys, key `iec61966`, as widely
    /// tabulated (from memory): white, middle grey (119, 119, 119) at L* 50, red
    /// 53.2, 80.1, 67.2.
    #[test]
    fn known_colours_come_out_on_the_screen() {
        assert_eq!(of_lab(Lab::new(100.0, 0.0, 0.0)), "#ffffff");
        assert_eq!(of_lab(Lab::new(50.0, 0.0, 0.0)), "#777777");
        assert_eq!(of_lab(Lab::new(0.0, 0.0, 0.0)), "#000000");
        let red = of_lab(Lab::new(53.24, 80.09, 67.2));
        assert!(red.starts_with("#ff0") || red.starts_with("#fe0"), "{red}");
    }
}
