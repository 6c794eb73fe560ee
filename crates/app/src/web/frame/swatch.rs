//! A shade as the screen shows it.

use colour::{D65, Lab};
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
        fill: shade.and_then(|shade| shade.colour().ok()).map_or_else(|| UNMEASURED.to_owned(), |colour| of_lab(colour.to_lab(D65))),
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
    paper::screen_fill(lab)
}

/// A shade in words: code and name.
#[must_use]
pub fn spoken(shade: &Shade) -> String {
    if shade.name.is_empty() { shade.code.clone() } else { format!("{} · {}", shade.code, shade.name) }
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
