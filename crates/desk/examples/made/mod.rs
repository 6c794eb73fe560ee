//! A salon made by chance from a seed, of any size: its clients with facts,
//! consents, skin tests and plans through the desk, its visits through the
//! book's own door.
//!
//! Visits and pieces have no events yet. What stands for them here has their
//! size, is sealed under each client's key, and changes nothing of her: marks on
//! a photo that there is not. When pieces have events of their own, `visit` below
//! is where they go.

use crate::ground::chance::Chance;
use desk::acts::Ended;
use desk::{ClientId, DeskFault, KeptPlan, NewPlan, Passphrase, Place, RecoveryCode, Salon};
use salon::book::{ClientEvent, Day, FORMAT, Happened, PhotoId, ShelfEvent};
use salon::stock::OnHand;
use serde_json::{Value, json};
use std::sync::Arc;
use store::StoreFault;
use store::book::{Batch, Book, NewEvent, Opener, Stream, Write};
use tokio::task::JoinSet;
use uuid::Uuid;

/// How large a salon is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Size {
    /// Clients.
    pub clients: u64,
    /// Visits of all of them.
    pub visits: u64,
    /// Events of pieces, over all visits.
    pub pieces: u64,
    /// One client in so many has the document of a plan (each is a file of its own).
    pub planned_one_in: u64,
}

impl Size {
    /// The size that the numbers are promised for, times `scale`.
    pub fn of(scale: f64) -> Self {
        let times = |count: f64| (count * scale).round().max(1.0) as u64;
        Self { clients: times(10_000.0), visits: times(120_000.0), pieces: times(2_000_000.0), planned_one_in: 4 }
    }
}

/// Rounds in which clients come and visits happen: years of the salon, as it were.
const ROUNDS: u64 = 5;
/// Acts that are under way at a time.
const TOGETHER: usize = 48;
/// Visits that one batch brings in.
const VISITS_A_BATCH: u64 = 6;

/// A name of nobody's: syllables by chance.
pub fn name(chance: &mut Chance) -> String {
    const HEADS: [&str; 16] = ["Mi", "Lo", "Sa", "Te", "Ru", "Na", "Ve", "Ka", "Jo", "El", "Fi", "Ga", "Ha", "Ori", "Pe", "Zu"];
    const TAILS: [&str; 14] = ["ra", "lin", "vea", "nna", "sko", "det", "mir", "tha", "bel", "quin", "rosa", "wen", "dia", "lot"];
    const LANDS: [&str; 12] = ["berg", "feld", "mont", "stra", "vik", "holm", "dorn", "mere", "quist", "land", "worth", "sen"];
    let (first, second) = (*chance.of(&HEADS), *chance.of(&TAILS));
    let (third, fourth, fifth) = (*chance.of(&HEADS), *chance.of(&TAILS), *chance.of(&LANDS));
    format!("{first}{second} {third}{fourth}{fifth}")
}

/// What one client says of herself, as an act takes it.
pub fn facts(chance: &mut Chance, name: &str) -> Value {
    let styles = *chance.of(&["down", "half_up", "low_ponytail", "high_ponytail"]);
    let number = |chance: &mut Chance, from: u64, to: u64| from + chance.below(to - from + 1);
    json!({
        "client": {"name": name, "age_years": number(chance, 19, 70)},
        "consultation": {
            "goal": *chance.of(&["thickness", "length", "both"]), "fullness": "natural", "styles": [styles], "part": "centre",
            "wanted_length_mm": 50 * number(chance, 8, 12), "ties_up": "sometimes", "sport_per_week": number(chance, 0, 4), "swims": false,
            "had_extensions": chance.below(2) == 0, "reacted_before": false,
            "allergies": if chance.below(5) == 0 { vec!["nickel"] } else { vec![] }, "scalp": [], "health": [], "consent": true
        },
        "hair": {"density_per_cm2": number(chance, 120, 240), "strand": *chance.of(&["fine", "medium", "coarse"]),
            "own_length_mm": number(chance, 150, 340), "processed": "none"},
        "head": {"circumference_mm": number(chance, 530, 590)},
        "colour": {"lab_d65": [number(chance, 15, 70), number(chance, 2, 12), number(chance, 5, 30)]}
    })
}

