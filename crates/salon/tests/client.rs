//! A client's file: what is taken, and what is told to whom mistypes.

use craft::suitability::answers::{Goal, Style};
use measure::Length;
use proptest::prelude::*;
use salon::client::{ClientFile, ColourAsked, Fact, Fullness, known_keys, nearest_key, words_of};
use serde_json::{Value, json};

fn least() -> Value {
    json!({
        "consultation": {"goal": "thickness"},
        "hair": {"density_per_cm2": 180},
        "head": {"circumference_mm": 555},
        "colour": {"shade": "S05"},
    })
}

fn full() -> Value {
    json!({
        "client": {"name": "Ada Invented", "age_years": 34},
        "consultation": {
            "goal": "both", "wanted_length_mm": 550, "fullness": "natural",
            "styles": ["down", "low_ponytail", "high_ponytail", "down"], "part": "centre", "ties_up": "often",
            "sport_per_week": 2, "swims": false, "hot_tools": "weekly", "had_extensions": true,
            "reacted_before": false, "allergies": [], "scalp": [], "health": [], "consent": true, "budget_minor": 60000
        },
        "hair": {
            "density_per_cm2": 180, "strand": "medium", "own_length_mm": 350, "texture": "wavy",
            "oil": "normal", "processed": "coloured", "ends": "blunt"
        },
        "head": {"circumference_mm": 555, "nape_hairline_below_occiput_mm": 35,
                 "avoid": [{"side": "left", "zone": "temple", "reason": "cowlick"}]},
        "colour": {"lab_d65": [32.0, 8.0, 19.0]},
        "pieces": {"tab_width_mm": 40, "tab_height_mm": 9, "mass_g": 2.5, "lengths_mm": [600, 350, 450, 350],
                   "ring": "ring.json", "stock": "stock.json"},
        "last_visit": {"sites": [{"above_nape_mm": 45, "along_mm": -20, "width_mm": 30}]},
        "prices": {"currency": "EUR", "hour_minor": 6000, "tape_tab_minor": 35}
    })
}

fn read(value: &Value) -> ClientFile {
    serde_json::from_value(value.clone()).unwrap()
}

/// The places and rules of a file's faults.
fn faults(value: &Value) -> Vec<(String, String)> {
    let found = read(value).check().err().unwrap_or_default();
    found.into_iter().map(|fault| (fault.place.to_string(), fault.rule)).collect()
}

/// The full file with one key set, or taken out where the value is null.
fn with(section: &str, key: &str, value: Value) -> Value {
    let mut file = full();
    if value.is_null() {
        file[section].as_object_mut().unwrap().remove(key);
    } else {
        file[section][key] = value;
    }
    file
}

#[test]
fn the_least_file_is_enough_and_names_what_is_missing() {
    let facts = read(&least()).check().unwrap();
    assert_eq!((facts.wish.goal, facts.wish.fullness), (Goal::Thickness, Fullness::Natural));
    assert_eq!(facts.wish.styles, [Style::Down]);
    for fact in [Fact::Fullness, Fact::Styles, Fact::Parting, Fact::Strand, Fact::OwnLength, Fact::Processed] {
        assert!(facts.warnings.iter().any(|warning| warning.contains(fact.name())), "{fact} is named");
        assert!(!facts.warnings.iter().any(|warning| warning.contains(fact.key())), "{fact} is named by its key");
    }
}

#[test]
fn the_full_file_is_taken_whole() {
    let facts = read(&full()).check().unwrap();
    assert_eq!(facts.wish.styles, [Style::Down, Style::LowPonytail, Style::HighPonytail]);
    assert_eq!(facts.pieces.lengths, [350.0, 450.0, 600.0].map(Length::mm));
    assert_eq!(facts.colour, ColourAsked::LabD65([32.0, 8.0, 19.0]));
    assert_eq!(facts.head.avoid[0].zone, head::Zone::Temporal);
    assert_eq!(facts.budget.map(|money| money.to_string()), Some("600.00 EUR".to_owned()));
    assert_eq!(facts.last_sites[0].along, Length::mm(-20.0));
    assert_eq!(facts.answers.age_years, Some(34));
    assert!(facts.warnings.is_empty(), "{:?}", facts.warnings);
}

#[test]
fn a_file_is_written_as_it_was_read() {
    let file = read(&full());
    let again: ClientFile = serde_json::from_value(serde_json::to_value(&file).unwrap()).unwrap();
    assert_eq!(file, again);
}

