//! The book against a plain model in memory: operations drawn by chance, with
//! stale versions, repeated keys, erasures and restarts, and every answer compared.
//!
//! `STRANDWRIGHT_OPERATIONS` sets how many (without it 10,000 in a folder and
//! 3,000 in a database), `STRANDWRIGHT_SEED` repeats a run.

mod ground;

use ground::chance::{Chance, asked, seed};
use ground::{event, passphrase, quick_folder, server};
use std::collections::{BTreeMap, BTreeSet};
use store::StoreFault;
use store::book::{
    Access, Appended, Batch, BlobId, Body, Book, Erasures, NewEvent, Once, Opener, Place, RecoveryCode, Restorer, Stream, ViewRow,
    ViewWrite, Write,
};
use uuid::Uuid;

#[derive(Debug, Clone, PartialEq)]
struct Kept {
    seq: u64,
    at_ms: i64,
    actor: Uuid,
    format: u32,
    body: Vec<u8>,
}

/// What a book is, without engines, ciphers and files.
#[derive(Default)]
struct Model {
    streams: BTreeMap<Stream, Vec<Kept>>,
    order: Vec<(Stream, u64)>,
    erased: Vec<Stream>,
    blobs: BTreeMap<BlobId, (Stream, Vec<u8>)>,
    views: BTreeMap<(String, Vec<u8>), (Stream, Vec<u8>)>,
    numbers: BTreeMap<String, u64>,
    answers: BTreeMap<String, (Stream, [u8; 32], Vec<u8>)>,
    accesses: usize,
}

/// What a batch must come to.
#[derive(Debug, PartialEq)]
enum Outcome {
    Appended(Vec<Appended>),
    Stale(Stream, u64, u64),
    Repeated,
    Erased(Stream),
}

/// A batch that can be handed in and looked at.
#[derive(Clone)]
struct Plan {
    at_ms: i64,
    actor: Uuid,
    writes: Vec<Write>,
    once: Option<(String, Stream)>,
    views: Vec<ViewWrite>,
}

impl Plan {
    fn batch(&self) -> Batch {
        let once = self.once.clone().map(|(key, owner)| Once { line_hash: [key.len() as u8; 32], key, owner, answer: Box::new(answer) });
        Batch { at_ms: self.at_ms, actor: self.actor, writes: self.writes.clone(), once, views: self.views.clone() }
    }
}

fn answer(appended: &[Appended]) -> Vec<u8> {
    format!("{appended:?}").into_bytes()
}

impl Model {
    fn version(&self, stream: Stream) -> u64 {
        self.streams.get(&stream).map_or(0, |rows| rows.len() as u64)
    }

    fn is_erased(&self, stream: Stream) -> bool {
        self.erased.contains(&stream.key_owner())
    }

    fn append(&mut self, plan: &Plan) -> Outcome {
        if let Some((key, _)) = &plan.once
            && self.answers.contains_key(key)
        {
            return Outcome::Repeated;
        }
        let mut touched: Vec<Stream> = Vec::new();
        for write in &plan.writes {
            // The first write that cannot be decides.
            let now = self.version(write.stream);
            if let Some(seen) = write.seen.filter(|seen| *seen != now) {
                return Outcome::Stale(write.stream, seen, now);
            }
            if !write.events.is_empty() {
                if self.is_erased(write.stream) {
                    return Outcome::Erased(write.stream.key_owner());
                }
                touched.push(write.stream);
            }
        }
        let owners = plan.views.iter().filter_map(|view| match view {
            ViewWrite::Put { owner, .. } => Some(*owner),
            _ => None,
        });
        for owner in owners.chain(plan.once.iter().map(|(_, owner)| *owner)) {
            if self.is_erased(owner) {
                return Outcome::Erased(owner.key_owner());
            }
        }
        let mut appended = Vec::new();
        for write in &plan.writes {
            for event in &write.events {
                let rows = self.streams.entry(write.stream).or_default();
                let (seq, version) = (self.order.len() as u64 + 1, rows.len() as u64 + 1);
                rows.push(Kept { seq, at_ms: plan.at_ms, actor: plan.actor, format: event.format, body: event.body.clone() });
                self.order.push((write.stream, version));
                appended.push(Appended { seq, stream: write.stream, version });
            }
        }
        for view in plan.views.clone() {
            match view {
                ViewWrite::Put { view, key, owner, body } => drop(self.views.insert((view, key), (owner, body))),
                ViewWrite::Take { view, key } => drop(self.views.remove(&(view, key))),
                ViewWrite::Clear { view } => {
                    self.views.retain(|(name, _), _| *name != view);
                    self.numbers.remove(&view);
                }
                ViewWrite::Number { view, number } => drop(self.numbers.insert(view, number)),
            }
        }
        if let Some((key, owner)) = plan.once.clone() {
            let hash = [key.len() as u8; 32];
            self.answers.insert(key, (owner, hash, answer(&appended)));
        }
        Outcome::Appended(appended)
    }

