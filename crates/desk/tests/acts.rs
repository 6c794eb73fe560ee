//! Acts as lines: the present work of a technician through the one door, told to
//! a folder and to a database alike.

#[path = "../../store/tests/ground/mod.rs"]
mod ground;

use desk::acts::{ACTS, Ended};
use desk::{Passphrase, Place, RecoveryCode, Salon};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::path::Path;

fn phrase() -> Passphrase {
    Passphrase::new("four words and more".to_owned()).unwrap()
}

async fn done(salon: &Salon, line: Value) -> Value {
    let (answer, ended) = salon.act(&line.to_string()).await;
    assert_eq!(ended, Ended::Done, "{line}\n{answer}");
    assert_eq!(answer["done"], true);
    answer
}

async fn refused(salon: &Salon, line: Value, ended: Ended) -> Value {
    let before = salon.audit().await.unwrap();
    let (answer, how) = salon.act(&line.to_string()).await;
    assert_eq!(how, ended, "{line}\n{answer}");
    let fault = &answer["faults"][0];
    for key in ["what", "where", "rule", "cure"] {
        assert!(fault[key].as_str().is_some_and(|text| !text.is_empty()), "{answer}");
    }
    assert_eq!(salon.audit().await.unwrap(), before, "nothing was written");
    answer
}

fn kinds(answer: &Value) -> Vec<&str> {
    answer["events"].as_array().unwrap().iter().map(|event| event["kind"].as_str().unwrap()).collect()
}

fn facts(name: &str) -> Value {
    json!({
        "client": {"name": name, "age_years": 31},
        "consultation": {
            "goal": "thickness", "fullness": "natural", "styles": ["down"], "part": "centre", "ties_up": "sometimes",
            "had_extensions": true, "reacted_before": false, "allergies": ["nickel"], "scalp": [], "health": [], "consent": true
        },
        "hair": {"density_per_cm2": 180, "strand": "medium", "own_length_mm": 350, "processed": "none"},
        "head": {"circumference_mm": 556}, "colour": {"lab_d65": [32.0, 8.0, 19.0]}
    })
}

/// A technician's present work; every event's kind, in order.
async fn work(salon: &Salon) -> (Vec<String>, String, String) {
    let mut all: Vec<String> = Vec::new();
    let on = "2026-03-02";
    let ring: Value = serde_json::from_str(include_str!("../../../casebook/ring.json")).unwrap();
    let stock: Value = serde_json::from_str(include_str!("../../../casebook/stock.json")).unwrap();
    let mut step = async |line: Value| {
        let answer = done(salon, line).await;
        all.extend(kinds(&answer).into_iter().map(str::to_owned));
        answer
    };
    step(json!({"act": "house set", "on": on, "name": "Chair", "currency": "EUR", "hour_minor": 6000, "zone": "Europe/Paris", "tax_percent": 20,
        "pieces": {"mass_g": 2.5, "tab_width_mm": 40, "tab_height_mm": 9, "lengths_mm": [350, 450]}})).await;
    let person = step(json!({"act": "person add", "on": on, "name": "Ines", "role": "technician"})).await["person"].clone();
    step(json!({"act": "ring set", "on": on, "shades": ring["shades"]})).await;
    step(json!({"act": "prices set", "on": on, "packs": stock["packs"], "suppliers": stock["suppliers"], "currency": "EUR"})).await;
    let pieces = step(json!({"act": "pack receive", "on": on, "lot": "L1", "supplier": "north", "shade": "S06", "length_mm": 350, "pieces": 10, "packs": 3})).await;
    assert_eq!(pieces["pieces"].as_array().unwrap().len(), 30);
    step(json!({"act": "shelf count", "on": on, "shade": "S06", "length_mm": 350, "lot": "L1", "pieces": 28, "reason": "two were bent"}))
        .await;
    let consents = json!([{"purpose": "health", "wording": "h-1"}]);
    let client =
        step(json!({"act": "client add", "on": on, "by": person, "facts": facts("Ada Example"), "consents": consents})).await["client"]
            .clone();
    step(json!({"act": "consent give", "on": on, "client": client, "purpose": "photos", "wording": "p-1"})).await;
    step(json!({"act": "skin test set", "on": on, "client": client, "lot": "L1", "place": "behind the left ear"})).await;
    step(json!({"act": "skin test read", "on": "2026-03-04", "client": client, "found": "clear"})).await;
    let planned = step(json!({"act": "plan make", "on": "2026-03-04", "client": client, "seed": 1})).await;
    assert_eq!(planned["sites"].as_array().unwrap().len(), planned["document"]["sites"].as_array().unwrap().len());
    assert!(!planned["sites"].as_array().unwrap().is_empty());
    let plan = planned["plan"].clone();
    step(json!({"act": "plan place day", "on": "2026-03-09", "plan": plan, "day": "2026-03-09"})).await;
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    (all, text(&client), text(&plan))
}

