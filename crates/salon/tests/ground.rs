//! A layout asked about and set by hand: the same limits as the planner's, and
//! what stands stays.

use craft::coverage::CROWN_CEILING;
use craft::piece::Cut;
use measure::{Grams, Length, RuleBook};
use salon::client::{ClientFacts, ClientFile};
use salon::make::chair::{AtTheChair, Done, plan_on};
use salon::make::head_model::{DecidedLayout, HeadModel, StandingSandwich};
use salon::make::{Supplies, head_model, make, make_around};
use salon::plan::{Plan, SiteId};
use serde_json::{Value, json};

fn facts(head: Value) -> ClientFacts {
    let file = json!({
        "client": {"age_years": 30},
        "consultation": {
            "goal": "thickness", "fullness": "natural", "styles": ["down", "low_ponytail"], "part": "centre",
            "ties_up": "sometimes", "had_extensions": true, "reacted_before": false, "allergies": [], "scalp": [],
            "health": [], "consent": true
        },
        "hair": {"density_per_cm2": 190, "strand": "medium", "own_length_mm": 350, "processed": "none"},
        "head": head,
        "colour": {"lab_d65": [32.0, 8.0, 19.0]},
    });
    serde_json::from_value::<ClientFile>(file).unwrap().check().unwrap()
}

fn plan_of(facts: &ClientFacts, state: &DecidedLayout) -> Plan {
    make_around(facts, &Supplies::default(), state, 1, &RuleBook::standard()).unwrap().plan
}

fn usual() -> (ClientFacts, HeadModel, Plan) {
    let facts = facts(json!({"circumference_mm": 560}));
    let model = head_model(&facts, &RuleBook::standard()).unwrap();
    let plan = plan_of(&facts, &DecidedLayout::default());
    (facts, model, plan)
}

fn places(plan: &Plan) -> Vec<StandingSandwich> {
    plan.sites.iter().map(StandingSandwich::of).collect()
}

fn without(all: &[StandingSandwich], i: usize) -> Vec<StandingSandwich> {
    all.iter().enumerate().filter(|(j, _)| *j != i).map(|(_, at)| *at).collect()
}

#[test]
fn every_site_of_a_plan_may_stand_where_it_was_planned() {
    let (_, model, plan) = usual();
    let all = places(&plan);
    assert!(all.len() > 8, "{} sites", all.len());
    for (i, site) in plan.sites.iter().enumerate() {
        let judged = model.judge(all[i], &without(&all, i));
        assert!(judged.faults.is_empty(), "{}: {:?}", site.site, judged.faults);
        let seen = judged.site.unwrap();
        assert_eq!(seen.coverage, site.coverage, "{}", site.site);
        assert!(((seen.slice - site.slice).to_mm()).abs() < 0.05, "{}", site.site);
        assert_eq!(judged.tab.len(), 9);
    }
}

#[test]
fn a_site_moved_against_a_limit_is_told_which() {
    let (_, model, plan) = usual();
    let all = places(&plan);
    let others = without(&all, 0);
    let moved = |above: f64, along: f64| {
        let at = StandingSandwich { above_nape: Length::mm(above), along: Length::mm(along), ..all[0] };
        model.judge(at, &others).faults.into_iter().map(|fault| fault.rule).collect::<Vec<_>>()
    };
    assert!(!moved(8.0, 0.0).is_empty(), "at the nape hairline");
    let onto = &all[1];
    assert!(!moved(onto.above_nape.to_mm(), onto.along.to_mm() + 5.0).is_empty(), "onto its neighbour");
    let crown = model.head().height_above_nape(model.head().landmarks().crown).to_mm();
    assert!(!moved(crown + 15.0, 0.0).is_empty(), "above the crown (T11)");
}

#[test]
fn the_place_of_a_point_on_the_skin_is_the_place_of_its_parting() {
    let (_, model, plan) = usual();
    for site in &plan.sites {
        let middle = model.head().parting(site.above_nape).unwrap().at(site.along).unwrap();
        let (above, along) = model.combed(middle.0).unwrap();
        assert!((above.to_mm() - site.above_nape.to_mm()).abs() < 1.0, "{}: {above:?}", site.site);
        assert!((along.to_mm() - site.along.to_mm()).abs() < 1.5, "{}: {along:?}", site.site);
    }
}

