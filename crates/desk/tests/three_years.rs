//! Three years of an invented salon, played by a seeded script through the one door: every
//! promise of the books is looked at on the way and at the end.
//!
//! `STRANDWRIGHT_SEED` repeats a run; `STRANDWRIGHT_YEARS` makes it longer.

#[path = "../../store/tests/ground/mod.rs"]
mod ground;

use desk::acts::Ended;
use desk::{Place, Salon};
use ground::chance::{Chance, asked, seed};
use serde_json::{Value, json};

const CLIENTS: usize = 2;
/// Up to so many acts the books are looked at after each, then after every so many.
const EACH_ACT: u64 = 150;
const NOW_AND_THEN: u64 = 60;
const WEEKS_BETWEEN: u64 = 7;

struct Played {
    salon: Salon,
    chance: Chance,
    /// Days since the salon opened.
    day: u64,
    acts: u64,
    refused: u64,
}

impl Played {
    fn on(&self) -> String {
        let opened: salon::book::Day = "2023-01-02".parse().unwrap();
        opened.later_by(self.day as u32).unwrap().to_string()
    }

    /// Does a line; whatever comes of it, the books hold.
    async fn act(&mut self, mut line: Value) -> Option<Value> {
        line["on"] = json!(self.on());
        let (answer, ended) = Box::pin(self.salon.act(&line.to_string())).await;
        assert!(matches!(ended, Ended::Done | Ended::Refused), "{line}\n{answer}");
        self.acts += 1;
        // The whole chain is walked each time: later on, now and then is enough.
        if self.acts < EACH_ACT || self.acts.is_multiple_of(NOW_AND_THEN) {
            let checks = self.salon.show_checks().await.unwrap();
            let broken: Vec<&Value> = checks["checks"].as_array().unwrap().iter().filter(|check| check["holds"] != true).collect();
            assert!(broken.is_empty(), "after {line}\n{broken:?}");
        }
        if ended == Ended::Refused {
            self.refused += 1;
            return None;
        }
        Some(answer)
    }

    async fn done(&mut self, line: Value) -> Value {
        let said = line.to_string();
        self.act(line).await.unwrap_or_else(|| panic!("refused: {said}"))
    }

    /// A visit at which what is in comes out, and a set goes in; now and then a step too many is
    /// taken back, a piece is lost, halved or put aside.
    async fn visit(&mut self, client: &Value, kind: &str, worn: &mut Vec<String>) {
        let plan = self.done(json!({"act": "plan make", "client": client, "seed": 1})).await;
        let begin =
            json!({"act": "visit begin", "client": client, "kind": kind, "plan": plan["plan"], "because": "she asked for it today"});
        let visit = self.done(begin).await["visit"].clone();
        let mut bag = Vec::new();
        for site in std::mem::take(worn) {
            let state = if self.chance.one_in(9) {
                "lost"
            } else if self.chance.one_in(7) {
                "slipped"
            } else {
                "held"
            };
            let out = self.done(json!({"act": "piece take out", "visit": visit, "site": site, "state": state})).await;
            if state != "lost" {
                bag.extend([out["upper"].clone(), out["lower"].clone()]);
            }
            // The same place twice is refused.
            self.act(json!({"act": "piece take out", "visit": visit, "site": site, "state": "held"})).await;
        }
        for piece in bag {
            if self.chance.one_in(12) {
                self.done(json!({"act": "piece retire", "visit": visit, "piece": piece, "reason": "matted"})).await;
            } else {
                self.done(json!({"act": "piece re-tape", "visit": visit, "piece": piece})).await;
            }
        }
        for site in plan["sites"].as_array().unwrap() {
            if self.chance.one_in(10) {
                self.done(json!({"act": "piece skip", "visit": visit, "site": site, "reason": "tender there"})).await;
                continue;
            }
            let place = json!({"act": "piece place", "visit": visit, "site": site, "because": "no pack of it is recorded"});
            self.done(place.clone()).await;
            if self.chance.one_in(8) {
                self.done(json!({"act": "step undo", "visit": visit})).await;
                self.done(place).await;
            }
            worn.push(site.as_str().unwrap().to_owned());
        }
        let close = json!({"act": "visit close", "visit": visit, "moves_freely": true, "mm_off_scalp": 5, "nothing_shows": true, "comfortable": true});
        self.done(close).await;
        let invoice = self.done(json!({"act": "invoice make", "client": client, "visit": visit})).await;
        let half = invoice["total_minor"].as_i64().unwrap() / 2;
        self.done(json!({"act": "payment take", "invoice": invoice["invoice"], "minor": half + 1, "by": "card"})).await;
        self.act(json!({"act": "payment take", "invoice": invoice["invoice"], "minor": half + 9, "by": "cash"})).await;
        self.act(json!({"act": "invoice make", "client": client, "visit": visit})).await;
    }
}

