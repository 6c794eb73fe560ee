//! Two records of one person: said, seen everywhere once, taken back, erased.

use desk::acts::Ended;
use desk::{ClientId, Place, Salon};
use serde_json::{Value, json};

const ON: &str = "2026-03-02";

struct Chair {
    salon: Salon,
    _folder: tempfile::TempDir,
}

impl Chair {
    async fn begun() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let salon = Salon::begin(&Place::Folder(folder.path().to_owned()), None).await.unwrap().salon;
        Self { salon, _folder: folder }
    }

    async fn act(&self, mut line: Value) -> Value {
        line["on"] = line.get("on").cloned().unwrap_or(json!(ON));
        let (answer, ended) = self.salon.act(&line.to_string()).await;
        assert_eq!(ended, Ended::Done, "{line}\n{answer}");
        answer
    }

    /// What is said against a line; nothing of it may have been written.
    async fn refused(&self, mut line: Value) -> Vec<String> {
        line["on"] = line.get("on").cloned().unwrap_or(json!(ON));
        let before = self.salon.audit().await.unwrap();
        let (answer, ended) = self.salon.act(&line.to_string()).await;
        assert_eq!(ended, Ended::Refused, "{line}\n{answer}");
        assert_eq!(self.salon.audit().await.unwrap(), before, "nothing was written");
        let faults = answer["faults"].as_array().unwrap();
        faults.iter().map(|fault| format!("{}: {}", fault["where"].as_str().unwrap(), fault["what"].as_str().unwrap())).collect()
    }

    async fn add(&self, name: &str, contact: Value) -> String {
        let line = json!({"act": "client add", "facts": {"client": {"name": name}}, "contact": contact});
        self.act(line).await["client"].as_str().unwrap().to_owned()
    }

    async fn names(&self, search: &str) -> Vec<String> {
        self.salon.clients(search, 99).await.unwrap().0.into_iter().map(|line| line.label).collect()
    }

    async fn holds(&self) {
        let checks = self.salon.show_checks().await.unwrap();
        let broken: Vec<&Value> = checks["checks"].as_array().unwrap().iter().filter(|check| check["holds"] != true).collect();
        assert!(broken.is_empty(), "{broken:?}");
    }

    async fn shown(&self, id: &str) -> Value {
        self.salon.show_client(id.parse().unwrap(), ON.parse().unwrap()).await.unwrap()
    }

    async fn diary(&self, day: &str) -> Vec<(String, String)> {
        let told = self.salon.show_diary(day.parse().unwrap()).await.unwrap();
        let text = |line: &Value, key: &str| line[key].as_str().unwrap().to_owned();
        told["diary"].as_array().unwrap().iter().map(|line| (text(line, "client"), text(line, "label"))).collect()
    }

    /// A visit of hers, begun and closed.
    async fn consulted(&self, id: &str, on: &str) {
        let visit = self.act(json!({"act": "visit begin", "on": on, "client": id, "kind": "consultation"})).await["visit"].clone();
        self.act(json!({"act": "visit close", "on": on, "visit": visit})).await;
    }
}

fn merge(aside: &str, kept: &str) -> Value {
    json!({"act": "client merge", "client": aside, "same_as": kept, "reason": "she married"})
}

#[tokio::test]
async fn she_is_reached_as_was_said_last_and_what_is_no_number_is_refused() {
    let chair = Chair::begun().await;
    let ada = chair.add("Ada Example", json!({"phones": [" +33 6 12 34 56 78 ", ""], "emails": ["ada@example.org"]})).await;
    assert_eq!(chair.shown(&ada).await["contact"], json!({"phones": ["+33 6 12 34 56 78"], "emails": ["ada@example.org"]}));
    let set = |contact: Value| json!({"act": "contact set", "client": ada, "contact": contact});
    chair.act(set(json!({"phones": ["112"], "birthday": "--04-12", "note": "evenings"}))).await;
    let now = json!({"phones": ["112"], "birthday": "--04-12", "note": "evenings"});
    assert_eq!(chair.shown(&ada).await["contact"], now);
    assert_eq!(chair.act(set(now.clone())).await["events"], json!([]), "the same said again is no event");
    let said = chair.refused(set(json!({"phones": ["call me"], "emails": ["ada"]}))).await;
    assert!(said.len() == 2 && said[0].starts_with("phones") && said[1].starts_with("emails"), "{said:?}");
    let nobody = chair.refused(json!({"act": "client add", "facts": {"client": {"name": "Bea"}}, "contact": {"phones": ["x"]}})).await;
    assert!(nobody[0].starts_with("phones") && chair.names("").await == ["Ada Example"], "{nobody:?}");
    chair.holds().await;
}