#[test]
fn a_sandwich_dropped_near_a_row_of_its_section_joins_it_and_elsewhere_has_a_line_of_its_own() {
    let (_, model, _) = usual();
    let row = StandingSandwich { above_nape: Length::mm(50.0), along: Length::mm(20.0), cut: Cut::Full };
    let dropped = |above: f64, along: f64| {
        let p = model.head().parting(Length::mm(above)).unwrap().at(Length::mm(along)).unwrap();
        model.caught(p.0, &[row]).unwrap().0.to_mm()
    };
    assert_eq!(dropped(57.0, -20.0), 50.0, "a finger above it");
    assert!((dropped(62.0, -20.0) - 62.0).abs() < 1.0, "more than a finger above it");
    let beyond = model.head().parting(Length::mm(115.0)).unwrap();
    let (ear, end) = (beyond.section().to_mm(), beyond.extent().1.to_mm());
    let at_the_side = StandingSandwich { above_nape: Length::mm(110.0), ..row };
    let p = beyond.at(Length::mm((ear + end) / 2.0)).unwrap();
    assert!((model.caught(p.0, &[at_the_side]).unwrap().0.to_mm() - 115.0).abs() < 1.0, "a row of the back does not reach the side");
}

#[test]
fn a_tap_on_a_panel_is_the_place_that_the_panel_draws_there() {
    let (_, model, plan) = usual();
    for site in &plan.sites {
        let (Some(panel), p) = (site.panel, model.head().parting(site.above_nape).unwrap().at(site.along).unwrap()) else { continue };
        let drawn = model.head().read_on_panel(panel, site.above_nape, site.along).unwrap();
        let tapped = model.on_skin_of(panel, [drawn.x, drawn.y]);
        // Where the skin of a side faces up it is drawn as seen, not as read.
        if panel == head::Panel::Back {
            assert!(tapped.unwrap().straight_to(p).to_mm() < 0.5, "{}", site.site);
        }
    }
}

#[test]
fn more_hair_is_planned_around_what_is_in() {
    let (facts, _, plan) = usual();
    let some: Vec<StandingSandwich> = places(&plan).into_iter().take(4).collect();
    let state = DecidedLayout { standing: some.clone(), add: Some(Grams::g(20.0)), ..DecidedLayout::default() };
    let more = plan_of(&facts, &state);
    let now = places(&more);
    for at in &some {
        let stays = now.iter().any(|n| (n.above_nape - at.above_nape).abs().to_mm() < 0.1 && (n.along - at.along).abs().to_mm() < 0.1);
        assert!(stays, "{at:?} stays");
    }
    let standing: f64 = plan.sites.iter().take(4).map(|site| 2.0 * site.piece.mass.to_g()).sum();
    let added = more.quantity.added.to_g() - standing;
    assert!((19.9..=25.1).contains(&added), "{added} g were added");
    assert_eq!(more.set_by_hand.as_ref().map(|set| set.sites.len()), Some(4));
    let nothing = plan_of(&facts, &DecidedLayout { add: Some(Grams::ZERO), ..state });
    assert_eq!(nothing.sites.len(), 4);
}

#[test]
fn a_crown_marked_lower_takes_places_above_it() {
    let marked = |behind: f64| {
        let facts = facts(json!({"circumference_mm": 560, "crown_behind_tape_mm": behind}));
        let plan = make(&facts, &Supplies::default(), 1, &RuleBook::standard()).unwrap().plan;
        assert!(!plan.warnings.iter().any(|warning| warning.contains("whorl was not marked")));
        head_model(&facts, &RuleBook::standard()).unwrap()
    };
    let (high, low) = (marked(45.0), marked(85.0));
    let crown = |model: &HeadModel| model.head().height_above_nape(model.head().landmarks().crown);
    // Near the top the way round the sides is shorter than that over the back.
    let apart = (crown(&high) - crown(&low)).to_mm();
    assert!((15.0..=40.5).contains(&apart), "{apart} mm");
    // Between the two crowns a sandwich breaks the ceiling (T11) of the lower one only.
    let between = StandingSandwich { above_nape: (crown(&high) + crown(&low)) / 2.0, along: Length::mm(20.0), cut: Cut::Full };
    let ceiling = |model: &HeadModel| model.judge(between, &[]).faults.iter().any(|fault| fault.rule == CROWN_CEILING.id);
    assert!(ceiling(&low) && !ceiling(&high));
}

