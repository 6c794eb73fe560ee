//! The plan that stands for every client's.

use super::{PlanSays, Site};
use craft::piece::Cut;
use desk::acts::Ended;
use desk::{KeptPlan, Place, Salon};
use serde_json::{Value, json};

/// A plan made once; its document stands for every client's.
pub async fn sample() -> KeptPlan {
    let folder = tempfile::tempdir().unwrap();
    let salon = Salon::begin(&Place::Folder(folder.path().to_owned()), None).await.unwrap().salon;
    let facts = json!({
        "consultation": {"goal": "thickness", "fullness": "natural", "styles": ["down"], "part": "centre", "ties_up": "sometimes",
            "had_extensions": true, "reacted_before": false, "allergies": [], "scalp": [], "health": [], "consent": true},
        "hair": {"density_per_cm2": 180, "strand": "medium", "own_length_mm": 350, "processed": "none"}, "head": {"circumference_mm": 556},
        "pieces": {"mass_g": 2.5, "tab_width_mm": 40, "tab_height_mm": 9, "lengths_mm": [350, 450]}, "colour": {"lab_d65": [32.0, 8.0, 19.0]}
    });
    let consents = json!([{"purpose": "health", "wording": "h"}]);
    let ring: Value = serde_json::from_str(include_str!("../../../../casebook/ring.json")).unwrap();
    let done = |(answer, _): (Value, Ended)| answer;
    for line in [
        json!({"act": "house set", "on": "2026-01-05", "currency": "EUR", "hour_minor": 6000, "tape_tab_minor": 20}),
        json!({"act": "ring set", "on": "2026-01-05", "shades": ring["shades"]}),
    ] {
        done(salon.act(&line.to_string()).await);
    }
    let added = done(salon.act(&json!({"act": "client add", "on": "2026-01-05", "facts": facts, "consents": consents}).to_string()).await);
    let made = done(salon.act(&json!({"act": "plan make", "on": "2026-01-05", "client": added["client"]}).to_string()).await);
    let plan = made["plan"].as_str().unwrap_or_else(|| panic!("{made}")).parse().unwrap();
    let mut kept = salon.plan(plan).await.unwrap().1;
    // Every act reads her whole stream: a few sites say as much as all. The last one takes halves.
    kept.plan.sites.truncate(3);
    for (site, half) in kept.plan.sites.iter_mut().zip([false, false, true]) {
        site.piece.cut = if half { Cut::Half } else { Cut::Full };
    }
    kept
}

/// What the plan says, as the model is told it.
pub fn plan_says(kept: &KeptPlan) -> PlanSays {
    let plan = &kept.plan;
    let site = |site: &salon::plan::SitePlan| {
        let piece = &site.piece;
        let both = [piece.shade.clone(), piece.under_shade.clone().unwrap_or_else(|| piece.shade.clone())];
        let shades = both.into_iter().take(site.setting.pieces() as usize).collect();
        Site { name: site.site.to_string(), half: piece.cut == Cut::Half, shades, length: piece.length.to_mm() as u64 }
    };
    let quote = plan.quote.as_ref().unwrap();
    let lines = quote.lines.iter().map(|line| line.amount_minor).sum();
    PlanSays {
        retape: plan.retape.as_ref().map(|retape| [retape.due, retape.window[0], retape.window[1]]).unwrap(),
        sites: plan.sites.iter().map(site).collect(),
        quote: [lines, if quote.again_pieces > 0 { lines } else { quote.retape_minor }],
    }
}
