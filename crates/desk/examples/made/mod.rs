//! A salon made by chance from a seed, of any size: its clients with facts,
//! consents, skin tests and plans through the desk, its visits and their pieces
//! as events through the book's own door.

use crate::ground::chance::Chance;
use craft::piece::Cut;
use craft::placement::{HeadPart, SiteId};
use desk::acts::Ended;
use desk::{ClientId, DeskFault, KeptPlan, NewPlan, Passphrase, Place, RecoveryCode, Salon};
use salon::book::visit::PieceOrigin;
use salon::book::{
    BondFound, ClientEvent, ClosingChecks, Day, Happened, PersonId, PieceId, ShelfEvent, ShelfPiece, Step, VisitId, VisitKind,
};
use serde_json::{Value, json};
use std::collections::HashMap;
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
    let mut worn = HashMap::new();
    for round in 0..ROUNDS {
        let from = round * 365;
        clients.extend(come(&salon, share(size.clients, round), from, &mut chance).await?);
        shelf(&salon, share(size.clients / 8 + 1, round), from, &mut chance).await?;
        let lately = &clients[clients.len() - share(size.clients, round) as usize..];
        plans(&salon, lately, size.planned_one_in, from, &plan).await?;
        salon.close().await;
        drop(salon);
        let book = Book::open(place, &Opener::Code(code.clone())).await.map_err(DeskFault::from)?;
        let share_of = (share(size.visits, round), share(size.pieces, round));
        visits(book, &clients, share_of, from, (&mut worn, &mut chance)).await?;
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
async fn visits(
    book: Book,
    clients: &[ClientId],
    (visits, pieces): (u64, u64),
    from: u64,
    (worn, chance): (&mut HashMap<ClientId, Worn>, &mut Chance),
) -> Result<(), DeskFault> {
    let book = Arc::new(book);
    let mut batches: Vec<Batch> = Vec::new();
    let mut writes = Vec::new();
    for at in 0..visits {
        // The smaller of two draws: the first to come are those who stay.
        let whose = chance.below(clients.len() as u64).min(chance.below(clients.len() as u64)) as usize;
        let count = pieces * (at + 1) / visits - pieces * at / visits;
        let client = clients[whose];
        writes.extend(visit(client, worn.entry(client).or_default(), count, day(from + at * 365 / visits), chance)?);
        if (at + 1) % VISITS_A_BATCH == 0 || at + 1 == visits {
            batches.push(Batch {
                at_ms: 1_770_000_000_000,
                actor: Uuid::from_u128(1),
                writes: std::mem::take(&mut writes),
                ..Batch::default()
            });
        }
        if batches.len() == 512 || at + 1 == visits {
            // One after the other: a client's visits stand in their order.
            for batch in std::mem::take(&mut batches) {
                book.append(batch).await.map_err(DeskFault::from)?;
            }
        }
    }
    book.close().await;
    Ok(())
}

/// What a client wears while the salon is made.
#[derive(Default)]
pub struct Worn {
    /// Her sandwiches, each the piece above and the piece below.
    set: Vec<[PieceId; 2]>,
    /// Visits so far.
    visits: u64,
}

/// Visits for which a set is worn before its pieces are put aside.
const WORN_FOR: u64 = 4;

/// What one visit adds: what came out, what was done to it, and what went in, as steps; every
/// fourth visit a new set comes from the shelf.
fn visit(client: ClientId, worn: &mut Worn, count: u64, on: Day, chance: &mut Chance) -> Result<Vec<Write>, DeskFault> {
    fn body<E: serde::Serialize>(on: Day, at: u64, what: E) -> Result<NewEvent, DeskFault> {
        let at = Some(format!("{:02}:{:02}", 9 + at % 9, at % 60));
        desk::event_of(&Happened { on, at, what })
    }
    let made = |chance: &mut Chance| (u128::from(1_700_000_000_000 + u64::from(chance.next() as u32)) << 80) | u128::from(chance.next());
    let id = VisitId(made(chance));
    let is_new = worn.visits.is_multiple_of(WORN_FOR);
    let kind = if worn.visits == 0 { VisitKind::Application } else { VisitKind::Retape };
    worn.visits += 1;
    let step = |step: Step| ClientEvent::StepDone { visit: id, step, from_shelf: Vec::new(), left: 0, because: None };
    let mut events = vec![ClientEvent::VisitBegun { visit: id, visit_kind: kind, plan: None, by: PersonId(1), because: None }];
    let mut shelf = Vec::new();
    let sandwiches = (count / 4).max(1) as usize;
    let site = |at: usize| SiteId::of(HeadPart::Back, 1 + at as u32 / 4, 1 + at as u32 % 4);
    for (at, pieces) in worn.set.iter().enumerate() {
        let out = Step::TakenOut { site: site(at), pieces: pieces.to_vec(), found: BondFound::Held, shed_hairs: Some(7), days: 49 };
        events.push(step(out));
        for piece in *pieces {
            events.push(step(if is_new { Step::Retired { piece, reason: "worn out".to_owned() } } else { Step::Retaped { piece } }));
        }
    }
    if is_new {
        let moment = made(chance) >> 80 << 80;
        let origin =
            PieceOrigin { shade: "S07".to_owned(), length_mm: length(), lot: format!("T-{:04}", chance.below(600)), received: Some(1) };
        worn.set = (0..sandwiches).map(|_| [0, 1].map(|_| PieceId(moment | u128::from(chance.next())))).collect();
        let all: Vec<PieceId> = worn.set.iter().flatten().copied().collect();
        let from: Vec<ShelfPiece> =
            all.iter().map(|piece| ShelfPiece { piece: *piece, cut: Cut::Full, parent: None, origin: origin.clone() }).collect();
        let came = origin.lot_of(all.len() as u32);
        let pack = ShelfEvent::PackReceived {
            came,
            supplier: "wren".to_owned(),
            packs: 1,
            mass_g: None,
            tab_width_mm: None,
            price_minor: None,
            pieces: all,
        };
        shelf.extend([pack, ShelfEvent::PiecesLeft { client, pieces: from.clone() }]);
        for (at, (pieces, from)) in worn.set.iter().zip(from.chunks(2)).enumerate() {
            let step = Step::Placed { site: site(at), pieces: pieces.to_vec(), moved_mm: None, added: None };
            events.push(ClientEvent::StepDone { visit: id, step, from_shelf: from.to_vec(), left: 1, because: None });
        }
    } else {
        let placed = |(at, pieces): (usize, &[PieceId; 2])| {
            step(Step::Placed { site: site(at), pieces: pieces.to_vec(), moved_mm: None, added: None })
        };
        events.extend(worn.set.iter().enumerate().map(placed));
    }
    for at in events.len() as u64..=count {
        events.push(step(Step::ScalpSeen { region: format!("row {at}"), found: "clear".to_owned() }));
    }
    let checks = ClosingChecks { moves_freely: true, mm_off_scalp: 5.0, nothing_shows: true, comfortable: true };
    events.push(ClientEvent::VisitClosed { visit: id, checks: Some(checks), next: None, because: None });
    let hers = events.into_iter().zip(0..).map(|(event, at)| body(on, at, event)).collect::<Result<_, _>>()?;
    let lain = shelf.into_iter().map(|event| body(on, 0, event)).collect::<Result<_, _>>()?;
    Ok(vec![
        Write { stream: Stream::Client(Uuid::from_u128(client.0)), seen: None, events: hers },
        Write { stream: Stream::Shelf, seen: None, events: lain },
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
