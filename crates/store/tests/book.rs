//! One book's story, told to both engines.

mod ground;

use ground::{batch, event, passphrase, server};
use store::book::{
    Access, Answered, Appended, Batch, BlobId, Body, Book, Noted, Once, Opener, Place, RecoveryCode, Row, Stream, ViewRow, ViewWrite, Write,
};
use store::{Meaning, Protection, StoreFault};
use uuid::Uuid;

const WORDS: &str = "four plain words here";

fn texts(rows: &[Row]) -> Vec<String> {
    rows.iter().map(|row| String::from_utf8(row.opened().unwrap().to_vec()).unwrap()).collect()
}

async fn begin(place: &Place) -> (Book, RecoveryCode) {
    Book::begin(place, Some(&passphrase(WORDS)), 1).await.unwrap()
}

async fn open(place: &Place) -> Book {
    Book::open(place, &Opener::Passphrase(passphrase(WORDS))).await.unwrap()
}

async fn story(place: &Place) {
    let (ida, answers) = (Uuid::now_v7(), Uuid::now_v7());
    let (client, health) = (Stream::Client(ida), Stream::Health(answers));
    let none = Book::open(place, &Opener::Nothing).await.unwrap_err();
    assert!(matches!(none, StoreFault::NoBook(_)), "{none}");
    let (book, _code) = begin(place).await;
    assert!(matches!(Book::begin(place, Some(&passphrase(WORDS)), 1).await.unwrap_err(), StoreFault::NotEmpty(_) | StoreFault::InUse(_)));
    assert_eq!(book.protection(), Protection::Passphrase);
    assert_eq!(book.head().await.unwrap().seq, 0);
    assert_eq!(book.audit().await.unwrap().events, 0);

    appending(&book, client, health).await;
    repeating(&book, client).await;
    views(&book, client, health).await;
    let photo = blobs(&book, client, health).await;

    // All of it is there after closing.
    let head = book.head().await.unwrap();
    book.close().await;
    assert!(matches!(book.append(batch(Stream::House, None, &["late"])).await.unwrap_err(), StoreFault::NotSaved(_)));
    let book = open(place).await;
    assert_eq!(book.head().await.unwrap(), head);
    assert_eq!(texts(&book.read(client, 0).await.unwrap()), ["born", "bleached", "cut"]);
    assert_eq!(texts(&book.read(client, 2).await.unwrap()), ["cut"]);
    assert_eq!(book.blob(photo).await.unwrap(), b"a photo");
    assert_eq!(book.view("due").await.unwrap().len(), 2);
    assert_eq!(book.answered("k1").await.unwrap().unwrap().answer, b"2 events");
    health_is_apart(&book, answers, health).await;
    assert_eq!(book.audit().await.unwrap().head, head);
    erasing(&book, client, health, photo).await;
    book.close().await;
    let book = open(place).await;
    assert!(matches!(book.read(client, 0).await.unwrap_err(), StoreFault::Erased(_)));
    assert_eq!(book.erased().await.unwrap().len(), 3);
    book.audit().await.unwrap();
    book.drop_views().await.unwrap();
    assert_eq!(book.view_number("due").await.unwrap(), None);
    assert!(book.view("due").await.unwrap().is_empty());
    book.close().await;
}

async fn appending(book: &Book, client: Stream, health: Stream) {
    let appended = book.append(batch(client, Some(0), &["born", "bleached"])).await.unwrap();
    assert_eq!(appended, [Appended { seq: 1, stream: client, version: 1 }, Appended { seq: 2, stream: client, version: 2 }]);
    // From an older version nothing is written; the fault says both.
    let late = book.append(batch(client, Some(1), &["lost"])).await.unwrap_err();
    assert!(matches!(late, StoreFault::Stale { stream, seen: 1, now: 2 } if stream == client), "{late}");
    assert_eq!(late.meaning(), Meaning::Conflict);
    // Several streams at once: one stale, none written.
    let writes = |seen| {
        vec![
            Write { stream: client, seen: Some(2), events: vec![event(2, "cut")] },
            Write { stream: health, seen: Some(0), events: vec![event(1, "no allergy")] },
            Write { stream: Stream::Shelf, seen, events: vec![event(1, "taken")] },
        ]
    };
    let base = Batch { at_ms: 5, actor: Uuid::from_u128(3), ..Batch::default() };
    let stale = book.append(Batch { writes: writes(Some(4)), at_ms: 5, actor: base.actor, ..Batch::default() }).await.unwrap_err();
    assert!(matches!(stale, StoreFault::Stale { stream: Stream::Shelf, seen: 4, now: 0 }), "{stale}");
    assert_eq!(book.version(client).await.unwrap(), 2);
    assert_eq!(book.version(health).await.unwrap(), 0);
    let appended = book.append(Batch { writes: writes(None), ..base }).await.unwrap();
    assert_eq!(appended.iter().map(|one| (one.seq, one.version)).collect::<Vec<_>>(), [(3, 3), (4, 1), (5, 1)]);
    let versions = book.versions().await.unwrap();
    assert_eq!((versions[&client], versions[&health], versions[&Stream::Shelf], versions.len()), (3, 1, 1, 3));
    let row = &book.read(client, 2).await.unwrap()[0];
    assert_eq!((row.seq, row.stream, row.version, row.at_ms, row.actor, row.format), (3, client, 3, 5, Uuid::from_u128(3), 2));
    // A batch that only checks a version writes nothing.
    assert!(book.append(batch(client, Some(3), &[])).await.unwrap().is_empty());
    assert!(book.append(batch(client, Some(2), &[])).await.is_err());
    assert_eq!(book.head().await.unwrap().seq, 5);
}

