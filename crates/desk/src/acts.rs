//! Acts as lines of JSON: the same door as the pages, for scripts and imports.
//!
//! A line names an act and what it takes; the answer says what was done, with the
//! events it wrote, or every fault. A key makes a line safe to repeat.

mod consultation;
mod correct;
mod diary;
mod layout;
mod line;
mod money;
mod names;
mod visits;

pub use names::ACTS;

use crate::words::Message;
use crate::written::{Act, Any, new_id, stream_of};
use crate::{DeskFault, Salon};
use craft::matching::Ring;
use line::{Head, Line, Stop, no_act, quoted, word};
use salon::Fault;
use salon::book::{
    ClientBook, ClientEvent, ClientId, Day, FactsChange, HealthId, House, HouseEvent, KeptReading, Percent, PersonId, PieceId, PlanId,
    PriceList, Purpose, ReadingId, Role, ShelfEvent, SkinFound, World, decide_facts, decide_placed, decide_skin_read,
};
use salon::client::ClientFile;
use salon::stock::{OnHand, StockLength};
use serde_json::{Map, Value, json};
use sha2::{Digest, Sha256};
use store::StoreFault;
use store::book::{Appended, Once, Stream};

/// How a line ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Ended {
    /// It was done, or was done before under the same key.
    Done,
    /// It was refused; nothing was written.
    Refused,
    /// It is no act; nothing was written.
    NoAct,
    /// The records themselves said no, with an exit code of their own.
    Records(u8),
}

/// What an act comes to before it is kept.
struct Decided {
    act: Act,
    answer: Map<String, Value>,
    /// Under whose key the answer is kept.
    owner: Stream,
    /// Streams whose keys are destroyed with it.
    erases: Vec<Stream>,
}

impl Decided {
    fn new(act: Act, owner: Stream) -> Self {
        Self { act, answer: Map::new(), owner, erases: Vec::new() }
    }

    fn with(mut self, key: &str, value: impl Into<Value>) -> Self {
        self.answer.insert(key.to_owned(), value.into());
        self
    }
}

fn told(faults: &[Fault]) -> Value {
    json!({"done": false, "faults": faults})
}

impl Salon {
    /// Does one line; the line that answers it, and how it ended.
    pub async fn act(&self, text: &str) -> (Value, Ended) {
        match self.act_of_line(text).await {
            Ok(answer) => (answer, Ended::Done),
            Err(Stop::NoAct(fault)) => (told(&[fault]), Ended::NoAct),
            Err(Stop::Fault(fault)) => {
                let ended = match &fault {
                    DeskFault::Store(store) if store.exit_code() != 1 => Ended::Records(store.exit_code()),
                    _ => Ended::Refused,
                };
                (told(&fault.told()), ended)
            }
        }
    }

    async fn act_of_line(&self, text: &str) -> Result<Value, Stop> {
        let (line, head) = Line::of(text)?;
        let line_hash: [u8; 32] = Sha256::digest(canonical(&line, &head).as_bytes()).into();
        if let Some(key) = &head.key
            && let Some(answered) = self.book.answered(key).await?
        {
            return self.repeated(&answered.line_hash, &line_hash, &answered.answer).await;
        }
        let by = match head.by {
            Some(by) => self.known_person(by).await?,
            None => self.owner().await?,
        };
        let world = World { on: head.on, at: head.at.clone(), by };
        let mut tries = MOST_TRIES;
        loop {
            tries -= 1;
            // Boxed: what all acts together hold across their waits is large.
            match Box::pin(self.once(line.clone(), &head, line_hash, &world)).await {
                // Somebody else wrote meanwhile: it is decided anew from what is in force now,
                // unless it was said what it began from.
                Err(Stop::Fault(DeskFault::Changed { .. })) if tries > 0 && !line.keys.contains_key("version") => {}
                outcome => return outcome,
            }
        }
    }