    fn erase(&mut self, streams: &[Stream]) -> u64 {
        let mut keys = 0;
        for stream in streams {
            if self.erased.contains(stream) {
                continue;
            }
            self.erased.push(*stream);
            let wrote = self.version(*stream) > 0 || self.blobs.values().any(|(owner, _)| owner == stream);
            let owned = self.views.values().any(|(owner, _)| owner == stream) || self.answers.values().any(|(owner, ..)| owner == stream);
            keys += u64::from(wrote || owned);
            self.blobs.retain(|_, (owner, _)| owner != stream);
            self.views.retain(|_, (owner, _)| owner != stream);
            self.answers.retain(|_, (owner, ..)| owner != stream);
        }
        keys
    }
}

/// Where the book is kept and how it is opened again.
struct Run {
    place: Place,
    opener: Opener,
    code: RecoveryCode,
    ground: tempfile::TempDir,
    chance: Chance,
    clients: Vec<Stream>,
    health: Vec<Uuid>,
    /// Owners whose key was once made though nothing of theirs is left in the model.
    made: BTreeSet<Stream>,
    archives: u32,
}

impl Run {
    fn stream(&mut self) -> Stream {
        let health = *self.chance.of(&self.health.clone());
        let client = *self.chance.of(&self.clients.clone());
        *self.chance.of(&[
            client,
            client,
            client,
            client,
            Stream::Health(health),
            Stream::Shelf,
            Stream::Money,
            Stream::Diary,
            Stream::House,
        ])
    }

    /// A stream that may own rows of views and answers.
    fn owner(&mut self) -> Stream {
        let client = *self.chance.of(&self.clients.clone());
        *self.chance.of(&[client, client, Stream::House])
    }

    fn plan(&mut self, model: &Model) -> Plan {
        let mut streams = BTreeSet::new();
        for _ in 0..=self.chance.below(3) {
            streams.insert(self.stream());
        }
        let writes = streams
            .into_iter()
            .map(|stream| {
                let now = model.version(stream);
                let seen = match self.chance.below(10) {
                    0 => Some(now + 1),
                    1 if now > 0 => Some(now - 1),
                    2..=4 => None,
                    _ => Some(now),
                };
                Write { stream, seen, events: self.events() }
            })
            .collect();
        let once = self.chance.one_in(3).then(|| (format!("key {}", self.chance.below(400)), self.owner()));
        let views = (0..self.chance.below(4)).map(|_| self.view()).collect();
        Plan { at_ms: self.chance.next() as i64, actor: Uuid::from_u128(u128::from(self.chance.below(5))), writes, once, views }
    }

    fn events(&mut self) -> Vec<NewEvent> {
        (0..self.chance.below(4))
            .map(|_| {
                let length = if self.chance.one_in(200) { 40_000 } else { self.chance.below(60) };
                let text: String = (0..length).map(|_| char::from(b'a' + (self.chance.next() % 26) as u8)).collect();
                event(self.chance.below(9) as u32, &text)
            })
            .collect()
    }

    fn view(&mut self) -> ViewWrite {
        let view = (*self.chance.of(&["due", "cards"])).to_owned();
        let key = vec![self.chance.below(12) as u8];
        match self.chance.below(20) {
            0 => ViewWrite::Clear { view },
            1 => ViewWrite::Number { view, number: self.chance.below(9) },
            2..=4 => ViewWrite::Take { view, key },
            _ => ViewWrite::Put { view, key, owner: self.owner(), body: self.chance.next().to_be_bytes().to_vec() },
        }
    }

    async fn open(&self) -> Book {
        Book::open(&self.place, &self.opener).await.unwrap()
    }
}

async fn append(run: &mut Run, book: &Book, model: &mut Model) {
    let plan = run.plan(model);
    let expected = model.append(&plan);
    let found = match book.append(plan.batch()).await {
        Ok(appended) => Outcome::Appended(appended),
        Err(StoreFault::Stale { stream, seen, now }) => Outcome::Stale(stream, seen, now),
        Err(StoreFault::Repeated) => Outcome::Repeated,
        Err(StoreFault::Erased(stream)) => Outcome::Erased(stream),
        Err(fault) => panic!("{fault}"),
    };
    assert_eq!(found, expected);
    if let Outcome::Appended(appended) = &found {
        run.made.extend(appended.iter().map(|one| one.stream.key_owner()));
        run.made.extend(plan.once.iter().map(|(_, owner)| owner.key_owner()));
        run.made.extend(
            plan.views.iter().filter_map(|view| if let ViewWrite::Put { owner, .. } = view { Some(owner.key_owner()) } else { None }),
        );
    }
}

