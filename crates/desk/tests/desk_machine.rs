//! The desk against a plain model: acts drawn by chance, told line by line, with
//! stale versions, repeated keys, erasures and restarts; every answer, event and
//! list compared.
//!
//! `STRANDWRIGHT_ACTS` sets how many operations (100,000 in folders and 4,000 in
//! a database without it), `STRANDWRIGHT_SEED` repeats a run.

#[path = "../../store/tests/ground/mod.rs"]
mod ground;
mod model;

use desk::acts::Ended;
use desk::show::Which;
use desk::{KeptPlan, NewPlan, Passphrase, Place, RecoveryCode, Salon};
use ground::chance::{Chance, asked, seed};
use ground::quick_folder;
use model::{At, Expected, Health, Line, Model, Plan, Said, Told};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::path::Path;

/// What a run goes on with.
struct Run {
    place: Place,
    phrase: Option<Passphrase>,
    code: RecoveryCode,
    chance: Chance,
    sample: KeptPlan,
    stock: Value,
    ring: Value,
    /// Shades that come in and are counted: those of the plan, and others.
    shades: Vec<String>,
    model: Model,
    /// How often each act was done, and how many lines were refused.
    done: BTreeMap<String, u64>,
    refused: BTreeMap<String, u64>,
}

const DAYS: [&str; 10] = [
    "2026-01-05",
    "2026-01-20",
    "2026-02-10",
    "2026-03-02",
    "2026-04-20",
    "2026-06-01",
    "2026-06-02",
    "2026-07-20",
    "2026-09-07",
    "2026-11-02",
];
const NAMES: [&str; 6] = ["Ada Example", "ada other", "Bea Example", "Éloise Sample", "Zoe", "Ida Sample"];
/// Clients at a time; more of them make longer lists, not other ones.
const CLIENTS: usize = 24;