async fn asked(salon: &Salon, client: &str) {
    let id = client.parse().unwrap();
    let shown = salon.show_client(id, "2026-05-01".parse().unwrap()).await.unwrap();
    assert_eq!((shown["label"].as_str(), shown["facts"]["consultation"]["allergies"][0].as_str()), (Some("Ada Example"), Some("nickel")));
    assert!(shown["next"]["due"].is_string() && !shown["pieces"].as_array().unwrap().is_empty());
    let due = salon.show_due("2026-05-01".parse().unwrap()).await.unwrap();
    assert_eq!(due["due"][0]["client"].as_str(), Some(client));
    assert!(salon.show_due("2026-03-10".parse().unwrap()).await.unwrap()["due"].as_array().unwrap().is_empty());
    assert_eq!(salon.show_shelf().await.unwrap()["shelf"][0]["pieces"], 28);
    let checks = salon.show_checks().await.unwrap();
    assert!(checks["checks"].as_array().unwrap().iter().all(|check| check["holds"] == true), "{checks}");
}

/// Every file under a folder, by its name.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut left = vec![folder.to_owned()];
    while let Some(here) = left.pop() {
        for entry in std::fs::read_dir(here).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                left.push(path);
            } else {
                found.insert(path.strip_prefix(folder).unwrap().display().to_string(), std::fs::read(&path).unwrap());
            }
        }
    }
    found
}

