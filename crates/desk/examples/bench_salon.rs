//! Holds the desk and the book against the numbers that are promised for a large
//! salon: 10,000 clients, 120,000 visits, 2 million events of pieces.
//!
//!     cargo run --release -p desk --example bench_salon -- [SCALE] [folder | database | salons]
//!
//! SCALE is 1 for that size, 0.05 without it. The salon is made once, from a
//! seed, in a folder under the build's own and is used again as long as size and
//! generator are the same; what is measured is a copy of it. `folder` leaves the
//! database out, `database` measures the same salon there, `salons` looks for
//! rows of one salon in another's answers (100 salons of 1,000 clients, times
//! SCALE); without a word all three. Times are of this machine as it is: the load
//! is printed beside them, and for what takes seconds what this program alone worked.

#[path = "../../store/tests/ground/mod.rs"]
mod ground;
mod made;

use desk::{ClientId, DeskFault, Passphrase, Place, RecoveryCode, Salon};
use ground::chance::Chance;
use made::Size;
use serde_json::{Value, json};
use std::collections::HashSet;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;
use std::time::{Duration, Instant};
use store::StoreFault;
use store::book::{Batch, Book, Erasures, NewEvent, Opener, Restorer, Stream, Write};
use uuid::Uuid;

const SEED: u64 = 2026;
/// Another number makes kept salons anew.
const GENERATOR: u64 = 4;
const PHRASE: &str = "a passphrase for measuring";
/// The day on which pages are asked for: the end of the last year that was made.
const ON: &str = "2025-12-29";

#[tokio::main]
async fn main() -> ExitCode {
    let mut arguments = std::env::args().skip(1);
    let scale = arguments.next().map_or(Ok(0.05), |text| text.parse::<f64>());
    let part = arguments.next();
    let known = part.as_deref().is_none_or(|part| ["folder", "database", "salons"].contains(&part));
    let (Ok(scale), true) = (scale, known) else {
        eprintln!("bench_salon [SCALE] [folder | database | salons]");
        return ExitCode::from(2);
    };
    match bench(scale, part.as_deref()).await {
        Ok(()) => ExitCode::SUCCESS,
        Err(fault) => {
            eprintln!("{fault}");
            ExitCode::from(1)
        }
    }
}

async fn bench(scale: f64, part: Option<&str>) -> Result<(), DeskFault> {
    let wanted = |name: &str| part.is_none_or(|part| part == name);
    let target = target()?;
    if wanted("folder") || wanted("database") {
        let size = Size::of(scale);
        let (folder, code) = made_salon(&target, size).await?;
        let work = target.join("salon-measured");
        if wanted("folder") {
            copied(&folder, &work)?;
            in_a_folder(&work, &code, size).await?;
        }
        if wanted("database") {
            in_a_database(&folder, &work, &code).await?;
        }
        remove(&work)?;
    }
    if wanted("salons") {
        many_salons(scale).await?;
    }
    Ok(())
}

/// The folder that the build writes to: three above this program (`release/examples/`).
fn target() -> Result<PathBuf, DeskFault> {
    let own = std::env::current_exe().map_err(|cause| disk("looking for the build's folder", &cause))?;
    Ok(own.ancestors().nth(3).unwrap_or(Path::new(".")).to_owned())
}

fn disk(what: &str, cause: &std::io::Error) -> DeskFault {
    DeskFault::Store(StoreFault::Disk { what: what.to_owned(), cause: cause.to_string() })
}

fn remove(path: &Path) -> Result<(), DeskFault> {
    if path.exists() { std::fs::remove_dir_all(path).map_err(|cause| disk("clearing away", &cause)) } else { Ok(()) }
}

fn copied(from: &Path, to: &Path) -> Result<(), DeskFault> {
    fn copy(from: &Path, to: &Path) -> std::io::Result<()> {
        std::fs::create_dir_all(to)?;
        for entry in std::fs::read_dir(from)? {
            let entry = entry?;
            let there = to.join(entry.file_name());
            if entry.file_type()?.is_dir() { copy(&entry.path(), &there)? } else { std::fs::copy(entry.path(), there).map(|_| ())? }
        }
        Ok(())
    }
    remove(to)?;
    copy(from, to).map_err(|cause| disk("copying the salon", &cause))
}

