//! The same work done on the pages and, line by line, as acts: the same events.

use super::asking::Asking;
use crate::web::plan::held::Progress;
use crate::web::plan::making::{self};
use desk::acts::Ended;
use desk::{ClientId, HEALTH_WORDING, Place, PlanId, Salon};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::path::Path;
use std::time::Duration;

const RING: &str = include_str!("../../../../../casebook/ring.json");
const STOCK: &str = include_str!("../../../../../casebook/stock.json");
/// What stays of her when she is erased.
const WHY: &str = "she asked for it";

/// Her first facts, as a form holds them; the second form says more.
const FIRST: &[(&str, &str)] = &[
    ("client.name", "Ada Example"),
    ("client.age_years", "31"),
    ("consultation.goal", "thickness"),
    ("consultation.fullness", "natural"),
    ("consultation.styles", "down"),
    ("consultation.part", "centre"),
    ("consultation.ties_up", "sometimes"),
    ("consultation.had_extensions", "true"),
    ("consultation.reacted_before", "false"),
    ("consultation.allergies", "nickel"),
    ("consultation.scalp", "none"),
    ("consultation.health", "none"),
    ("consultation.consent", "true"),
    ("hair.strand", "medium"),
    ("hair.density_per_cm2", "180"),
    ("hair.own_length_mm", "350"),
    ("hair.processed", "none"),
    ("head.circumference_mm", "556"),
    ("colour.lab_d65.l", "32"),
    ("colour.lab_d65.a", "8"),
    ("colour.lab_d65.b", "19"),
];

/// Ids by the order in which they are met, so that two salons can be compared.
#[derive(Default)]
struct Names(BTreeMap<String, String>);

impl Names {
    fn told(&mut self, text: &str) -> String {
        let mut told = String::new();
        let mut rest = text;
        while let Some(at) = (0..rest.len()).find(|at| rest.get(*at..*at + 36).is_some_and(is_id)) {
            let (before, from) = rest.split_at(at);
            let next = format!("<id {}>", self.0.len());
            told += before;
            told += self.0.entry(from[..36].to_owned()).or_insert(next);
            rest = &from[36..];
        }
        told + rest
    }
}

fn is_id(text: &str) -> bool {
    text.bytes().enumerate().all(|(at, byte)| if [8, 13, 18, 23].contains(&at) { byte == b'-' } else { byte.is_ascii_hexdigit() })
}

/// Every event of an export, stream by stream, with its kept files beside it.
fn events(folder: &Path) -> Vec<String> {
    let mut names = Names::default();
    let mut all = Vec::new();
    let mut streams = vec![folder.join("house"), folder.join("shelf"), folder.join("money"), folder.join("diary")];
    for client in folders(&folder.join("clients")) {
        streams.push(client.clone());
        streams.extend(folders(&client.join("health")));
    }
    for stream in streams {
        for line in std::fs::read_to_string(stream.join("events.jsonl")).unwrap().lines() {
            // A page says the time besides; a script that says none leaves it out.
            let mut event: Value = serde_json::from_str(line).unwrap();
            if let Some(event) = event["event"].as_object_mut().filter(|event| event["kind"] != "appointment_booked") {
                event.shift_remove("at");
            }
            all.push(names.told(&event.to_string()));
        }
        for plan in files(&stream.join("plans")) {
            let mut text = String::new();
            let packed = std::fs::read(&plan).unwrap();
            std::io::Read::read_to_string(&mut flate2::read::ZlibDecoder::new(packed.as_slice()), &mut text).unwrap();
            all.push(names.told(&text));
        }
    }
    all
}

fn under(folder: &Path) -> Vec<std::path::PathBuf> {
    let mut all: Vec<_> = std::fs::read_dir(folder).into_iter().flatten().flatten().map(|entry| entry.path()).collect();
    all.sort();
    all
}

fn folders(folder: &Path) -> Vec<std::path::PathBuf> {
    under(folder).into_iter().filter(|path| path.is_dir()).collect()
}

fn files(folder: &Path) -> Vec<std::path::PathBuf> {
    under(folder).into_iter().filter(|path| path.is_file()).collect()
}

/// Her facts as the records hold them now.
async fn facts(salon: &Salon, client: ClientId) -> Value {
    serde_json::from_str(&salon.client(client).await.unwrap().facts).unwrap()
}

/// What was typed on the pages, for the same work done as acts.
struct Typed {
    house: desk::House,
    facts: [Value; 3],
}