impl Run {
    fn day(&mut self) -> &'static str {
        self.chance.of::<&str>(&DAYS)
    }

    /// A client who is there; now and then one who is gone.
    fn client(&mut self) -> Option<String> {
        let gone = self.chance.one_in(40) && !self.model.erased.is_empty();
        let ids: Vec<&String> = if gone { self.model.erased.iter().collect() } else { self.model.clients.keys().collect() };
        if ids.is_empty() { None } else { Some((*self.chance.of(&ids)).clone()) }
    }

    fn said(&mut self) -> Said {
        let text = |chance: &mut Chance, choices: &[&str]| (!chance.one_in(5)).then(|| (*chance.of(choices)).to_owned());
        let goal = text(&mut self.chance, &["thickness", "length"]);
        let health = match goal {
            Some(_) => Health {
                allergies: (!self.chance.one_in(3)).then(|| if self.chance.one_in(2) { Vec::new() } else { vec!["nickel".to_owned()] }),
                reacted: self.chance.one_in(2).then(|| self.chance.one_in(2)),
            },
            None => Health::default(),
        };
        Said {
            name: text(&mut self.chance, &NAMES),
            goal,
            strand: text(&mut self.chance, &["fine", "medium", "coarse"]),
            round_mm: (!self.chance.one_in(4)).then(|| 540 + self.chance.below(20)),
            health,
        }
    }

    fn consents(&mut self) -> Vec<(String, String)> {
        let all = ["health", "photos", "contact"];
        let given: Vec<_> = all.iter().filter(|_| !self.chance.one_in(3)).copied().collect();
        given.into_iter().map(|purpose| (purpose.to_owned(), format!("words {}", self.chance.below(2)))).collect()
    }

    /// The version to name: mostly the right one, now and then one that is past or to come.
    fn version(&mut self, now: u64) -> Option<u64> {
        match self.chance.below(12) {
            0 => Some(now + 1),
            1 => Some(now.saturating_sub(1)),
            2..=5 => Some(now),
            _ => None,
        }
    }

    /// A line by chance.
    fn line(&mut self) -> Line {
        let on = self.day();
        let at_the_chair = if self.chance.one_in(2) { model::drawn(&mut self.chance, &self.model, &DAYS) } else { None };
        let mut line = match at_the_chair {
            Some(line) => line,
            None => self.bare(on),
        };
        let now = self.model.version_for(&line.value);
        if let Some(version) = now.and_then(|now| self.version(now)) {
            line.value["version"] = json!(version);
        }
        if self.chance.one_in(4) {
            line.key = Some(format!("key {}", self.chance.next() % 100_000));
        }
        line
    }

    fn bare(&mut self, on: &str) -> Line {
        let kind = self.chance.below(100);
        let hers = if kind >= 40 { None } else { self.client() };
        match (kind, hers) {
            (0..=13, Some(id)) if self.model.clients.len() >= CLIENTS / 2 => {
                let (said, consents) = (self.said(), if self.chance.one_in(3) { self.consents() } else { Vec::new() });
                Line::facts(json!({"act": "client change", "on": on, "client": id}), said, consents)
            }
            (14..=20, Some(id)) => {
                let (purpose, wording) = (*self.chance.of(&["health", "photos", "contact"]), format!("words {}", self.chance.below(2)));
                Line::plain(json!({"act": "consent give", "on": on, "client": id, "purpose": purpose, "wording": wording}))
            }
            (21..=25, Some(id)) => Line::plain(
                json!({"act": "consent withdraw", "on": on, "client": id, "purpose": *self.chance.of(&["health", "photos", "contact"])}),
            ),
            (26..=31, Some(id)) => Line::plain(
                json!({"act": "skin test set", "on": on, "client": id, "lot": format!("L{}", self.chance.below(9)), "place": "left ear"}),
            ),
            (32..=37, Some(id)) => Line::plain(
                json!({"act": "skin test read", "on": on, "client": id, "found": *self.chance.of(&["clear", "redness", "itching"])}),
            ),
            (38..=39, Some(id)) if self.model.clients.len() > CLIENTS / 2 => {
                Line::plain(json!({"act": "client erase", "on": on, "client": id, "reason": "she asked"}))
            }
            (40..=49, _) if !self.model.plans.is_empty() => {
                let plans: Vec<&String> = self.model.plans.keys().collect();
                let (plan, day) = ((*self.chance.of(&plans)).clone(), if self.chance.one_in(5) { Value::Null } else { json!(self.day()) });
                Line::plain(json!({"act": "plan place day", "on": on, "plan": plan, "day": day}))
            }
            (50..=69, _) => Line::plain(
                json!({"act": "shelf count", "on": on, "shade": *self.chance.of(&self.shades), "length_mm": 350 + 100 * self.chance.below(2),
                "lot": format!("L{}", self.chance.below(5)), "pieces": *self.chance.of(&[0, 1, 2, 3, 5, 20, 60]), "reason": "counted"}),
            ),
            (70..=81, _) => Line::plain(
                json!({"act": "pack receive", "on": on, "lot": format!("L{}", self.chance.below(5)), "supplier": "north", "shade": *self.chance.of(&self.shades),
                "length_mm": 350 + 100 * self.chance.below(2), "pieces": 1 + self.chance.below(4), "packs": 1 + self.chance.below(2)}),
            ),
            (82..=84, _) => {
                let shades: Vec<Value> =
                    self.ring["shades"].as_array().unwrap().iter().take(1 + self.chance.below(4) as usize).cloned().collect();
                Line::plain(json!({"act": "ring set", "on": on, "shades": shades}))
            }
            (85..=87, _) => {
                let packs: Vec<Value> =
                    self.stock["packs"].as_array().unwrap().iter().take(1 + self.chance.below(4) as usize).cloned().collect();
                Line::plain(json!({"act": "prices set", "on": on, "packs": packs, "suppliers": self.stock["suppliers"], "currency": "EUR"}))
            }
            (88..=90, _) => Line::plain(json!({"act": "house set", "on": on, "name": format!("Chair {}", self.chance.below(9))})),
            (91, _) => Line::plain(json!({"act": "person add", "on": on, "name": "Ines", "role": "assistant"})),
            _ if self.model.clients.len() < CLIENTS => {
                let (said, consents) = (self.said(), self.consents());
                Line::facts(json!({"act": "client add", "on": on}), said, consents)
            }
            _ => Line::plain(json!({"act": "house set", "on": on, "currency": "EUR", "hour_minor": 5000 + self.chance.below(9),
                "tax_percent": *self.chance.of(&[0.0, 8.875, 19.0]), "prices_include_tax": self.chance.one_in(2)})),
        }
    }
}

