//! What a plan says of its mix is true of the pieces that hang in the hair.

use colour::{D65, Lab, Xyz, ciede2000};
use craft::matching::Ring;
use craft::piece::{Cut, Setting};
use measure::RuleBook;
use salon::client::ClientFile;
use salon::make::{Supplies, make};
use salon::plan::Plan;
use serde_json::json;

fn ring() -> Ring {
    serde_json::from_str(include_str!("../../../casebook/ring.json")).unwrap()
}

fn client(ends: [f64; 3], styles: &[&str], single_sided: bool) -> ClientFile {
    serde_json::from_value(json!({
        "client": {"age_years": 31},
        "consultation": {
            "goal": "thickness", "fullness": "light", "styles": styles, "part": "centre", "ties_up": "sometimes",
            "had_extensions": true, "reacted_before": false, "allergies": [], "scalp": [], "health": [], "consent": true
        },
        "hair": {"density_per_cm2": 180.0, "strand": "fine", "own_length_mm": 330, "processed": "none"},
        "head": {"circumference_mm": 552},
        "colour": {"lab_d65": ends},
        "pieces": {"mass_g": 2.5, "lengths_mm": [350, 450], "single_sided": single_sided},
    }))
    .unwrap()
}

/// Single pieces, some of them cut: two halves of one shade and one of another hang.
fn few_at_fifty() -> ClientFile {
    toml::from_str(include_str!("../../../casebook/few-at-fifty/client.toml")).unwrap()
}

fn plan_of(file: &ClientFile) -> Plan {
    let ring = ring();
    let supplies = Supplies { ring: Some(&ring), ..Supplies::default() };
    make(&file.check().unwrap(), &supplies, 1, &RuleBook::standard()).unwrap().plan
}

/// The difference of the hair on the head from the ends, reckoned piece by piece: a whole
/// piece weighs as two halves.
fn as_it_hangs(plan: &Plan, ends: Lab) -> f64 {
    let ring = ring();
    let of = |code: &str| ring.shades.iter().find(|shade| shade.code == code).unwrap().colour().unwrap();
    let (mut sum, mut weight) = ([0.0; 3], 0.0);
    for site in &plan.sites {
        let over = &site.piece.shade;
        let under = site.piece.under_shade.as_ref().unwrap_or(over);
        let codes = if site.setting == Setting::Sandwich { vec![over, under] } else { vec![over] };
        let share = if site.piece.cut == Cut::Half { 0.5 } else { 1.0 };
        for code in codes {
            let Xyz { x, y, z } = of(code);
            sum = [sum[0] + share * x, sum[1] + share * y, sum[2] + share * z];
            weight += share;
        }
    }
    let [x, y, z] = sum.map(|all: f64| all / weight);
    ciede2000(Xyz { x, y, z }.to_lab(D65), ends)
}

#[test]
fn the_mix_is_as_far_from_the_ends_as_its_pieces_are() {
    let mut moved = 0;
    let clients = [
        client([36.0, 8.0, 18.0], &["down"], false),
        client([52.0, 9.0, 24.0], &["down", "half_up"], false),
        client([47.0, 10.0, 23.0], &["down"], true),
        few_at_fifty(),
    ];
    for file in clients {
        let ends: [f64; 3] = file.colour.as_ref().unwrap().lab_d65.clone().unwrap().try_into().unwrap();
        let plan = plan_of(&file);
        let said = plan.colour.mix_de00.unwrap();
        let hangs = as_it_hangs(&plan, ends.into());
        assert!((said - hangs).abs() < 6e-4, "{ends:?}: said {said}, hangs {hangs}; {:?}", plan.colour.mix);
        // What was matched in whole pieces, before it was set, is another mix.
        let ring = ring();
        let whole = plan.colour.mix.iter().fold(colour::Mixture::new(), |sum, (code, pieces)| {
            let shade = ring.shades.iter().find(|shade| &shade.code == code).unwrap();
            sum.with(shade.colour().unwrap(), f64::from(*pieces))
        });
        moved += usize::from((ciede2000(whole.lab(D65).unwrap(), ends.into()) - hangs).abs() > 1e-3);
    }
    assert!(moved > 0, "no case tells the pieces as set from whole pieces: choose others");
}
