//! Records of the earlier kind become a book; nothing is lost and nothing deleted.
//!
//! The book is made beside them, in a folder of its own, and takes its place only
//! when it is whole; what was there before is set aside in the same folder.

use crate::kept_plan::KeptPlan;
use crate::photos::{where_of, wheres_of_house};
use crate::plans::PlanEvents;
use crate::salon_book::Opened;
use crate::written::{Act, day_of, new_id, opened, stream_of};
use crate::{DeskFault, Salon};
use craft::matching::Ring;
use jiff::tz::TimeZone;
use salon::book::{
    BlobRef, ClientBook, ClientEvent, ClientId, Day, HealthAnswers, HealthEvent, HealthId, House, HouseEvent, PersonId, PhotoId, PlanId,
    PriceList, ReadingId, SeenBond, ShelfEvent, Stood, World,
};
use salon::client::ClientFile;
use salon::stock::Order;
use serde::Deserialize;
use serde::de::DeserializeOwned;
use std::path::{Path, PathBuf};
use store::book::{Book, Opener, Passphrase, Place, Stream};
use store::{HouseDocument, StoreFault};
use uuid::Uuid;

/// Where the book is made.
const BECOMING: &str = "becoming";
/// Where the earlier records are set aside.
const EARLIER: &str = "earlier-records";
/// The book's key: it makes the book be there, so it comes last.
const KEY: &str = "book.key";
/// Lines of a list that are read at once.
const MOST: u32 = u32::MAX;

/// What showed at the chair, as the earlier records kept it.
#[derive(Default, Deserialize)]
struct EarlierCover {
    seen: Vec<SeenBond>,
    follow: bool,
}

/// Opens a folder whose records are of the earlier kind: they become a book.
pub(crate) async fn becomes_a_book(folder: &Path, passphrase: Option<&Passphrase>) -> Result<Opened, DeskFault> {
    let phrase = passphrase.map(Passphrase::text);
    let earlier = store::EarlierRecords::open(folder, phrase.as_ref().map(|phrase| phrase.as_str())).await?;
    if passphrase.is_some() && earlier.protection() == store::Protection::FileOnly {
        earlier.close().await;
        return Err(DeskFault::Store(StoreFault::PassphraseNotWanted));
    }
    let becoming = folder.join(BECOMING);
    if becoming.exists() {
        // An attempt that was cut short: the earlier records are whole, this is not.
        std::fs::remove_dir_all(&becoming).map_err(|cause| disk("starting again", &cause))?;
    }
    let place = Place::Folder(becoming.clone());
    let (book, code) = Book::begin(&place, passphrase, crate::written::now_ms()).await?;
    let salon = Salon::of(book, place);
    let copied = copy(&earlier, &salon).await;
    salon.close().await;
    earlier.close().await;
    copied?;
    take_the_place(folder, &becoming)?;
    let place = Place::Folder(folder.to_owned());
    let opener = passphrase.map_or(Opener::Nothing, |passphrase| Opener::Passphrase(passphrase.clone()));
    let salon = Salon::of(Book::open(&place, &opener).await?, place);
    Ok(Opened { salon, code: Some(code), set_aside: Some(folder.join(EARLIER)) })
}

fn disk(what: &str, cause: &std::io::Error) -> DeskFault {
    DeskFault::Store(StoreFault::Disk { what: what.to_owned(), cause: cause.to_string() })
}

/// Moves the whole book into the folder, its key last, and sets the earlier records aside.
fn take_the_place(folder: &Path, becoming: &Path) -> Result<(), DeskFault> {
    let names =
        |of: &Path| -> std::io::Result<Vec<PathBuf>> { std::fs::read_dir(of)?.map(|entry| entry.map(|entry| entry.path())).collect() };
    let moved = || -> std::io::Result<()> {
        let mut all = names(becoming)?;
        all.sort_by_key(|path| path.file_name().is_some_and(|name| name == KEY));
        for path in all {
            let Some(name) = path.file_name() else { continue };
            let to = folder.join(name);
            if to.is_dir() {
                std::fs::remove_dir_all(&to)?;
            }
            std::fs::rename(&path, to)?;
        }
        std::fs::remove_dir(becoming)?;
        let aside = folder.join(EARLIER);
        std::fs::create_dir_all(&aside)?;
        for path in names(folder)? {
            let Some(name) = path.file_name().and_then(|name| name.to_str()) else { continue };
            if name.starts_with("salon.") {
                std::fs::rename(&path, aside.join(name))?;
            }
        }
        std::fs::File::open(folder)?.sync_all()
    };
    moved().map_err(|cause| disk("putting the new records in place", &cause))
}

