//! Questions: one JSON document each. They change nothing but the record of who
//! read a client's health.

mod ledger;
mod packs;
mod pieces;
mod reserved;

pub use pieces::{Which, in_site_order};

use crate::client_line::{due_of, worn};
use crate::{DeskFault, Salon};
use salon::book::{ClientBook, ClientId, ConsentState, Day, SamePerson, Signed};
use salon::stock::OnHand;
use serde_json::{Value, json};
use std::collections::{BTreeMap, HashMap};
use store::StoreFault;
use store::book::Stream;

/// What can be asked, with what each takes.
pub const QUESTIONS: &[&str] = &[
    "client ID [--on DAY]",
    "clients [--search TEXT]",
    "piece ID [--on DAY]",
    "pieces [--client ID|--shelf|--retired] [--on DAY]",
    "shelf",
    "packs",
    "pack NUMBER",
    "due --on DAY",
    "diary --on DAY [--ics]",
    "day-book --from DAY --to DAY",
    "checks",
];

/// A consent in force, with how it was signed where it was.
fn consent_told(given: &ConsentState) -> Value {
    let mut told = json!({"wording": given.wording, "on": given.on});
    if let Some(signed) = &given.signed {
        told["signed"] = match signed {
            Signed::Drawn(_) => json!("drawn"),
            Signed::Typed(name) => json!({ "typed": name }),
        };
    }
    told
}

impl Salon {
    /// One client: facts in force, verdict, plans, what is in her hair, next date.
    ///
    /// *Errors*: nothing has this id; the records.
    pub async fn show_client(&self, id: ClientId, on: Day) -> Result<Value, DeskFault> {
        let book = self.client_book(id, None).await?;
        let (health, _) = self.health(&book, "show client", None).await?;
        let house = self.house_book().await?;
        let file = book.facts.file_on(on, health.as_ref());
        let complete = house.house.0.complete(&file);
        let (verdict, wanting) = match complete.check() {
            Ok(facts) => {
                let judged = craft::suitability::judge(&facts.answers, &measure::RuleBook::standard());
                (json!({"verdict": judged.verdict, "says": judged.verdict.words()}), Vec::new())
            }
            Err(faults) => (Value::Null, faults),
        };
        let plans: Vec<Value> = book
            .plans
            .iter()
            .map(|plan| json!({"plan": plan.id.to_string(), "placed_on": plan.placed_on, "sites": plan.sites.len()}))
            .collect();
        let in_her_hair: Vec<Value> = match (book.year.pieces.in_hair(), worn(&book.plans)) {
            // A set that went in before pieces were followed: its sites are all that is known.
            (0, Some((plan, _))) => plan.sites.iter().map(|site| json!(site)).collect(),
            _ => pieces::in_site_order(&book).into_iter().map(|piece| pieces::hers(id, &book, piece, on)).collect(),
        };
        let next = due_of(&book.plans)
            .map(|(due, window)| json!({"due": due, "window": window, "rests_on": rests_on(&book, &measure::RuleBook::standard())}));
        let consents: BTreeMap<&str, Value> = book.consents.iter().map(|(purpose, given)| (purpose.word(), consent_told(given))).collect();
        let tests: Vec<Value> = book
            .skin_tests
            .iter()
            .map(|test| json!({"lot": test.lot, "place": test.place, "set_on": test.set_on, "read": test.read.last().map(|(on, found)| json!({"on": on, "found": found})), "readings": test.read.iter().map(|(on, found)| json!({"on": on, "found": found})).collect::<Vec<_>>()}))
            .collect();
        // Her history is that of all her records; each visit in another one names it.
        let mut visits: Vec<Value> = book.year.visits.iter().map(told_visit).collect();
        let mut records = Vec::new();
        for (other, its) in self.other_books(id, &book).await? {
            records.push(json!({"client": other, "label": its.label, "kept": book.same.kept == Some(other)}));
            visits.extend(its.year.visits.iter().map(|visit| {
                let mut told = told_visit(visit);
                told["client"] = json!(other);
                told
            }));
        }
        visits.sort_by(|a, b| a["on"].as_str().cmp(&b["on"].as_str()));
        Ok(json!({
            "contact": book.contact, "records": records,
            "id": id.to_string(), "label": book.label, "version": book.version, "facts": file, "verdict": verdict, "wanting": wanting,
            "consents": consents, "skin_tests": tests, "plans": plans, "readings": book.readings.iter().map(|r| r.id.to_string()).collect::<Vec<_>>(),
            "visits": visits, "pieces": in_her_hair, "next": next,
        }))
    }

    /// All clients whose name holds a text.
    ///
    /// *Errors*: the records.
    pub async fn show_clients(&self, search: &str) -> Result<Value, DeskFault> {
        let (found, _) = self.clients(search, u32::MAX).await?;
        let lines: Vec<Value> =
            found.iter().map(|line| json!({"id": line.id.to_string(), "label": line.label, "next_due": line.next_due})).collect();
        Ok(json!({ "clients": lines }))
    }

