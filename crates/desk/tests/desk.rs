//! The desk over a book of its own: acts, refusals, and what stays in force.

use desk::{DeskFault, NewPhoto, NewPlan, NewReading, Place, Purpose, Salon};
use salon::client::ClientFile;
use serde_json::json;
use std::path::Path;

async fn begun(folder: &Path) -> Salon {
    Salon::begin(&Place::Folder(folder.to_owned()), None).await.unwrap().salon
}

fn file(strand: &str) -> ClientFile {
    serde_json::from_value(json!({
        "client": {"name": "Ada Example", "age_years": 31},
        "consultation": {
            "goal": "thickness", "fullness": "natural", "styles": ["down"], "part": "centre", "ties_up": "sometimes",
            "had_extensions": true, "reacted_before": false, "allergies": [], "scalp": [], "health": [], "consent": true
        },
        "hair": {"density_per_cm2": 180, "strand": strand, "own_length_mm": 350, "processed": "none"},
        "head": {"circumference_mm": 556}, "colour": {"lab_d65": [32.0, 8.0, 19.0]},
        "pieces": {"mass_g": 2.5, "lengths_mm": [350, 450]}
    }))
    .unwrap()
}

fn agrees() -> Vec<desk::Consent> {
    vec![(Purpose::Health, desk::HEALTH_WORDING.to_owned())]
}

#[tokio::test]
async fn facts_are_kept_read_back_and_never_overwritten_by_a_stale_edit() {
    let folder = tempfile::tempdir().unwrap();
    let salon = begun(folder.path()).await;
    let id = salon.add_client("Ada Example", &file("fine"), agrees()).await.unwrap();
    let first = salon.client(id).await.unwrap();
    assert_eq!(serde_json::from_str::<ClientFile>(&first.facts).unwrap(), file("fine"));
    salon.change_client(id, first.version, "Ada Example", &file("medium"), Vec::new()).await.unwrap();
    let stale = salon.change_client(id, first.version, "Ada Example", &file("coarse"), Vec::new()).await;
    assert!(matches!(stale, Err(DeskFault::Changed { .. })), "{stale:?}");
    let now: ClientFile = serde_json::from_str(&salon.client(id).await.unwrap().facts).unwrap();
    assert_eq!(now.hair.unwrap().strand.as_deref(), Some("medium"));
    assert_eq!(salon.clients("EXAMPLE", 5).await.unwrap().1, 1);
}

#[tokio::test]
async fn health_answers_need_her_consent_and_go_with_it() {
    let folder = tempfile::tempdir().unwrap();
    let salon = begun(folder.path()).await;
    let refused = salon.add_client("Ada Example", &file("fine"), Vec::new()).await;
    assert!(matches!(&refused, Err(DeskFault::Refused(faults)) if faults[0].rule == "consent-health"), "{refused:?}");
    let id = salon.add_client("Ada Example", &file("fine"), agrees()).await.unwrap();
    salon.withdraw_health(id).await.unwrap();
    let after = salon.client(id).await.unwrap();
    let now: ClientFile = serde_json::from_str(&after.facts).unwrap();
    let consultation = now.consultation.unwrap();
    assert_eq!((consultation.health, consultation.allergies, consultation.reacted_before), (None, None, None));
    assert!(!after.keeps_health && consultation.goal.is_some());
    // Agreeing again begins another document.
    salon.change_client(id, after.version, "Ada Example", &file("fine"), agrees()).await.unwrap();
    let again: ClientFile = serde_json::from_str(&salon.client(id).await.unwrap().facts).unwrap();
    assert_eq!(again, file("fine"));
}

