//! What a form that came half and two tablets on one salon come to: nothing is
//! blanked, and nothing is written over unseen.

use super::asking::{Asking, added};
use crate::web::frame::house;

#[tokio::test]
async fn a_form_that_came_half_blanks_nothing() {
    let asking = Asking::new().await;
    let page = added(&asking, &[("client.name", "Half"), ("hair.own_length_mm", "333"), ("consultation.allergies", "none")]).await;
    let (status, text) = asking.post(&page, &[("seen", "1"), ("client.name", "Half Changed")]).await;
    assert_eq!(status, 422);
    assert!(text.contains("Half Changed") && text.contains("value=\"333\""), "what was typed and what was not on the page are both there");
    let kept = asking.app().salon.client(page.rsplit('/').next().unwrap().parse().unwrap()).await.unwrap();
    assert_eq!((kept.version, kept.label.as_str()), (1, "Half"));
    let (status, text) = asking.post(&format!("{page}/measuring"), &[("seen", "1"), ("head.circumference_mm", "561")]).await;
    assert!(status == 422 && text.contains("value=\"561\""));
    let (status, text) = asking.post("/settings/house", &[("seen", "0"), ("house.name", "Half a Salon")]).await;
    assert!(status == 422 && text.contains("Half a Salon"));
    let (status, text) = asking.post("/settings/ring", &[("seen", "0"), ("code", "H1"), ("l", "30"), ("a", "1"), ("b", "2")]).await;
    assert!(status == 422 && text.contains("value=\"H1\""));
    // Whole, each is kept.
    let (status, _) = asking.post(&page, &[("seen", "1"), ("client.name", "Half Changed"), ("all_here", "yes")]).await;
    assert_eq!(status, 303);
    for (path, pairs) in [
        ("/settings/house", vec![("house.name", "A Salon")]),
        ("/settings/ring", vec![("code", "H1"), ("l", "30"), ("a", "1"), ("b", "2")]),
    ] {
        let (status, _) = asking.post(path, &[pairs, vec![("seen", "0"), ("all_here", "yes")]].concat()).await;
        assert_eq!(status, 303, "{path}");
    }
}

const RING: &str = r#"{"shades":[{"code":"S1","name":"First","lab_d65":[30,8,18]},{"code":"S2","name":"Second","lab_d65":[40,8,18]}]}"#;

#[tokio::test]
async fn two_tablets_cannot_overwrite_each_others_ring_unseen() {
    let asking = Asking::new().await;
    let ring = || async { house::ring(&asking.app().salon).await.unwrap() };
    assert_eq!(asking.send_file("/settings/ring/import", &[("seen", "0"), ("how", "replace")], RING).await.0, 303);
    let shade = |seen: &'static str, l: &'static str| {
        vec![("seen", seen), ("was", "S1"), ("code", "S1"), ("name", "Typed"), ("l", l), ("a", "8"), ("b", "18"), ("all_here", "yes")]
    };
    assert_eq!(asking.post("/settings/ring", &shade("1", "31.5")).await.0, 303);
    // The second tablet still shows version 1.
    let (status, text) = asking.post("/settings/ring", &shade("1", "29.5")).await;
    assert_eq!(status, 409);
    assert!(text.contains("L* 31.5") && text.contains("L* 29.5"), "both versions stand there");
    assert!(
        text.contains("value=\"29.5\"") && text.contains("name=\"seen\" value=\"2\""),
        "what was typed is there, to be saved knowingly"
    );
    let (status, text) = asking.post("/settings/ring/remove", &[("seen", "1"), ("code", "S1")]).await;
    assert!(status == 409 && text.contains("S1 taken off the ring"));
    let (status, text) = asking.send_file("/settings/ring/import", &[("seen", "1"), ("how", "replace")], &RING.replace("S2", "S9")).await;
    assert!(status == 409 && text.contains("S9 Second") && text.contains("S2 Second"));
    assert_eq!(ring().await.version, 2, "nothing was written");
    assert_eq!(ring().await.value.shades[0].lab_d65.unwrap().l, 31.5);
    // The file comes back by itself once both were seen.
    let again = RING.replace("S2", "S9");
    let (status, _) = asking.send_file("/settings/ring/import", &[("seen", "2"), ("how", "replace"), ("taken", &again)], "").await;
    assert_eq!(status, 303);
    assert_eq!(ring().await.value.shades[1].code, "S9");
    assert_eq!(asking.post("/settings/ring", &shade("3", "29.5")).await.0, 303);
    // A form without any version is as stale as can be.
    assert_eq!(asking.post("/settings/ring/remove", &[("code", "S1")]).await.0, 409);
}

