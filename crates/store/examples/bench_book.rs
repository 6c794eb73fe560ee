//! Prints what the book reaches on a generated salon.
//!
//!     cargo run --release -p store --example bench_book -- [EVENTS] [PLACE]
//!
//! EVENTS is 20,000 without it; 2000000 is the size that the design page names
//! (10,000 clients, 120,000 visits). PLACE is a new folder in the system's
//! temporary one without it, or `postgres://…/name?salon=ID` with an id of your own.
//! Bodies are 120 to 260 bytes, stand-ins for piece events; same seed, same salon.

use std::process::ExitCode;
use std::sync::Arc;
use std::time::{Duration, Instant};
use store::StoreFault;
use store::book::{Batch, Book, NewEvent, Opener, Passphrase, Place, RecoveryCode, Stream, Write};
use uuid::Uuid;

/// Events that one visit adds.
const OF_A_VISIT: u64 = 16;
/// Events to a client.
const OF_A_CLIENT: u64 = 200;

#[tokio::main]
async fn main() -> ExitCode {
    let mut arguments = std::env::args().skip(1);
    let events = arguments.next().map_or(Ok(20_000), |text| text.parse::<u64>());
    let place = arguments.next().map(|text| text.parse::<Place>()).transpose();
    let (Ok(events), Ok(place)) = (events, place) else {
        eprintln!("bench_book [EVENTS] [FOLDER | postgres://…/name?salon=ID]");
        return ExitCode::from(2);
    };
    match bench(events, place).await {
        Ok(()) => ExitCode::SUCCESS,
        Err(fault) => {
            eprintln!("{fault}");
            ExitCode::from(1)
        }
    }
}

async fn bench(events: u64, place: Option<Place>) -> Result<(), StoreFault> {
    let ground = tempfile::tempdir().map_err(|cause| StoreFault::Refused(cause.to_string()))?;
    let place = place.unwrap_or_else(|| Place::Folder(ground.path().join("salon")));
    let passphrase = Passphrase::new("a passphrase for measuring".to_owned())?;
    let (book, code) = Book::begin(&place, Some(&passphrase), 0).await?;
    println!("place             {place}");
    println!("durability        {}", book.durability().await?);
    let book = fill(book, events).await?;
    alone(&book, 300).await?;
    let book = at_a_rate(book, 1000, Duration::from_secs(5)).await?;
    book.close().await;
    drop(book);
    let begun = Instant::now();
    let book = Book::open(&place, &Opener::Code(code.clone())).await?;
    println!("start by code     {:.0} ms", ms(begun.elapsed()));
    book.close().await;
    let book = start(&place, &passphrase).await?;
    reading(&book).await?;
    safety(&book, &place, &code, ground.path()).await?;
    book.close().await;
    Ok(())
}

fn client(number: u64) -> Stream {
    Stream::Client(Uuid::from_u128(u128::from(number) + 1))
}

/// A visit's events in a client's stream and on the shelf.
fn visit(number: u64, clients: u64) -> Batch {
    let length = |n: u64| 120 + ((number * 31 + n * 17) % 140) as usize;
    let body = |n: u64| NewEvent { format: 1, body: vec![(n % 251) as u8; length(n)] };
    let writes = vec![
        Write { stream: client(number * 7919 % clients), seen: None, events: (1..OF_A_VISIT).map(body).collect() },
        Write { stream: Stream::Shelf, seen: None, events: vec![body(0)] },
    ];
    Batch { at_ms: 1_770_000_000_000, actor: Uuid::nil(), writes, ..Batch::default() }
}

async fn fill(book: Book, events: u64) -> Result<Book, StoreFault> {
    let clients = (events / OF_A_CLIENT).max(1);
    let visits = events / OF_A_VISIT;
    let begun = Instant::now();
    let book = Arc::new(book);
    let mut tasks = tokio::task::JoinSet::new();
    for number in 0..visits {
        while tasks.len() >= 64 {
            done(tasks.join_next().await)?;
        }
        let book = Arc::clone(&book);
        tasks.spawn(async move { book.append(visit(number, clients)).await });
    }
    while let Some(one) = tasks.join_next().await {
        done(Some(one))?;
    }
    let took = begun.elapsed();
    println!(
        "filled            {} events, {clients} clients in {:.1} s ({:.0} events/s)",
        visits * OF_A_VISIT,
        took.as_secs_f64(),
        (visits * OF_A_VISIT) as f64 / took.as_secs_f64()
    );
    Arc::into_inner(book).ok_or_else(|| StoreFault::Refused("the book is still held".to_owned()))
}

type Joined = Option<Result<Result<Vec<store::book::Appended>, StoreFault>, tokio::task::JoinError>>;

fn done(joined: Joined) -> Result<(), StoreFault> {
    match joined {
        Some(Ok(outcome)) => outcome.map(|_| ()),
        Some(Err(cause)) => Err(StoreFault::Refused(cause.to_string())),
        None => Ok(()),
    }
}