/// The day so many days after the salon opened.
fn day(after: u64) -> Day {
    let opened = Day::new(2021, 1, 4).expect("that is a day");
    opened.later_by(after as u32).expect("no salon is open for a thousand years")
}

/// Makes a salon at an empty place; its recovery code.
///
/// *Errors*: the place, or an act that was refused.
pub async fn make(place: &Place, size: Size, seed: u64, passphrase: &Passphrase) -> Result<RecoveryCode, DeskFault> {
    let mut chance = Chance(seed);
    let opened = Salon::begin(place, Some(passphrase)).await?;
    let code = opened.code.ok_or_else(|| wrong("a new salon gave no recovery code"))?;
    let mut salon = Arc::new(opened.salon);
    house(&salon).await?;
    let plan = a_plan(&salon).await?;
    let mut clients: Vec<ClientId> = Vec::new();
    for round in 0..ROUNDS {
        let from = round * 365;
        clients.extend(come(&salon, share(size.clients, round), from, &mut chance).await?);
        shelf(&salon, share(size.clients / 8 + 1, round), from, &mut chance).await?;
        let lately = &clients[clients.len() - share(size.clients, round) as usize..];
        plans(&salon, lately, size.planned_one_in, from, &plan).await?;
        salon.close().await;
        drop(salon);
        let book = Book::open(place, &Opener::Code(code.clone())).await.map_err(DeskFault::from)?;
        visits(book, &clients, share(size.visits, round), share(size.pieces, round), from, &mut chance).await?;
        salon = Arc::new(Salon::open(place, Some(passphrase)).await?.salon);
    }
    salon.close().await;
    Ok(code)
}

/// A round's share of a whole; all rounds' together are the whole.
fn share(whole: u64, round: u64) -> u64 {
    whole * (round + 1) / ROUNDS - whole * round / ROUNDS
}

fn wrong(what: &str) -> DeskFault {
    DeskFault::Store(StoreFault::Refused(what.to_owned()))
}

/// Does an act; its answer.
async fn act(salon: &Salon, line: Value) -> Result<Value, DeskFault> {
    match salon.act(&line.to_string()).await {
        (answer, Ended::Done) => Ok(answer),
        (answer, _) => Err(wrong(&format!("{line}: {answer}"))),
    }
}

async fn house(salon: &Salon) -> Result<(), DeskFault> {
    let ring: Value = serde_json::from_str(include_str!("../../../../casebook/ring.json")).expect("the casebook's ring is JSON");
    let stock: Value = serde_json::from_str(include_str!("../../../../casebook/stock.json")).expect("the casebook's stock is JSON");
    let on = day(0);
    let pieces = json!({"mass_g": 2.5, "tab_width_mm": 40, "tab_height_mm": 9, "lengths_mm": [350, 450, 500, 550, 600]});
    act(salon, json!({"act": "house set", "on": on, "name": "The measured chair", "currency": "EUR", "hour_minor": 6000, "zone": "Europe/Paris", "pieces": pieces})).await?;
    act(salon, json!({"act": "ring set", "on": on, "shades": ring["shades"]})).await?;
    act(salon, json!({"act": "prices set", "on": on, "packs": stock["packs"], "suppliers": stock["suppliers"], "currency": "EUR"})).await?;
    for person in 0..4 {
        act(salon, json!({"act": "person add", "on": on, "name": format!("Chair {person}"), "role": "technician"})).await?;
    }
    Ok(())
}

/// The plan whose document stands for everybody's: of one client who leaves again.
async fn a_plan(salon: &Salon) -> Result<(KeptPlan, Option<String>), DeskFault> {
    let mut facts = facts(&mut Chance(1), "Sample");
    facts["consultation"]["styles"] = json!(["down"]);
    facts["hair"]["density_per_cm2"] = json!(180);
    let consents = json!([{"purpose": "health", "wording": "health-1"}]);
    let added = act(salon, json!({"act": "client add", "on": day(0), "facts": facts, "consents": consents})).await?;
    let id: ClientId = added["client"].as_str().unwrap_or_default().parse()?;
    let planned = act(salon, json!({"act": "plan make", "on": day(0), "client": id.to_string()})).await?;
    let plan = planned["plan"].as_str().unwrap_or_default().parse()?;
    let (plan, kept) = salon.plan(plan).await?;
    act(salon, json!({"act": "client erase", "on": day(0), "client": id.to_string(), "reason": "a sample only"})).await?;
    Ok((kept, plan.scalp))
}