/// No event's body holds a whole client's file or a whole plan, however deep.
fn holds_no_whole(event: &Value, place: &str) {
    const OF_A_FILE: [&str; 7] = ["client", "consultation", "hair", "head", "colour", "pieces", "last_visit"];
    const OF_A_PLAN: [&str; 6] = ["verdict", "quantity", "rows", "sites", "steps", "quote"];
    match event {
        Value::Object(fields) => {
            for whole in [OF_A_FILE.as_slice(), &OF_A_PLAN] {
                let parts: Vec<&&str> =
                    whole.iter().filter(|part| fields.get(**part).is_some_and(|value| value.is_object() || value.is_array())).collect();
                assert!(parts.len() < 2, "{place} holds {parts:?} in one body");
            }
            fields.values().for_each(|field| holds_no_whole(field, place));
        }
        Value::Array(items) => items.iter().for_each(|item| holds_no_whole(item, place)),
        Value::String(text) if text.starts_with('{') => holds_no_whole(&serde_json::from_str(text).unwrap_or_default(), place),
        _ => {}
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_technicians_present_work_goes_through_one_door_on_either_engine() {
    let server = ground::server();
    let folders = tempfile::tempdir().unwrap();
    let places = [Place::Folder(folders.path().join("one")), server.place()];
    let mut told = Vec::new();
    for (at, place) in places.iter().enumerate() {
        let opened = Salon::begin(place, Some(&phrase())).await.unwrap();
        let (salon, code) = (opened.salon, opened.code.unwrap());
        let (kinds, client, plan) = work(&salon).await;
        asked(&salon, &client).await;
        salon.close().await;
        let salon = Salon::open(place, Some(&phrase())).await.unwrap().salon;
        asked(&salon, &client).await;
        let rows = salon.rebuild_views().await.unwrap();
        assert!(rows >= 2);
        asked(&salon, &client).await;
        // A backup of either engine goes back into a folder, by its code alone.
        let file = folders.path().join(format!("backup-{at}.age"));
        let head = salon.audit().await.unwrap();
        let kept = salon.backup(&file).await.unwrap();
        let printed: RecoveryCode = code.printed().parse().unwrap();
        assert_eq!(Salon::verify(&file, &printed).await.unwrap()["head"], head["head"]);
        assert_eq!(kept["events"], head["events"]);
        let now = salon.records().await.unwrap();
        assert_eq!(now.backup.map(|backup| backup.since), Some(0), "that it was made is noted");
        let back = Place::Folder(folders.path().join(format!("back-{at}")));
        Salon::restore(&file, &back, &printed, None, false).await.unwrap();
        let restored = Salon::open(&back, None).await.unwrap().salon;
        asked(&restored, &client).await;
        assert!(restored.plan(plan.parse().unwrap()).await.is_ok());
        // Open files, read back on the other engine's kind of place, give the same open files.
        let (first, second) = (folders.path().join(format!("export-{at}")), folders.path().join(format!("again-{at}")));
        restored.export(&first).await.unwrap();
        restored.close().await;
        let imported = Salon::import(&first, &Place::Folder(folders.path().join(format!("imported-{at}"))), None).await.unwrap().salon;
        asked(&imported, &client).await;
        imported.export(&second).await.unwrap();
        imported.close().await;
        let (first, second) = (files(&first), files(&second));
        assert_eq!(first, second);
        for (name, bytes) in &first {
            let lines = if name.ends_with("events.jsonl") { String::from_utf8(bytes.clone()).unwrap() } else { String::new() };
            lines.lines().for_each(|line| holds_no_whole(&serde_json::from_str(line).unwrap(), name));
        }
        // Erased, she is nowhere; what stays is said.
        let erased = done(&salon, json!({"act": "client erase", "on": "2026-06-01", "client": client, "reason": "she asked"})).await;
        assert_eq!(erased["kept"].as_array().unwrap().len(), 2);
        assert!(salon.show_client(client.parse().unwrap(), "2026-06-01".parse().unwrap()).await.is_err());
        assert_eq!(salon.show_clients("").await.unwrap(), json!({"clients": []}));
        refused(
            &salon,
            json!({"act": "consent give", "on": "2026-06-01", "client": client, "purpose": "photos", "wording": "p"}),
            Ended::Refused,
        )
        .await;
        salon.close().await;
        told.push(kinds);
    }
    assert_eq!(told[0], told[1], "the same acts give the same events");
}

#[tokio::test]
async fn a_key_makes_a_line_safe_to_repeat() {
    let folder = tempfile::tempdir().unwrap();
    let salon = Salon::begin(&Place::Folder(folder.path().to_owned()), None).await.unwrap().salon;
    let line = json!({"act": "person add", "on": "2026-03-02", "name": "Ines", "role": "assistant", "key": "a key"});
    let first = done(&salon, line.clone()).await;
    let head = salon.audit().await.unwrap();
    assert_eq!(done(&salon, line.clone()).await, first);
    // Written in another order it is the same line.
    let again = r#"{"key":"a key","role":"assistant","name":"Ines","on":"2026-03-02","act":"person add"}"#;
    assert_eq!(salon.act(again).await.0, first);
    assert_eq!(salon.audit().await.unwrap(), head);
    let mut other = line;
    other["name"] = json!("Inez");
    refused(&salon, other, Ended::Refused).await;
}

#[tokio::test]
async fn nonsense_is_no_act_and_a_stale_version_shows_both() {
    let folder = tempfile::tempdir().unwrap();
    let salon = Salon::begin(&Place::Folder(folder.path().to_owned()), None).await.unwrap().salon;
    for line in ["", "x", "[]", "{}", "{\"act\":7}", "{\"act\":\"dance\",\"on\":\"2026-03-02\"}", "null", "\u{0}"] {
        assert_eq!(salon.act(line).await.1, Ended::NoAct, "{line}");
    }
    for line in [
        json!({"act": "person add", "on": "2026-02-30", "name": "I", "role": "owner"}),
        json!({"act": "person add", "on": "2026-03-02", "at": "25:00", "name": "I", "role": "owner"}),
        json!({"act": "person add", "on": "2026-03-02", "name": "I", "role": "queen"}),
        json!({"act": "person add", "on": "2026-03-02", "name": "I"}),
        json!({"act": "person add", "name": "I", "role": "owner"}),
        json!({"act": "person add", "on": "2026-03-02", "name": "I", "role": "owner", "colour": "red"}),
        json!({"act": "client change", "on": "2026-03-02", "client": "nobody", "facts": {}}),
        json!({"act": "shelf count", "on": "2026-03-02", "shade": "A", "length_mm": -4, "lot": "L", "pieces": 1, "reason": "r"}),
    ] {
        refused(&salon, line, Ended::NoAct).await;
    }
    for line in [
        json!({"act": "consent give", "on": "2026-03-02", "client": "01972f3a-5b6c-7d8e-9f01-23456789abcd", "purpose": "health", "wording": "w"}),
        json!({"act": "house set", "on": "2026-03-02", "tax_percent": 900}),
        json!({"act": "house set", "on": "2026-03-02", "zone": "Moon/Sea"}),
        json!({"act": "pack receive", "on": "2026-03-02", "lot": "L", "supplier": "s", "shade": "A", "length_mm": 350, "pieces": 4_000_000, "packs": 4_000}),
        json!({"act": "client add", "on": "2026-03-02", "facts": {"consultation": {"health": ["pregnant"]}}}),
        json!({"act": "client add", "on": "2026-03-02", "facts": {"client": {"age_years": -3}}}),
        json!({"act": "client add", "on": "2026-03-02", "facts": {"consultation": {"styles": vec!["down"; 4000]}}}),
    ] {
        refused(&salon, line, Ended::Refused).await;
    }
    let client = done(&salon, json!({"act": "client add", "on": "2026-03-02", "facts": {"client": {"name": "Ada"}}})).await;
    let version = client["version"].as_u64().unwrap();
    let change = |name: &str| json!({"act": "client change", "on": "2026-03-02", "client": client["client"], "facts": {"client": {"name": name}}, "version": version});
    done(&salon, change("Bea")).await;
    let stale = refused(&salon, change("Cleo"), Ended::Refused).await;
    let says = stale["faults"][0]["what"].as_str().unwrap();
    assert!(says.contains(&version.to_string()) && says.contains(&(version + 2).to_string()), "{says}");
}

/// The seq of the last event that an answer tells.
fn seq(answer: &Value) -> u64 {
    answer["events"].as_array().unwrap().last().unwrap()["seq"].as_u64().unwrap()
}

#[tokio::test(flavor = "multi_thread")]
async fn what_was_said_wrong_is_corrected_by_a_later_event() {
    let folder = tempfile::tempdir().unwrap();
    let salon = Salon::begin(&Place::Folder(folder.path().join("salon")), None).await.unwrap().salon;
    let client =
        done(&salon, json!({"act": "client add", "on": "2026-03-02", "facts": {"client": {"name": "Ada Example"}}})).await["client"]
            .clone();
    let set = done(&salon, json!({"act": "skin test set", "on": "2026-03-02", "client": client, "lot": "L1", "place": "left"})).await;
    let read = done(&salon, json!({"act": "skin test read", "on": "2026-03-04", "client": client, "found": "clear"})).await;
    let instead = json!({"act": "skin test read", "on": "2026-03-04", "client": client, "found": "redness"});
    let answer = done(&salon, json!({"act": "correct", "on": "2026-03-05", "event": seq(&read), "instead": instead})).await;
    assert_eq!((answer["corrects"]["seq"].as_u64(), kinds(&answer)), (Some(seq(&read)), vec!["corrected"]));
    // A correction is corrected too, and the test before keeps its own.
    done(&salon, json!({"act": "skin test set", "on": "2026-03-06", "client": client, "lot": "L2", "place": "right"})).await;
    let instead = json!({"act": "skin test read", "on": "2026-03-05", "client": client, "found": "itching"});
    done(&salon, json!({"act": "correct", "on": "2026-03-07", "event": seq(&answer), "instead": instead})).await;
    let instead = json!({"act": "skin test set", "on": "2026-03-01", "client": client, "lot": "L9", "place": "left"});
    done(&salon, json!({"act": "correct", "on": "2026-03-07", "event": seq(&set), "instead": instead})).await;
    let shown = salon.show_client(client.as_str().unwrap().parse().unwrap(), "2026-03-08".parse().unwrap()).await.unwrap();
    let tests: Vec<Value> = shown["skin_tests"]
        .as_array()
        .unwrap()
        .iter()
        .map(|t| json!([t["lot"], t["set_on"], t["read"]["on"], t["read"]["found"]]))
        .collect();
    assert_eq!(tests, [json!(["L9", "2026-03-01", "2026-03-05", "itching"]), json!(["L2", "2026-03-06", null, null])]);

    let packs = |lot: &str, packs: u32| json!({"act": "pack receive", "on": "2026-03-02", "lot": lot, "supplier": "north", "shade": "S06", "length_mm": 350, "pieces": 10, "packs": packs});
    let came = done(&salon, packs("L1", 3)).await;
    done(&salon, packs("L1", 1)).await;
    let answer = done(&salon, json!({"act": "correct", "on": "2026-03-05", "event": seq(&came), "instead": packs("L2", 2)})).await;
    assert_eq!(kinds(&answer), ["corrected"]);
    let lots = |shelf: &Value| -> Vec<Value> {
        shelf["shelf"].as_array().unwrap().iter().map(|held| json!([held["lot"], held["pieces"]])).collect()
    };
    assert_eq!(lots(&salon.show_shelf().await.unwrap()), [json!(["L1", 10]), json!(["L2", 20])]);
    let count = |pieces: u32| json!({"act": "shelf count", "on": "2026-03-06", "shade": "S06", "length_mm": 350, "lot": "L2", "pieces": pieces, "reason": "counted"});
    let counted = done(&salon, count(12)).await;
    done(&salon, json!({"act": "correct", "on": "2026-03-06", "event": seq(&counted), "instead": count(21)})).await;
    assert_eq!(lots(&salon.show_shelf().await.unwrap()), [json!(["L1", 10]), json!(["L2", 21])]);

    for (event, instead, because) in [
        (seq(&came), packs("L2", 1), "counted since"),
        (seq(&counted), packs("L2", 1), "another kind"),
        (seq(&read), json!({"act": "client erase", "on": "2026-03-06", "client": client, "reason": "x"}), "Say it anew"),
        (0, count(1), "no event 0"),
        (99_999, count(1), "no event 99999"),
        (1, count(1), "Say it anew"),
    ] {
        let answer =
            refused(&salon, json!({"act": "correct", "on": "2026-03-07", "event": event, "instead": instead}), Ended::Refused).await;
        assert!(answer.to_string().contains(because), "{answer}");
    }
    refused(&salon, json!({"act": "correct", "on": "2026-03-07", "event": 2, "instead": {"act": "dance"}}), Ended::NoAct).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_layout_set_by_hand_is_kept_as_a_plan_of_its_own() {
    let folder = tempfile::tempdir().unwrap();
    let salon = Salon::begin(&Place::Folder(folder.path().join("salon")), None).await.unwrap().salon;
    let consents = json!([{"purpose": "health", "wording": "h-1"}]);
    let mut wanted = facts("Ada Example");
    wanted["pieces"] = json!({"mass_g": 2.5, "tab_width_mm": 40, "tab_height_mm": 9, "lengths_mm": [350]});
    let client =
        done(&salon, json!({"act": "client add", "on": "2026-03-02", "facts": wanted, "consents": consents})).await["client"].clone();
    let first = done(&salon, json!({"act": "plan make", "on": "2026-03-02", "client": client})).await;
    let sites: Vec<Value> = first["document"]["sites"]
        .as_array()
        .unwrap()
        .iter()
        .map(|site| json!({"above_nape_mm": site["above_nape_mm"], "along_mm": site["along_mm"], "half": site["piece"]["cut"] == "half"}))
        .collect();
    let keep = |sites: &[Value], more: Value| {
        let mut line = json!({"act": "layout keep", "on": "2026-03-03", "plan": first["plan"], "sites": sites, "add_g": 0});
        line.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
        line
    };
    let fewer = done(&salon, keep(&sites[1..], json!({}))).await;
    assert_eq!(fewer["sites"].as_array().unwrap().len(), sites.len() - 1);
    let (_, kept) = salon.plan(fewer["plan"].as_str().unwrap().parse().unwrap()).await.unwrap();
    assert_eq!(kept.from.unwrap().plan, first["plan"].as_str().unwrap());
    let same = refused(&salon, keep(&sites, json!({})), Ended::Refused).await;
    assert!(same.to_string().contains("nothing to keep"), "{same}");
    // Beyond a floor it wants a reason, which is kept.
    let mut low = sites.clone();
    low[0]["above_nape_mm"] = json!(20.0);
    let stopped = refused(&salon, keep(&low, json!({})), Ended::Refused).await;
    assert!(stopped["faults"][0]["rule"].is_string());
    let passed = done(&salon, keep(&low, json!({"because": "she never ties it up"}))).await;
    assert!(passed["document"].to_string().contains("she never ties it up"));
    let off = json!([{"above_nape_mm": 9000, "along_mm": 0}]);
    assert!(refused(&salon, keep(off.as_array().unwrap(), json!({})), Ended::Refused).await.to_string().contains("off the head"));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_house_that_no_client_could_be_planned_in_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let salon = Salon::begin(&Place::Folder(folder.path().join("salon")), None).await.unwrap().salon;
    let answer = refused(&salon, json!({"act": "house set", "on": "2026-03-02", "hour_minor": 6000}), Ended::Refused).await;
    assert!(answer["faults"][0]["where"].as_str().unwrap().starts_with("prices"), "{answer}");
    refused(&salon, json!({"act": "house set", "on": "2026-03-02", "pieces": {"mass_g": -2.5}}), Ended::Refused).await;
    done(&salon, json!({"act": "house set", "on": "2026-03-02", "hour_minor": 6000, "currency": "EUR"})).await;
    done(&salon, json!({"act": "client add", "on": "2026-03-02", "facts": {"client": {"name": "Ada Example"}}})).await;
}

#[test]
fn the_list_names_each_act_once() {
    let mut names: Vec<&str> = ACTS.iter().map(|(name, _)| *name).collect();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), ACTS.len());
}