/// Tells the desk a line, and the model; both must come to the same.
async fn act(run: &mut Run, salon: &Salon) {
    let again = run
        .chance
        .one_in(12)
        .then(|| run.model.told.keys().nth(run.chance.below(run.model.told.len().max(1) as u64) as usize).cloned())
        .flatten();
    let line = match again {
        // The same line under its key, or another line under a key that was used.
        Some(key) if run.chance.one_in(4) => Line { key: Some(key), ..run.line() },
        Some(key) => run.model.told[&key].0.clone(),
        None => run.line(),
    };
    let expected = run.model.expect(&line);
    let (answer, ended) = salon.act(&line.text()).await;
    match expected {
        Expected::Again(first) => assert_eq!((ended, &answer), (Ended::Done, &first), "{}", line.text()),
        Expected::Refused(mut rules) => {
            assert_eq!(ended, Ended::Refused, "{}\n{answer}", line.text());
            let mut said: Vec<&str> = answer["faults"].as_array().unwrap().iter().map(|fault| fault["rule"].as_str().unwrap()).collect();
            said.sort_unstable();
            said.dedup();
            rules.sort_unstable();
            assert_eq!(said, rules, "{}\n{answer}", line.text());
            *run.refused.entry(format!("{}: {}", line.value["act"].as_str().unwrap(), said.join(", "))).or_insert(0) += 1;
        }
        Expected::Done(events) => {
            assert_eq!(ended, Ended::Done, "{}\n{answer}", line.text());
            let told = if line.value["act"] == "piece place" { new_pieces(run, salon, &line, &answer).await } else { Told::new() };
            run.model.done(&line, &events, &answer, &told);
            *run.done.entry(line.value["act"].as_str().unwrap().to_owned()).or_insert(0) += 1;
        }
    }
}

/// The pieces that got their numbers by setting a sandwich.
async fn new_pieces(run: &Run, salon: &Salon, line: &Line, answer: &Value) -> Told {
    let on = line.value["on"].as_str().unwrap().parse().unwrap();
    let known = |id: &Value| id.as_str().is_none_or(|id| run.model.pieces.contains_key(id));
    if known(&answer["upper"]) && known(&answer["lower"]) {
        let set = [&answer["upper"], &answer["lower"]].map(|id| id.as_str().map(str::to_owned));
        return set.into_iter().flatten().map(|id| (id.clone(), run.model.origin(&id))).collect();
    }
    let client = run.model.visits[line.value["visit"].as_str().unwrap()].client.parse().unwrap();
    let mut told = Told::new();
    for which in [Which::Of(client), Which::OnShelf] {
        let shown = salon.show_pieces(which, on).await.unwrap();
        let all = shown["pieces"].as_array().unwrap().iter();
        told.extend(all.map(|piece| (piece["id"].as_str().unwrap().to_owned(), piece.clone())));
    }
    told
}