    /// Decides a line from what is in force, and keeps it.
    async fn once(&self, mut line: Line, head: &Head, line_hash: [u8; 32], world: &World) -> Result<Value, Stop> {
        let Decided { act, mut answer, owner, erases } = Box::pin(self.decided(&mut line, world)).await?;
        let kinds = act.kinds();
        // A kept answer copies no plan: it is opened again when the line is repeated.
        let (mut telling, sorts) = (answer.clone(), kinds.clone());
        telling.remove(DOCUMENT);
        let once = head.key.clone().map(|key| Once {
            key,
            line_hash,
            owner,
            answer: Box::new(move |appended| serde_json::to_vec(&done(telling, appended, &sorts)).unwrap_or_default()),
        });
        let kept = if erases.is_empty() {
            self.keep(world, act, once).await
        } else {
            let note = self.batch(world, act, once)?;
            self.erase_streams(&erases, note).await
        };
        match kept {
            Ok(appended) => Ok(done(std::mem::take(&mut answer), &appended, &kinds)),
            // Somebody else used the key between the question and the act.
            Err(DeskFault::Store(StoreFault::Repeated)) => match &head.key {
                Some(key) => match self.book.answered(key).await? {
                    Some(answered) => self.repeated(&answered.line_hash, &line_hash, &answered.answer).await,
                    None => Err(Stop::Fault(DeskFault::Store(StoreFault::Repeated))),
                },
                None => Err(Stop::Fault(DeskFault::Store(StoreFault::Repeated))),
            },
            Err(fault) => Err(Stop::Fault(fault)),
        }
    }

    /// What a line answered the first time.
    async fn repeated(&self, was: &[u8; 32], is: &[u8; 32], answer: &[u8]) -> Result<Value, Stop> {
        if was != is {
            let fault = Fault::of(&Message::KeyStoodBefore, "key", "key");
            return Err(Stop::Fault(DeskFault::Refused(vec![fault])));
        }
        let mut answer: Value = serde_json::from_slice(answer).map_err(|cause| DeskFault::damaged("a kept answer", &cause))?;
        if let Some(plan) = answer.get("sites").and(answer.get("plan")).and_then(Value::as_str).and_then(|plan| plan.parse().ok()) {
            let (_, kept) = self.plan(plan).await?;
            answer[DOCUMENT] = serde_json::to_value(&kept.plan).map_err(|cause| DeskFault::damaged("a plan cannot be written", &cause))?;
        }
        Ok(answer)
    }

    async fn known_person(&self, by: PersonId) -> Result<PersonId, Stop> {
        let house = self.house_book().await?;
        if house.people.iter().any(|(id, ..)| *id == by) { Ok(by) } else { Err(Stop::Fault(DeskFault::Unknown("person"))) }
    }