fn once(key: &str, owner: Stream) -> Option<Once> {
    let answer = |appended: &[Appended]| format!("{} events", appended.len()).into_bytes();
    Some(Once { key: key.to_owned(), line_hash: [7; 32], owner, answer: Box::new(answer) })
}

async fn repeating(book: &Book, client: Stream) {
    assert_eq!(book.answered("k1").await.unwrap(), None);
    book.append(Batch { once: once("k1", client), ..batch(Stream::Diary, None, &["a", "b"]) }).await.unwrap();
    let again = book.append(Batch { once: once("k1", client), ..batch(Stream::Diary, None, &["a", "b"]) }).await.unwrap_err();
    assert!(matches!(again, StoreFault::Repeated), "{again}");
    assert_eq!(book.version(Stream::Diary).await.unwrap(), 2);
    assert_eq!(book.answered("k1").await.unwrap(), Some(Answered { line_hash: [7; 32], answer: b"2 events".to_vec() }));
    // A refused batch uses no key up; one whose answer cannot be made writes nothing.
    book.append(Batch { once: once("k2", Stream::House), ..batch(Stream::Diary, Some(0), &["x"]) }).await.unwrap_err();
    assert_eq!(book.answered("k2").await.unwrap(), None);
    let bad = Once { answer: Box::new(|_| panic!("a caller's mistake")), ..once("k3", Stream::House).unwrap() };
    let refused = book.append(Batch { once: Some(bad), ..batch(Stream::Diary, None, &["x"]) }).await.unwrap_err();
    assert!(matches!(refused, StoreFault::Refused(_)), "{refused}");
    assert_eq!(book.version(Stream::Diary).await.unwrap(), 2);
}

async fn views(book: &Book, client: Stream, health: Stream) {
    let put = |key: &str, owner, body: &str| ViewWrite::Put { view: "due".into(), key: key.into(), owner, body: body.into() };
    let writes = vec![
        ViewWrite::Number { view: "due".into(), number: 3 },
        put("b", client, "Ida in six weeks"),
        put("a", Stream::House, "nobody"),
        put("c", Stream::House, "gone at once"),
        ViewWrite::Take { view: "due".into(), key: b"c".to_vec() },
        put("b", client, "Ida in five weeks"),
    ];
    book.append(Batch { views: writes, ..batch(Stream::Diary, None, &["booked"]) }).await.unwrap();
    let row = |key: &str, owner, body: &str| ViewRow { key: key.into(), owner, body: body.into() };
    assert_eq!(book.view("due").await.unwrap(), [row("a", Stream::House, "nobody"), row("b", client, "Ida in five weeks")]);
    assert_eq!(book.view_row("due", b"b").await.unwrap(), Some(row("b", client, "Ida in five weeks")));
    assert_eq!(book.view_row("due", b"c").await.unwrap(), None);
    assert_eq!(book.view_number("due").await.unwrap(), Some(3));
    // Views go with their batch: a stale one changes none.
    let stale = Batch { views: vec![ViewWrite::Clear { view: "due".into() }], ..batch(Stream::Diary, Some(0), &["x"]) };
    book.append(stale).await.unwrap_err();
    assert_eq!(book.view("due").await.unwrap().len(), 2);
    // A health document's row is put as any other and has the document's own door.
    let of_health = ViewWrite::Put { view: "drafts".into(), key: b"h".to_vec(), owner: health, body: b"itches".to_vec() };
    book.append(Batch { views: vec![of_health], ..Batch::default() }).await.unwrap();
    assert!(matches!(book.view_row("drafts", b"h").await.unwrap_err(), StoreFault::HealthIsApart));
    assert!(matches!(book.view("drafts").await.unwrap_err(), StoreFault::HealthIsApart));
}

async fn blobs(book: &Book, client: Stream, health: Stream) -> BlobId {
    let photo = book.put_blob(client, b"a photo").await.unwrap();
    let paper = book.put_blob(Stream::Money, &vec![9; 300_000]).await.unwrap();
    assert_ne!(photo, paper);
    assert_eq!(book.blob(photo).await.unwrap(), b"a photo");
    assert_eq!(book.blob(paper).await.unwrap(), vec![9; 300_000]);
    assert!(matches!(book.blob(BlobId(Uuid::nil())).await.unwrap_err(), StoreFault::Unknown("blob")));
    assert!(matches!(book.put_blob(health, b"x").await.unwrap_err(), StoreFault::HealthIsApart));
    photo
}