/// Each row: a file with one thing wrong, and the one fault it must get.
#[test]
fn each_mistake_is_told_with_its_place() {
    let rows: &[(&str, &str, Value, &str)] = &[
        ("pieces", "mass_g", json!(-2.5), "pieces.mass_g"),
        ("head", "crown_behind_tape_mm", json!(300), "head.crown_behind_tape_mm"),
        ("head", "crown_to_right_mm", json!(5), "head.crown_behind_tape_mm"),
        ("head", "front_peak_mm", json!(-1), "head.front_peak_mm"),
        ("head", "taped_partings", json!([{"above_nape_mm": 60, "length_mm": 9}]), "head.taped_partings[0].length_mm"),
        ("head", "taped_partings", json!([{"above_nape_mm": 60}]), "head.taped_partings[0]"),
        ("pieces", "tab_width_mm", json!(0), "pieces.tab_width_mm"),
        ("pieces", "tab_height_mm", json!(0), "pieces.tab_height_mm"),
        ("pieces", "lengths_mm", json!([]), "pieces.lengths_mm"),
        ("pieces", "lengths_mm", json!([400, -1]), "pieces.lengths_mm[1]"),
        ("pieces", "ring", json!(" "), "pieces.ring"),
        ("client", "age_years", json!(-3), "client.age_years"),
        ("client", "age_years", json!(200), "client.age_years"),
        ("client", "age_years", json!(33.5), "client.age_years"),
        ("consultation", "styles", json!([]), "consultation.styles"),
        ("consultation", "styles", json!(["hi_ponytail"]), "consultation.styles"),
        ("consultation", "goal", json!("longer"), "consultation.goal"),
        ("consultation", "goal", Value::Null, "consultation.goal"),
        ("consultation", "wanted_length_mm", json!(350), "consultation.wanted_length_mm"),
        ("consultation", "wanted_length_mm", json!(300), "consultation.wanted_length_mm"),
        ("consultation", "added_g", json!(80), "consultation.fullness"),
        ("consultation", "budget_minor", json!(0), "consultation.budget_minor"),
        ("consultation", "sport_per_week", json!(99), "consultation.sport_per_week"),
        ("consultation", "postpartum_months", json!(-1), "consultation.postpartum_months"),
        ("hair", "density_per_cm2", json!(20), "hair.density_per_cm2"),
        ("hair", "density_per_cm2", json!(401), "hair.density_per_cm2"),
        ("hair", "density_per_cm2", Value::Null, "hair.density_per_cm2"),
        ("hair", "diameter_um", json!(65), "hair.measured_by"),
        ("hair", "measured_by", json!("optical"), "hair.diameter_um"),
        ("hair", "strand", json!("corse"), "hair.strand"),
        ("hair", "tied_circumference_mm", json!(20), "hair.tied_circumference_mm"),
        ("head", "circumference_mm", json!(-1), "head.circumference_mm"),
        ("head", "circumference_mm", Value::Null, "head.circumference_mm"),
        ("head", "avoid", json!([{"side": "left"}]), "head.avoid[0]"),
        ("colour", "shade", json!("S05"), "colour"),
        ("colour", "lab_d65", Value::Null, "colour"),
        ("colour", "lab_d65", json!([120, 0, 0]), "colour.lab_d65"),
        ("colour", "lab_d65", json!([30, 8]), "colour.lab_d65"),
        ("colour", "marks", json!("marks.json"), "colour.photo"),
        ("prices", "currency", json!("eur"), "prices.currency"),
        ("prices", "hour_minor", json!(-1), "prices.hour_minor"),
        ("last_visit", "sites", json!([{"above_nape_mm": 45}]), "last_visit.sites[0]"),
    ];
    for (section, key, value, place) in rows {
        let found = faults(&with(section, key, value.clone()));
        assert_eq!(found.len(), 1, "{section}.{key} = {value}: {found:?}");
        assert_eq!(found[0].0, *place);
        assert!(!found[0].1.is_empty());
    }
}

#[test]
fn a_photo_needs_its_marks() {
    let mut file = full();
    file["colour"] = json!({"photo": "ends.jpg"});
    assert_eq!(faults(&file), [("colour.marks".to_owned(), "photo-marks".to_owned())]);
    file["colour"] = json!({"photo": "ends.jpg", "marks": "marks.json"});
    assert_eq!(faults(&file), []);
}

#[test]
fn an_amount_without_a_currency_is_told() {
    let mut file = full();
    file["prices"] = json!({"hour_minor": 6000});
    let places: Vec<String> = faults(&file).into_iter().map(|(place, _)| place).collect();
    assert_eq!(places, ["prices.hour_minor", "consultation.budget_minor"]);
}

#[test]
fn all_the_faults_come_at_once() {
    let mut file = full();
    file["pieces"]["mass_g"] = json!(-1);
    file["client"]["age_years"] = json!(500);
    file["consultation"]["part"] = json!("middle");
    file["head"]["circumference_mm"] = json!(0);
    file["colour"] = json!({});
    assert_eq!(faults(&file).len(), 5);
}