/// A plan's document is handed in as pages do it.
async fn keep_plan(run: &mut Run, salon: &Salon) {
    let Some(id) = run.client().filter(|id| run.model.clients.contains_key(id)) else { return };
    let client = salon.client(id.parse().unwrap()).await.unwrap();
    let kept = KeptPlan { ring: None, shelf: None, ..run.sample.clone() };
    let made = salon.keep_plan(&NewPlan { client: client.id, facts_version: client.version, seed: 1, kept, scalp: None }).await.unwrap();
    let model = &mut run.model;
    model.appended(&format!("client/{id}"), 1);
    // How it was judged stands with her health answers, where there are any.
    if let Some(document) = model.clients[&id].document.clone() {
        model.appended(&document, 1);
    }
    let plan = Plan {
        id: made.to_string(),
        client: id.clone(),
        placed: None,
        ended: false,
        next: None,
        shelf: model.shelf.clone(),
        ring: model.ring.clone(),
        name: model.clients[&id].said.name.clone(),
    };
    model.clients.get_mut(&id).unwrap().plans.push(plan.id.clone());
    model.plans.insert(plan.id.clone(), plan);
}

/// A plan opens with the shelf, the ring and the name of the day it was made.
async fn open_plan(run: &mut Run, salon: &Salon) {
    let plans: Vec<&Plan> = run.model.plans.values().collect();
    if plans.is_empty() {
        return;
    }
    let plan = *run.chance.of(&plans);
    let (found, kept) = salon.plan(plan.id.parse().unwrap()).await.unwrap();
    assert_eq!((found.client.to_string(), &found.placed_on), (plan.client.clone(), &plan.placed));
    assert_eq!(kept.client.client.and_then(|who| who.name), plan.name);
    if let Some(shelf) = kept.shelf {
        assert_eq!(serde_json::to_value(shelf.on_hand).unwrap(), model::shelf_json(&plan.shelf));
    }
    let shades = kept.ring.map_or_else(Vec::new, |ring| ring.shades.iter().map(|shade| shade.code.clone()).collect());
    assert_eq!(shades, plan.ring);
}

async fn ask(run: &mut Run, salon: &Salon) {
    let on = run.day();
    match run.chance.below(14) {
        0..=3 => {
            let Some(id) = run.client() else { return };
            let shown = salon.show_client(id.parse().unwrap(), on.parse().unwrap()).await;
            match run.model.clients.get(&id) {
                Some(client) => run.model.same_client(&shown.unwrap(), (&id, on), client),
                None => assert!(shown.is_err(), "{id} was erased"),
            }
        }
        4..=5 => {
            let sought = *run.chance.of(&["", "ada", "EXAMPLE", "é", "o", "nobody"]);
            assert_eq!(salon.show_clients(sought).await.unwrap(), run.model.list(sought));
        }
        6 => assert_eq!(salon.show_due(on.parse().unwrap()).await.unwrap(), run.model.due(on)),
        7..=8 => run.model.same_shelf(&salon.show_shelf().await.unwrap()),
        9 => {
            let ids: Vec<&String> = run.model.pieces.keys().collect();
            if ids.is_empty() {
                return;
            }
            let id = *run.chance.of(&ids);
            run.model.same_piece(&salon.show_piece(id.parse().unwrap(), on.parse().unwrap()).await.unwrap(), id, on);
        }
        10 => {
            let day = on.parse().unwrap();
            if run.chance.one_in(2) {
                let shown = salon.show_pieces(Which::OnShelf, day).await.unwrap();
                run.model.same_pieces(&shown, on, |piece| piece.at == At::Shelf);
            } else if let Some(id) = run.client().filter(|id| run.model.clients.contains_key(id)) {
                let shown = salon.show_pieces(Which::Of(id.parse().unwrap()), day).await.unwrap();
                run.model.same_pieces(&shown, on, |piece| piece.hers.as_ref() == Some(&id));
            }
        }
        11..=12 => run.model.same_diary(&salon.show_diary(on.parse().unwrap()).await.unwrap(), on),
        _ => {
            let to = run.day();
            let shown = salon.show_day_book(on.parse().unwrap(), to.parse().unwrap()).await;
            if to < on { assert!(shown.is_err()) } else { run.model.same_day_book(&shown.unwrap(), on, to) }
        }
    }
}