async fn health_is_apart(book: &Book, answers: Uuid, health: Stream) {
    assert!(matches!(book.read(health, 0).await.unwrap_err(), StoreFault::HealthIsApart));
    let all = book.read_all(0, 100, None).await.unwrap();
    assert_eq!(all.len() as u64, book.head().await.unwrap().seq);
    assert!(all.iter().zip(1..).all(|(row, seq)| row.seq == seq));
    assert!(all.iter().all(|row| (row.body == Body::Closed) == (row.stream == health)));
    assert_eq!(book.read_all(2, 2, None).await.unwrap().iter().map(|row| row.seq).collect::<Vec<_>>(), [3, 4]);
    let begun = book.trail(0, 9).await.unwrap();
    assert!(begun.len() == 1 && begun[0].what == Noted::Begun && begun[0].at_ms == 1);
    let access = Access { who: Uuid::from_u128(8), at_ms: 77, why: "plan make".into() };
    assert_eq!(texts(&book.read_health(answers, 0, &access).await.unwrap()), ["no allergy"]);
    assert!(book.read_all(0, 100, Some(&access)).await.unwrap().iter().all(|row| row.opened().is_some()));
    let trail = book.trail(1, 9).await.unwrap();
    assert_eq!((trail[0].number, trail[0].who, trail[0].at_ms), (2, Uuid::from_u128(8), 77));
    assert_eq!(trail[0].what, Noted::HealthRead { stream: Some(health), why: "plan make".into() });
    assert_eq!(trail[1].what, Noted::HealthRead { stream: None, why: "plan make".into() });
    let row = book.health_row("drafts", b"h", answers, &access).await.unwrap();
    assert_eq!(row.map(|row| row.body), Some(b"itches".to_vec()));
    assert_eq!(book.trail(3, 9).await.unwrap()[0].what, Noted::HealthRead { stream: Some(health), why: "plan make".into() });
    assert_eq!(book.health_row("drafts", b"h", Uuid::from_u128(5), &access).await.unwrap(), None, "another document's door");
}

async fn erasing(book: &Book, client: Stream, health: Stream, photo: BlobId) {
    assert!(matches!(book.erase(&[Stream::Money], Batch::default()).await.unwrap_err(), StoreFault::Refused(_)));
    assert!(matches!(book.erase(&[client], batch(client, None, &["x"])).await.unwrap_err(), StoreFault::Refused(_)));
    // A note that is stale destroys nothing.
    assert!(matches!(book.erase(&[client], batch(Stream::House, Some(9), &["x"])).await.unwrap_err(), StoreFault::Stale { .. }));
    assert_eq!(book.read(client, 0).await.unwrap().len(), 3);
    let erased = book.erase(&[client, health], batch(Stream::House, Some(0), &["erased one client"])).await.unwrap();
    // Her key and the document's; the photo; a row of the view, one of the document and an answer.
    assert_eq!((erased.keys, erased.blobs, erased.rows, erased.appended.len()), (2, 1, 3, 1));
    assert!(erased.let_go);
    assert!(matches!(book.read(client, 0).await.unwrap_err(), StoreFault::Erased(_)));
    assert!(matches!(book.append(batch(client, None, &["back"])).await.unwrap_err(), StoreFault::Erased(_)));
    assert!(matches!(book.put_blob(client, b"back").await.unwrap_err(), StoreFault::Erased(_)));
    assert!(matches!(book.blob(photo).await.unwrap_err(), StoreFault::Unknown("blob")));
    assert_eq!(book.view("due").await.unwrap().len(), 1);
    assert_eq!(book.answered("k1").await.unwrap(), None);
    let all = book.read_all(0, 100, None).await.unwrap();
    assert!(all.iter().all(|row| (row.body == Body::Erased) == (row.stream == client || row.stream == health)));
    assert_eq!(book.erased().await.unwrap().iter().map(|line| line.stream).collect::<Vec<_>>(), [client, health]);
    // Once more changes nothing, and one who was never written can never be begun.
    let again = book.erase(&[client], Batch::default()).await.unwrap();
    assert_eq!((again.keys, again.appended.len()), (0, 0));
    assert_eq!(book.erased().await.unwrap().len(), 2);
    let unborn = Stream::Client(Uuid::now_v7());
    assert_eq!(book.erase(&[unborn], Batch::default()).await.unwrap().keys, 0);
    assert!(matches!(book.append(batch(unborn, None, &["x"])).await.unwrap_err(), StoreFault::Erased(_)));
}

#[tokio::test]
async fn the_story_holds_in_a_folder() {
    let folder = tempfile::tempdir().unwrap();
    story(&Place::Folder(folder.path().join("salon"))).await;
}

#[tokio::test]
async fn the_story_holds_in_a_database() {
    let server = server();
    story(&server.place()).await;
}