#[tokio::test]
async fn of_two_records_one_stands_in_lists_search_and_diary_and_each_keeps_what_it_holds() {
    let chair = Chair::begun().await;
    let old = chair.add("Ada Maiden", json!({"phones": ["112"]})).await;
    let new = chair.add("Ada Married", json!({})).await;
    let other = chair.add("Bea Other", json!({})).await;
    chair.consulted(&old, ON).await;
    let book = |client: &str, day: &str| json!({"act": "appointment book", "client": client, "kind": "check", "day": day, "at": "10:00"});
    chair.act(book(&old, "2026-03-02")).await;
    let later = chair.act(book(&old, "2026-03-20")).await["appointment"].clone();

    let done = chair.act(json!({"act": "client merge", "on": "2026-03-05", "client": old, "same_as": new, "reason": "she married"})).await;
    assert_eq!((done["client"].as_str(), done["appointments"].as_u64()), (Some(new.as_str()), Some(1)));
    let kinds: Vec<&str> = done["events"].as_array().unwrap().iter().map(|event| event["kind"].as_str().unwrap()).collect();
    assert_eq!(kinds, ["same_as", "same_as", "appointment_moved"]);

    assert_eq!(chair.names("").await, ["Ada Married", "Bea Other"]);
    assert_eq!(chair.names("maiden").await, ["Ada Married"], "found by her other name");
    // What is to come is booked for the record that is kept; what was, is shown under it.
    for day in ["2026-03-02", "2026-03-20"] {
        assert_eq!(chair.diary(day).await, [(new.clone(), "Ada Married".to_owned())], "{day}");
    }
    chair.act(json!({"act": "appointment move", "on": "2026-03-05", "appointment": later, "client": new, "at": "11:00"})).await;
    let shown = chair.shown(&new).await;
    assert_eq!((shown["visits"].as_array().unwrap().len(), shown["visits"][0]["client"].as_str()), (1, Some(old.as_str())));
    assert_eq!(shown["records"], json!([{"client": old, "label": "Ada Maiden", "kept": false}]));
    assert_eq!(shown["contact"], json!({}), "nothing is copied");
    let aside = chair.shown(&old).await;
    assert_eq!(aside["records"], json!([{"client": new, "label": "Ada Married", "kept": true}]));
    assert_eq!(aside["contact"]["phones"], json!(["112"]));
    chair.holds().await;

    // The record that is set aside takes nothing new, through any door.
    for line in [
        json!({"act": "client change", "client": old, "facts": {"client": {"name": "Ada"}}}),
        json!({"act": "contact set", "client": old, "contact": {"phones": ["113"]}}),
        json!({"act": "visit begin", "on": "2026-03-06", "client": old, "kind": "consultation"}),
        json!({"act": "skin test set", "client": old, "lot": "L1", "place": "arm"}),
        book(&old, "2026-03-21"),
    ] {
        let said = chair.refused(line).await;
        assert!(said.iter().any(|said| said.contains(&new)), "{said:?}");
    }
    let typed = serde_json::from_value(json!({"client": {"name": "Ada"}})).unwrap();
    let id: ClientId = old.parse().unwrap();
    let version = chair.salon.client(id).await.unwrap().version;
    assert!(matches!(chair.salon.change_client(id, version, "Ada", &typed, Vec::new()).await, Err(desk::DeskFault::Refused(_))));

    // It is not set aside twice, nor is another one set aside for it.
    assert!(!chair.refused(merge(&old, &other)).await.is_empty());
    assert!(!chair.refused(merge(&other, &old)).await.is_empty());
    assert!(!chair.refused(merge(&new, &other)).await.is_empty(), "another record is set aside for this one");
    assert!(!chair.refused(merge(&other, &other)).await.is_empty());
    chair.act(merge(&other, &new)).await;
    assert_eq!(chair.names("").await, ["Ada Married"]);

    // And it is taken back by a later event.
    chair.act(json!({"act": "client part", "client": other, "reason": "her sister"})).await;
    assert_eq!(chair.names("").await, ["Ada Married", "Bea Other"]);
    assert!(!chair.refused(json!({"act": "client part", "client": other, "reason": "again"})).await.is_empty());
    chair.act(json!({"act": "contact set", "client": other, "contact": {"phones": ["114"]}})).await;
    chair.salon.rebuild_views().await.unwrap();
    assert_eq!(chair.names("").await, ["Ada Married", "Bea Other"], "made anew, the lists say the same");
    chair.holds().await;

    // Open files hold both records, and read back they are one person's again.
    let out = tempfile::tempdir().unwrap();
    chair.salon.export(&out.path().join("out")).await.unwrap();
    let again = Salon::import(&out.path().join("out"), &Place::Folder(out.path().join("again")), None).await.unwrap().salon;
    assert_eq!(again.clients("maiden", 9).await.unwrap().0[0].label, "Ada Married");
}

