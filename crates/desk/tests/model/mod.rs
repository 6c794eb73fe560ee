//! What a salon's book comes to, told without events, ciphers, views or files.

mod chair;
mod chair_done;
mod drawn;
mod line;
mod sample;
mod shown;
mod till;

pub use chair::{At, Piece, Site, Visit};
pub use chair_done::Told;
pub use drawn::drawn;
pub use line::{Health, Line, Said};
pub use sample::{plan_says, sample};
pub use till::{Appointment, Invoice, Taxes};

use jiff::civil::Date;
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};

#[derive(Debug, Clone, Default)]
pub struct Client {
    pub label: String,
    pub said: Said,
    pub consents: BTreeMap<String, (String, String)>,
    /// Her health document, where there is one.
    pub document: Option<String>,
    pub tests: Vec<Test>,
    pub plans: Vec<String>,
}

#[derive(Debug, Clone)]
pub struct Test {
    pub lot: String,
    pub set_on: String,
    pub read: Vec<(String, String)>,
}

impl Test {
    /// Whether it may be read on a day: not before it was set, and once a day.
    fn is_read_on(&self, on: &str) -> bool {
        self.set_on.as_str() <= on && self.read.iter().all(|(read, _)| read != on)
    }
}

#[derive(Debug, Clone)]
pub struct Plan {
    pub id: String,
    pub client: String,
    pub placed: Option<String>,
    /// Its set came out.
    pub ended: bool,
    /// When its set is due, and the window, as the visit said that put it in.
    pub next: Option<[Date; 3]>,
    pub shelf: Vec<Lot>,
    pub ring: Vec<String>,
    pub name: Option<String>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Lot {
    pub lot: String,
    pub shade: String,
    pub length: u64,
    pub pieces: u64,
}

/// A shelf as orders hold it.
pub fn shelf_json(shelf: &[Lot]) -> Value {
    shelf.iter().map(|lot| json!({"lot": lot.lot, "shade": lot.shade, "length_mm": lot.length, "pieces": lot.pieces})).collect()
}

/// What a line must come to.
pub enum Expected {
    /// Events: the stream and the kind of each.
    Done(Vec<(String, &'static str)>),
    Again(Value),
    /// The rules that refuse it.
    Refused(Refusals),
}

pub struct Model {
    pub clients: BTreeMap<String, Client>,
    pub erased: BTreeSet<String>,
    pub plans: BTreeMap<String, Plan>,
    pub shelf: Vec<Lot>,
    pub ring: Vec<String>,
    /// How often ring, prices and profile were set.
    set: BTreeMap<&'static str, u64>,
    pub versions: BTreeMap<String, u64>,
    pub events: u64,
    /// Keys that were destroyed: hers, and those of health documents.
    pub destroyed: u64,
    /// Lines under a key: the line, its answer, whose it is.
    pub told: BTreeMap<String, (Line, Value, Option<String>)>,
    /// Those who work there, but the owner.
    pub people: Vec<String>,
    /// Every piece that has a number.
    pub pieces: BTreeMap<String, Piece>,
    pub visits: BTreeMap<String, Visit>,
    pub diary: BTreeMap<String, Appointment>,
    /// By number, from one on.
    pub invoices: Vec<Invoice>,
    payments: Vec<till::Payment>,
    taxes: Taxes,
    /// How many pieces came out of hair.
    out: u64,
    retape: [u32; 3],
    pub sites: Vec<Site>,
    /// What an application costs by the plan, and a re-tape.
    quote: [i64; 2],
}

/// What every client's plan says.
#[derive(Debug, Clone)]
pub struct PlanSays {
    /// When a set is due, and the window, days.
    pub retape: [u32; 3],
    pub sites: Vec<Site>,
    /// What an application costs, and a re-tape.
    pub quote: [i64; 2],
}

type Events = Vec<(String, &'static str)>;
type Refusals = Vec<&'static str>;

/// Acts of visits, and of diary and money.
const CHAIR: [&str; 13] = [
    "visit begin",
    "visit replan",
    "visit close",
    "piece place",
    "piece skip",
    "piece halve",
    "piece take out",
    "piece clean",
    "piece re-tape",
    "piece retire",
    "step undo",
    "regrowth measure",
    "scalp see",
];
const TILL: [&str; 6] = ["appointment book", "appointment move", "appointment cancel", "invoice make", "payment take", "payment return"];

fn hers(id: &str) -> String {
    format!("client/{id}")
}

impl Model {
    pub fn of_a_new_salon(plan: PlanSays) -> Self {
        Self {
            clients: BTreeMap::new(),
            erased: BTreeSet::new(),
            plans: BTreeMap::new(),
            shelf: Vec::new(),
            ring: Vec::new(),
            set: BTreeMap::new(),
            versions: BTreeMap::from([("house".to_owned(), 1)]),
            events: 1,
            destroyed: 0,
            told: BTreeMap::new(),
            people: Vec::new(),
            pieces: BTreeMap::new(),
            visits: BTreeMap::new(),
            diary: BTreeMap::new(),
            invoices: Vec::new(),
            payments: Vec::new(),
            taxes: Taxes::default(),
            out: 0,
            retape: plan.retape,
            sites: plan.sites,
            quote: plan.quote,
        }
    }

    /// Notes events; the stream's version after them.
    pub fn appended(&mut self, stream: &str, count: u64) -> u64 {
        self.events += count;
        let version = self.versions.entry(stream.to_owned()).or_insert(0);
        *version += count;
        *version
    }

    fn version(&self, stream: &str) -> u64 {
        self.versions.get(stream).copied().unwrap_or(0)
    }

    /// The version that a line may name; nothing when it takes none, or nobody is there.
    pub fn version_for(&self, line: &Value) -> Option<u64> {
        let set = |what: &str| self.set.get(what).copied().unwrap_or(0);
        match line["act"].as_str().unwrap_or_default() {
            act @ ("ring set" | "prices set" | "house set") => Some(set(act)),
            "shelf count" | "pack receive" => Some(self.version("shelf")),
            "plan place day" => self.plans.get(line["plan"].as_str()?).map(|plan| self.version(&hers(&plan.client))),
            "client add" | "client erase" | "person add" | "piece halve" => None,
            "appointment book" | "appointment move" | "appointment cancel" => Some(self.version("diary")),
            "invoice make" | "payment take" | "payment return" => Some(self.version("money")),
            act if CHAIR.contains(&act) && act != "visit begin" => {
                self.visits.get(line["visit"].as_str()?).map(|visit| self.version(&hers(&visit.client)))
            }
            _ => self
                .clients
                .contains_key(line["client"].as_str()?)
                .then(|| self.version(&hers(line["client"].as_str().unwrap_or_default()))),
        }
    }

    pub fn expect(&self, line: &Line) -> Expected {
        if let Some((told, answer, _)) = line.key.as_ref().and_then(|key| self.told.get(key)) {
            return if told.whole() == line.whole() { Expected::Again(answer.clone()) } else { Expected::Refused(vec!["key"]) };
        }
        let client = line.get("client");
        if line.value["client"].is_string() && !self.clients.contains_key(client) {
            return Expected::Refused(vec!["unknown"]);
        }
        if line.value["plan"].is_string() && !self.plans.contains_key(line.get("plan")) {
            return Expected::Refused(vec!["unknown"]);
        }
        let act = line.get("act");
        let at_visit = CHAIR.contains(&act) && line.value["visit"].is_string();
        if at_visit && !self.visits.contains_key(line.get("visit")) {
            return Expected::Refused(vec!["unknown"]);
        }
        let now = self.version_for(&line.value);
        if line.value["version"].as_u64().is_some_and(|seen| Some(seen) != now) {
            return Expected::Refused(vec!["stale"]);
        }
        let decided = match act {
            act if CHAIR.contains(&act) => self.chair(line),
            act if TILL.contains(&act) => self.till(line),
            _ => self.decided(line, client).map_err(|rule| vec![rule]),
        };
        decided.map_or_else(Expected::Refused, Expected::Done)
    }

    fn decided(&self, line: &Line, id: &str) -> Result<Events, &'static str> {
        let one = |stream: &str, kind| Ok(vec![(stream.to_owned(), kind)]);
        let client = self.clients.get(id);
        match line.get("act") {
            "ring set" => one("house", "ring_set"),
            "prices set" => one("house", "prices_set"),
            "house set" => one("house", "house_set"),
            "person add" => one("house", "person_added"),
            "client erase" => {
                let mut events = vec![("house".to_owned(), "client_erased")];
                events.extend(self.to_come(id, line.get("on")).iter().map(|_| ("diary".to_owned(), "appointment_cancelled")));
                // Her pieces go out of the books with her.
                events.extend(self.hers_of(id).next().map(|_| ("shelf".to_owned(), "gone_with_erased")));
                Ok(events)
            }
            "shelf count" => one("shelf", "counted"),
            "pack receive" => one("shelf", "pack_received"),
            "consent give" => one(&hers(id), "consent_given"),
            "skin test set" => one(&hers(id), "skin_test_set"),
            "skin test read" if client.and_then(|client| client.tests.last()).is_none_or(|test| !test.is_read_on(line.get("on"))) => {
                Err("skin-test")
            }
            "skin test read" => one(&hers(id), "skin_test_read"),
            "consent withdraw" => {
                let (purpose, client) = (line.get("purpose"), client.ok_or("unknown")?);
                let agreed = client.consents.contains_key(purpose) || (purpose == "health" && client.document.is_some());
                if agreed { one(&hers(id), "consent_withdrawn") } else { Err("consent") }
            }
            "plan place day" => {
                let plan = &self.plans[line.get("plan")];
                if line.value["day"].as_str() == plan.placed.as_deref() { Ok(Vec::new()) } else { one(&hers(&plan.client), "plan_placed") }
            }
            _ => self.facts(line, id),
        }
    }

    fn facts(&self, line: &Line, id: &str) -> Result<Events, &'static str> {
        let (said, consents) = line.said.as_ref().ok_or("no facts")?;
        let new = Client::default();
        let client = self.clients.get(id).unwrap_or(&new);
        let mut kinds = Vec::new();
        if !self.clients.contains_key(id) {
            kinds.push("client_added");
        } else if said.name.as_ref().is_some_and(|name| *name != client.label) {
            kinds.push("client_named");
        }
        kinds.extend(
            consents
                .iter()
                .filter(|(purpose, wording)| client.consents.get(purpose).is_none_or(|(known, _)| known != wording))
                .map(|_| "consent_given"),
        );
        let health = said.health != client.said.health;
        if health {
            if !client.consents.contains_key("health") && !consents.iter().any(|(purpose, _)| purpose == "health") {
                return Err("consent-health");
            }
            kinds.push("health_kept");
        }
        let before = &client.said;
        let changed = [said.name != before.name, said.goal != before.goal, said.strand != before.strand, said.round_mm != before.round_mm];
        kinds.extend(changed.into_iter().filter(|changed| *changed).map(|_| "facts_changed"));
        let mut events: Events = kinds.into_iter().map(|kind| (hers(id), kind)).collect();
        if health {
            events.push((client.document.clone().unwrap_or_default(), "health_answered"));
        }
        Ok(events)
    }

    /// Checks what the desk answered to a line that was done, and takes it in.
    pub fn done(&mut self, line: &Line, events: &Events, answer: &Value, told: &Told) {
        let act = line.get("act").to_owned();
        let id = if act == "client add" { answer["client"].as_str().unwrap().to_owned() } else { line.get("client").to_owned() };
        let found = answer["events"].as_array().unwrap();
        assert_eq!(found.len(), events.len(), "{}\n{events:?}\n{answer}", line.text());
        for (found, (stream, kind)) in found.iter().zip(events) {
            // A new client's or document's number is told here for the first time.
            let told = found["stream"].as_str().unwrap().to_owned();
            let new = stream.is_empty() && told.starts_with("health/") && !self.versions.contains_key(&told);
            assert!(told == *stream || *stream == hers("") && told == hers(&id) || new, "{answer}");
            let version = self.appended(&told, 1);
            assert_eq!(
                (&found["seq"], &found["version"], &found["kind"]),
                (&json!(self.events), &json!(version), &json!(kind)),
                "{answer}"
            );
            if *kind == "health_answered" {
                self.clients.entry(id.clone()).or_default().document = Some(told);
            }
        }
        // Whose the answer is that a key keeps: it goes with her records.
        let owner = match &*act {
            "piece halve" => self.pieces[line.get("piece")].hers.clone(),
            act if CHAIR.contains(&act) && act != "visit begin" => Some(self.visits[line.get("visit")].client.clone()),
            act if TILL.contains(&act) => None,
            _ => {
                let of_plan = self.plans.get(line.get("plan")).filter(|_| act == "plan place day").map(|plan| plan.client.clone());
                of_plan.or_else(|| (!id.is_empty() && act != "client erase").then_some(id.clone()))
            }
        };
        match &*act {
            act if CHAIR.contains(&act) => self.chair_done(line, answer, told),
            act if TILL.contains(&act) => self.till_done(line, answer),
            _ => self.take_in(&act, line, &id),
        }
        match &*act {
            "person add" => self.people.push(answer["person"].as_str().unwrap().to_owned()),
            "pack receive" => self.numbered(line, answer),
            _ => {}
        }
        if let Some(now) = self.version_for(&line.value).filter(|_| act != "client erase") {
            assert_eq!(answer["version"], now, "{}\n{answer}", line.text());
        }
        if let Some(key) = &line.key {
            self.told.insert(key.clone(), (line.clone(), answer.clone(), owner));
        }
    }

    fn take_in(&mut self, act: &str, line: &Line, id: &str) {
        let on = line.get("on").to_owned();
        let lot = || Lot {
            lot: line.get("lot").to_owned(),
            shade: line.get("shade").to_owned(),
            length: line.value["length_mm"].as_u64().unwrap(),
            pieces: line.value["pieces"].as_u64().unwrap(),
        };
        match act {
            "ring set" | "prices set" | "house set" => {
                let name = ["ring set", "prices set", "house set"].into_iter().find(|name| *name == act).unwrap();
                *self.set.entry(name).or_insert(0) += 1;
                if let Some(percent) = line.value["tax_percent"].as_f64() {
                    let milli_percent = (percent * 1000.0).round() as i64;
                    self.taxes = Taxes { milli_percent, included: line.value["prices_include_tax"] == true };
                }
                if act == "ring set" {
                    self.ring =
                        line.value["shades"].as_array().unwrap().iter().map(|shade| shade["code"].as_str().unwrap().to_owned()).collect();
                }
            }
            "shelf count" => self.counted(lot(), false),
            "pack receive" => self.counted(Lot { pieces: lot().pieces * line.value["packs"].as_u64().unwrap(), ..lot() }, true),
            "client erase" => {
                for appointment in self.to_come(id, &on) {
                    self.diary.get_mut(&appointment).unwrap().cancelled = true;
                }
                self.erase(id);
            }
            "plan place day" => {
                let (plan, day) = (self.plans.get_mut(line.get("plan")).unwrap(), line.value["day"].as_str().map(str::to_owned));
                if plan.placed != day {
                    (plan.placed, plan.ended, plan.next) = (day, false, None);
                }
            }
            "consent give" => _ = self.hers(id).consents.insert(line.get("purpose").to_owned(), (line.get("wording").to_owned(), on)),
            "consent withdraw" => {
                let client = self.hers(id);
                client.consents.remove(line.get("purpose"));
                if line.get("purpose") == "health" && client.document.take().is_some() {
                    client.said.health = Health::default();
                    self.destroyed += 1;
                }
            }
            "skin test set" => self.hers(id).tests.push(Test { lot: line.get("lot").to_owned(), set_on: on, read: Vec::new() }),
            "skin test read" => self.hers(id).tests.last_mut().unwrap().read.push((on, line.get("found").to_owned())),
            "client add" | "client change" => {
                let (said, consents) = line.said.clone().unwrap();
                let client = self.clients.entry(id.to_owned()).or_default();
                for (purpose, wording) in consents {
                    if client.consents.get(&purpose).is_none_or(|(known, _)| *known != wording) {
                        client.consents.insert(purpose, (wording, on.clone()));
                    }
                }
                client.label = said.name.clone().unwrap_or_else(|| client.label.clone());
                client.said = said;
            }
            _ => {}
        }
    }

    fn hers(&mut self, id: &str) -> &mut Client {
        self.clients.get_mut(id).unwrap()
    }

    fn counted(&mut self, lot: Lot, more: bool) {
        let like = |there: &&mut Lot| (&there.lot, &there.shade, there.length) == (&lot.lot, &lot.shade, lot.length);
        match self.shelf.iter_mut().find(like) {
            Some(there) => there.pieces = lot.pieces + if more { there.pieces } else { 0 },
            None => self.shelf.push(lot.clone()),
        }
        // Of more numbers than pieces the last ones are missing.
        if !more {
            let lies = |piece: &Piece| piece.at == At::Shelf && !piece.half && piece.is_of(&lot);
            let mut lie: Vec<(u64, String)> =
                self.pieces.iter().filter(|(_, piece)| lies(piece)).map(|(id, piece)| (piece.received, id.clone())).collect();
            lie.sort_unstable();
            for (_, id) in lie.split_off(lie.len().min(lot.pieces as usize)) {
                self.pieces.get_mut(&id).unwrap().at = At::Missing;
            }
        }
    }

    /// Each piece of a pack gets a number for life.
    fn numbered(&mut self, line: &Line, answer: &Value) {
        let lot = Lot {
            lot: line.get("lot").to_owned(),
            shade: line.get("shade").to_owned(),
            length: line.value["length_mm"].as_u64().unwrap(),
            pieces: 0,
        };
        let ids = answer["pieces"].as_array().unwrap();
        assert_eq!(ids.len() as u64, line.value["pieces"].as_u64().unwrap() * line.value["packs"].as_u64().unwrap());
        let received = self.version("shelf");
        self.pieces.extend(ids.iter().map(|id| (id.as_str().unwrap().to_owned(), Piece::of_lot(&lot, received))));
    }

    fn erase(&mut self, id: &str) {
        let client = self.clients.remove(id).unwrap();
        self.destroyed += 1 + u64::from(client.document.is_some());
        self.erased.insert(id.to_owned());
        self.plans.retain(|_, plan| plan.client != id);
        self.visits.retain(|_, visit| visit.client != id);
        self.pieces.retain(|_, piece| piece.hers.as_deref() != Some(id));
        self.told.retain(|_, (_, _, owner)| owner.as_deref() != Some(id));
    }
}
