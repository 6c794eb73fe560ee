//! The consultation over a book of its own: drafts, consent to health answers, signatures.

use craft::suitability::Verdict;
use desk::acts::Ended;
use desk::{ClientId, DeskFault, Place, Salon};
use salon::book::{Purpose, Signed};
use salon::consultation::Part;
use serde_json::{Value, json};
use std::path::Path;

const DAY: &str = "2026-03-02";

async fn begun(folder: &Path) -> Salon {
    Salon::begin(&Place::Folder(folder.to_owned()), None).await.unwrap().salon
}

async fn done(salon: &Salon, line: Value) -> Value {
    let (answer, ended) = salon.act(&line.to_string()).await;
    assert_eq!(ended, Ended::Done, "{line}: {answer}");
    answer
}

/// The rule by which a line is refused.
async fn refused(salon: &Salon, line: Value) -> String {
    let (answer, ended) = salon.act(&line.to_string()).await;
    assert_ne!(ended, Ended::Done, "{line}: {answer}");
    answer["faults"][0]["rule"].as_str().unwrap().to_owned()
}

async fn added(salon: &Salon) -> ClientId {
    let line = json!({"act": "client add", "on": DAY, "facts": {"client": {"name": "Ada Example", "age_years": 31}}});
    done(salon, line).await["client"].as_str().unwrap().parse().unwrap()
}

fn keep(id: ClientId, part: &str, name: &str, said: &str) -> Value {
    json!({"act": "draft keep", "on": DAY, "client": id.to_string(), "part": part, "answers": {name: [said]}})
}

fn agree(id: ClientId, purpose: &str, wording: &str) -> Value {
    json!({"act": "consent give", "on": DAY, "at": "10:30", "client": id.to_string(), "purpose": purpose, "wording": wording})
}

async fn draft(salon: &Salon, id: ClientId, part: Part) -> Option<String> {
    let book = salon.book_of(id).await.unwrap();
    let draft = salon.draft(id, &book, part).await.unwrap()?;
    draft.answers.values().next().map(|said| said.join("|"))
}

#[tokio::test]
async fn a_draft_outlives_the_program_and_the_views_made_anew_and_ends_with_its_part() {
    let folder = tempfile::tempdir().unwrap();
    let salon = begun(folder.path()).await;
    let (id, other) = (added(&salon).await, added(&salon).await);
    let kept = done(&salon, keep(id, "life", "consultation.sport_per_week", "ab")).await;
    assert_eq!(kept["events"], json!([]), "a draft is no history");
    done(&salon, keep(id, "life", "consultation.sport_per_week", "abc")).await;
    salon.close().await;
    let salon = Salon::open(&Place::Folder(folder.path().to_owned()), None).await.unwrap().salon;
    salon.rebuild_views().await.unwrap();
    assert_eq!(draft(&salon, id, Part::Life).await.as_deref(), Some("abc"));
    assert_eq!((draft(&salon, id, Part::Hair).await, draft(&salon, other, Part::Life).await), (None, None));
    let facts = json!({"client": {"name": "Ada Example", "age_years": 31}, "consultation": {"swims": true}});
    let save = |part: &str| json!({"act": "client change", "on": DAY, "client": id.to_string(), "facts": facts, "part": part});
    done(&salon, save("hair")).await;
    assert_eq!(draft(&salon, id, Part::Life).await.as_deref(), Some("abc"), "another part was saved");
    // The same facts again: no event, and the draft goes all the same.
    assert_eq!(done(&salon, save("life")).await["events"], json!([]));
    assert_eq!(draft(&salon, id, Part::Life).await, None);
    assert_eq!(refused(&salon, keep(id, "head", "x", "y")).await, "act");
    assert_eq!(refused(&salon, keep(id, "life", "x", &"y".repeat(60_000))).await, "text-most");
    assert_eq!(refused(&salon, keep(ClientId(7), "life", "x", "y")).await, "unknown");
}

#[tokio::test]
async fn health_is_drafted_after_consent_alone_under_its_own_key_and_goes_with_it() {
    let folder = tempfile::tempdir().unwrap();
    let salon = begun(folder.path()).await;
    let id = added(&salon).await;
    let of_health = keep(id, "health", "consultation.scalp.other", "it itches");
    assert_eq!(refused(&salon, of_health.clone()).await, "consent-health");
    assert_eq!(salon.book_of(id).await.unwrap().health, None);
    done(&salon, agree(id, "health", "health-1")).await;
    let given = salon.book_of(id).await.unwrap().consents[&Purpose::Health].clone();
    assert_eq!((given.wording.as_str(), given.on.to_string().as_str(), given.minute), ("health-1", DAY, Some(630)));
    done(&salon, of_health.clone()).await;
    assert_eq!(draft(&salon, id, Part::Health).await.as_deref(), Some("it itches"));
    let document = salon.book_of(id).await.unwrap().health.unwrap();
    done(&salon, of_health.clone()).await;
    assert_eq!(salon.book_of(id).await.unwrap().health, Some(document), "it is begun once");
    // Read back by export and import, the begun document is what it was, and the draft is no part of either.
    for at in ["one", "two"] {
        let out = folder.path().join(at);
        if at == "one" {
            salon.export(&out).await.unwrap();
        } else {
            let place = Place::Folder(folder.path().join("again"));
            let again = Salon::import(&folder.path().join("one"), &place, None).await.unwrap().salon;
            again.export(&out).await.unwrap();
            assert_eq!(draft(&again, id, Part::Health).await, None);
        }
    }
    let events = |at: &str| std::fs::read(folder.path().join(at).join(format!("clients/{id}/health/{document}/events.jsonl"))).unwrap();
    assert_eq!(events("one"), events("two"));
    done(&salon, json!({"act": "consent withdraw", "on": DAY, "client": id.to_string(), "purpose": "health"})).await;
    assert_eq!(draft(&salon, id, Part::Health).await, None);
    assert_eq!(refused(&salon, of_health).await, "consent-health");
    // Agreed to anew, what was taken back does not come back.
    done(&salon, agree(id, "health", "health-1")).await;
    done(&salon, keep(id, "health", "consultation.health.other", "new")).await;
    assert_eq!(draft(&salon, id, Part::Health).await.as_deref(), Some("new"));
}