#[tokio::test]
async fn nothing_that_is_under_way_is_set_aside() {
    let chair = Chair::begun().await;
    let (old, new) = (chair.add("Ada Maiden", json!({})).await, chair.add("Ada Married", json!({})).await);
    let visit = chair.act(json!({"act": "visit begin", "client": old, "kind": "consultation"})).await["visit"].clone();
    for (aside, kept, place) in [(&old, &new, "client"), (&new, &old, "same_as")] {
        let said = chair.refused(merge(aside, kept)).await;
        assert!(said.len() == 1 && said[0].starts_with(place), "{said:?}");
    }
    chair.act(json!({"act": "visit close", "visit": visit})).await;
    let blank = chair.refused(json!({"act": "client merge", "client": old, "same_as": new, "reason": "  "})).await;
    assert!(blank[0].starts_with("reason"), "{blank:?}");
    chair.act(merge(&old, &new)).await;
    chair.holds().await;
}

#[tokio::test]
async fn erasing_one_who_has_several_records_says_which_of_them_go() {
    let erase = |client: &str, records: Option<&str>| {
        let mut line = json!({"act": "client erase", "client": client, "reason": "she asked"});
        if let Some(records) = records {
            line["records"] = json!(records);
        }
        line
    };
    for (first, which, left) in [(0, "all", 0), (1, "all", 0), (0, "this", 1), (1, "this", 1)] {
        let chair = Chair::begun().await;
        let ids = [chair.add("Ada Maiden", json!({"phones": ["112"]})).await, chair.add("Ada Married", json!({})).await];
        let book = json!({"act": "appointment book", "client": ids[0], "kind": "check", "day": "2026-03-20", "at": "10:00"});
        chair.act(book).await;
        chair.act(merge(&ids[0], &ids[1])).await;
        let said = chair.refused(erase(&ids[first], None)).await;
        assert!(said[0].starts_with("records"), "{said:?}");
        let kept = chair.act(erase(&ids[first], Some(which))).await["kept"].to_string();
        assert_eq!(kept.contains("1 other record"), which == "this", "{kept}");
        assert!(!kept.contains("Ada"), "what is said to stay names nobody: {kept}");
        assert_eq!(chair.names("").await.len(), left, "{which} of {first}");
        if left == 1 {
            let other = &ids[1 - first];
            assert_eq!(chair.shown(other).await["records"], json!([]), "it stands by itself");
            chair.act(json!({"act": "contact set", "client": other, "contact": {"phones": ["115"]}})).await;
        }
        // Appointments went over to the kept record: they go with it.
        let goes = which == "all" || first == 1;
        assert_eq!(chair.diary("2026-03-20").await.is_empty(), goes, "{which} of {first}");
        chair.holds().await;
    }
}
