//! The ways on from a plan that stops short, and why a place is kept free.

use craft::coverage::Style;
use measure::{Length, RuleBook};
use salon::client::ClientFile;
use salon::make::head_model::{HeadModel, StandingSandwich};
use salon::make::{Supplies, head_model, make, stops_short, take, ways};
use salon::plan::{Lever, Plan};
use serde_json::json;

fn file(density: f64, strand: &str, fullness: &str, styles: &[&str]) -> ClientFile {
    serde_json::from_value(json!({
        "client": {"age_years": 31},
        "consultation": {
            "goal": "both", "wanted_length_mm": 550, "fullness": fullness, "styles": styles, "part": "centre",
            "ties_up": "sometimes", "had_extensions": true, "reacted_before": false, "allergies": [], "scalp": [],
            "health": [], "consent": true
        },
        "hair": {"density_per_cm2": density, "strand": strand, "own_length_mm": 350, "processed": "none"},
        "head": {"circumference_mm": 556},
        "colour": {"lab_d65": [32.0, 8.0, 19.0]},
        "pieces": {"mass_g": 2.5, "lengths_mm": [350, 450, 500, 550]},
    }))
    .unwrap()
}

fn plan_of(file: &ClientFile) -> Plan {
    make(&file.check().unwrap(), &Supplies::default(), 1, &RuleBook::standard()).unwrap().plan
}

#[test]
fn a_plan_that_stops_short_offers_ways_that_hold_what_they_say() {
    let book = RuleBook::standard();
    let short = file(160.0, "fine", "full", &["down", "half_up", "high_ponytail"]);
    let plan = plan_of(&short);
    assert!(stops_short(&plan), "{} of {} g", plan.quantity.added.to_g(), plan.quantity.wished.to_g());
    let told = ways(&short, &Supplies::default(), &plan, 1, &book).unwrap();
    assert!(!told.is_empty() && told.iter().any(|way| way.levers.iter().any(|lever| matches!(lever, Lever::Without(_)))), "{told:?}");
    let lack = plan.quantity.wished.to_g() - plan.quantity.added.to_g();
    for way in &told {
        let taken = plan_of(&take(&short, &way.levers).unwrap());
        assert_eq!(
            (taken.quantity.added.to_g(), taken.quantity.pieces, taken.quantity.sandwiches),
            (way.added.to_g(), way.pieces, way.sandwiches),
            "{way:?}"
        );
        assert!((way.wished.to_g() - way.added.to_g()).max(0.0) < lack, "{way:?} brings it no nearer");
        assert!(!way.says.is_empty() && !way.says.contains('_'), "{}", way.says);
        assert!(way.levers.len() <= 2);
    }
    // The plan itself and a pulled lever that moves nothing.
    assert_eq!(plan_of(&short), plan);
    assert!(take(&short, &[Lever::Without(Style::Bun)]).is_none());
}

#[test]
fn a_plan_that_meets_its_wish_needs_no_way_on() {
    let file = file(200.0, "medium", "light", &["down"]);
    let plan = plan_of(&file);
    assert!(!stops_short(&plan));
    assert!(ways(&file, &Supplies::default(), &plan, 1, &RuleBook::standard()).unwrap().is_empty());
}

#[test]
fn a_set_dearer_than_the_budget_offers_what_the_money_reaches() {
    let mut dear = file(200.0, "medium", "natural", &["down"]);
    dear.prices = Some(serde_json::from_value(json!({"currency": "EUR", "hour_minor": 6000, "tape_tab_minor": 35})).unwrap());
    let all = plan_of(&dear).quote.unwrap().total_minor;
    let mut consultation = dear.consultation.clone().unwrap();
    consultation.budget_minor = Some(all * 2 / 3);
    dear.consultation = Some(consultation);
    let plan = plan_of(&dear);
    assert!(plan.quantity.added.to_g() >= plan.quantity.wished.to_g() && stops_short(&plan));
    let told = ways(&dear, &Supplies::default(), &plan, 1, &RuleBook::standard()).unwrap();
    let first = told.first().expect("a lighter wish fits");
    assert!(first.total_minor.unwrap() <= all * 2 / 3 && first.added.to_g() < plan.quantity.added.to_g(), "{first:?}");
    // Every way is cheaper than the set as it was planned.
    assert!(told.iter().all(|way| way.total_minor.unwrap() < all), "{told:?}");
    for way in &told {
        let taken = plan_of(&take(&dear, &way.levers).unwrap());
        assert_eq!(
            (taken.quantity.added.to_g(), taken.quote.unwrap().total_minor),
            (way.added.to_g(), way.total_minor.unwrap()),
            "{way:?}"
        );
    }
    // No hair is not a wish.
    assert!(take(&dear, &[Lever::WishOf(0)]).is_none());
}

fn laid(file: &ClientFile) -> (HeadModel, Vec<StandingSandwich>) {
    let facts = file.check().unwrap();
    let plan = plan_of(file);
    (head_model(&facts, &RuleBook::standard()).unwrap(), plan.sites.iter().map(StandingSandwich::of).collect())
}

fn at(model: &HeadModel, up: f64, along: f64) -> [f64; 3] {
    model.head().parting(Length::mm(up)).unwrap().at(Length::mm(along)).unwrap().0
}

#[test]
fn an_empty_place_says_why_it_is_empty_or_is_offered() {
    let (model, standing) = laid(&file(200.0, "medium", "light", &["down", "low_ponytail"]));
    // In the nape's first section nothing is set, and the answer says so.
    let low = model.why_not(at(&model, 20.0, 5.0), &standing);
    assert!(low.offer.is_none() && low.says.contains("nape"), "{}", low.says);
    // On a sandwich's own place: it is taken.
    let first = standing[0];
    let taken = model.why_not(at(&model, first.above_nape.to_mm(), first.along.to_mm()), &standing);
    assert!(taken.offer.is_none_or(|offer| (offer.along - first.along).abs().to_mm() > 10.0), "{}", taken.says);
    // Where the light plan set nothing there is room, and what is offered may stand.
    let free = model.why_not(at(&model, 142.5, 60.0), &standing);
    let offer = free.offer.unwrap_or_else(|| panic!("{}", free.says));
    assert!(model.judge(offer, &standing).faults.is_empty());
    // Above the crown at the back, and off the hair.
    let top = model.why_not(at(&model, 205.0, 3.0), &standing);
    assert!(top.offer.is_none() && top.says.contains("crown"), "{}", top.says);
    let face = model.why_not([0.0, 100.0, -10.0], &standing);
    assert!(face.offer.is_none() && !face.says.is_empty());
}