    async fn decided(&self, line: &mut Line, world: &World) -> Result<Decided, Stop> {
        match line.name {
            "house set" => self.house_set(line).await,
            "person add" => person_add(line),
            "ring set" => {
                let book = self.house_book().await?;
                line.still("the ring", book.ring.1)?;
                let shades: Value = line.needed("shades")?;
                let ring: Ring = serde_json::from_value(json!({ "shades": shades }))
                    .map_err(|cause| no_act(&Message::RingUnread { cause: cause.to_string() }, "shades"))?;
                if let Err(fault) = ring.colours() {
                    return Err(Stop::Fault(DeskFault::Refused(vec![Fault::of(
                        &Message::RingWrong { fault: fault.to_string() },
                        "shades",
                        "ring",
                    )])));
                }
                Ok(Decided::new(Act::default().house_at(book.version, vec![HouseEvent::RingSet(ring)]), Stream::House)
                    .with("version", book.ring.1 + 1))
            }
            "prices set" => {
                let book = self.house_book().await?;
                line.still("the price list", book.prices.1)?;
                let list =
                    PriceList { packs: line.needed("packs")?, suppliers: line.needed("suppliers")?, currency: line.needed("currency")? };
                Ok(Decided::new(Act::default().house_at(book.version, vec![HouseEvent::PricesSet(list)]), Stream::House)
                    .with("version", book.prices.1 + 1))
            }
            "client add" => {
                let id = ClientId(new_id());
                self.facts(line, world, id, ClientBook::default()).await
            }
            "client change" => {
                let id = line.needed("client")?;
                let book = self.client_book(id, None).await?;
                line.still("the client", book.version)?;
                self.facts(line, world, id, book).await
            }
            "client erase" => self.erased(line, world).await,
            "appointment book" => self.appointment_booked(line, world).await,
            "appointment move" => self.appointment_moved(line, world).await,
            "appointment cancel" => self.appointment_cancelled(line).await,
            "invoice make" => self.invoice_made(line, world).await,
            "payment take" | "payment return" => self.payment(line).await,
            "consent give" | "consent withdraw" => self.consent(line, world).await,
            "draft keep" => self.draft_kept(line, world).await,
            "skin test set" => {
                let (id, book) = self.hers(line).await?;
                let event = ClientEvent::SkinTestSet { lot: line.needed("lot")?, place: line.needed("place")? };
                Ok(self.client_act(id, book, vec![event], world))
            }
            "skin test read" => {
                let (id, book) = self.hers(line).await?;
                let found: SkinFound = line.needed("found")?;
                let events = decide_skin_read(&book, found, world.on).map_err(DeskFault::Refused)?;
                Ok(self.client_act(id, book, events, world))
            }
            "pack receive" => self.received(line).await,
            "shelf count" => self.counted(line).await,
            "shelf count all" => {
                let shelf = self.shelf_book().await?;
                line.still("the shelf", shelf.version)?;
                let on_hand: Vec<OnHand> = line.needed("on_hand")?;
                if on_hand.iter().any(|held| held.pieces > MOST_PIECES) {
                    return Err(too_many("on_hand"));
                }
                let event = ShelfEvent::AllCounted { on_hand };
                Ok(Decided::new(Act::default().shelf_at(shelf.version, vec![event]), Stream::Shelf).with("version", shelf.version + 1))
            }
            "colour keep" => {
                let (id, book) = self.hers(line).await?;
                let read: reading::Reading = line.needed("reading")?;
                let id_of = ReadingId(new_id());
                let kept = KeptReading::Photo {
                    reading: Box::new(read),
                    marks: reading::Marks { chart_corners: [[0.0; 2]; 4], hair: Vec::new(), strands: None, leave_out: Vec::new() },
                    swatch: None,
                    ranking: Vec::new(),
                    unread: Vec::new(),
                    second_of: None,
                    flaws: Vec::new(),
                };
                let document = crate::written::write_text(&kept, "a reading")?;
                let event = ClientEvent::ColourKept { reading: id_of, photo: None, document };
                let colour = salon::client::ColourSection {
                    photo: Some(format!("readings/{id_of}.jpg")),
                    marks: Some(format!("readings/{id_of}.json")),
                    ..Default::default()
                };
                let in_force = ClientEvent::FactsChanged(salon::book::FactsSection::Colour(Some(colour)));
                Ok(self.client_act(id, book, vec![event, in_force], world).with("reading", id_of.to_string()))
            }
            "visit begin" | "visit replan" | "visit close" | "piece place" | "piece add" | "piece skip" | "piece halve"
            | "piece take out" | "piece clean" | "piece re-tape" | "piece retire" | "step undo" | "regrowth measure" | "scalp see" => {
                Box::pin(self.visited(line, world)).await
            }
            "plan make" => Box::pin(self.planned(line, world)).await,
            "layout keep" => Box::pin(self.laid(line, world)).await,
            "correct" => Box::pin(self.corrected(line, world)).await,
            "plan place day" => {
                let plan: PlanId = line.needed("plan")?;
                let day: Option<Day> = line.asked("day")?;
                let id = self.client_of_plan(plan).await?;
                let book = self.client_book(id, None).await?;
                line.still("the client", book.version)?;
                let events = decide_placed(&book, plan, day).map_err(DeskFault::from)?;
                Ok(self.client_act(id, book, events, world))
            }
            other => Err(no_act(&Message::ActUnlisted { act: quoted(other) }, "act")),
        }
    }

    async fn hers(&self, line: &mut Line) -> Result<(ClientId, ClientBook), Stop> {
        let id = line.needed("client")?;
        let book = self.client_book(id, None).await?;
        line.still("the client", book.version)?;
        Ok((id, book))
    }

    fn client_act(&self, id: ClientId, book: ClientBook, events: Vec<ClientEvent>, world: &World) -> Decided {
        let (now, act) = self.act_of(id, book, events, world);
        Decided::new(act, stream_of(id)).with("version", now.version)
    }