/// Does many acts, a few at a time; what each gave, in the order they ended.
async fn many<T: Send + 'static, F>(acts: impl Iterator<Item = F>) -> Result<Vec<T>, DeskFault>
where
    F: Future<Output = Result<T, DeskFault>> + Send + 'static,
{
    let (mut under_way, mut all) = (JoinSet::new(), Vec::new());
    let joined = |one: Result<Result<T, DeskFault>, tokio::task::JoinError>| one.map_err(|cause| wrong(&cause.to_string()))?;
    for one in acts {
        while under_way.len() >= TOGETHER {
            if let Some(done) = under_way.join_next().await {
                all.push(joined(done)?);
            }
        }
        under_way.spawn(one);
    }
    while let Some(done) = under_way.join_next().await {
        all.push(joined(done)?);
    }
    Ok(all)
}

/// New clients: facts, consents, and a skin test that was read.
async fn come(salon: &Arc<Salon>, count: u64, from: u64, chance: &mut Chance) -> Result<Vec<ClientId>, DeskFault> {
    let one = |mut chance: Chance, salon: Arc<Salon>| async move {
        let came = from + chance.below(365);
        let name = name(&mut chance);
        let consents = json!([{"purpose": "health", "wording": "health-1"}, {"purpose": "contact", "wording": "contact-1"}]);
        let added =
            act(&salon, json!({"act": "client add", "on": day(came), "facts": facts(&mut chance, &name), "consents": consents})).await?;
        let id = added["client"].clone();
        let lot = format!("T-{:04}", chance.below(600));
        act(&salon, json!({"act": "skin test set", "on": day(came), "client": id, "lot": lot, "place": "behind the left ear"})).await?;
        act(&salon, json!({"act": "skin test read", "on": day(came + 2), "client": id, "found": "clear"})).await?;
        Ok(id.as_str().unwrap_or_default().parse::<ClientId>()?)
    };
    let seeds: Vec<u64> = (0..count).map(|_| chance.next()).collect();
    many(seeds.into_iter().map(|seed| one(Chance(seed), Arc::clone(salon)))).await
}

/// Packs that come in, one after the other: each act is decided on the shelf as it stands.
async fn shelf(salon: &Salon, packs: u64, from: u64, chance: &mut Chance) -> Result<(), DeskFault> {
    for at in 0..packs {
        let on = day(from + at * 365 / packs);
        let shade = format!("S{:02}", 1 + chance.below(24));
        let length = *chance.of(&[350, 450, 500, 550, 600]);
        let lot = format!("T-{:04}", chance.below(600));
        act(salon, json!({"act": "pack receive", "on": on, "lot": lot, "supplier": "wren", "shade": shade, "length_mm": length, "pieces": 20, "packs": 5})).await?;
    }
    Ok(())
}

/// Plans, each with its document, and the day it went in.
async fn plans(
    salon: &Arc<Salon>,
    clients: &[ClientId],
    one_in: u64,
    from: u64,
    plan: &(KeptPlan, Option<String>),
) -> Result<(), DeskFault> {
    let one = |id: ClientId, at: u64, salon: Arc<Salon>, kept: KeptPlan, scalp: Option<String>| async move {
        let plan = salon.keep_plan(&NewPlan { client: id, facts_version: 1, seed: at, kept, scalp }).await?;
        act(&salon, json!({"act": "plan place day", "on": day(from + at % 365), "plan": plan.to_string(), "day": day(from + at % 365)}))
            .await
    };
    let planned = clients.iter().zip(0_u64..).filter(|(_, at)| at % one_in.max(1) == 0);
    // A scalp is far larger than all else; a few stand for what they weigh.
    let scalp = |at: u64| plan.1.clone().filter(|_| at.is_multiple_of(one_in * 16));
    many(planned.map(|(id, at)| one(*id, at, Arc::clone(salon), plan.0.clone(), scalp(at)))).await?;
    Ok(())
}