#[tokio::test]
async fn what_is_signed_is_kept_with_its_words_and_is_her_answer() {
    let folder = tempfile::tempdir().unwrap();
    let salon = begun(folder.path()).await;
    let id = added(&salon).await;
    let signed = |signature: Value| {
        let mut line = agree(id, "work", "work-1");
        line["signature"] = signature;
        line
    };
    for none in [json!({"drawn": {"strokes": []}}), json!({"drawn": {"strokes": [[[1, 2]]]}}), json!({"typed": "  "})] {
        assert_eq!(refused(&salon, signed(none)).await, "consent-signed");
    }
    assert_eq!(refused(&salon, signed(json!({"drawn": {"strokes": [[[1, 2], [-1, 2]]]}}))).await, "act");
    let strokes = json!({"strokes": [[[10, 200], [500, 180], [990, 210]]]});
    let answer = done(&salon, signed(json!({ "drawn": strokes }))).await;
    let heard = salon.heard(id).await.unwrap();
    assert_eq!(answer["version"], json!(heard.book.version));
    assert_eq!(heard.file.consultation.as_ref().unwrap().consent, Some(true));
    let given = heard.book.consents[&Purpose::Work].clone();
    let drawn = salon.drawn(given.signed.as_ref().unwrap()).await.unwrap().unwrap();
    assert_eq!(serde_json::to_value(drawn).unwrap(), strokes);
    let shown = salon.show_client(id, DAY.parse().unwrap()).await.unwrap();
    assert_eq!(shown["consents"]["work"], json!({"wording": "work-1", "on": DAY, "signed": "drawn"}));

    // There and back by open files it is the same signature.
    salon.export(&folder.path().join("one")).await.unwrap();
    let place = Place::Folder(folder.path().join("again"));
    let again = Salon::import(&folder.path().join("one"), &place, None).await.unwrap().salon;
    let signed_again = again.book_of(id).await.unwrap().consents[&Purpose::Work].signed.clone().unwrap();
    assert_eq!(serde_json::to_value(again.drawn(&signed_again).await.unwrap().unwrap()).unwrap(), strokes);

    // Her answer and her signature are one: no takes it back.
    let no = json!({"client": {"name": "Ada Example", "age_years": 31}, "consultation": {"consent": false}});
    done(&salon, json!({"act": "client change", "on": DAY, "client": id.to_string(), "facts": no})).await;
    assert!(!salon.book_of(id).await.unwrap().consents.contains_key(&Purpose::Work));
    done(&salon, signed(json!({"typed": " Ada Example "}))).await;
    let heard = salon.heard(id).await.unwrap();
    assert_eq!(heard.book.consents[&Purpose::Work].signed, Some(Signed::Typed("Ada Example".into())));
    assert_eq!(heard.file.consultation.unwrap().consent, Some(true));
}

#[tokio::test]
async fn a_client_of_whom_little_is_known_is_judged_by_that() {
    let folder = tempfile::tempdir().unwrap();
    let salon = begun(folder.path()).await;
    let id = added(&salon).await;
    assert_eq!(salon.heard(id).await.unwrap().judged.verdict, Verdict::GoAheadWithinLimits);
    done(&salon, agree(id, "health", "health-1")).await;
    let facts = json!({"client": {"name": "Ada Example", "age_years": 31}, "consultation": {"scalp": ["sore"]}});
    done(&salon, json!({"act": "client change", "on": DAY, "client": id.to_string(), "facts": facts})).await;
    let heard = salon.heard(id).await.unwrap();
    assert_eq!((heard.judged.verdict, heard.judged.rules_met[0].rule.as_str()), (Verdict::Refer, "scalp-pain"));
}

#[tokio::test]
async fn erasing_leaves_no_draft_and_no_signature() {
    let folder = tempfile::tempdir().unwrap();
    let salon = begun(folder.path()).await;
    let id = added(&salon).await;
    let mut line = agree(id, "work", "work-1");
    line["signature"] = json!({"drawn": {"strokes": [[[1, 2], [3, 4]]]}});
    done(&salon, line).await;
    done(&salon, agree(id, "health", "health-1")).await;
    for (part, name) in [("life", "consultation.sport_per_week"), ("health", "consultation.scalp.other")] {
        done(&salon, keep(id, part, name, "typed")).await;
    }
    let book = salon.book_of(id).await.unwrap();
    let signed = book.consents[&Purpose::Work].signed.clone().unwrap();
    assert!(salon.drawn(&signed).await.is_ok());
    done(&salon, json!({"act": "client erase", "on": DAY, "client": id.to_string(), "reason": "she asked"})).await;
    for part in [Part::Life, Part::Health] {
        assert_eq!(salon.draft(id, &book, part).await.unwrap(), None, "{part:?}");
    }
    assert!(salon.drawn(&signed).await.is_err());
    let files =
        std::fs::read_dir(folder.path().join("blobs")).map_or(0, |files| files.flatten().filter(|file| file.path().is_file()).count());
    assert_eq!(files, 0, "no blob is left");
    assert!(matches!(salon.heard(id).await, Err(DeskFault::Unknown(_))));
    assert_eq!(refused(&salon, keep(id, "life", "x", "late")).await, "unknown");
}