    async fn house_set(&self, line: &mut Line) -> Result<Decided, Stop> {
        let book = self.house_book().await?;
        line.still("the house", book.house.1)?;
        let mut house: House = book.house.0.clone();
        if let Some(name) = line.asked("name")? {
            house.name = name;
        }
        if let Some(pieces) = line.asked("pieces")? {
            house.pieces = pieces;
        }
        if let Some(currency) = line.asked::<measure::Currency>("currency")? {
            house.prices.currency = Some(currency.code().to_owned());
        }
        house.prices.hour_minor = line.asked("hour_minor")?.or(house.prices.hour_minor);
        house.prices.tape_tab_minor = line.asked("tape_tab_minor")?.or(house.prices.tape_tab_minor);
        house.zone = line.asked("zone")?.or(house.zone);
        house.tax_percent = line.asked("tax_percent")?.or(house.tax_percent);
        house.prices_include_tax = line.asked("prices_include_tax")?.or(house.prices_include_tax);
        house.deposit_percent = line.asked("deposit_percent")?.or(house.deposit_percent);
        let mut faults = Vec::new();
        for (key, percent) in [("tax_percent", house.tax_percent), ("deposit_percent", house.deposit_percent)] {
            if percent.is_some_and(|percent| Percent::of(percent).is_none()) {
                faults.push(Fault::of(&Message::PercentNone, key, "house"));
            }
        }
        for (key, minor) in [("hour_minor", house.prices.hour_minor), ("tape_tab_minor", house.prices.tape_tab_minor)] {
            if minor.is_some_and(|minor| !(0..=100_000_000).contains(&minor)) {
                faults.push(Fault::of(&Message::PriceNone, key, "house"));
            }
        }
        if house.zone.as_deref().is_some_and(|zone| jiff::tz::TimeZone::get(zone).is_err()) {
            faults.push(Fault::of(&Message::ZoneNone, "zone", "house"));
        }
        if !faults.is_empty() {
            return Err(Stop::Fault(DeskFault::Refused(faults)));
        }
        // What cannot stand in a client's file cannot stand in every client's.
        check_facts(&ClientFile { pieces: Some(house.pieces.clone()), prices: Some(house.prices.clone()), ..ClientFile::default() })?;
        let act = Act::default().house_at(book.version, vec![HouseEvent::HouseSet(Box::new(house))]);
        Ok(Decided::new(act, Stream::House).with("version", book.house.1 + 1))
    }

    async fn facts(&self, line: &mut Line, world: &World, id: ClientId, book: ClientBook) -> Result<Decided, Stop> {
        let file: ClientFile = line.needed("facts")?;
        let draft = self.draft_done(line, id)?;
        let label = match line.asked::<String>("label")? {
            Some(label) => label,
            None => file.client.as_ref().and_then(|client| client.name.clone()).unwrap_or_else(|| book.label.clone()),
        };
        let mut consents = Vec::new();
        for consent in line.asked::<Vec<Map<String, Value>>>("consents")?.unwrap_or_default() {
            let text = |key: &str| consent.get(key).and_then(Value::as_str).map(str::to_owned);
            let (Some(purpose), Some(wording)) = (text("purpose"), text("wording")) else {
                return Err(no_act(&Message::ConsentIncomplete, "consents"));
            };
            consents.push((word(&purpose, Purpose::from_word, "purpose", Purpose::WORDS)?, wording));
        }
        let house = self.house_book().await?;
        check_facts(&house.house.0.complete(&file))?;
        let (kept, _) = self.health(&book, "change client", None).await?;
        let change = FactsChange { label, file, consents, seen: None };
        let decided = decide_facts(&book, kept.as_ref(), &change, HealthId(new_id()), world).map_err(DeskFault::Refused)?;
        let mut done = self.client_act(id, book, decided.events, world).with("client", id.to_string());
        if let Some((document, answers)) = decided.health {
            done.act = done.act.health(document, answers);
        }
        done.act.views.extend(draft);
        Ok(done)
    }

    async fn erased(&self, line: &mut Line, world: &World) -> Result<Decided, Stop> {
        let id: ClientId = line.needed("client")?;
        let book = self.client_book(id, None).await?;
        let (act, erases, kept) = self.erasing(id, &book, line.needed("reason")?, world).await?;
        Ok(Decided { erases, ..Decided::new(act, Stream::House).with("kept", kept) })
    }

    async fn received(&self, line: &mut Line) -> Result<Decided, Stop> {
        let shelf = self.shelf_book().await?;
        line.still("the shelf", shelf.version)?;
        let (event, ids) = came_in(line, &[])?;
        let act = Act::default().shelf_at(shelf.version, vec![event]);
        Ok(Decided::new(act, Stream::Shelf).with("pieces", ids).with("version", shelf.version + 1))
    }

    async fn counted(&self, line: &mut Line) -> Result<Decided, Stop> {
        let shelf = self.shelf_book().await?;
        line.still("the shelf", shelf.version)?;
        let act = Act::default().shelf_at(shelf.version, vec![counted(line)?]);
        Ok(Decided::new(act, Stream::Shelf).with("version", shelf.version + 1))
    }
}