/// A set's whole way on the pages, up to the day it went in and her change of mind.
async fn on_the_pages(asking: &Asking) -> (ClientId, Typed) {
    let salon = &asking.app().salon;
    let house = [
        ("seen", "0"),
        ("all_here", "yes"),
        ("house.name", "Chair"),
        ("prices.currency", "EUR"),
        ("prices.hour_minor", "60.00"),
        ("pieces.mass_g", "2.5"),
    ];
    assert_eq!(asking.post("/settings/house", &house).await.0, 303);
    assert_eq!(asking.send_file("/settings/ring/import", &[("seen", "0"), ("how", "replace")], RING).await.0, 303);
    assert_eq!(asking.send_file("/settings/stock/import", &[("seen", "0")], STOCK).await.0, 303);
    let agreed = [FIRST, &[("consent.health", "true"), ("all_here", "yes")]].concat();
    let answer = asking.send("/clients", &agreed).await;
    let page = answer.header("location").split('?').next().unwrap().to_owned();
    let client: ClientId = page.rsplit('/').next().unwrap().parse().unwrap();
    let first = facts(salon, client).await;
    let more = [FIRST, &[("consent.health", "true"), ("all_here", "yes"), ("seen", "1"), ("hair.oil", "normal")]].concat();
    assert_eq!(asking.post(&page, &more).await.0, 303);
    let second = facts(salon, client).await;

    let mut job = making::start(asking.app(), client).await.ok().unwrap();
    let plan: PlanId = loop {
        match job.wait(Duration::from_secs(600)).await {
            Progress::Kept(plan) => break plan,
            Progress::Working | Progress::TooLong => tokio::time::sleep(Duration::from_millis(50)).await,
            Progress::Faulty(faults) => panic!("{faults:?}"),
            Progress::Failed => panic!("no plan"),
        }
    };
    assert_eq!(asking.post(&format!("/plans/{plan}/placed"), &[("seen", ""), ("day", "2026-03-02")]).await.0, 303);
    year_on_the_pages(asking, client, plan).await;
    let silent = [FIRST, &[("consent.health", "false"), ("all_here", "yes"), ("seen", "2"), ("hair.oil", "oily")]].concat();
    assert_eq!(asking.post(&page, &silent).await.0, 303);
    (client, Typed { house: salon.house().await.unwrap().value, facts: [first, second, facts(salon, client).await] })
}

/// Of a plan, the sites in their order.
async fn sites(salon: &Salon, plan: PlanId) -> Vec<String> {
    salon.plan(plan).await.unwrap().1.plan.sites.iter().map(|site| site.site.to_string()).collect()
}

/// A set goes in on the pages: the first place set, taken back and set again, the second left free; then paid.
async fn year_on_the_pages(asking: &Asking, client: ClientId, plan: PlanId) {
    let pack = [("shade", "S06"), ("length_mm", "350"), ("lot", "L7"), ("supplier", "north"), ("pieces", "10"), ("packs", "8")];
    assert_eq!(asking.post("/shelf/receive", &pack).await.0, 303);
    let plan_id = plan.to_string();
    let because = "the test was read elsewhere";
    let begun =
        asking.send(&format!("/clients/{client}/visits"), &[("kind", "application"), ("plan", &plan_id), ("because", because)]).await;
    let page = begun.header("location").to_owned();
    let step = format!("{page}/step");
    let sites = sites(&asking.app().salon, plan).await;
    let because = "no pack of it is recorded";
    let place = [("act", "piece place"), ("site", sites[0].as_str()), ("moved", "4"), ("way", "left"), ("because", because)];
    assert_eq!(asking.post(&step, &place).await.0, 303);
    assert_eq!(asking.post(&step, &[("act", "step undo")]).await.0, 303);
    assert_eq!(asking.post(&step, &place).await.0, 303);
    assert_eq!(asking.post(&step, &[("act", "piece skip"), ("site", &sites[1]), ("reason", "tender")]).await.0, 303);
    assert_eq!(asking.post(&step, &[("act", "piece skip"), ("site", &sites[2]), ("reason", "")]).await.0, 422);
    let add = [("act", "piece add"), ("beside", sites[1].as_str()), ("by", "2"), ("way", "left"), ("because", "it was found so")];
    assert_eq!(asking.post(&step, &add).await.0, 303);
    let (_, shown) = asking.get(&page).await;
    assert!(shown.contains("One more than planned") && shown.contains("in, added"), "{shown}");
    assert_eq!(asking.post(&step, &[("act", "scalp see"), ("region", "nape"), ("found", "clear")]).await.0, 303);
    let checks = [("moves_freely", "yes"), ("nothing_shows", "yes"), ("comfortable", "yes"), ("mm_off_scalp", "5")];
    assert_eq!(asking.post(&format!("{page}/close"), &checks).await.0, 303);
    assert_eq!(asking.post(&format!("{page}/invoice"), &[]).await.0, 303);
    let pay = [("invoice", "1"), ("amount", "5.00"), ("by", "card"), ("what", "take")];
    assert_eq!(asking.post("/money/payment", &pay).await.0, 303);
    let again = desk::today().to_string();
    let book = [("kind", "check"), ("day", again.as_str()), ("at", "10:00")];
    assert_eq!(asking.post(&format!("/clients/{client}/book"), &book).await.0, 303);
}

