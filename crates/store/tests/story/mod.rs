//! One salon's story, told to any engine that can be opened twice: what it
//! keeps, what it refuses, and that all of it is there after closing.

use std::future::Future;
use store::{EarlierRecords, HouseDocument, NewPhoto, NewPlan, NewReading, StoreFault};

/// Tells the story. `open` opens the same salon anew each time; the one before
/// was closed.
pub async fn story<F: Future<Output = EarlierRecords>>(open: impl Fn() -> F) {
    let salon = open().await;
    let ada = salon.add_client("Ärna Lund", r#"{"hair":{"strand":"fine"}}"#).await.unwrap();
    let bea = salon.add_client("", "{}").await.unwrap();
    assert_ne!(ada, bea);

    // Searching ignores capitals, of any alphabet, and an empty search is everyone.
    assert_eq!(names(&salon, "ärNA").await, ["Ärna Lund"]);
    assert_eq!(names(&salon, "").await, ["", "Ärna Lund"]);
    assert_eq!(names(&salon, "%").await, Vec::<String>::new());

    // A change from the newest version wins, one from an older version loses and writes nothing.
    assert_eq!(salon.change_client(ada, 1, "Arna Lund", r#"{"hair":{"strand":"coarse"}}"#).await.unwrap(), 2);
    let late = salon.change_client(ada, 1, "Lost", "{}").await;
    assert!(matches!(late, Err(StoreFault::Changed { seen: 1, now: 2 })), "{late:?}");

    // A plan belongs to one version of one client's facts.
    let plan = NewPlan { client: ada, facts_version: 1, seed: u64::MAX, document: "{\"sites\":[]}".into(), scalp: None };
    let kept = salon.keep_plan(&plan).await.unwrap();
    let later = salon.keep_plan(&NewPlan { facts_version: 2, scalp: Some("v 0 0 0".into()), ..plan.clone() }).await.unwrap();
    let of_nobody = salon.keep_plan(&NewPlan { facts_version: 3, ..plan.clone() }).await;
    assert!(matches!(of_nobody, Err(StoreFault::Unknown("client"))), "{of_nobody:?}");
    salon.place_plan(kept, Some("2026-05-04")).await.unwrap();

    // A setting is kept once and then changed from its newest version only.
    assert_eq!(salon.setting(HouseDocument::Ring).await.unwrap(), None);
    assert_eq!(salon.keep_setting(HouseDocument::Ring, 0, "[]").await.unwrap(), 1);
    assert!(matches!(salon.keep_setting(HouseDocument::Ring, 0, "x").await, Err(StoreFault::Changed { seen: 0, now: 1 })));

    // A photo belongs to one client or to the salon; its note is changed from its newest version only.
    let picture = NewPhoto { client: Some(ada), picture: vec![0, 255, 7], note: "no marks".into() };
    let photo = salon.keep_photo(&picture).await.unwrap();
    let swatches = salon.keep_photo(&NewPhoto { client: None, ..picture.clone() }).await.unwrap();
    assert_eq!(salon.note_photo(photo, 1, "four corners").await.unwrap(), 2);
    assert!(matches!(salon.note_photo(photo, 1, "late").await, Err(StoreFault::Changed { seen: 1, now: 2 })));
    assert_eq!(salon.photos_of(Some(ada)).await.unwrap().len(), 1);
    assert_eq!(salon.photos_of(None).await.unwrap()[0].id, swatches);

    // A reading is of a photo of the same client, or of none; read again, the later one counts.
    let read = |document: &str| NewReading { client: ada, photo: Some(photo), document: document.into() };
    let first = salon.keep_reading(&read("first")).await.unwrap();
    let again = salon.keep_reading(&read("again")).await.unwrap();
    let by_file = salon.keep_reading(&NewReading { photo: None, ..read("by file") }).await.unwrap();
    let of_another = salon.keep_reading(&NewReading { client: bea, ..read("x") }).await;
    assert!(matches!(of_another, Err(StoreFault::Unknown("photo"))), "{of_another:?}");
    assert!(salon.reading(first).await.unwrap().superseded);

    // A photo is removed with what was read from it, and with nothing else.
    let mistaken = salon.keep_photo(&picture).await.unwrap();
    let gone = salon.keep_reading(&NewReading { photo: Some(mistaken), ..read("mistaken") }).await.unwrap();
    salon.remove_photo(mistaken).await.unwrap();
    assert!(matches!(salon.reading(gone).await, Err(StoreFault::Unknown("reading"))));
    assert!(matches!(salon.remove_photo(mistaken).await, Err(StoreFault::Unknown("photo"))));
    salon.close().await;

    let salon = open().await;
    let readings = salon.readings_of(ada).await.unwrap();
    assert_eq!(readings.iter().map(|reading| reading.id).collect::<Vec<_>>(), [again, by_file]);
    assert_eq!((readings[0].document.as_str(), readings[0].photo), ("again", Some(photo)));
    assert_eq!(readings[0].seen_ms, salon.photo(photo).await.unwrap().kept_ms);
    assert!(salon.readings_of(bea).await.unwrap().is_empty());
    assert_eq!(salon.photo(photo).await.unwrap().note, "four corners");
    assert_eq!(salon.picture(photo).await.unwrap(), [0, 255, 7]);
    let found = salon.client(ada).await.unwrap();
    assert_eq!((found.label.as_str(), found.version), ("Arna Lund", 2));
    assert_eq!(found.facts, r#"{"hair":{"strand":"coarse"}}"#);
    assert_eq!(salon.facts_at(ada, 1).await.unwrap(), r#"{"hair":{"strand":"fine"}}"#);
    let plan_found = salon.plan(kept).await.unwrap();
    assert_eq!((plan_found.seed, plan_found.placed_on.as_deref()), (u64::MAX, Some("2026-05-04")));
    assert_eq!(salon.plan(later).await.unwrap().scalp.as_deref(), Some("v 0 0 0"));
    assert_eq!(salon.plans_of(ada).await.unwrap().iter().map(|line| line.id).collect::<Vec<_>>(), [later, kept]);
    assert_eq!(salon.setting(HouseDocument::Ring).await.unwrap().unwrap().document, "[]");

    // The log holds each change that was made and none that was refused, in order, without a name in it.
    let events = salon.events_after(0, 100).await.unwrap();
    let verbs: Vec<&str> = events.iter().map(|event| event.verb.as_str()).collect();
    assert_eq!(
        verbs,
        [
            "client added",
            "client added",
            "client changed",
            "plan made",
            "plan made",
            "plan placed",
            "setting changed",
            "photo kept",
            "photo kept",
            "photo marked",
            "colour read",
            "colour read",
            "colour read",
            "photo kept",
            "colour read",
            "photo removed",
        ]
    );
    assert!(events.windows(2).all(|pair| pair[0].seq < pair[1].seq));
    assert!(events.iter().all(|event| !event.subject.contains("Lund")));
    assert_eq!(salon.events_after(events[5].seq, 100).await.unwrap().len(), events.len() - 6);
    salon.close().await;
}

async fn names(salon: &EarlierRecords, search: &str) -> Vec<String> {
    salon.clients(search, 100).await.unwrap().0.into_iter().map(|line| line.label).collect()
}