fn on() -> Result<salon::book::Day, DeskFault> {
    ON.parse().map_err(|cause: salon::book::NoDay| DeskFault::Store(StoreFault::Refused(cause.to_string())))
}

fn phrase() -> Result<Passphrase, DeskFault> {
    Ok(Passphrase::new(PHRASE.to_owned())?)
}

/// The salon of a size, made now or earlier; and its recovery code.
async fn made_salon(target: &Path, size: Size) -> Result<(PathBuf, RecoveryCode), DeskFault> {
    let folder = target.join(format!("salon-made-{}", size.clients));
    let note = folder.join("made.json");
    let fits = |kept: &Value| kept["seed"] == SEED && kept["generator"] == GENERATOR && kept["size"] == format!("{size:?}");
    let kept = std::fs::read_to_string(&note).ok().and_then(|text| serde_json::from_str::<Value>(&text).ok()).filter(fits);
    let place = folder.join("salon");
    if let Some(code) = kept.as_ref().and_then(|kept| kept["code"].as_str()) {
        println!(
            "salon             {} clients, {} visits, {} events of pieces, as it was made earlier",
            size.clients, size.visits, size.pieces
        );
        return Ok((place, code.parse().map_err(DeskFault::from)?));
    }
    remove(&folder)?;
    let begun = Instant::now();
    let code = made::make(&Place::Folder(place.clone()), size, SEED, &phrase()?).await?;
    let text = json!({"seed": SEED, "generator": GENERATOR, "size": format!("{size:?}"), "code": code.printed().to_string()}).to_string();
    std::fs::write(&note, text).map_err(|cause| disk("noting what was made", &cause))?;
    let took = format!("{:.0} s, {:.0} s of work", begun.elapsed().as_secs_f64(), work_so_far());
    println!("salon             {} clients, {} visits, {} events of pieces, made in {took}", size.clients, size.visits, size.pieces);
    Ok((place, code))
}

/// Everything that is promised of a salon in a folder.
async fn in_a_folder(work: &Path, code: &RecoveryCode, size: Size) -> Result<(), DeskFault> {
    println!("== in a folder, load {}", load());
    let place = Place::Folder(work.to_owned());
    // What was handed in past the desk has no rows of views; at work every act writes its own.
    let salon = Salon::open(&place, Some(&phrase()?)).await?.salon;
    let (begun, worked) = (Instant::now(), work_so_far());
    let rows = salon.rebuild_views().await?;
    say("rebuild of views", begun.elapsed().as_secs_f64(), "s", 60.0, &format!("{rows} rows; {:.1} s of work", work_so_far() - worked));
    salon.close().await;
    drop(salon);
    let salon = first_page(&place, 1.0).await?;
    pages(&salon, 1.0).await?;
    let events = salon.records().await?.events;
    let bytes = file(&work.join("book.db")) + file(&work.join("book.db-wal"));
    say("records", bytes / 1e9, "GB", 1.2, &format!("{events} events, {:.0} bytes each, without blobs", bytes / events as f64));
    let archive = work.join("backup.age");
    let (begun, worked) = (Instant::now(), work_so_far());
    salon.backup(&archive).await?;
    let megabytes = file(&archive) / 1e6;
    say(
        "backup",
        begun.elapsed().as_secs_f64(),
        "s",
        20.0,
        &format!("{megabytes:.0} MB with the plans' documents; {:.1} s of work", work_so_far() - worked),
    );
    let (begun, worked) = (Instant::now(), work_so_far());
    Salon::verify(&archive, code).await?;
    say("verify", begun.elapsed().as_secs_f64(), "s", 60.0, &format!("{:.1} s of work", work_so_far() - worked));
    erase(&salon).await?;
    salon.close().await;
    drop(salon);
    let book = Book::open(&place, &Opener::Code(code.clone())).await?;
    at_a_rate(book, size, 1000, Duration::from_secs(10)).await
}