/// The same as acts.
async fn year_as_acts(salon: &Salon, client: &Value, plan: &Value) {
    act(
        salon,
        json!({"act": "pack receive", "shade": "S06", "length_mm": 350, "lot": "L7", "supplier": "north", "pieces": 10, "packs": 8}),
    )
    .await;
    let begin =
        json!({"act": "visit begin", "client": client, "kind": "application", "plan": plan, "because": "the test was read elsewhere"});
    let visit = act(salon, begin).await["visit"].clone();
    let sites = sites(salon, plan.as_str().unwrap().parse().unwrap()).await;
    let place = json!({"act": "piece place", "visit": visit, "site": sites[0], "moved_mm": -4, "because": "no pack of it is recorded"});
    act(salon, place.clone()).await;
    act(salon, json!({"act": "step undo", "visit": visit})).await;
    act(salon, place).await;
    act(salon, json!({"act": "piece skip", "visit": visit, "site": sites[1], "reason": "tender"})).await;
    let because = "it was found so";
    act(salon, json!({"act": "piece add", "visit": visit, "beside": sites[1], "by_mm": -2, "because": because})).await;
    act(salon, json!({"act": "scalp see", "visit": visit, "region": "nape", "found": "clear"})).await;
    act(
        salon,
        json!({"act": "visit close", "visit": visit, "moves_freely": true, "nothing_shows": true, "comfortable": true, "mm_off_scalp": 5}),
    )
    .await;
    act(salon, json!({"act": "invoice make", "client": client, "visit": visit})).await;
    act(salon, json!({"act": "payment take", "invoice": 1, "minor": 500, "by": "card"})).await;
    act(salon, json!({"act": "appointment book", "client": client, "kind": "check", "day": desk::today(), "at": "10:00"})).await;
}

async fn act(salon: &Salon, mut line: Value) -> Value {
    line["on"] = json!(desk::today());
    let (answer, ended) = salon.act(&line.to_string()).await;
    assert_eq!(ended, Ended::Done, "{line}: {answer}");
    answer
}

/// The same as acts.
async fn as_acts(salon: &Salon, typed: &Typed) -> Value {
    let house = &typed.house;
    let (ring, stock): (Value, Value) = (serde_json::from_str(RING).unwrap(), serde_json::from_str(STOCK).unwrap());
    act(salon, json!({"act": "house set", "name": house.name, "pieces": house.pieces, "currency": house.prices.currency, "hour_minor": house.prices.hour_minor})).await;
    act(salon, json!({"act": "ring set", "shades": ring["shades"]})).await;
    act(salon, json!({"act": "prices set", "packs": stock["packs"], "suppliers": stock["suppliers"], "currency": stock["currency"]})).await;
    act(salon, json!({"act": "shelf count all", "on_hand": stock["on_hand"]})).await;
    let consents = json!([{"purpose": "health", "wording": HEALTH_WORDING}]);
    let client = act(salon, json!({"act": "client add", "facts": typed.facts[0], "consents": consents})).await["client"].clone();
    act(salon, json!({"act": "client change", "client": client, "facts": typed.facts[1], "consents": consents})).await;
    let plan = act(salon, json!({"act": "plan make", "client": client})).await["plan"].clone();
    act(salon, json!({"act": "plan place day", "plan": plan, "day": "2026-03-02"})).await;
    year_as_acts(salon, &client, &plan).await;
    act(salon, json!({"act": "consent withdraw", "client": client, "purpose": "health"})).await;
    act(salon, json!({"act": "client change", "client": client, "facts": typed.facts[2]})).await;
    client
}

#[tokio::test(flavor = "multi_thread")]
async fn the_pages_and_the_acts_write_the_same_events() {
    let asking = Asking::new().await;
    let place = tempfile::tempdir().unwrap();
    let acted = Salon::begin(&Place::Folder(place.path().join("acted")), None).await.unwrap().salon;
    let (on_page, typed) = on_the_pages(&asking).await;
    let in_line = as_acts(&acted, &typed).await;
    let paged: &Salon = &asking.app().salon;
    for (at, salon) in [("pages", paged), ("acts", &acted)] {
        salon.export(&place.path().join(at)).await.unwrap();
    }
    let (pages, acts) = (events(&place.path().join("pages")), events(&place.path().join("acts")));
    for (page, act) in pages.iter().zip(&acts) {
        assert_eq!(page, act);
    }
    assert!(pages.len() == acts.len() && pages.len() > 15, "{} events on the pages, {} as acts", pages.len(), acts.len());

    let (status, _) = asking.post(&format!("/clients/{on_page}/erase"), &[("reason", WHY), ("sure", "yes")]).await;
    assert_eq!(status, 303);
    act(&acted, json!({"act": "client erase", "client": in_line, "reason": WHY})).await;
    for (at, salon) in [("pages-erased", paged), ("acts-erased", &acted)] {
        salon.export(&place.path().join(at)).await.unwrap();
    }
    assert_eq!(events(&place.path().join("pages-erased")), events(&place.path().join("acts-erased")));
}