/// Packs that came in, and the numbers of their pieces: the known ones first.
fn came_in(line: &mut Line, known: &[PieceId]) -> Result<(ShelfEvent, Vec<String>), Stop> {
    let (each, packs): (u32, u32) = (line.needed("pieces")?, line.needed("packs")?);
    let count = each.checked_mul(packs).filter(|all| (1..=MOST_PIECES).contains(all)).ok_or_else(|| too_many("pieces"))?;
    let new = (known.len()..count as usize).map(|_| PieceId(new_id()));
    let pieces: Vec<PieceId> = known.iter().copied().take(count as usize).chain(new).collect();
    let ids = pieces.iter().map(ToString::to_string).collect();
    let event = ShelfEvent::PackReceived {
        came: OnHand { lot: line.needed("lot")?, shade: line.needed("shade")?, length_mm: length(line)?, pieces: count },
        supplier: line.needed("supplier")?,
        packs,
        mass_g: line.asked("mass_g")?,
        tab_width_mm: line.asked("tab_width_mm")?,
        price_minor: line.asked("price_minor")?,
        pieces,
    };
    Ok((event, ids))
}

/// A lot that was counted.
fn counted(line: &mut Line) -> Result<ShelfEvent, Stop> {
    let pieces: u32 = line.needed("pieces")?;
    if pieces > MOST_PIECES {
        return Err(too_many("pieces"));
    }
    let there = OnHand { lot: line.needed("lot")?, shade: line.needed("shade")?, length_mm: length(line)?, pieces };
    Ok(ShelfEvent::Counted { there, reason: line.needed("reason")? })
}

/// How often a line is decided anew where others write at the same time.
const MOST_TRIES: u32 = 8;

/// Under which a plan's answer holds the whole plan.
const DOCUMENT: &str = "document";

/// The most pieces that a lot has.
const MOST_PIECES: u32 = 100_000;

fn too_many(place: &str) -> Stop {
    let fault = Fault::of(&Message::PiecesUncounted { most: MOST_PIECES.to_string() }, place, "shelf");
    Stop::Fault(DeskFault::Refused(vec![fault]))
}

fn length(line: &mut Line) -> Result<StockLength, Stop> {
    line.needed("length_mm")
}

fn person_add(line: &mut Line) -> Result<Decided, Stop> {
    let person = PersonId(new_id());
    let role: Role = line.needed("role")?;
    let act = Act::default().house(vec![HouseEvent::PersonAdded { person, name: line.needed("name")?, role }]);
    Ok(Decided::new(act, Stream::House).with("person", person.to_string()))
}

/// Facts may be few; what is said must be possible.
fn check_facts(file: &ClientFile) -> Result<(), Stop> {
    let beyond = crate::limits::facts(file);
    if !beyond.is_empty() {
        return Err(Stop::Fault(DeskFault::Refused(beyond)));
    }
    let Err(faults) = file.check() else { return Ok(()) };
    let said = serde_json::to_value(file).unwrap_or_default();
    let is_said = |place: &str| {
        let path = format!("/{}", place.replace(['.', '['], "/").replace(']', ""));
        said.pointer(&path).is_some()
    };
    let wrong: Vec<Fault> = faults.into_iter().filter(|fault| is_said(&fault.place.to_string())).collect();
    if wrong.is_empty() { Ok(()) } else { Err(Stop::Fault(DeskFault::Refused(wrong))) }
}

/// The line without its key, in one way of writing: what a repetition must equal.
fn canonical(line: &Line, head: &Head) -> String {
    json!({"act": line.name, "on": head.on, "at": head.at, "by": head.by, "takes": line.keys}).to_string()
}

fn done(mut answer: Map<String, Value>, appended: &[Appended], kinds: &[String]) -> Value {
    let events: Vec<Value> = appended
        .iter()
        .zip(kinds)
        .map(|(at, kind)| json!({"seq": at.seq, "stream": at.stream.to_string(), "version": at.version, "kind": kind}))
        .collect();
    answer.insert("done".to_owned(), Value::Bool(true));
    answer.insert("events".to_owned(), Value::Array(events));
    Value::Object(answer)
}

impl Act {
    /// The kinds of its events, in the order they are written.
    fn kinds(&self) -> Vec<String> {
        fn kind(event: serde_json::Result<Value>) -> String {
            event.ok().and_then(|event| event["kind"].as_str().map(str::to_owned)).unwrap_or_default()
        }
        let of = |any: &Any| match any {
            Any::Client(event) => kind(serde_json::to_value(event)),
            Any::Health(event) => kind(serde_json::to_value(event)),
            Any::House(event) => kind(serde_json::to_value(event)),
            Any::Shelf(event) => kind(serde_json::to_value(event)),
            Any::Money(event) => kind(serde_json::to_value(event)),
            Any::Diary(event) => kind(serde_json::to_value(event)),
        };
        self.writes.iter().flat_map(|(_, _, events)| events.iter().map(of)).collect()
    }
}