#[tokio::test]
async fn a_plan_is_put_together_from_the_versions_it_names() {
    let folder = tempfile::tempdir().unwrap();
    let place = Place::Folder(folder.path().to_owned());
    let salon = begun(folder.path()).await;
    let id = salon.add_client("Ada Example", &file("medium"), agrees()).await.unwrap();
    let (input, read, version) = salon.plan_input(id, desk::today(), 1).await.unwrap();
    let planned = desk::plan(&input).unwrap();
    let kept = desk::KeptPlan {
        client: input.client.clone(),
        ring: None,
        shelf: None,
        plan: planned.plan.clone(),
        read,
        own_depth: None,
        from: None,
        levers: Vec::new(),
        observed: input.observed.clone(),
        hers: input.hers.clone(),
    };
    let plan =
        salon.keep_plan(&NewPlan { client: id, facts_version: version, seed: 1, kept, scalp: planned.scalp_obj.clone() }).await.unwrap();
    // What changes afterwards does not change what the plan was made from.
    salon.change_client(id, version, "Ada Example", &file("coarse"), Vec::new()).await.unwrap();
    salon.place_plan(plan, Some("2026-03-02")).await.unwrap();
    salon.place_plan(plan, Some("2026-03-03")).await.unwrap();
    salon.place_plan(plan, Some("2026-03-03")).await.unwrap();
    let (line, kept) = salon.plan(plan).await.unwrap();
    assert_eq!((kept.client, kept.plan), (input.client, planned.plan));
    assert_eq!((line.placed_on.as_deref(), line.days_said, line.scalp), (Some("2026-03-03"), 2, planned.scalp_obj));
    assert!(matches!(salon.place_plan(plan, Some("2026-02-30")).await, Err(DeskFault::Refused(_))), "days are days");
    salon.close().await;
    let again = Salon::open(&place, None).await.unwrap().salon;
    assert_eq!(again.plans_of(id).await.unwrap().len(), 1);
    assert_eq!(again.clients("", 5).await.unwrap().0[0].newest_plan, Some(plan));
}

#[tokio::test]
async fn what_a_plan_says_of_her_health_goes_when_she_no_longer_agrees() {
    const SAID: &str = "xanthorrhoeol";
    let folder = tempfile::tempdir().unwrap();
    let salon = begun(folder.path()).await;
    let mut told = file("medium");
    told.consultation.as_mut().unwrap().allergies = Some(vec![SAID.to_owned()]);
    let id = salon.add_client("Ada Example", &told, agrees()).await.unwrap();
    let line = json!({"act": "plan make", "on": "2026-03-02", "client": id.to_string(), "key": "once"}).to_string();
    let (first, ended) = salon.act(&line).await;
    assert_eq!(ended, desk::acts::Ended::Done, "{first}");
    assert!(first["document"].to_string().contains(SAID), "the verdict says what was answered");
    assert_eq!(salon.act(&line).await, (first.clone(), desk::acts::Ended::Done), "a repeated line answers the same");
    let plan = first["plan"].as_str().unwrap().parse().unwrap();
    let (_, kept) = salon.plan(plan).await.unwrap();
    assert_eq!(serde_json::to_value(&kept.plan).unwrap(), first["document"]);
    // An export of before and what it gives on reading it back say the same.
    let (out, back) = (folder.path().join("out"), folder.path().join("back"));
    salon.export(&out).await.unwrap();
    let again = Salon::import(&out, &Place::Folder(back), None).await.unwrap().salon;
    assert_eq!(again.plan(plan).await.unwrap().1.plan, kept.plan);

    let (answer, ended) =
        salon.act(&json!({"act": "consent withdraw", "on": "2026-03-03", "client": id.to_string(), "purpose": "health"}).to_string()).await;
    assert_eq!(ended, desk::acts::Ended::Done, "{answer}");
    let (_, after) = salon.plan(plan).await.unwrap();
    let text = format!("{} {}", serde_json::to_string(&after.plan).unwrap(), serde_json::to_string(&after.client).unwrap());
    assert!(!text.contains(SAID) && !salon.act(&line).await.0.to_string().contains(SAID), "{SAID} is still said");
    assert_eq!((after.plan.sites, after.plan.rows), (kept.plan.sites, kept.plan.rows), "where pieces went in stays");
    assert!(after.plan.warnings[0].contains("kept no longer"), "{:?}", after.plan.warnings);
    let left = folder.path().join("left");
    salon.export(&left).await.unwrap();
    assert!(!anything_says(&left, SAID), "{SAID} is in an export");
}

