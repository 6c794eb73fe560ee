//! What may be tried otherwise, as the form beside the map begins: each value as
//! the plan has it.

use crate::web::client::fields::style_name;
use craft::coverage::Style;
use craft::piece::{USUAL_MASS, USUAL_WIDTH};
use craft::placement::Care;
use craft::suitability::plausible::DENSITY;
use desk::KeptPlan;
use measure::text::{capital, number};
use paper::words::spoken;

/// The values that may be tried otherwise, as the plan has them.
pub struct WhatIfView {
    /// Hairs on a square centimetre.
    pub density: String,
    /// The least and the most that anyone has.
    pub density_range: (f64, f64),
    /// Width of the tab, mm.
    pub tab_width: String,
    /// Mass of one piece, g.
    pub mass: String,
    /// How full.
    pub levels: Vec<ChoiceView>,
    /// How much is dared.
    pub cares: Vec<ChoiceView>,
    /// Every style, those she wears switched on.
    pub styles: Vec<ChoiceView>,
}

/// One thing that may be switched on.
pub struct ChoiceView {
    /// Its word in the facts.
    pub value: &'static str,
    /// Its name.
    pub name: String,
    /// Whether it is on.
    pub on: bool,
}

/// The form as it begins; what her facts do not say has the value usual in the trade.
pub fn what_if(kept: &KeptPlan) -> WhatIfView {
    let plain = |value: Option<f64>, usual: f64| number(value.unwrap_or(usual), 1);
    let asked = kept.client.consultation.as_ref();
    let pieces = kept.client.pieces.as_ref();
    let choice = |value: &'static str, on: bool| ChoiceView { value, name: capital(&spoken(value)), on };
    let said = asked.and_then(|section| section.fullness.as_deref());
    let cared = asked.and_then(|section| section.care.as_deref());
    let worn = asked.and_then(|section| section.styles.clone()).unwrap_or_default();
    WhatIfView {
        density: number((kept.plan.hair.density_per_cm2[0] / 5.0).round() * 5.0, 0),
        density_range: DENSITY.range,
        tab_width: plain(pieces.and_then(|p| p.tab_width_mm), USUAL_WIDTH.value),
        mass: plain(pieces.and_then(|p| p.mass_g), USUAL_MASS.value),
        levels: ["light", "natural", "full"].map(|level| choice(level, said == Some(level))).into(),
        cares: Care::ALL.map(|care| choice(care.word(), cared.unwrap_or(Care::default().word()) == care.word())).into(),
        styles: Style::ALL
            .iter()
            .map(|style| ChoiceView {
                name: style_name(style.word()),
                ..choice(style.word(), worn.iter().any(|word| word == style.word()))
            })
            .collect(),
    }
}