/// All of it at once.
async fn compare(salon: &Salon, model: &Model) {
    assert_eq!(salon.audit().await.unwrap()["events"], model.events);
    let checks = salon.show_checks().await.unwrap();
    assert!(checks["checks"].as_array().unwrap().iter().all(|check| check["holds"] == true), "{checks}");
    assert_eq!(salon.show_clients("").await.unwrap(), model.list(""));
    assert_eq!(salon.show_due("2026-06-01".parse().unwrap()).await.unwrap(), model.due("2026-06-01"));
    model.same_shelf(&salon.show_shelf().await.unwrap());
    for (id, client) in &model.clients {
        model.same_client(
            &salon.show_client(id.parse().unwrap(), "2026-06-01".parse().unwrap()).await.unwrap(),
            (id, "2026-06-01"),
            client,
        );
    }
    for (which, at) in [(Which::All, None), (Which::Retired, Some(At::Retired))] {
        let shown = salon.show_pieces(which, "2026-12-01".parse().unwrap()).await.unwrap();
        model.same_pieces(&shown, "2026-12-01", |piece| at.as_ref().is_none_or(|at| piece.at == *at));
    }
    for on in DAYS {
        model.same_diary(&salon.show_diary(on.parse().unwrap()).await.unwrap(), on);
    }
    let (from, to) = (DAYS[0], DAYS[DAYS.len() - 1]);
    model.same_day_book(&salon.show_day_book(from.parse().unwrap(), to.parse().unwrap()).await.unwrap(), from, to);
    assert_eq!(salon.records().await.unwrap().erased, model.erased.len());
}

/// A backup, verified, restored beside and compared.
async fn archive(run: &mut Run, salon: &Salon, ground: &Path, number: u64) {
    let file = ground.join(format!("{number}.age"));
    salon.backup(&file).await.unwrap();
    let verified = Salon::verify(&file, &run.code).await.unwrap();
    assert_eq!((&verified["events"], &verified["erased"]), (&json!(run.model.events), &json!(run.model.destroyed)));
    let to = Place::Folder(ground.join(format!("restored {number}")));
    Salon::restore(&file, &to, &run.code, None, false).await.unwrap();
    let restored = Salon::open(&to, None).await.unwrap().salon;
    compare(&restored, &run.model).await;
    restored.close().await;
    run.model.appended("house", 1);
    std::fs::remove_file(file).unwrap();
}

async fn machine(mut run: Run, ground: &Path, salons: usize, operations: u64) -> Model {
    let mut open = Vec::new();
    for _ in 0..salons {
        open.push(Salon::open(&run.place, run.phrase.as_ref()).await.unwrap().salon);
    }
    for done in 0..operations {
        let at = run.chance.below(salons as u64) as usize;
        let salon = &open[at];
        match run.chance.below(4000) {
            0..=2499 => act(&mut run, salon).await,
            2500..=3899 => ask(&mut run, salon).await,
            3900..=3929 => keep_plan(&mut run, salon).await,
            3930..=3969 => open_plan(&mut run, salon).await,
            3970..=3972 => _ = salon.rebuild_views().await.unwrap(),
            3973 => compare(salon, &run.model).await,
            3974..=3979 => {
                salon.close().await;
                open[at] = Salon::open(&run.place, run.phrase.as_ref()).await.unwrap().salon;
            }
            _ => act(&mut run, salon).await,
        }
        if done == operations / 3 || done == operations * 9 / 10 {
            archive(&mut run, &open[0], ground, done).await;
        }
    }
    for salon in &open {
        compare(salon, &run.model).await;
        salon.close().await;
    }
    println!("done: {:?}; refused: {:?}", run.done, run.refused);
    run.model
}