/// Whether any file below a folder holds a word, plain or packed.
fn anything_says(folder: &Path, word: &str) -> bool {
    std::fs::read_dir(folder).unwrap().flatten().any(|entry| {
        let path = entry.path();
        if path.is_dir() {
            return anything_says(&path, word);
        }
        let bytes = std::fs::read(&path).unwrap();
        let mut unpacked = Vec::new();
        let _ = std::io::Read::read_to_end(&mut flate2::read::ZlibDecoder::new(bytes.as_slice()), &mut unpacked);
        [bytes, unpacked].iter().any(|hay| hay.windows(word.len()).any(|part| part == word.as_bytes()))
    })
}

#[tokio::test]
async fn a_reading_of_another_client_is_none_of_hers() {
    let folder = tempfile::tempdir().unwrap();
    let salon = begun(folder.path()).await;
    let one = salon.add_client("One", &file("fine"), agrees()).await.unwrap();
    let other = salon.add_client("Other", &file("fine"), agrees()).await.unwrap();
    let photo = salon
        .keep_photo(&NewPhoto { client: Some(other), picture: b"picture".to_vec(), facts: desk::PhotoFacts::default() })
        .await
        .unwrap();
    let kept: desk::KeptReading = serde_json::from_value(json!({"by": "photo", "reading": {"lab_d50": [30,8,18], "lab_d65": [29.5,8.5,18.5], "tones": [], "uncertainty_de00": 1.5, "level": 5.0,
        "warnings": [], "residuals": {"chart_de00": 0.4, "grey_error": 0.01, "curve_strength": 0, "light_range": 1.1, "board_spread": 0.01, "clipped": 0}},
        "marks": {"chart_corners": [[0, 0], [1, 0], [1, 1], [0, 1]], "hair": [[2, 0], [3, 0], [3, 1]]}})).unwrap();
    // Nor can a reading of hers rest on another's photo.
    let crossed = salon.keep_reading(&NewReading { client: one, photo: Some(photo), kept: kept.clone() }).await;
    assert!(matches!(crossed, Err(DeskFault::Unknown("photo"))), "{crossed:?}");
    let reading = salon.keep_reading(&NewReading { client: other, photo: Some(photo), kept }).await.unwrap();
    let mut named = file("fine");
    named.colour = serde_json::from_value(json!({"photo": format!("readings/{reading}.jpg"), "marks": "x"})).unwrap();
    for (client, hers) in [(one, false), (other, true)] {
        let version = salon.client(client).await.unwrap().version;
        salon.change_client(client, version, "", &named, Vec::new()).await.unwrap();
        assert_eq!(salon.plan_input(client, desk::today(), 1).await.unwrap().1.is_some(), hers);
    }
    salon.remove_photo(photo).await.unwrap();
    assert!(matches!(salon.picture(photo).await, Err(DeskFault::Unknown(_))));
}

#[tokio::test]
async fn rings_and_shelves_are_no_lost_updates() {
    let folder = tempfile::tempdir().unwrap();
    let salon = begun(folder.path()).await;
    let ring: craft::matching::Ring = serde_json::from_str(include_str!("../../../casebook/ring.json")).unwrap();
    let stock: salon::stock::Order = serde_json::from_str(include_str!("../../../casebook/stock.json")).unwrap();
    salon.keep_ring(0, &ring).await.unwrap();
    assert!(matches!(salon.keep_ring(0, &ring).await, Err(DeskFault::Changed { seen: 0, now: 1 })));
    let now = salon.keep_stock(0, &stock).await.unwrap();
    assert_eq!(salon.stock().await.unwrap().version, now);
    assert!(matches!(salon.keep_stock(0, &stock).await, Err(DeskFault::Changed { .. })));
    let kept = salon.stock().await.unwrap().value.unwrap();
    assert_eq!((kept.on_hand, kept.packs), (stock.on_hand, stock.packs));
}