#[test]
fn a_head_of_centimetres_or_inches_is_left_to_those_who_know_heads() {
    for circumference in [56.0, 5600.0, 22.0] {
        assert_eq!(faults(&with("head", "circumference_mm", json!(circumference))), []);
    }
}

#[test]
fn a_slip_of_unit_is_named() {
    let cure = |section, key, value| read(&with(section, key, value)).check().unwrap_err()[0].cure.clone();
    assert!(cure("pieces", "tab_width_mm", json!(4)).contains("centimetres"));
    assert!(cure("pieces", "lengths_mm", json!([20])).contains("centimetres"));
    assert!(cure("hair", "tied_circumference_mm", json!(8)).contains("centimetres"));
}

// Observed range of density in twenty adults: 95 to 295 (J Soc Cosmet Chem 28,
// 1977, page 222).
#[test]
fn densities_that_were_seen_are_taken_and_impossible_ones_are_not() {
    assert_eq!(faults(&with("hair", "density_per_cm2", json!(95))), []);
    assert_eq!(faults(&with("hair", "density_per_cm2", json!(295))), []);
    assert_eq!(faults(&with("hair", "density_per_cm2", json!(20))).len(), 1);
}

#[test]
fn thickness_may_be_wanted_at_any_length() {
    let mut file = full();
    file["consultation"]["goal"] = json!("thickness");
    file["consultation"]["wanted_length_mm"] = json!(200);
    assert_eq!(faults(&file), []);
}

#[test]
fn an_unknown_key_is_refused_and_the_nearest_named() {
    let mut file = full();
    file["hair"]["densty_per_cm2"] = json!(180);
    assert!(serde_json::from_value::<ClientFile>(file).is_err());
    let hair = known_keys("hair").unwrap();
    assert_eq!(nearest_key("densty_per_cm2", hair), Some("density_per_cm2"));
    assert_eq!(nearest_key("own_length", hair), Some("own_length_mm"));
    assert_eq!(nearest_key("wnated_length_mm", known_keys("consultation").unwrap()), Some("wanted_length_mm"));
    assert_eq!(nearest_key("color", known_keys("").unwrap()), Some("colour"));
    assert_eq!(nearest_key("zzzzzz", hair), None);
    assert_eq!(known_keys("shoes"), None);
}

#[test]
fn every_word_that_is_offered_is_taken() {
    let keys = [
        ("consultation", "fullness"),
        ("consultation", "part"),
        ("consultation", "ties_up"),
        ("consultation", "hot_tools"),
        ("hair", "strand"),
        ("hair", "texture"),
        ("hair", "oil"),
        ("hair", "processed"),
        ("hair", "ends"),
        ("head", "hair_under_tape"),
    ];
    for (section, key) in keys {
        for word in words_of(Fact::of_key(&format!("{section}.{key}")).unwrap()) {
            assert_eq!(faults(&with(section, key, json!(word))), [], "{key} = {word}");
        }
    }
    for zone in words_of(Fact::AvoidZone) {
        for side in words_of(Fact::AvoidSide) {
            assert_eq!(faults(&with("head", "avoid", json!([{"side": side, "zone": zone}]))), []);
        }
    }
    for by in words_of(Fact::MeasuredBy) {
        let mut file = with("hair", "diameter_um", json!(65));
        file["hair"]["measured_by"] = json!(by);
        assert_eq!(faults(&file), []);
    }
}

#[test]
fn a_fault_is_written_as_the_contract_says() {
    let fault = read(&with("pieces", "mass_g", json!(-1))).check().unwrap_err().remove(0);
    let value = serde_json::to_value(&fault).unwrap();
    let keys: Vec<&String> = value.as_object().unwrap().keys().collect();
    assert_eq!(keys, ["what", "where", "rule", "cure"]);
}

proptest! {
    /// Nothing a number can be makes the check fall over, and a faultless file
    /// keeps its faultless facts.
    #[test]
    fn any_number_is_checked(value in prop::num::f64::ANY, at in 0..8_usize) {
        let mut file = read(&full());
        let hair = file.hair.as_mut().unwrap();
        match at {
            0 => hair.density_per_cm2 = Some(value),
            1 => hair.tied_circumference_mm = Some(value),
            2 => hair.own_length_mm = Some(value),
            3 => file.client.as_mut().unwrap().age_years = Some(value),
            4 => file.pieces.as_mut().unwrap().mass_g = Some(value),
            5 => file.head.as_mut().unwrap().circumference_mm = Some(value),
            6 => file.colour.as_mut().unwrap().lab_d65 = Some(vec![value, 0.0, 0.0]),
            _ => file.consultation.as_mut().unwrap().postpartum_months = Some(value),
        }
        match file.check() {
            Ok(_) => prop_assert!(value.is_finite()),
            Err(faults) => prop_assert!(!faults.is_empty() && faults.iter().all(|fault| !fault.cure.is_empty())),
        }
    }
}