fn one_event(number: u64) -> Batch {
    let writes = vec![Write { stream: client(number % 100), seen: None, events: vec![NewEvent { format: 1, body: vec![7; 200] }] }];
    Batch { writes, ..Batch::default() }
}

/// One after the other: what a single tap at the chair waits for.
async fn alone(book: &Book, count: u64) -> Result<(), StoreFault> {
    let mut times = Vec::new();
    for number in 0..count {
        let begun = Instant::now();
        book.append(one_event(number)).await?;
        times.push(begun.elapsed());
    }
    println!("append, alone     {}", percentiles(times));
    Ok(())
}

/// At a rate, whether the earlier ones are done or not; time counts from when it should have begun.
async fn at_a_rate(book: Book, per_second: u32, lasting: Duration) -> Result<Book, StoreFault> {
    let book = Arc::new(book);
    let step = Duration::from_secs(1) / per_second;
    let begun = Instant::now();
    let mut tasks = tokio::task::JoinSet::new();
    let mut due = Duration::ZERO;
    let mut number = 0;
    while due < lasting {
        let now = begun.elapsed();
        if now < due {
            tokio::time::sleep(due - now).await;
        }
        let (book, scheduled) = (Arc::clone(&book), begun + due);
        tasks.spawn(async move { book.append(one_event(number)).await.map(|_| scheduled.elapsed()) });
        due += step;
        number += 1;
    }
    let mut times = Vec::new();
    while let Some(one) = tasks.join_next().await {
        times.push(one.map_err(|cause| StoreFault::Refused(cause.to_string()))??);
    }
    println!("append, {per_second}/s    {}", percentiles(times));
    Arc::into_inner(book).ok_or_else(|| StoreFault::Refused("the book is still held".to_owned()))
}

async fn start(place: &Place, passphrase: &Passphrase) -> Result<Book, StoreFault> {
    let begun = Instant::now();
    let book = Book::open(place, &Opener::Passphrase(passphrase.clone())).await?;
    println!("start             {:.0} ms by passphrase", ms(begun.elapsed()));
    let begun = Instant::now();
    let streams = book.versions().await?.len();
    println!("versions          {:.1} ms for {streams} streams", ms(begun.elapsed()));
    Ok(book)
}

async fn reading(book: &Book) -> Result<(), StoreFault> {
    let streams: Vec<Stream> = book.versions().await?.into_keys().filter(|stream| matches!(stream, Stream::Client(_))).collect();
    let (mut times, mut rows) = (Vec::new(), 0);
    for n in 0..200 {
        let begun = Instant::now();
        rows += book.read(streams[n * 7919 % streams.len()], 0).await?.len();
        times.push(begun.elapsed());
    }
    println!("read one client   {}, {} events each", percentiles(times), rows / 200);
    let (begun, mut after, mut all) = (Instant::now(), 0, 0);
    loop {
        let rows = book.read_all(after, 5000, None).await?;
        let Some(last) = rows.last() else { break };
        (after, all) = (last.seq, all + rows.len());
    }
    println!("read all          {:.1} s for {all} events", begun.elapsed().as_secs_f64());
    Ok(())
}

async fn safety(book: &Book, place: &Place, code: &RecoveryCode, ground: &std::path::Path) -> Result<(), StoreFault> {
    let begun = Instant::now();
    let events = book.audit().await?.events;
    println!("audit             {:.1} s", begun.elapsed().as_secs_f64());
    let file = ground.join("backup.age");
    let begun = Instant::now();
    book.backup(&file, 0).await?;
    let bytes = |path: &std::path::Path| std::fs::metadata(path).map_or(0, |found| found.len()) as f64 / 1e6;
    println!("backup            {:.1} s, {:.0} MB", begun.elapsed().as_secs_f64(), bytes(&file));
    let begun = Instant::now();
    Book::verify(&file, code).await?;
    println!("verify            {:.1} s", begun.elapsed().as_secs_f64());
    let begun = Instant::now();
    let erased = book.erase(&[client(0)], one_event(1)).await?;
    println!("erase             {:.0} ms, let go: {}", ms(begun.elapsed()), erased.let_go);
    if let Place::Folder(folder) = place {
        let size = bytes(&folder.join("book.db"));
        println!("size              {size:.0} MB, {:.0} bytes an event", size * 1e6 / events as f64);
    }
    Ok(())
}

fn ms(time: Duration) -> f64 {
    time.as_secs_f64() * 1000.0
}

fn percentiles(mut times: Vec<Duration>) -> String {
    times.sort();
    let at = |part: usize| ms(times[(times.len() - 1) * part / 100]);
    format!("p50 {:.1} ms, p99 {:.1} ms, most {:.1} ms", at(50), at(99), at(100))
}