/// Visits of clients, some of whom come far more often than others.
async fn visits(book: Book, clients: &[ClientId], visits: u64, pieces: u64, from: u64, chance: &mut Chance) -> Result<(), DeskFault> {
    let book = Arc::new(book);
    let mut batches: Vec<Batch> = Vec::new();
    let mut writes = Vec::new();
    for at in 0..visits {
        // The smaller of two draws: the first to come are those who stay.
        let whose = chance.below(clients.len() as u64).min(chance.below(clients.len() as u64)) as usize;
        let count = pieces * (at + 1) / visits - pieces * at / visits;
        writes.extend(visit(clients[whose], count, day(from + at * 365 / visits), chance)?);
        if (at + 1) % VISITS_A_BATCH == 0 || at + 1 == visits {
            batches.push(Batch {
                at_ms: 1_770_000_000_000,
                actor: Uuid::from_u128(1),
                writes: std::mem::take(&mut writes),
                ..Batch::default()
            });
        }
        if batches.len() == 512 || at + 1 == visits {
            let append = |batch: Batch, book: Arc<Book>| async move { book.append(batch).await.map(|_| ()).map_err(DeskFault::from) };
            many(std::mem::take(&mut batches).into_iter().map(|batch| append(batch, Arc::clone(&book)))).await?;
        }
    }
    book.close().await;
    Ok(())
}

/// What one visit adds: an event a piece in her stream, and one on the shelf.
fn visit(client: ClientId, pieces: u64, on: Day, chance: &mut Chance) -> Result<Vec<Write>, DeskFault> {
    let body =
        |what: serde_json::Result<Vec<u8>>| what.map(|body| NewEvent { format: FORMAT, body }).map_err(|cause| wrong(&cause.to_string()));
    let mut events = Vec::new();
    for at in 0..pieces {
        // As long as a place, two pieces and how far they moved.
        let note = format!("{:0length$x}", chance.next(), length = 40 + chance.below(80) as usize);
        let what = ClientEvent::PhotoMarked { photo: PhotoId(u128::from(chance.next())), note };
        events.push(body(serde_json::to_vec(&Happened { on, at: Some(format!("{:02}:{:02}", 9 + at % 9, at % 60)), what }))?);
    }
    let there = OnHand { lot: format!("T-{:04}", chance.below(600)), shade: "S07".to_owned(), length_mm: length(), pieces: pieces as u32 };
    let what = ShelfEvent::Counted { there, reason: "taken for a visit".to_owned() };
    let taken = body(serde_json::to_vec(&Happened { on, at: None, what }))?;
    Ok(vec![
        Write { stream: Stream::Client(Uuid::from_u128(client.0)), seen: None, events },
        Write { stream: Stream::Shelf, seen: None, events: vec![taken] },
    ])
}

/// 450 mm, as the shelf writes it.
fn length() -> salon::stock::StockLength {
    serde_json::from_value(json!(450)).expect("that is a length")
}

/// A salon of clients alone, each named after the salon's number.
///
/// *Errors*: as [`make`].
pub async fn small(place: &Place, number: u64, clients: u64, passphrase: &Passphrase) -> Result<Vec<ClientId>, DeskFault> {
    let salon = Arc::new(Salon::begin(place, Some(passphrase)).await?.salon);
    let one = |mut chance: Chance, salon: Arc<Salon>| async move {
        let name = format!("{} of {number}", name(&mut chance));
        let added = act(&salon, json!({"act": "client add", "on": day(0), "facts": {"client": {"name": name}}})).await?;
        Ok(added["client"].as_str().unwrap_or_default().parse::<ClientId>()?)
    };
    let ids = many((0..clients).map(|at| one(Chance(number << 32 | at), Arc::clone(&salon)))).await?;
    salon.close().await;
    Ok(ids)
}