fn facts(name: &str) -> Value {
    json!({
        "client": {"name": name, "age_years": 31},
        "consultation": {
            "goal": "thickness", "fullness": "natural", "styles": ["down"], "part": "centre", "ties_up": "sometimes",
            "had_extensions": true, "reacted_before": false, "allergies": [], "scalp": [], "health": [], "consent": true
        },
        "hair": {"density_per_cm2": 180, "strand": "medium", "own_length_mm": 350, "processed": "none"},
        "head": {"circumference_mm": 556}, "colour": {"lab_d65": [32.0, 8.0, 19.0]}
    })
}

#[tokio::test(flavor = "multi_thread")]
async fn three_years_leave_every_book_true() {
    let folder = tempfile::tempdir().unwrap();
    let salon = Salon::begin(&Place::Folder(folder.path().to_owned()), None).await.unwrap().salon;
    let seed = seed();
    println!("seed {seed}");
    let mut played = Played { salon, chance: Chance(seed), day: 0, acts: 0, refused: 0 };
    let ring: Value = serde_json::from_str(include_str!("../../../casebook/ring.json")).unwrap();
    played
        .done(json!({"act": "house set", "name": "Chair", "currency": "EUR", "hour_minor": 6000, "tape_tab_minor": 20, "tax_percent": 19,
            "prices_include_tax": true, "pieces": {"mass_g": 2.5, "tab_width_mm": 40, "tab_height_mm": 9, "lengths_mm": [350]}}))
        .await;
    played.done(json!({"act": "ring set", "shades": ring["shades"]})).await;
    played
        .done(json!({"act": "pack receive", "lot": "L1", "supplier": "north", "shade": "S06", "length_mm": 350, "pieces": 20, "packs": 4}))
        .await;
    let consents = json!([{"purpose": "health", "wording": "h-1"}]);
    let mut clients = Vec::new();
    for at in 0..CLIENTS {
        let added = played.done(json!({"act": "client add", "facts": facts(&format!("Ada Example {at}")), "consents": consents})).await;
        clients.push((added["client"].clone(), Vec::new()));
    }
    let visits = asked("STRANDWRIGHT_YEARS").unwrap_or(3) * 52 / WEEKS_BETWEEN;
    for round in 0..visits {
        played.day = round * WEEKS_BETWEEN * 7;
        for (client, worn) in &mut clients {
            let kind = if round == 0 { "application" } else { "re-tape" };
            let book = json!({"act": "appointment book", "client": client, "kind": kind, "day": played.on(), "at": "09:30", "minutes": 90});
            // Whoever comes second at that hour is refused.
            played.act(book).await;
            played.visit(client, kind, worn).await;
        }
    }
    println!("{} acts, {} of them refused", played.acts, played.refused);
    assert!(played.acts > 500 && played.refused > 50);
    // Opened anew, and with every view made anew, the books say the same.
    let before = played.salon.show_checks().await.unwrap();
    played.salon.close().await;
    let salon = Salon::open(&Place::Folder(folder.path().to_owned()), None).await.unwrap().salon;
    salon.rebuild_views().await.unwrap();
    assert_eq!(salon.show_checks().await.unwrap(), before);
}