fn day_at(ms: i64) -> Day {
    let date = jiff::Timestamp::from_millisecond(ms).map(|moment| moment.to_zoned_datetime(TimeZone::system()).date());
    date.map_or_else(|_| crate::written::today(), day_of)
}

fn read<T: DeserializeOwned>(text: &str, what: &str) -> Result<T, DeskFault> {
    serde_json::from_str(text).map_err(|cause| DeskFault::damaged(what, &cause))
}

fn same<T: std::str::FromStr>(id: &impl std::fmt::Display, what: &'static str) -> Result<T, DeskFault> {
    id.to_string().parse().map_err(|_| DeskFault::Unknown(what))
}

async fn copy(earlier: &store::EarlierRecords, salon: &Salon) -> Result<(), DeskFault> {
    copy_house(earlier, salon).await?;
    for line in earlier.clients("", MOST).await?.0 {
        copy_client(earlier, salon, &earlier.client(line.id).await?).await?;
    }
    salon.rebuild_views().await?;
    Ok(())
}

fn owner() -> World {
    World { on: crate::written::today(), at: None, by: PersonId(0) }
}

async fn copy_house(earlier: &store::EarlierRecords, salon: &Salon) -> Result<(), DeskFault> {
    let mut events = vec![HouseEvent::PersonAdded { person: PersonId(new_id()), name: String::new(), role: salon::book::Role::Owner }];
    if let Some(kept) = earlier.setting(HouseDocument::House).await? {
        events.push(HouseEvent::HouseSet(Box::new(read::<House>(&kept.document, "the salon's profile")?)));
    }
    if let Some(kept) = earlier.setting(HouseDocument::Ring).await? {
        events.push(HouseEvent::RingSet(read::<Ring>(&kept.document, "the ring")?));
    }
    let stock = match earlier.setting(HouseDocument::Stock).await? {
        Some(kept) => read::<Option<Order>>(&kept.document, "the shelf")?,
        None => None,
    };
    if let Some(stock) = &stock {
        let (packs, suppliers) = (stock.packs.clone(), stock.suppliers.clone());
        events.push(HouseEvent::PricesSet(PriceList { packs, suppliers, currency: stock.currency }));
    }
    if let Some(kept) = earlier.setting(HouseDocument::Cover).await? {
        let cover: EarlierCover = read(&kept.document, "what showed at the chair")?;
        events.extend(cover.seen.into_iter().map(HouseEvent::BondSeen));
        events.push(HouseEvent::CoverFollowed { follow: cover.follow });
    }
    for photo in earlier.photos_of(None).await? {
        let blob = salon.book.put_blob(Stream::House, &earlier.picture(photo.id).await?).await?;
        events.push(HouseEvent::PhotoKept {
            photo: same::<PhotoId>(&photo.id, "photo")?,
            blob: BlobRef(blob.0.as_u128()),
            note: photo.note,
        });
    }
    let counted = stock.map(|stock| ShelfEvent::AllCounted { on_hand: stock.on_hand });
    let act = Act::default().house(events).shelf_at(0, counted.into_iter().collect());
    salon.keep(&owner(), act, None).await?;
    let wheres = wheres_of_house(&*salon.house_book().await?);
    salon.keep(&owner(), Act { views: wheres, ..Act::default() }, None).await?;
    Ok(())
}

/// A client's events on their way into the book.
struct Copying<'s> {
    salon: &'s Salon,
    id: ClientId,
    book: ClientBook,
    health: Option<HealthAnswers>,
}