#[tokio::test]
async fn two_tablets_cannot_overwrite_each_others_stock_or_prices_unseen() {
    let asking = Asking::new().await;
    let stock = |lot: &str, pieces: u32| {
        format!(r#"{{"currency":"EUR","on_hand":[{{"lot":"{lot}","shade":"S1","length_mm":500,"pieces":{pieces}}}]}}"#)
    };
    let send = |seen: i64, file: String| {
        let asking = &asking;
        async move { asking.send_file("/settings/stock/import", &[("seen", &seen.to_string())], &file).await }
    };
    assert_eq!(send(0, stock("A", 10)).await.0, 303);
    let first = house::stock(&asking.app().salon).await.unwrap().version;
    assert_eq!(send(first, stock("B", 20)).await.0, 303);
    let (status, text) = send(first, stock("C", 30)).await;
    assert_eq!(status, 409);
    assert!(text.contains("lot B: 20") && text.contains("lot C: 30"), "both versions stand there");
    let kept = house::stock(&asking.app().salon).await.unwrap();
    assert_eq!((kept.version, kept.value.unwrap().on_hand[0].lot.as_str()), (first + 1, "B"));
    let house = |seen: &'static str, name: &'static str| vec![("seen", seen), ("house.name", name), ("all_here", "yes")];
    assert_eq!(asking.post("/settings/house", &house("0", "First")).await.0, 303);
    let (status, text) = asking.post("/settings/house", &house("0", "Second")).await;
    assert_eq!(status, 409);
    assert!(text.contains("Salon name: First") && text.contains("Salon name: Second") && text.contains("value=\"Second\""));
}

/// The log's words for a search, a name and an answer would be a breach.
#[tokio::test]
async fn a_day_is_a_day_and_a_stale_one_is_not_noted() {
    let asking = Asking::new().await;
    let salon = &asking.app().salon;
    let client = salon.add_client("Day", &salon::client::ClientFile::default(), Vec::new()).await.unwrap();
    let kept = serde_json::from_str(include_str!("../../../tests/data/plan_of_before.json")).unwrap();
    let plan = salon.keep_plan(&desk::NewPlan { client, facts_version: 1, seed: 1, kept, scalp: None }).await.unwrap();
    let note = |seen: &'static str, day: &'static str| {
        let asking = &asking;
        async move { asking.post(&format!("/plans/{plan}/placed"), &[("seen", seen), ("day", day)]).await }
    };
    for no_day in ["2026-02-30", "2026-13-01", "30.2.2026", "2026-03-02T10:00", "20260302", "x"] {
        let (status, text) = note("", no_day).await;
        assert_eq!(status, 422, "{no_day}");
        assert!(text.contains("is no day of the calendar") && text.contains(&format!("value=\"{no_day}\"")), "{no_day}");
        assert_eq!(salon.plan(plan).await.unwrap().0.placed_on, None);
    }
    let calendar = || {
        let asking = &asking;
        async move { asking.get(&format!("/plans/{plan}/papers/retape.ics")).await.1 }
    };
    let uid = format!("UID:{plan}@strandwright.invalid");
    assert!(calendar().await.contains(&uid) && calendar().await.contains("SEQUENCE:0"));
    assert_eq!(note("", "2026-03-02").await.0, 303);
    let (status, text) = note("", "2026-03-09").await;
    assert_eq!(status, 409);
    assert!(text.contains("2026-03-02") && text.contains("value=\"2026-03-09\""), "both days stand there");
    assert_eq!(salon.plan(plan).await.unwrap().0.placed_on.as_deref(), Some("2026-03-02"));
    assert_eq!(note("2026-03-02", "2026-03-09").await.0, 303);
    assert_eq!(note("2026-03-02", "2026-03-09").await.0, 303, "noted already");
    let corrected = calendar().await;
    assert!(corrected.contains(&uid) && corrected.contains("SEQUENCE:2"), "{corrected}");
    assert_eq!(calendar().await, corrected, "the same file twice");
}