#[test]
fn a_parting_taped_at_the_chair_is_the_parting_of_the_map() {
    let head = |taped: Value| facts(json!({"circumference_mm": 560, "taped_partings": taped}));
    let length = |facts: &ClientFacts| {
        let model = head_model(facts, &RuleBook::standard()).unwrap();
        model.head().parting(Length::mm(60.0)).unwrap().length().to_mm()
    };
    let free = length(&head(json!([])));
    let taped = (free * 1.05).round();
    assert!((length(&head(json!([{"above_nape_mm": 60, "length_mm": taped}]))) - taped).abs() < 0.1);
    let odd = head(json!([{"above_nape_mm": 60, "length_mm": (free * 1.6).round()}]));
    let faults = head_model(&odd, &RuleBook::standard()).unwrap_err();
    assert!(faults[0].what.contains("taped"), "{faults:?}");
}

/// Whether the hair of two slices of the usual pieces is partly the same.
fn share_hair(a: StandingSandwich, b: StandingSandwich) -> bool {
    let slice = |at: StandingSandwich| if at.cut == Cut::Half { 15.0 } else { 30.0 };
    (a.above_nape - b.above_nape).abs().to_mm() < 10.0 && (a.along - b.along).abs().to_mm() < (slice(a) + slice(b)) / 2.0
}

#[test]
fn from_the_chair_more_is_added_and_nothing_that_is_in_is_touched() {
    let (_, model, plan) = usual();
    let moved = StandingSandwich { along: plan.sites[2].along + Length::mm(3.0), ..StandingSandwich::of(&plan.sites[2]) };
    let names: Vec<SiteId> = plan.sites.iter().map(|site| site.site).collect();
    let mut done: AtTheChair = names[..8].iter().map(|name| (*name, Done::Placed)).collect();
    done.insert(names[2], Done::Moved(moved));
    done.insert(names[3], Done::Halved);
    done.insert(names[4], Done::Skipped);
    done.insert(names[5], Done::Skipped);
    let state = DecidedLayout::at_the_chair(&plan, &done).unwrap();
    assert_eq!((state.standing.len(), state.skipped.len()), (6, 2));
    assert!(state.standing.contains(&moved));
    let on = plan_on(&model, &plan, &done, Some(Grams::g(25.0)), 1).unwrap();
    assert!((25.0..30.1).contains(&on.added.to_g()), "{:?}", on.added);
    for site in &on.sites {
        let at = StandingSandwich::of(site);
        assert!(state.skipped.iter().all(|out| !share_hair(at, *out)), "{} stands where one was skipped", site.site);
        assert!(!site.piece.shade.is_empty());
        let others: Vec<StandingSandwich> = on
            .sites
            .iter()
            .filter(|other| other.site != site.site)
            .map(StandingSandwich::of)
            .chain(state.standing.iter().copied())
            .collect();
        let judged = model.judge(at, &others);
        assert!(judged.faults.is_empty(), "{}: {:?}", site.site, judged.faults);
    }
    assert_eq!(plan_on(&model, &plan, &done, Some(Grams::g(25.0)), 1).unwrap(), on, "the same state gives the same sites");
    // Enough is enough; and a site that is not the plan's is named.
    assert!(plan_on(&model, &plan, &done, Some(Grams::ZERO), 1).unwrap().sites.is_empty());
    let strange = AtTheChair::from([("R9.9".parse().unwrap(), Done::Placed)]);
    assert!(plan_on(&model, &plan, &strange, None, 1).unwrap_err()[0].what.contains("R9.9"));
}

#[test]
fn from_the_chair_what_was_skipped_is_made_up_for_elsewhere() {
    let (_, model, plan) = usual();
    let done: AtTheChair = plan.sites.iter().take(3).map(|site| (site.site, Done::Skipped)).collect();
    let out: Vec<StandingSandwich> = plan.sites.iter().take(3).map(StandingSandwich::of).collect();
    let on = plan_on(&model, &plan, &done, None, 1).unwrap();
    assert!(on.added.to_g() >= plan.quantity.wished.to_g() - 5.1, "{:?} of {}", on.added, plan.quantity.wished.to_g());
    assert!(on.sites.iter().all(|site| out.iter().all(|out| !share_hair(StandingSandwich::of(site), *out))));
}