impl Copying<'_> {
    /// Keeps events as they happened at a moment.
    async fn keep(&mut self, at_ms: i64, events: Vec<ClientEvent>, health: Option<(HealthId, HealthEvent)>) -> Result<(), DeskFault> {
        let world = World { on: day_at(at_ms), ..owner() };
        let version = self.book.version;
        for event in &events {
            self.book.apply(event.clone(), Stood { version: self.book.version + 1, at_ms, on: world.on, minute: None });
        }
        let mut act =
            Act { at_ms: Some(at_ms), views: events.iter().filter_map(|event| where_of(self.id, event)).collect(), ..Act::default() };
        act = act.client(self.id, version, events);
        if let Some((document, event)) = health {
            act = act.of_health(document, event);
        }
        self.salon.keep(&world, act, None).await?;
        Ok(())
    }

    async fn facts(&mut self, at_ms: i64, label: &str, file: &ClientFile) -> Result<(), DeskFault> {
        let (sections, answers) = self.book.facts.changes(file, day_at(at_ms), self.health.as_ref());
        let mut events = Vec::new();
        if self.book.version == 0 {
            events.push(ClientEvent::ClientAdded { label: label.to_owned() });
        }
        let mut health = None;
        if answers != self.health.clone().unwrap_or_default() {
            let document = self.book.health.unwrap_or(HealthId(new_id()));
            events.push(ClientEvent::HealthKept { document });
            self.health = Some(answers.clone());
            health = Some((document, HealthEvent::HealthAnswered(answers)));
        }
        events.extend(sections.into_iter().map(ClientEvent::FactsChanged));
        if events.is_empty() { Ok(()) } else { self.keep(at_ms, events, health).await }
    }
}

async fn copy_client(earlier: &store::EarlierRecords, salon: &Salon, client: &store::Client) -> Result<(), DeskFault> {
    let id: ClientId = same(&client.id, "client")?;
    let mut copying = Copying { salon, id, book: ClientBook::default(), health: None };
    let plans = earlier.plans_of(client.id).await?;
    // Each version of her facts, and the stream's version after it.
    let mut facts_at = Vec::new();
    for version in 1..=client.version {
        let file: ClientFile = read(&earlier.facts_at(client.id, version).await?, "a client's facts")?;
        // Only the first and the last change have a time of their own; a plan tells one more.
        let planned = plans.iter().filter(|plan| plan.facts_version == version).map(|plan| plan.made_ms).min();
        let at_ms = match version {
            1 => client.added_ms,
            _ if version == client.version => client.changed_ms,
            _ => planned.unwrap_or(client.changed_ms),
        };
        copying.facts(at_ms, &client.label, &file).await?;
        facts_at.push(copying.book.version);
    }
    let mut photos = earlier.photos_of(Some(client.id)).await?;
    photos.sort_by_key(|photo| photo.kept_ms);
    for photo in photos {
        let blob = salon.book.put_blob(stream_of(id), &earlier.picture(photo.id).await?).await?;
        let event =
            ClientEvent::PhotoKept { photo: same::<PhotoId>(&photo.id, "photo")?, blob: BlobRef(blob.0.as_u128()), note: photo.note };
        copying.keep(photo.kept_ms, vec![event], None).await?;
    }
    let mut readings = earlier.readings_of(client.id).await?;
    readings.sort_by_key(|reading| (reading.seen_ms, !reading.superseded));
    for reading in readings {
        let photo = reading.photo.map(|photo| same::<PhotoId>(&photo, "photo")).transpose()?;
        let event = ClientEvent::ColourKept { reading: same::<ReadingId>(&reading.id, "reading")?, photo, document: reading.document };
        copying.keep(reading.seen_ms, vec![event], None).await?;
    }
    for line in plans.iter().rev() {
        let plan = earlier.plan(line.id).await?;
        let kept: KeptPlan = read(&plan.document, "a plan")?;
        let at = usize::try_from(plan.facts_version - 1).ok().and_then(|at| facts_at.get(at)).copied().unwrap_or(copying.book.version);
        let plan_id: PlanId = same(&plan.id, "plan")?;
        let made_on = day_at(plan.made_ms);
        let PlanEvents { made, judged, .. } =
            salon.keep_earlier_plan((id, made_on, copying.book.health), kept, (plan_id, plan.seed, plan.scalp, at)).await?;
        let mut events = vec![made];
        if let Some(day) = plan.placed_on.as_deref().and_then(|day| day.parse().ok()) {
            events.push(ClientEvent::PlanPlaced { plan: plan_id, day: Some(day) });
        }
        copying.keep(plan.made_ms, events, judged).await?;
    }
    check(salon, id, &copying.book).await
}

/// What was written is what will be read.
async fn check(salon: &Salon, id: ClientId, wrote: &ClientBook) -> Result<(), DeskFault> {
    let mut book = ClientBook::default();
    for row in salon.book.read(Stream::Client(Uuid::from_u128(id.0)), 0).await? {
        let (event, stood) = opened::<ClientEvent>(&row)?;
        book.apply(event, stood);
    }
    if book == *wrote {
        Ok(())
    } else {
        Err(DeskFault::damaged("the earlier records", &"a client reads back otherwise than she was written"))
    }
}