async fn begun(place: Place, phrase: Option<Passphrase>, seed: u64, sample: KeptPlan) -> Run {
    let opened = Salon::begin(&place, phrase.as_ref()).await.unwrap();
    opened.salon.close().await;
    let says = model::plan_says(&sample);
    let mut shades: Vec<String> = says.sites.iter().flat_map(|site| site.shades.clone()).collect();
    shades.push("S01".to_owned());
    Run {
        place,
        phrase,
        code: opened.code.unwrap(),
        chance: Chance(seed),
        stock: serde_json::from_str(include_str!("../../../casebook/stock.json")).unwrap(),
        ring: serde_json::from_str(include_str!("../../../casebook/ring.json")).unwrap(),
        shades,
        done: BTreeMap::new(),
        refused: BTreeMap::new(),
        model: Model::of_a_new_salon(says),
        sample,
    }
}

/// Four salons side by side, as many as use a machine's cores; together the operations.
#[tokio::test(flavor = "multi_thread")]
async fn folders_do_what_the_model_does() {
    const SALONS: u64 = 4;
    let (seed, operations) = (seed(), asked("STRANDWRIGHT_ACTS").unwrap_or(100_000));
    println!("seed {seed}, {operations} operations in {SALONS} folders");
    let sample = model::sample().await;
    let mut under_way = tokio::task::JoinSet::new();
    for number in 0..SALONS {
        let sample = sample.clone();
        under_way.spawn(async move {
            let ground = quick_folder();
            let run = begun(Place::Folder(ground.path().join("salon")), None, seed.wrapping_add(number), sample).await;
            let model = machine(run, ground.path(), 1, operations / SALONS).await;
            println!("{} events, {} erased, {} keys", model.events, model.erased.len(), model.told.len());
        });
    }
    while let Some(one) = under_way.join_next().await {
        one.unwrap();
    }
}

/// Two programs on one database.
#[tokio::test(flavor = "multi_thread")]
async fn two_on_a_database_do_what_the_model_does() {
    let server = ground::server();
    let (seed, operations) = (seed(), asked("STRANDWRIGHT_ACTS").unwrap_or(4_000));
    println!("seed {seed}, {operations} operations in a database");
    let ground = quick_folder();
    let phrase = Passphrase::new("four plain words here".to_owned()).unwrap();
    let run = begun(server.place(), Some(phrase), seed, model::sample().await).await;
    machine(run, ground.path(), 2, operations).await;
}

/// A list that is made anew under the hands of others holds what they wrote.
#[tokio::test(flavor = "multi_thread")]
async fn views_are_made_anew_while_others_write() {
    let ground = quick_folder();
    let salon = std::sync::Arc::new(Salon::begin(&Place::Folder(ground.path().join("salon")), None).await.unwrap().salon);
    let others = std::sync::Arc::clone(&salon);
    let writing = tokio::spawn(async move {
        let mut ids: Vec<Value> = Vec::new();
        for at in 0..150 {
            let added = others
                .act(&json!({"act": "client add", "on": "2026-03-02", "facts": {"client": {"name": format!("Client {at}")}}}).to_string())
                .await
                .0;
            ids.push(added["client"].clone());
            let earlier = ids[at * 7 % ids.len()].clone();
            let name = json!({"client": {"name": format!("Called {at}")}});
            others.act(&json!({"act": "client change", "on": "2026-03-02", "client": earlier, "facts": name}).to_string()).await;
            if at % 10 == 9 {
                let leaving = ids.remove(at % ids.len());
                assert_eq!(
                    others.act(&json!({"act": "client erase", "on": "2026-03-02", "client": leaving, "reason": "r"}).to_string()).await.1,
                    Ended::Done
                );
            }
        }
        ids.len()
    });
    while !writing.is_finished() {
        salon.rebuild_views().await.unwrap();
    }
    let count = writing.await.unwrap();
    salon.close().await;
    // As it was kept, and as it is when nobody disturbs.
    let salon = Salon::open(&Place::Folder(ground.path().join("salon")), None).await.unwrap().salon;
    let kept = salon.show_clients("").await.unwrap();
    assert_eq!(kept["clients"].as_array().unwrap().len(), count);
    salon.rebuild_views().await.unwrap();
    assert_eq!(salon.show_clients("").await.unwrap(), kept);
}
