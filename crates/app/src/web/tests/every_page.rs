//! What holds for every page there is, tried on each of them; and what comes into
//! the log and into addresses.

use super::asking::{Asking, added, form};
use crate::logbook::Logbook;
use crate::web::frame::house;
use crate::web::frame::serving::BODY_GOES_ON_WITHIN;
use crate::web::plan::{held, making};
use crate::web::{demo, pages};
use axum::body::{Body, Bytes, HttpBody};
use axum::http::{Method, StatusCode};
use desk::acts::Ended;
use http_body::Frame;
use serde_json::json;
use std::collections::BTreeMap;
use std::pin::Pin;
use std::task::{Context, Poll};
use std::time::Duration;
use tracing_subscriber::layer::SubscriberExt;

/// Nothing has this id.
const NOBODY: &str = "0190b7a0-0000-7000-8000-000000000000";

/// Ways to send nothing of use: what is asked for is missing, doubled or of
/// another shape.
fn odd_bodies() -> Vec<(&'static str, String)> {
    let names = [
        "seen",
        "then",
        "day",
        "code",
        "was",
        "l",
        "a",
        "b",
        "levers",
        "follow",
        "search",
        "all_here",
        "client.name",
        "head.avoid.side",
        "chart.x",
        "swatch.code",
        "shade",
        "act",
        "site",
        "kind",
        "key",
        "because",
        "moved",
        "mm_off_scalp",
        "pieces",
        "amount",
        "invoice",
        "asked",
        "answer",
        "with",
        "signature.drawn",
        "consultation.swims",
    ];
    let doubled: Vec<(&str, &str)> = names.iter().flat_map(|name| [(*name, "1"), (*name, "\u{0}x")]).collect();
    let file = "--e\r\ncontent-disposition: form-data; name=\"file\"; filename=\"f\"\r\n\r\nnothing\r\n";
    vec![
        ("", String::new()),
        ("application/x-www-form-urlencoded", String::new()),
        ("application/x-www-form-urlencoded", form(&doubled)),
        ("application/x-www-form-urlencoded", "%zz=%".to_owned()),
        ("application/json", "{}".to_owned()),
        ("application/json", r#"{"sites":[],"sites":[],"others":[],"at":{"above_nape_mm":1e300,"along_mm":0},"at":null}"#.to_owned()),
        ("application/json", r#"{"at":{"above_nape_mm":1e300,"along_mm":-1e300},"others":[],"site":"B1.1","style":"down","showed":true,"sites":[],"point":[1e300,0,0]}"#.to_owned()),
        ("application/json", "[".repeat(10_000)),
        ("multipart/form-data; boundary=e", "--e--\r\n".to_owned()),
        ("multipart/form-data; boundary=e", format!("{file}{file}--e--\r\n")),
        ("multipart/form-data; boundary=e", file.to_owned()),
        ("multipart/form-data", "no edge".to_owned()),
    ]
}

/// An address with something in each of its places.
fn at(address: &str, fill: impl Fn(&str, &str) -> String) -> String {
    let mut before = "";
    let mut parts = Vec::new();
    for part in address.split('/') {
        parts.push(if part.starts_with('{') { fill(before, part) } else { part.to_owned() });
        before = part;
    }
    parts.join("/")
}

/// Which methods a page takes, as it says itself to one that it does not.
async fn taken(asking: &Asking, path: &str) -> Vec<String> {
    let refused = asking.ask(Method::TRACE, path, "", "").await;
    assert_eq!(refused.status, StatusCode::METHOD_NOT_ALLOWED, "{path}");
    refused.header("allow").split(',').map(|method| method.trim().to_owned()).collect()
}

#[tokio::test]
async fn every_page_refuses_the_wrong_method_and_knows_nothing_of_unknown_ids() {
    let asking = Asking::new().await;
    let addresses = pages().addresses().to_vec();
    assert!(addresses.len() > 40 && addresses.contains(&"/settings/ring"), "{addresses:?}");
    for address in addresses {
        let path = at(address, |_, _| NOBODY.to_owned());
        let takes = taken(&asking, &path).await;
        for method in [Method::GET, Method::POST, Method::PUT, Method::DELETE, Method::PATCH] {
            let takes_it = takes.iter().any(|taken| *taken == method.as_str());
            let answer = asking.ask(method.clone(), &path, "", "").await;
            assert_eq!(answer.status == StatusCode::METHOD_NOT_ALLOWED, !takes_it, "{method} {path}: {}", answer.status);
        }
        for unknown in [NOBODY, "x", "..", "%00", "%F0%9F"] {
            if !address.contains('{') {
                break;
            }
            let path = at(address, |_, _| unknown.to_owned());
            if takes.iter().any(|taken| taken == "GET") {
                let status = asking.ask(Method::GET, &path, "", "").await.status;
                assert!(matches!(status.as_u16(), 400 | 404), "GET {path}: {status}");
                assert!(unknown != NOBODY || status == StatusCode::NOT_FOUND, "GET {path}: {status}");
            }
            if takes.iter().any(|taken| taken == "POST") {
                let mut told = Vec::new();
                for (kind, body) in odd_bodies() {
                    told.push(asking.ask(Method::POST, &path, kind, body).await.status.as_u16());
                }
                assert!(told.iter().all(|status| (400..500).contains(status)), "POST {path}: {told:?}");
                assert!(unknown != NOBODY || told.contains(&404), "POST {path}: {told:?}");
            }
        }
    }
}

#[tokio::test]
async fn no_page_of_a_filled_salon_stumbles_over_missing_or_doubled_fields() {
    let asking = Asking::new().await;
    let salon = &asking.app().salon;
    let clients = demo::fill(salon).await.unwrap();
    let mut ids: BTreeMap<&str, String> = BTreeMap::new();
    for client in &clients {
        if let Some(reading) = salon.readings_of(*client).await.unwrap().first() {
            ids.insert("clients", client.to_string());
            ids.insert("readings", reading.id.to_string());
            ids.insert("photos", reading.photo.unwrap().to_string());
        }
    }
    assert_eq!(asking.post(&format!("/readings/{}/use", ids["readings"]), &[]).await.0, 303);
    let hers = salon.client(ids["clients"].parse().unwrap()).await.unwrap();
    assert!(salon.plan_input(hers.id, desk::today(), 1).await.unwrap().1.is_some());
    let mut job = making::start(asking.app(), ids["clients"].parse().unwrap()).await.ok().unwrap();
    ids.insert("making", job.id.to_string());
    let made = loop {
        match job.wait(Duration::from_secs(600)).await {
            held::Progress::Kept(plan) => break plan,
            held::Progress::Working | held::Progress::TooLong => tokio::time::sleep(Duration::from_millis(100)).await,
            _ => panic!("no plan"),
        }
    };
    ids.insert("plans", made.to_string());
    let on = desk::today();
    let her = ids["clients"].clone();
    for (place, key, line) in [
        (
            "visits",
            "visit",
            json!({"act": "visit begin", "on": on, "client": her, "kind": "re-tape", "plan": made.to_string(), "because": "tried"}),
        ),
        (
            "appointments",
            "appointment",
            json!({"act": "appointment book", "on": on, "client": her, "kind": "check", "day": on, "at": "10:00"}),
        ),
        (
            "pieces",
            "pieces",
            json!({"act": "pack receive", "on": on, "lot": "L1", "supplier": "north", "shade": "S05", "length_mm": 450, "pieces": 2, "packs": 1}),
        ),
    ] {
        let (answer, ended) = salon.act(&line.to_string()).await;
        assert_eq!(ended, Ended::Done, "{answer}");
        let id = answer[key].as_str().or_else(|| answer[key][0].as_str()).unwrap().to_owned();
        ids.insert(place, id);
        if place == "pieces" {
            ids.insert("packs", answer["version"].to_string());
        }
    }
    let many = format!(r#"{{"styles":[{}]}}"#, vec!["\"down\""; 1000].join(","));
    for to in ["what-if", "what-if/keep"] {
        let (status, says) = asking.ask(Method::POST, &format!("/plans/{made}/{to}"), "application/json", many.clone()).await.told();
        assert!(status == 422 && says.contains("list-most"), "{to}: {status} {says}");
    }
    let fill = |before: &str, part: &str| match part {
        "{style}" if before.is_empty() => "down".to_owned(),
        "{style}" => "down".to_owned(),
        "{part}" => "life".to_owned(),
        "{name}" => "run-sheet.pdf".to_owned(),
        "{*name}" => "app.js".to_owned(),
        _ => ids.get(before).cloned().unwrap_or_else(|| panic!("what stands after {before}?")),
    };
    let mut addresses = pages().addresses().to_vec();
    // What takes a record away comes last.
    addresses.sort_by_key(|address| address.ends_with("/remove"));
    for address in addresses {
        let path = at(address, fill);
        let takes = taken(&asking, &path).await;
        if takes.iter().any(|taken| taken == "GET") {
            let answer = asking.ask(Method::GET, &path, "", "").await;
            assert!(stands(answer.status), "GET {path}: {}", answer.status);
            let kept = answer.header("cache-control");
            let carried = path.starts_with("/assets/") || path == "/mark.svg";
            assert!(carried || kept == "no-store", "{path} may be kept by the browser: {kept}");
            let (_, text) = answer.told();
            let title = text.split("<title>").nth(1).and_then(|rest| rest.split("</title>").next()).unwrap_or("");
            let name = salon.client(ids["clients"].parse().unwrap()).await.unwrap().label;
            assert!(!name.is_empty() && name.split(' ').all(|part| !title.contains(part)), "{path} names her in its title: {title}");
        }
        if takes.iter().any(|taken| taken == "POST") {
            for (kind, body) in odd_bodies() {
                let answer = asking.ask(Method::POST, &path, kind, body).await;
                assert!(stands(answer.status), "POST {path} {kind}: {}", answer.status);
            }
        }
    }
    assert!(house::ring(salon).await.unwrap().value.shades.len() > 5, "nothing odd took the ring away");
}

/// Whether a page was answered; on a busy machine the ways on of a plan may come too late, and say so.
fn stands(status: StatusCode) -> bool {
    status.as_u16() < 500 || status == StatusCode::SERVICE_UNAVAILABLE
}

/// A body of which nothing more comes.
struct Stalled;

impl HttpBody for Stalled {
    type Data = Bytes;
    type Error = std::convert::Infallible;

    fn poll_frame(self: Pin<&mut Self>, _: &mut Context<'_>) -> Poll<Option<Result<Frame<Bytes>, Self::Error>>> {
        Poll::Pending
    }
}

#[tokio::test]
async fn a_form_that_stops_coming_is_given_up() {
    let asking = Asking::new().await;
    // From here on the clock goes on by itself as soon as everybody waits.
    tokio::time::pause();
    let began = tokio::time::Instant::now();
    for path in ["/clients", "/settings/house", "/measuring/check"] {
        let status = asking.ask(Method::POST, path, "application/x-www-form-urlencoded", Body::new(Stalled)).await.status;
        assert!(status.is_client_error(), "{path}: {status}");
    }
    assert!(began.elapsed() < 4 * BODY_GOES_ON_WITHIN);
    // One that comes drop by drop is ended as a whole, with a page that says so.
    let drops = Drops(Box::pin(tokio::time::sleep(BODY_GOES_ON_WITHIN / 2)));
    let (status, says) = asking.ask(Method::POST, "/clients", "application/x-www-form-urlencoded", Body::new(drops)).await.told();
    assert!(status == 503 && says.contains("took too long"), "{status} {says}");
}

/// A body that comes byte by byte, for ever.
struct Drops(Pin<Box<tokio::time::Sleep>>);

impl HttpBody for Drops {
    type Data = Bytes;
    type Error = std::convert::Infallible;

    fn poll_frame(mut self: Pin<&mut Self>, asked: &mut Context<'_>) -> Poll<Option<Result<Frame<Bytes>, Self::Error>>> {
        std::task::ready!(self.0.as_mut().poll(asked));
        self.0.as_mut().reset(tokio::time::Instant::now() + BODY_GOES_ON_WITHIN / 2);
        Poll::Ready(Some(Ok(Frame::data(Bytes::from_static(b"x")))))
    }
}

#[tokio::test]
async fn the_log_holds_faults_and_ids_but_no_name_no_answer_and_nothing_searched_for() {
    let asking = Asking::new().await;
    // For the whole process, as when it serves: what other tests do is noted here too.
    tracing::subscriber::set_global_default(tracing_subscriber::registry().with(Logbook::beside(asking.folder(), false).unwrap())).unwrap();
    let planted = "Quillonwhisp";
    let page =
        added(&asking, &[("client.name", planted), ("consultation.allergies.other", planted), ("hair.own_length_mm", "353.75")]).await;
    for path in [
        format!("/clients?search={planted}"),
        format!("/clients/{planted}"),
        format!("/{planted}"),
        format!("/settings/ring?edit={planted}"),
    ] {
        asking.get(&path).await;
    }
    asking.post("/clients/search", &[("search", planted)]).await;
    asking.post(&page, &[("seen", "1"), ("hair.own_length_mm", planted), ("all_here", "yes")]).await;
    asking.post(&format!("{page}/measuring"), &[("seen", "9"), ("head.circumference_mm", planted)]).await;
    asking.post("/settings/ring", &[("seen", "9"), ("code", planted)]).await;
    asking.ask(Method::from_bytes(planted.as_bytes()).unwrap(), "/clients", "", "").await;
    // A fault inside: what is noted of a photo is no note any more, and holds her name.
    let client = page.rsplit('/').next().unwrap().parse().ok();
    let photo = desk::NewPhoto { client, picture: b"none".to_vec(), facts: desk::PhotoFacts::default() };
    let photo = asking.app().salon.keep_photo(&photo).await.unwrap();
    let bent = bent(&asking.app().salon, photo, &format!("{planted} 353.75")).await;
    let (status, text) = bent.get(&format!("/photos/{photo}")).await;
    assert_eq!(status, 500);
    assert!(!text.is_empty());
    let log = std::fs::read_to_string(asking.folder().join("log/strandwright.log")).unwrap();
    assert!(log.contains("fault the records") && log.contains("invalid type"), "the fault is there: {log}");
    assert!(log.contains("fault not answered verb=GET path=/photos/"), "{log}");
    assert!(log.contains("done asked verb=POST path=/clients status=303"), "{log}");
    assert!(log.contains(&format!("verb=POST path={page}")), "the id is there: {log}");
    assert!(!log.to_lowercase().contains(&planted.to_lowercase()) && !log.contains("353.75"), "{log}");
}

/// The salon brought over by its open files, with words in the place of what was
/// noted of a photo.
async fn bent(salon: &desk::Salon, photo: desk::PhotoId, words: &str) -> Asking {
    let (out, place) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    salon.export(out.path()).await.unwrap();
    for client in std::fs::read_dir(out.path().join("clients")).unwrap().flatten() {
        let events = client.path().join("events.jsonl");
        let bend = |line: &str| -> String {
            let mut line: serde_json::Value = serde_json::from_str(line).unwrap();
            if line["event"]["kind"] == "photo_kept" && line["event"]["photo"] == photo.to_string() {
                line["event"]["note"] = serde_json::json!(format!("\"{words}\""));
            }
            format!("{line}\n")
        };
        let text: String = std::fs::read_to_string(&events).unwrap().lines().map(bend).collect();
        std::fs::write(&events, text).unwrap();
    }
    let opened = desk::Salon::import(out.path(), &desk::Place::Folder(place.path().to_owned()), None).await.unwrap();
    Asking::over(opened.salon, place)
}

#[tokio::test]
async fn what_is_searched_for_is_found_by_posting_and_stands_in_no_address() {
    let asking = Asking::new().await;
    added(&asking, &[("client.name", "Ada Probe")]).await;
    added(&asking, &[("client.name", "Refused Probe")]).await;
    let (_, found) = asking.post("/clients/search", &[("search", "refu")]).await;
    assert!(found.contains("Refused Probe") && !found.contains("Ada Probe"));
    let (_, list) = asking.get("/clients").await;
    assert!(
        !list.contains("method=\"get\"") && !list.contains("hx-get") && !list.contains("hx-replace-url") && !list.contains("hx-push-url"),
        "{list}"
    );
    let (_, all) = asking.get("/clients?search=refu").await;
    assert!(all.contains("Ada Probe"), "nothing is searched for by address");
    assert_eq!(asking.get("/clients/search").await.0, 303);
}
