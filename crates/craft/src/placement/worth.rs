//! What a place costs: named terms, in points.

use super::part::HeadPart;
use super::rules::{
    WORTH_COVER, WORTH_CUT, WORTH_LOAD, WORTH_NEAR, WORTH_ORDER, WORTH_REACH, WORTH_REST, WORTH_REST_OLDER, WORTH_SANDWICH, WORTH_STRAIN,
};
use super::survey::Open;
use crate::load::LOAD_END;
use crate::piece::Cut;
use measure::{Length, RuleBook};
use std::collections::BTreeMap;

/// The points of a place, by term; `height` is that above the nape's floor.
/// Rows and symmetry belong to the layout and are not here.
pub fn points(place: &Open, cut: Cut, height: Length, rules: &RuleBook) -> BTreeMap<&'static str, f64> {
    // A sandwich of halves counts one half.
    let count = if cut == Cut::Half { 0.5 } else { 1.0 };
    let mut points = BTreeMap::from([(WORTH_SANDWICH.id, rules.value(&WORTH_SANDWICH) * count)]);
    let mut add = |id, value: f64| {
        if value > 0.0 {
            points.insert(id, value);
        }
    };
    if cut == Cut::Half {
        add(WORTH_CUT.id, rules.value(&WORTH_CUT));
    }
    add(WORTH_COVER.id, rules.value(&WORTH_COVER) * 100.0 * place.chance);
    add(WORTH_LOAD.id, rules.value(&WORTH_LOAD) * (place.slice.traction.index.value / 100.0).clamp(0.0, 2.0));
    let over = (place.slice.strain - 1.0) / (rules.value(&LOAD_END) - 1.0).max(0.1);
    add(WORTH_STRAIN.id, rules.value(&WORTH_STRAIN) * over.clamp(0.0, 1.0));
    add(WORTH_NEAR.id, rules.value(&WORTH_NEAR) * place.near);
    let [last, older] = place.rested;
    if last {
        add(WORTH_REST.id, rules.value(&WORTH_REST));
    }
    if older {
        add(WORTH_REST_OLDER.id, rules.value(&WORTH_REST_OLDER));
    }
    add(WORTH_ORDER.id, rules.value(&WORTH_ORDER) * height.to_cm());
    if place.part != HeadPart::Back {
        add(WORTH_REACH.id, rules.value(&WORTH_REACH));
    }
    points
}