/// The same salon in a database, from an archive of it.
async fn in_a_database(folder: &Path, work: &Path, code: &RecoveryCode) -> Result<(), DeskFault> {
    std::fs::create_dir_all(work).map_err(|cause| disk("making a folder", &cause))?;
    let archive = work.join("for-the-database.age");
    let book = Book::open(&Place::Folder(folder.to_owned()), &Opener::Code(code.clone())).await?;
    if archive.exists() {
        std::fs::remove_file(&archive).map_err(|cause| disk("clearing away", &cause))?;
    }
    book.backup(&archive, 0).await?;
    let salon = book.salon();
    book.close().await;
    let server = ground::durable_server();
    let place = Place::Postgres { url: server.url("keeper"), salon };
    let begun = Instant::now();
    let by = Restorer { who: Uuid::nil(), at_ms: 0 };
    let (book, _) = Book::restore(&archive, &place, code, Some(&phrase()?), &Erasures::Beside, by).await?;
    println!("== in a database, load {}; restored into it in {:.0} s", load(), begun.elapsed().as_secs_f64());
    book.close().await;
    let salon = Salon::open(&place, Some(&phrase()?)).await?.salon;
    let begun = Instant::now();
    salon.rebuild_views().await?;
    say("rebuild of views", begun.elapsed().as_secs_f64(), "s", 120.0, "");
    salon.close().await;
    let salon = first_page(&place, 2.0).await?;
    pages(&salon, 2.0).await?;
    erase(&salon).await?;
    salon.close().await;
    Ok(())
}

/// Opens the salon and asks for what the first page shows.
async fn first_page(place: &Place, times: f64) -> Result<Salon, DeskFault> {
    let begun = Instant::now();
    let salon = Salon::open(place, Some(&phrase()?)).await?.salon;
    let opened = begun.elapsed();
    salon.clients("", 200).await?;
    salon.house().await?;
    salon.ring().await?;
    let all = begun.elapsed();
    say(
        "start, first page",
        ms(all),
        "ms",
        300.0 * times,
        &format!("{:.0} ms of it opening, the passphrase's own cost included", ms(opened)),
    );
    Ok(salon)
}

/// Pages as they are asked for while others write.
async fn pages(salon: &Salon, times: f64) -> Result<(), DeskFault> {
    let on = on()?;
    let (lines, _) = salon.clients("", u32::MAX).await?;
    let mut chance = Chance(7);
    let mut took = Vec::new();
    for _ in 0..300 {
        let id = chance.of(&lines).id;
        let begun = Instant::now();
        salon.show_client(id, on).await?;
        took.push(begun.elapsed());
    }
    told("client, asked", took, 20.0 * times);
    let mut took = Vec::new();
    for _ in 0..300 {
        let id = chance.of(&lines).id;
        let begun = Instant::now();
        salon.client(id).await?;
        salon.plans_of(id).await?;
        salon.house().await?;
        salon.ring().await?;
        took.push(begun.elapsed());
    }
    told("client page", took, 20.0 * times);
    planned(salon, &lines).await?;
    let mut took = Vec::new();
    for at in 0..60 {
        changed(salon, chance.of(&lines).id, at).await?;
        let begun = Instant::now();
        salon.show_due(on).await?;
        took.push(begun.elapsed());
    }
    told("due list", took, 50.0 * times);
    let mut took = Vec::new();
    for at in 0..120 {
        let name = chance.of(&lines).label.clone();
        // Somebody writes between two who search.
        changed(salon, chance.of(&lines).id, at).await?;
        for letters in 1..=name.chars().count().min(6) {
            let typed: String = name.chars().take(letters).collect();
            let begun = Instant::now();
            salon.clients(&typed, 200).await?;
            took.push(begun.elapsed());
        }
    }
    told("search", took, 30.0 * times);
    let begun = Instant::now();
    salon.stock().await?;
    let first = begun.elapsed();
    let begun = Instant::now();
    salon.stock().await?;
    println!("shelf page        {:.1} ms, the first time {:.1} ms", ms(begun.elapsed()), ms(first));
    Ok(())
}