    /// What lies on the shelf, by shade, length and lot.
    ///
    /// *Errors*: the records.
    pub async fn show_shelf(&self) -> Result<Value, DeskFault> {
        let shelf = self.shelf_book().await?;
        let reserved = self.reserved(&shelf).await?;
        let mut lots: Vec<(&OnHand, u32)> = shelf.on_hand.iter().zip(reserved).collect();
        lots.sort_by(|(a, _), (b, _)| (&a.shade, a.length_mm, &a.lot).cmp(&(&b.shade, b.length_mm, &b.lot)));
        let told = |(lot, reserved): &(&OnHand, u32)| json!({"shade": lot.shade, "length_mm": lot.length_mm, "lot": lot.lot, "pieces": lot.pieces, "reserved": reserved, "free": lot.pieces - reserved});
        let lines: Vec<Value> = lots.iter().map(told).collect();
        let halves: Vec<Value> = shelf.halves.iter().map(pieces::lying).collect();
        Ok(if halves.is_empty() { json!({ "shelf": lines }) } else { json!({ "shelf": lines, "halves": halves }) })
    }

    /// Whose set is due by a day, the longest overdue first.
    ///
    /// *Errors*: the records.
    pub async fn show_due(&self, on: Day) -> Result<Value, DeskFault> {
        let lines = self.all_lines().await?;
        let mut due: Vec<(i64, Value)> = lines
            .iter()
            .filter_map(|line| {
                let line = &line.1;
                let (due, window) = (line.next_due?, line.window.filter(|window| on >= window[0])?);
                let overdue = on.days_since(due);
                let told = json!({"client": line.id.to_string(), "label": line.label, "due": due, "window": window, "overdue_days": overdue.max(0)});
                Some((overdue, told))
            })
            .collect();
        due.sort_by_key(|(overdue, _)| std::cmp::Reverse(*overdue));
        Ok(json!({ "due": due.into_iter().map(|(_, told)| told).collect::<Vec<_>>() }))
    }

    /// Every promise of the books, and whether it holds.
    ///
    /// *Errors*: the records.
    pub async fn show_checks(&self) -> Result<Value, DeskFault> {
        let mut checks = Vec::new();
        let audit = self.book.audit().await;
        if let Err(fault) = &audit
            && !matches!(fault, StoreFault::Altered(_))
        {
            return Err(audit.err().map_or(DeskFault::Unknown("book"), DeskFault::from));
        }
        checks.push(("every event is as it was written, and the chain ends where its head says", audit.is_ok()));
        let lines = self.all_lines().await?;
        let plans: HashMap<ClientId, i64> = lines.iter().map(|line| (line.1.id, line.1.plans)).collect();
        let (mut same, mut known, mut agreed) = (true, true, true);
        let mut ledger = ledger::Ledger::default();
        let mut same_person: HashMap<ClientId, SamePerson> = HashMap::new();
        let mut count = 0;
        for stream in self.book.versions().await?.into_keys() {
            let Stream::Client(id) = stream else { continue };
            let id = ClientId(id.as_u128());
            let book = match self.client_book(id, None).await {
                Ok(book) => book,
                Err(DeskFault::Unknown(_)) => continue,
                Err(fault) => return Err(fault),
            };
            count += 1;
            same_person.insert(id, book.same.clone());
            ledger.take(&book);
            same &= plans.get(&id) == Some(&(book.plans.len() as i64));
            known &= book.plans.iter().all(|plan| plan.from.client <= book.version);
            agreed &= book
                .readings
                .iter()
                .all(|reading| reading.photo.is_none_or(|photo| book.photos.contains_key(&photo) || reading.read_ms > 0));
        }
        checks.push(("the clients' list says what the clients' own events say", same && lines.len() == count));
        checks.push(("records of one person name each other, and one of them is kept", name_each_other(&same_person)));
        checks.push(("every plan names versions that there are", known));
        checks.push(("every reading of hers rests on a photo of hers", agreed));
        checks.extend(self.ledger_checks(&ledger).await?);
        checks.extend(self.money_checks().await?);
        checks.extend(self.diary_checks().await?);
        let told: Vec<Value> = checks.iter().map(|(says, holds)| json!({"says": says, "holds": holds})).collect();
        Ok(json!({ "checks": told }))
    }
}

/// Whether of two records of one person each says so; one that was erased says nothing more.
fn name_each_other(all: &HashMap<ClientId, SamePerson>) -> bool {
    all.iter().all(|(id, same)| {
        let kept = same.kept.and_then(|kept| all.get(&kept));
        let aside = same.set_aside.iter().filter_map(|aside| all.get(aside));
        kept.is_none_or(|kept| kept.set_aside.contains(id) && kept.kept.is_none()) && aside.into_iter().all(|aside| aside.kept == Some(*id))
    })
}

/// A visit as it stands, told.
fn told_visit(visit: &salon::book::VisitState) -> Value {
    let closed = visit.closed.as_ref();
    json!({
        "visit": visit.id, "kind": visit.kind, "plan": visit.plan, "on": visit.on, "by": visit.by, "open": visit.is_open(),
        "because": visit.because, "tally": visit.tally, "steps": pieces::steps(&visit.steps),
        "closed_on": closed.map(|closed| closed.on), "checks": closed.and_then(|closed| closed.checks), "next": closed.and_then(|closed| closed.next),
    })
}

/// What her next date rests on, in words.
fn rests_on(book: &ClientBook, rules: &measure::RuleBook) -> String {
    let observed = &book.year.observed;
    match observed.rests_on() {
        (0, 0) => "the day the set went in and the plan's own re-tape days".to_owned(),
        (grown, bonds) => {
            let daily = observed.growth(rules).value.daily().to_mm();
            format!(
                "the day the set went in, the plan's own re-tape days, and her own: growth measured at {} ({} mm a day), {} looked at",
                measure::text::counted(grown, "visit", "visits"),
                measure::text::fixed(daily, 2),
                measure::text::counted(bonds, "bond", "bonds"),
            )
        }
    }
}