async fn read(run: &mut Run, book: &Book, model: &mut Model) {
    let stream = run.stream();
    let after = run.chance.below(model.version(stream) + 2);
    let access = Access { who: Uuid::nil(), at_ms: 0, why: "try".into() };
    let rows = if let Stream::Health(document) = stream {
        model.accesses += 1;
        book.read_health(document, after, &access).await
    } else {
        book.read(stream, after).await
    };
    if model.is_erased(stream) {
        assert!(matches!(rows, Err(StoreFault::Erased(erased)) if erased == stream));
        return;
    }
    let found: Vec<Kept> = rows
        .unwrap()
        .iter()
        .map(|row| Kept { seq: row.seq, at_ms: row.at_ms, actor: row.actor, format: row.format, body: row.opened().unwrap().to_vec() })
        .collect();
    let expected = model.streams.get(&stream).map_or(&[][..], |rows| rows.get(after as usize..).unwrap_or(&[]));
    assert_eq!(found, expected, "{stream}");
    assert_eq!(book.version(stream).await.unwrap(), model.version(stream));
}

async fn read_all(run: &mut Run, book: &Book, model: &Model) {
    let after = run.chance.below(model.order.len() as u64 + 2);
    let rows = book.read_all(after, 50, None).await.unwrap();
    let expected = model.order.iter().zip(1_u64..).skip(after as usize).take(50);
    assert_eq!(rows.len(), expected.clone().count());
    for (row, ((stream, version), seq)) in rows.iter().zip(expected) {
        assert_eq!((row.seq, row.stream, row.version), (seq, *stream, *version));
        let body = match stream {
            _ if model.is_erased(*stream) => Body::Erased,
            Stream::Health(_) => Body::Closed,
            _ => Body::Open(model.streams[stream][*version as usize - 1].body.clone()),
        };
        assert_eq!(row.body, body);
    }
}

async fn blobs(run: &mut Run, book: &Book, model: &mut Model) {
    if run.chance.one_in(2) {
        let owner = run.owner();
        let bytes = run.chance.next().to_be_bytes().repeat(run.chance.below(300) as usize);
        match book.put_blob(owner, &bytes).await {
            Ok(id) => {
                assert!(!model.is_erased(owner));
                run.made.insert(owner.key_owner());
                assert!(model.blobs.insert(id, (owner, bytes)).is_none(), "a name twice");
            }
            Err(StoreFault::Erased(_)) => assert!(model.is_erased(owner)),
            Err(fault) => panic!("{fault}"),
        }
    } else if let Some((id, (_, bytes))) = model.blobs.iter().nth(run.chance.below(model.blobs.len().max(1) as u64) as usize) {
        assert_eq!(book.blob(*id).await.unwrap(), *bytes);
    }
}

async fn views_and_answers(run: &mut Run, book: &Book, model: &Model) {
    let view = *run.chance.of(&["due", "cards", "none"]);
    let expected: Vec<ViewRow> = model
        .views
        .iter()
        .filter(|((name, _), _)| name == view)
        .map(|((_, key), (owner, body))| ViewRow { key: key.clone(), owner: *owner, body: body.clone() })
        .collect();
    assert_eq!(book.view(view).await.unwrap(), expected);
    assert_eq!(book.view_number(view).await.unwrap(), model.numbers.get(view).copied());
    let key = format!("key {}", run.chance.below(400));
    let answered = book.answered(&key).await.unwrap().map(|found| (found.line_hash, found.answer));
    assert_eq!(answered, model.answers.get(&key).map(|(_, hash, answer)| (*hash, answer.clone())));
}

async fn erase(run: &mut Run, book: &Book, model: &mut Model) {
    let client = *run.chance.of(&run.clients.clone());
    let document = Stream::Health(*run.chance.of(&run.health.clone()));
    let streams = if run.chance.one_in(2) { vec![client] } else { vec![client, document] };
    let seen = model.version(Stream::House) + u64::from(run.chance.one_in(5));
    let note = Plan {
        at_ms: 7,
        actor: Uuid::nil(),
        writes: vec![Write { stream: Stream::House, seen: Some(seen), events: vec![event(1, "erased")] }],
        once: None,
        views: vec![],
    };
    let outcome = book.erase(&streams, note.batch()).await;
    if seen != model.version(Stream::House) {
        assert!(matches!(outcome, Err(StoreFault::Stale { .. })));
        return;
    }
    let keys = streams.iter().filter(|stream| !model.erased.contains(stream) && run.made.contains(stream)).count() as u64;
    assert!(model.erase(&streams) <= keys);
    model.append(&note);
    let erased = outcome.unwrap();
    assert_eq!((erased.keys, erased.appended.len()), (keys, 1));
    // New ones come, so that the run does not end among ghosts.
    let (new_client, new_document) = (Uuid::from_u128(u128::from(run.chance.next())), Uuid::from_u128(u128::from(run.chance.next())));
    for known in &mut run.clients {
        if *known == client {
            *known = if run.chance.one_in(4) { client } else { Stream::Client(new_client) };
        }
    }
    if streams.contains(&document) {
        run.health.push(new_document);
    }
}