/// Plans as their pages show them: each with what it was made from.
async fn planned(salon: &Salon, lines: &[desk::ClientLine]) -> Result<(), DeskFault> {
    let mut chance = Chance(11);
    let plans: Vec<_> = lines.iter().filter_map(|line| line.newest_plan).collect();
    let mut took = Vec::new();
    for _ in 0..100 {
        if let Some(plan) = plans.get(chance.below(plans.len() as u64) as usize) {
            let begun = Instant::now();
            salon.plan(*plan).await?;
            took.push(begun.elapsed());
        }
    }
    println!("plan page         {}, no bar is set", percentiles(took));
    Ok(())
}

/// A small change of a client, so that lists are no longer what they were.
async fn changed(salon: &Salon, id: ClientId, at: u64) -> Result<(), DeskFault> {
    let line = json!({"act": "consent give", "on": ON, "client": id.to_string(), "purpose": "contact", "wording": format!("contact-{at}")});
    let (answer, _) = salon.act(&line.to_string()).await;
    if answer["done"] == true { Ok(()) } else { Err(DeskFault::Store(StoreFault::Refused(answer.to_string()))) }
}

async fn erase(salon: &Salon) -> Result<(), DeskFault> {
    let (lines, _) = salon.clients("", 1).await?;
    let Some(line) = lines.first() else { return Ok(()) };
    let erase = json!({"act": "client erase", "on": ON, "client": line.id.to_string(), "reason": "she asked"});
    let begun = Instant::now();
    let (answer, _) = salon.act(&erase.to_string()).await;
    if answer["done"] != true {
        return Err(DeskFault::Store(StoreFault::Refused(answer.to_string())));
    }
    say("erase", begun.elapsed().as_secs_f64(), "s", 1.0, "");
    Ok(())
}

/// Appends at a rate, whether the earlier ones are done or not; time counts from when each should have begun.
async fn at_a_rate(book: Book, size: Size, per_second: u32, lasting: Duration) -> Result<(), DeskFault> {
    let book = Arc::new(book);
    let clients: Vec<Stream> = book.versions().await?.into_keys().filter(|stream| matches!(stream, Stream::Client(_))).collect();
    let step = Duration::from_secs(1) / per_second;
    let mut chance = Chance(size.clients);
    let begun = Instant::now();
    let (mut tasks, mut due) = (tokio::task::JoinSet::new(), Duration::ZERO);
    while due < lasting {
        let now = begun.elapsed();
        if now < due {
            tokio::time::sleep(due - now).await;
        }
        let (book, scheduled, stream) = (Arc::clone(&book), begun + due, *chance.of(&clients));
        tasks.spawn(async move {
            let writes = vec![Write { stream, seen: None, events: vec![NewEvent { format: 1, body: vec![7; 200] }] }];
            match book.append(Batch { writes, ..Batch::default() }).await {
                // The client who was erased above.
                Ok(_) | Err(StoreFault::Erased(_)) => Ok(scheduled.elapsed()),
                Err(fault) => Err(fault),
            }
        });
        due += step;
    }
    let mut took = Vec::new();
    while let Some(one) = tasks.join_next().await {
        took.push(one.map_err(|cause| StoreFault::Refused(cause.to_string()))??);
    }
    told(&format!("append, {per_second}/s"), took, 40.0);
    book.close().await;
    Ok(())
}

/// Many salons in one database: whatever one is asked, it answers with its own.
async fn many_salons(scale: f64) -> Result<(), DeskFault> {
    let (count, clients) = (100_u64, ((1000.0 * scale).round() as u64).max(2));
    let server = ground::durable_server();
    let begun = Instant::now();
    let mut salons: Vec<(Place, Vec<ClientId>)> = Vec::new();
    for number in 0..count {
        let place = server.place();
        let ids = made::small(&place, number, clients, &phrase()?).await?;
        salons.push((place, ids));
    }
    println!("== {count} salons of {clients} clients in one database, made in {:.0} s, load {}", begun.elapsed().as_secs_f64(), load());
    let mut chance = Chance(SEED);
    let (mut asked, mut rows, mut strange) = (0_u64, 0_u64, 0_u64);
    let mut took = Vec::new();
    while asked < 1000 {
        let number = chance.below(count);
        let (place, own) = &salons[number as usize];
        let own: HashSet<ClientId> = own.iter().copied().collect();
        let salon = Salon::open(place, Some(&phrase()?)).await?.salon;
        for _ in 0..40 {
            let (other, theirs) = (chance.below(count), chance.next());
            let (_, others) = &salons[other as usize];
            let id = *Chance(theirs).of(others);
            let begun = Instant::now();
            let found: Vec<ClientId> = match asked % 4 {
                0 => salon.show_client(id, on()?).await.map_or_else(|_| Vec::new(), |_| vec![id]),
                1 => salon.clients(&format!("of {other}"), u32::MAX).await?.0.iter().map(|line| line.id).collect(),
                2 => salon.clients("", u32::MAX).await?.0.iter().map(|line| line.id).collect(),
                _ => salon.plans_of(id).await.map_or_else(|_| Vec::new(), |_| vec![id]),
            };
            took.push(begun.elapsed());
            asked += 1;
            rows += found.len() as u64;
            strange += found.iter().filter(|id| !own.contains(*id)).count() as u64;
        }
        salon.close().await;
        // Past the program: the salon's own role, and all there is.
        if let Place::Postgres { salon, .. } = place {
            let role = format!("salon_{}", salon.simple());
            for table in ["event", "stream", "stream_key", "view_row", "blob", "key_document"] {
                let sql = format!("SELECT count(*) FROM strandwright.{table} WHERE salon <> decode('{}', 'hex')", salon.simple());
                strange += server.psql_as(&role, "hair", &sql).parse::<u64>().unwrap_or(1);
            }
        }
    }
    println!("queries           {asked} gave {rows} rows, {strange} of another salon (bar 0); {}", percentiles(took));
    Ok(())
}

/// How busy this machine is, over one minute.
fn load() -> String {
    let text = std::fs::read_to_string("/proc/loadavg").unwrap_or_default();
    text.split_whitespace().next().unwrap_or("unknown").to_owned()
}

/// Seconds that this program's threads have worked so far, in its own code and the system's.
///
/// *Source*: key `procpidstat`, fields 14 and 15, in ticks of a hundredth of a second.
fn work_so_far() -> f64 {
    let text = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let after_name = text.rsplit_once(')').map_or("", |(_, rest)| rest);
    let ticks: f64 = after_name.split_whitespace().skip(11).take(2).filter_map(|field| field.parse::<f64>().ok()).sum();
    ticks / 100.0
}

fn file(path: &Path) -> f64 {
    std::fs::metadata(path).map_or(0.0, |found| found.len() as f64)
}

fn ms(time: Duration) -> f64 {
    time.as_secs_f64() * 1000.0
}

fn say(what: &str, found: f64, unit: &str, bar: f64, more: &str) {
    let held = if found <= bar { "held" } else { "MISSED" };
    println!("{what:<17} {found:.2} {unit}, bar {bar} {unit}: {held}. {more}");
}

/// Times against a bar that 99 of 100 must keep.
fn told(what: &str, mut took: Vec<Duration>, bar: f64) {
    took.sort();
    let p99 = took.get(took.len().saturating_sub(1) * 99 / 100).copied().unwrap_or_default();
    say(what, ms(p99), "ms", bar, &percentiles(took));
}

fn percentiles(mut times: Vec<Duration>) -> String {
    times.sort();
    let at = |part: usize| times.get(times.len().saturating_sub(1) * part / 100).map_or(0.0, |time| ms(*time));
    format!("p50 {:.1} ms, p99 {:.1} ms, most {:.1} ms", at(50), at(99), at(100))
}