/// All of it at once: audit, head, versions, the list of erasures, the trail.
async fn compare(book: &Book, model: &Model) {
    let audit = book.audit().await.unwrap();
    let head = book.head().await.unwrap();
    assert_eq!((audit.events, audit.head, head.seq), (model.order.len() as u64, head, model.order.len() as u64));
    let versions: BTreeMap<Stream, u64> =
        model.streams.iter().filter(|(_, rows)| !rows.is_empty()).map(|(stream, rows)| (*stream, rows.len() as u64)).collect();
    assert_eq!(book.versions().await.unwrap(), versions);
    assert_eq!(book.erased().await.unwrap().iter().map(|line| line.stream).collect::<Vec<_>>(), model.erased);
    let reads = book.trail(0, 100_000).await.unwrap();
    assert_eq!(reads.iter().filter(|line| matches!(line.what, store::book::Noted::HealthRead { .. })).count(), model.accesses);
}

/// A backup, verified, restored beside and compared.
async fn archive(run: &mut Run, book: &Book, model: &mut Model) {
    run.archives += 1;
    let file = run.ground.path().join(format!("{}.age", run.archives));
    let made = book.backup(&file, 1).await.unwrap();
    assert_eq!((made.events, made.blobs), (model.order.len() as u64, model.blobs.len() as u64));
    assert_eq!(Book::verify(&file, &run.code).await.unwrap(), made);
    let to = Place::Folder(run.ground.path().join(format!("restored {}", run.archives)));
    let by = Restorer { who: Uuid::nil(), at_ms: 1 };
    let (restored, _) = Book::restore(&file, &to, &run.code, None, &Erasures::Beside, by).await.unwrap();
    compare(&restored, model).await;
    for (id, (_, bytes)) in model.blobs.iter().take(5) {
        assert_eq!(restored.blob(*id).await.unwrap(), *bytes);
    }
    restored.close().await;
    std::fs::remove_file(file).unwrap();
}

async fn machine(place: Place, words: Option<&str>, ground: tempfile::TempDir, two: bool, usual: u64) {
    let operations = asked("STRANDWRIGHT_OPERATIONS").unwrap_or(usual);
    let seed = seed();
    println!("seed {seed}, {operations} operations at {place}");
    let mut chance = Chance(seed);
    let words = words.map(passphrase);
    let (book, code) = Book::begin(&place, words.as_ref(), 1).await.unwrap();
    let opener = words.map_or(Opener::Nothing, Opener::Passphrase);
    let clients = (0..8).map(|_| Stream::Client(Uuid::from_u128(u128::from(chance.next())))).collect();
    let health = (0..4).map(|_| Uuid::from_u128(u128::from(chance.next()))).collect();
    let mut run = Run { place, opener, code, ground, chance, clients, health, made: BTreeSet::new(), archives: 0 };
    let mut books = vec![book];
    if two {
        books.push(run.open().await);
    }
    let mut model = Model::default();
    for done in 0..operations {
        let at = run.chance.below(books.len() as u64) as usize;
        let book = &books[at];
        match run.chance.below(1000) {
            0..=549 => append(&mut run, book, &mut model).await,
            550..=749 => read(&mut run, book, &mut model).await,
            750..=849 => read_all(&mut run, book, &model).await,
            850..=899 => blobs(&mut run, book, &mut model).await,
            900..=979 => views_and_answers(&mut run, book, &model).await,
            980..=992 => erase(&mut run, book, &mut model).await,
            993 => {
                book.drop_views().await.unwrap();
                model.views.clear();
                model.numbers.clear();
            }
            994..=995 => compare(book, &model).await,
            _ => {
                books[at].close().await;
                books[at] = run.open().await;
            }
        }
        if done % (operations / 2).max(1) == operations / 4 {
            archive(&mut run, &books[0], &mut model).await;
        }
    }
    compare(&books[0], &model).await;
    for book in books {
        book.close().await;
    }
    println!("{} events, {} erased, {} blobs", model.order.len(), model.erased.len(), model.blobs.len());
}

#[tokio::test]
async fn a_folder_does_what_the_model_does() {
    let ground = quick_folder();
    let place = Place::Folder(ground.path().join("salon"));
    machine(place, None, ground, false, 10_000).await;
}

#[tokio::test]
async fn two_books_on_a_database_do_what_the_model_does() {
    let server = server();
    machine(server.place(), Some("four plain words here"), quick_folder(), true, 3_000).await;
}
