//! What guards the book: keys, places, the chain, row security, two processes.

mod ground;
#[path = "ground/outside.rs"]
mod outside;

use ground::{batch, passphrase, server};
use std::collections::BTreeSet;
use std::path::Path;
use std::sync::Arc;
use store::book::{Access, Batch, Body, Book, Opener, Place, Stream, Write};
use store::{EarlierRecords, Meaning, Protection, StoreFault};
use uuid::Uuid;

const WORDS: &str = "four plain words here";

fn by(words: &str) -> Opener {
    Opener::Passphrase(passphrase(words))
}

async fn passphrases(place: &Place) {
    let (book, code) = Book::begin(place, Some(&passphrase(WORDS)), 1).await.unwrap();
    book.append(batch(Stream::House, None, &["begun"])).await.unwrap();
    assert!(matches!(book.change_passphrase(&by("wrong"), Some(&passphrase("new"))).await.unwrap_err(), StoreFault::WrongPassphrase));
    book.change_passphrase(&by(WORDS), Some(&passphrase("new"))).await.unwrap();
    book.close().await;
    assert!(matches!(Book::open(place, &by(WORDS)).await.unwrap_err(), StoreFault::WrongPassphrase));
    assert!(matches!(Book::open(place, &Opener::Nothing).await.unwrap_err(), StoreFault::PassphraseNeeded));
    // Forgotten: the printed code opens it and sets another.
    let book = Book::open(place, &Opener::Code(code.clone())).await.unwrap();
    book.change_passphrase(&Opener::Code(code.clone()), Some(&passphrase("third"))).await.unwrap();
    // A new code ends the old one.
    assert!(matches!(book.renew_recovery_code(&Opener::Code(code.clone())).await.unwrap_err(), StoreFault::PassphraseNeeded));
    let renewed = book.renew_recovery_code(&by("third")).await.unwrap();
    assert_eq!(book.recipient(), renewed.recipient());
    book.close().await;
    assert!(matches!(Book::open(place, &Opener::Code(code)).await.unwrap_err(), StoreFault::WrongCode));
    Book::open(place, &Opener::Code(renewed)).await.unwrap().close().await;
    let book = Book::open(place, &by("third")).await.unwrap();
    assert_eq!(book.read(Stream::House, 0).await.unwrap().len(), 1);
    book.close().await;
}

#[tokio::test]
async fn a_passphrase_is_set_changed_and_taken_away_in_a_folder() {
    let ground = tempfile::tempdir().unwrap();
    passphrases(&Place::Folder(ground.path().join("a"))).await;
    let place = Place::Folder(ground.path().join("b"));
    let (book, _) = Book::begin(&place, None, 1).await.unwrap();
    assert_eq!(book.protection(), Protection::FileOnly);
    book.close().await;
    // One that is given and not wanted is refused, not ignored.
    let refused = Book::open(&place, &by(WORDS)).await.unwrap_err();
    assert!(matches!(refused, StoreFault::PassphraseNotWanted) && refused.exit_code() == 12, "{refused}");
    let book = Book::open(&place, &Opener::Nothing).await.unwrap();
    book.change_passphrase(&Opener::Nothing, Some(&passphrase(WORDS))).await.unwrap();
    assert_eq!(book.protection(), Protection::Passphrase);
    book.close().await;
    assert!(matches!(Book::open(&place, &Opener::Nothing).await.unwrap_err(), StoreFault::PassphraseNeeded));
    let book = Book::open(&place, &by(WORDS)).await.unwrap();
    book.change_passphrase(&by(WORDS), None).await.unwrap();
    book.close().await;
    Book::open(&place, &Opener::Nothing).await.unwrap().close().await;
}

#[tokio::test]
async fn a_passphrase_is_set_and_changed_in_a_database_and_never_missing() {
    let server = server();
    passphrases(&server.place()).await;
    let place = server.place();
    assert!(matches!(Book::begin(&place, None, 1).await.unwrap_err(), StoreFault::PassphraseRefused(_)));
    let (book, _) = Book::begin(&place, Some(&passphrase(WORDS)), 1).await.unwrap();
    assert!(matches!(book.change_passphrase(&by(WORDS), None).await.unwrap_err(), StoreFault::PassphraseRefused(_)));
    book.close().await;
}

#[tokio::test]
async fn a_bent_key_file_is_told_from_a_wrong_passphrase_and_no_recipient_is_slipped_in() {
    let ground = tempfile::tempdir().unwrap();
    let place = Place::Folder(ground.path().to_owned());
    Book::begin(&place, Some(&passphrase(WORDS)), 1).await.unwrap().0.close().await;
    let file = ground.path().join("book.key");
    let text = std::fs::read_to_string(&file).unwrap();
    let document: serde_json::Value = serde_json::from_str(&text).unwrap();
    let sealed = document["keeping"]["sealed"].as_str().unwrap();
    let bent = format!("{}{}", if sealed.starts_with('0') { '1' } else { '0' }, &sealed[1..]);
    std::fs::write(&file, text.replace(sealed, &bent)).unwrap();
    assert_eq!(Book::open(&place, &by(WORDS)).await.unwrap_err().exit_code(), 13);
    std::fs::write(&file, &text[..text.len() / 2]).unwrap();
    assert_eq!(Book::open(&place, &by(WORDS)).await.unwrap_err().exit_code(), 13);
    std::fs::remove_file(&file).unwrap();
    assert_eq!(Book::open(&place, &by(WORDS)).await.unwrap_err().exit_code(), 13);
    assert_eq!(Book::begin(&place, None, 1).await.unwrap_err().exit_code(), 1);
    std::fs::write(&file, &text).unwrap();
    Book::open(&place, &by(WORDS)).await.unwrap().close().await;

    // Somebody who can write the file wants the backups for himself: his own slot, the sum made right.
    let other = tempfile::tempdir().unwrap();
    Book::begin(&Place::Folder(other.path().to_owned()), None, 1).await.unwrap().0.close().await;
    let his: serde_json::Value = serde_json::from_str(&std::fs::read_to_string(other.path().join("book.key")).unwrap()).unwrap();
    let mut forged = document.clone();
    forged["slot"] = his["slot"].clone();
    forged["sum"] = key_document_sum(&forged).into();
    std::fs::write(&file, forged.to_string()).unwrap();
    let refused = Book::open(&place, &by(WORDS)).await.unwrap_err();
    assert!(refused.to_string().contains("recipient"), "{refused}");
}

/// The sum over a key document, made by code of our own: SHA-256 over the parts with their lengths, eight bytes of it.
fn key_document_sum(document: &serde_json::Value) -> String {
    use sha2::Digest;
    let text = |value: &serde_json::Value| value.as_str().map_or_else(|| value.to_string(), str::to_owned);
    let keeping = &document["keeping"];
    let kept = ["memory_kib", "passes", "lanes", "salt", "sealed"].map(|name| text(&keeping[name])).join(" ");
    let salon: Uuid = text(&document["salon"]).parse().unwrap();
    let slot = ["recipient", "sealed", "code"].map(|name| text(&document["slot"][name]));
    let mut bytes = Vec::new();
    for part in [salon.as_bytes().as_slice(), kept.as_bytes(), slot[0].as_bytes(), slot[1].as_bytes(), slot[2].as_bytes()] {
        bytes.extend((part.len() as u64).to_be_bytes());
        bytes.extend(part);
    }
    outside::hex(&sha2::Sha256::digest(bytes)[..8])
}

#[tokio::test]
async fn a_folder_is_the_owners_alone_open_once_and_durable() {
    use std::os::unix::fs::PermissionsExt;
    let ground = tempfile::tempdir().unwrap();
    let folder = ground.path().join("salon");
    let place = Place::Folder(folder.clone());
    let (book, _) = Book::begin(&place, None, 1).await.unwrap();
    assert_eq!(book.durability().await.unwrap(), "journal_mode=wal synchronous=2 secure_delete=1");
    book.put_blob(Stream::House, b"x").await.unwrap();
    let mode = |path: &Path| std::fs::metadata(path).unwrap().permissions().mode() & 0o777;
    assert_eq!((mode(&folder), mode(&folder.join("book.key")), mode(&folder.join("blobs"))), (0o700, 0o600, 0o700));
    let second = Book::open(&place, &Opener::Nothing).await.unwrap_err();
    assert!(matches!(second, StoreFault::InUse(_)) && second.exit_code() == 11, "{second}");
    book.close().await;
    Book::open(&place, &Opener::Nothing).await.unwrap().close().await;
    // Nothing is begun over what is there.
    let full = ground.path().join("full");
    std::fs::create_dir(&full).unwrap();
    std::fs::write(full.join("letters.txt"), "mine").unwrap();
    assert!(matches!(Book::begin(&Place::Folder(full.clone()), None, 1).await.unwrap_err(), StoreFault::NotEmpty(_)));
    assert_eq!(Book::open(&Place::Folder(full), &Opener::Nothing).await.unwrap_err().exit_code(), 10);
}

#[tokio::test]
async fn a_book_is_begun_beside_a_salon_of_the_earlier_kind_and_after_a_beginning_cut_short() {
    let ground = tempfile::tempdir().unwrap();
    let salon = EarlierRecords::begin(ground.path(), None).await.unwrap();
    salon.add_client("Ida", "{}").await.unwrap();
    let place = Place::Folder(ground.path().to_owned());
    // A beginning cut short: a mark, a file, no key.
    std::fs::write(ground.path().join("book.beginning"), "").unwrap();
    std::fs::write(ground.path().join("book.db"), "half").unwrap();
    assert_eq!(Book::open(&place, &Opener::Nothing).await.unwrap_err().exit_code(), 10);
    let (book, _) = Book::begin(&place, None, 1).await.unwrap();
    book.append(batch(Stream::House, None, &["begun"])).await.unwrap();
    assert_eq!(std::fs::read_to_string(ground.path().join("book.db.aside-1")).unwrap(), "half");
    assert!(!ground.path().join("book.beginning").exists());
    assert_eq!(salon.clients("", 9).await.unwrap().1, 1);
    book.close().await;
    salon.close().await;
    assert_eq!(EarlierRecords::open(ground.path(), None).await.unwrap().clients("", 9).await.unwrap().1, 1);
}

/// Changes rows behind the book's back and asks the audit for the first altered one.
async fn alterations(place: &Place, raw: impl AsyncFn(&str)) {
    let (book, _) = Book::begin(place, Some(&passphrase(WORDS)), 1).await.unwrap();
    let (ida, bea) = (Stream::Client(Uuid::now_v7()), Stream::Client(Uuid::now_v7()));
    for n in 0..6 {
        book.append(batch(if n % 2 == 0 { ida } else { bea }, None, &[&format!("event {n}")])).await.unwrap();
    }
    let hex = book.salon().simple().to_string();
    let mine = |sql: &str| sql.replace("MINE", &format!("salon = {}", raw_hex(place, &hex)));
    book.audit().await.unwrap();
    book.close().await;
    // (what is done, how it is undone, the first row that is altered)
    let cases: [(&str, &str, u64); 10] = [
        ("UPDATE event SET at = at + 1 WHERE MINE AND seq = 3", "UPDATE event SET at = at - 1 WHERE MINE AND seq = 3", 3),
        (
            "UPDATE event SET actor = stream_of_zeros WHERE MINE AND seq = 2",
            "UPDATE event SET actor = stream_of_ones WHERE MINE AND seq = 2",
            2,
        ),
        ("UPDATE event SET format = 2 WHERE MINE AND seq = 4", "UPDATE event SET format = 1 WHERE MINE AND seq = 4", 4),
        ("UPDATE event SET sort = 'money' WHERE MINE AND seq = 1", "UPDATE event SET sort = 'client' WHERE MINE AND seq = 1", 1),
        ("UPDATE event SET version = 9 WHERE MINE AND seq = 6", "UPDATE event SET version = 3 WHERE MINE AND seq = 6", 6),
        ("UPDATE event SET seq = 60 WHERE MINE AND seq = 5", "UPDATE event SET seq = 5 WHERE MINE AND seq = 60", 5),
        ("UPDATE event SET seq = 7 WHERE MINE AND seq = 6", "UPDATE event SET seq = 6 WHERE MINE AND seq = 7", 6),
        (
            "UPDATE head SET seq = 5, hash = (SELECT hash FROM event e WHERE e.salon = head.salon AND e.seq = 5) WHERE MINE",
            "UPDATE head SET seq = 6, hash = (SELECT hash FROM event e WHERE e.salon = head.salon AND e.seq = 6) WHERE MINE",
            0,
        ),
        (
            "UPDATE stream SET version = 2 WHERE MINE AND stream = (SELECT stream FROM event e WHERE e.salon = stream.salon AND e.seq = 1)",
            "UPDATE stream SET version = 3 WHERE MINE AND stream = (SELECT stream FROM event e WHERE e.salon = stream.salon AND e.seq = 1)",
            0,
        ),
        // Last: it cannot be undone. A key that is gone and was never erased.
        (
            "DELETE FROM stream_key WHERE MINE AND owner = (SELECT stream FROM event e WHERE e.salon = stream_key.salon AND e.seq = 2)",
            "",
            2,
        ),
    ];
    for (change, back, first) in cases {
        raw(&mine(change)).await;
        let outcome = match Book::open(place, &by(WORDS)).await {
            // The end of the chain is looked at when the book is opened.
            Err(fault) => Err(fault),
            Ok(book) => {
                let outcome = book.audit().await;
                book.close().await;
                outcome
            }
        };
        match outcome {
            Err(StoreFault::Altered(altered)) => assert_eq!(altered.seq, first, "{change}: {altered}"),
            other => panic!("{change}: {other:?}"),
        }
        if !back.is_empty() {
            raw(&mine(back)).await;
            let book = Book::open(place, &by(WORDS)).await.unwrap();
            book.audit().await.unwrap_or_else(|fault| panic!("after {back}: {fault}"));
            book.close().await;
        }
    }
}

fn raw_hex(place: &Place, hex: &str) -> String {
    match place {
        Place::Folder(_) => format!("x'{hex}'"),
        Place::Postgres { .. } => format!("'\\x{hex}'"),
    }
}

#[tokio::test]
async fn an_altered_row_is_found_in_a_folder() {
    let ground = tempfile::tempdir().unwrap();
    let folder = ground.path().to_owned();
    alterations(&Place::Folder(folder.clone()), async |sql: &str| {
        let sql = sql.replace("stream_of_zeros", &format!("x'{}'", "00".repeat(16))).replace("stream_of_ones", &format!("x'{:032x}'", 1));
        use sqlx::Executor;
        let mut connection = outside::raw_with(&folder, WORDS).await;
        connection.execute("DROP TRIGGER IF EXISTS event_is_never_changed").await.unwrap();
        connection.execute(sqlx::AssertSqlSafe(sql)).await.unwrap();
        sqlx::Connection::close(connection).await.unwrap();
    })
    .await;
}

#[tokio::test]
async fn an_altered_row_is_found_in_a_database() {
    let server = server();
    let place = server.place();
    alterations(&place, async |sql: &str| {
        let sql =
            sql.replace("stream_of_zeros", &format!("'\\x{}'", "00".repeat(16))).replace("stream_of_ones", &format!("'\\x{:032x}'", 1));
        server.psql("hair", &format!("SET search_path TO strandwright; SET session_replication_role = replica; {sql}"));
    })
    .await;
}

#[tokio::test]
async fn the_engines_refuse_to_change_or_remove_an_event() {
    use sqlx::{Connection, Executor};
    let ground = tempfile::tempdir().unwrap();
    let (book, _) = Book::begin(&Place::Folder(ground.path().to_owned()), None, 1).await.unwrap();
    book.append(batch(Stream::House, None, &["one"])).await.unwrap();
    book.close().await;
    let mut connection = outside::raw(ground.path()).await;
    for sql in ["UPDATE event SET at = 0", "DELETE FROM event", "DELETE FROM erased", "DELETE FROM trail"] {
        let outcome = connection.execute(sql).await;
        let empty = sql.ends_with("erased") || sql.ends_with("trail");
        assert!(outcome.is_err() || empty, "{sql}");
    }
    connection.close().await.unwrap();
}

#[tokio::test]
async fn row_security_shows_a_role_its_own_salon_only() {
    let server = server();
    let (ours, theirs) = (server.place(), server.place());
    let (one, _) = Book::begin(&ours, Some(&passphrase(WORDS)), 1).await.unwrap();
    let (two, _) = Book::begin(&theirs, Some(&passphrase(WORDS)), 1).await.unwrap();
    for book in [&one, &two] {
        book.append(batch(Stream::Money, None, &["a", "b", "c"])).await.unwrap();
        book.put_blob(Stream::Money, b"paper").await.unwrap();
    }
    let role = |book: &Book| format!("salon_{}", book.salon().simple());
    // The salon's role logs in itself, and everything works with no more than its rights.
    let own = Place::Postgres { url: server.url(&role(&one)), salon: one.salon() };
    let book = Book::open(&own, &by(WORDS)).await.unwrap();
    assert!(book.durability().await.unwrap().ends_with(&format!("role={}", role(&one))));
    book.append(batch(Stream::Money, Some(3), &["d"])).await.unwrap();
    let erased = book.erase(&[Stream::Client(Uuid::now_v7())], Batch::default()).await.unwrap();
    assert!(!erased.let_go, "only the tables' owner may vacuum, and that is told");
    book.audit().await.unwrap();
    // It cannot open the neighbour, nor begin over it.
    let neighbour = Place::Postgres { url: server.url(&role(&one)), salon: two.salon() };
    assert!(matches!(Book::open(&neighbour, &by(WORDS)).await.unwrap_err(), StoreFault::NoBook(_)));

    // Raw SQL as that role.
    let pool = sqlx::postgres::PgPool::connect(&server.url(&role(&one)).replace("@/", "@localhost/")).await.unwrap();
    let tables = [
        "event",
        "head",
        "key_document",
        "stream",
        "stream_key",
        "blob",
        "blob_bytes",
        "view_row",
        "view_number",
        "answer",
        "trail",
        "erased",
        "leaving",
    ];
    let others = two.salon().simple().to_string();
    let count = async |sql: String| -> i64 { sqlx::query_scalar(sqlx::AssertSqlSafe(sql)).fetch_one(&pool).await.unwrap() };
    for table in tables {
        assert_eq!(count(format!("SELECT count(*) FROM strandwright.{table} WHERE salon = '\\x{others}'")).await, 0, "{table}");
    }
    assert_eq!(count("SELECT count(*) FROM strandwright.event".to_owned()).await, 4);
    assert_eq!(count("SELECT count(DISTINCT salon) FROM strandwright.stream_key".to_owned()).await, 1);
    let values = format!("('\\x{others}', 99, 's', 99, 0, '\\x{others}', 'shelf', 1, 'x', '\\x{others}{others}')");
    for refused in [
        format!("INSERT INTO strandwright.event VALUES {values}"),
        format!("INSERT INTO strandwright.stream_key VALUES ('\\x{others}', 'x', 'x')"),
        "UPDATE strandwright.event SET at = 0".to_owned(),
        "DELETE FROM strandwright.event".to_owned(),
        "TRUNCATE strandwright.event".to_owned(),
        "ALTER TABLE strandwright.event DISABLE ROW LEVEL SECURITY".to_owned(),
        "ALTER TABLE strandwright.event DISABLE TRIGGER ALL".to_owned(),
        "DROP POLICY own_salon ON strandwright.event".to_owned(),
        "UPDATE strandwright.stream_key SET wrapped = 'x'".to_owned(),
        "DELETE FROM strandwright.erased".to_owned(),
        format!("SET ROLE {}", role(&two)),
        "SET ROLE keeper".to_owned(),
        "SET session_replication_role = replica".to_owned(),
    ] {
        let outcome = sqlx::query(sqlx::AssertSqlSafe(refused.clone())).execute(&pool).await;
        assert!(outcome.is_err(), "{refused}");
    }
    // Deleting names no other salon's rows even without a condition.
    sqlx::query("DELETE FROM strandwright.blob_bytes").execute(&pool).await.unwrap();
    assert_eq!(two.blob(two_blob(&two, &server).await).await.unwrap(), b"paper");
    // The tables' owner sees nothing either: row security is forced.
    let owner = sqlx::postgres::PgPool::connect(&server.url("keeper").replace("@/", "@localhost/")).await.unwrap();
    let seen: i64 = sqlx::query_scalar("SELECT count(*) FROM strandwright.event").fetch_one(&owner).await.unwrap();
    assert_eq!(seen, 0);
    // Even the owner is stopped from changing an event, by the trigger.
    let stopped = sqlx::query("TRUNCATE strandwright.event").execute(&owner).await;
    assert!(stopped.unwrap_err().to_string().contains("only ever added to"));
}

async fn two_blob(book: &Book, server: &ground::Server) -> store::book::BlobId {
    let sql = format!("SELECT encode(id, 'hex') FROM strandwright.blob WHERE salon = '\\x{}'", book.salon().simple());
    server.psql("hair", &sql).parse().unwrap()
}

#[tokio::test]
async fn a_start_reads_no_blob_and_a_changed_blob_is_told() {
    let ground = tempfile::tempdir().unwrap();
    let place = Place::Folder(ground.path().to_owned());
    let (book, _) = Book::begin(&place, None, 1).await.unwrap();
    let [kept, bent, gone] =
        [book.put_blob(Stream::House, b"a").await, book.put_blob(Stream::House, b"b").await, book.put_blob(Stream::House, b"c").await];
    let [kept, bent, gone] = [kept.unwrap(), bent.unwrap(), gone.unwrap()];
    book.close().await;
    let path = |id: store::book::BlobId| ground.path().join("blobs").join(&id.to_string()[..2]).join(id.to_string());
    // One's bytes under the other's name: each is sealed to its own.
    std::fs::copy(path(kept), path(bent)).unwrap();
    std::fs::remove_file(path(gone)).unwrap();
    let book = Book::open(&place, &Opener::Nothing).await.unwrap();
    assert_eq!(book.blob(kept).await.unwrap(), b"a");
    for id in [bent, gone] {
        let fault = book.blob(id).await.unwrap_err();
        assert!(matches!(fault, StoreFault::Altered(_)) && fault.to_string().contains(&id.to_string()), "{fault}");
    }
}

#[tokio::test]
async fn what_was_handed_in_before_the_close_is_written() {
    let ground = tempfile::tempdir().unwrap();
    let place = Place::Folder(ground.path().to_owned());
    let (book, _) = Book::begin(&place, None, 1).await.unwrap();
    let book = Arc::new(book);
    let mut tasks = tokio::task::JoinSet::new();
    for _ in 0..100 {
        let book = Arc::clone(&book);
        tasks.spawn(async move { book.append(batch(Stream::Diary, None, &["x"])).await.is_ok() });
    }
    tokio::task::yield_now().await;
    book.close().await;
    let mut kept = 0;
    while let Some(done) = tasks.join_next().await {
        kept += u64::from(done.unwrap());
    }
    let book = Book::open(&place, &Opener::Nothing).await.unwrap();
    assert_eq!(book.version(Stream::Diary).await.unwrap(), kept, "what was acknowledged is there, and nothing else");
    assert!(kept > 0);
}

async fn sharing_a_sync(place: &Place) {
    let (book, _) = Book::begin(place, Some(&passphrase(WORDS)), 1).await.unwrap();
    let book = Arc::new(book);
    let mut tasks = tokio::task::JoinSet::new();
    let clients: Vec<Stream> = (0..40).map(|_| Stream::Client(Uuid::now_v7())).collect();
    // For each client a batch that is stale in its second stream, after her key was
    // made in the first, then one that is good: all wait for one another's commit.
    for (n, client) in clients.iter().copied().enumerate() {
        for stale in [true, false] {
            let book = Arc::clone(&book);
            tasks.spawn(async move {
                let mut one = batch(client, None, &["first", "second"]);
                if stale {
                    one.writes.push(Write { stream: Stream::Diary, seen: Some(999), events: vec![] });
                }
                (n, stale, book.append(one).await)
            });
        }
    }
    while let Some(done) = tasks.join_next().await {
        let (n, stale, outcome) = done.unwrap();
        match outcome {
            Ok(appended) => assert!(!stale && appended.len() == 2 && appended[0].stream == clients[n]),
            Err(fault) => assert!(stale && fault.meaning() == Meaning::Conflict, "{fault}"),
        }
    }
    for client in clients {
        assert_eq!(book.read(client, 0).await.unwrap().len(), 2);
    }
    assert_eq!(book.audit().await.unwrap().events, 80);
    book.close().await;
}

#[tokio::test]
async fn batches_that_share_a_sync_are_each_whole_or_not_at_all() {
    let (server, ground) = (server(), tempfile::tempdir().unwrap());
    sharing_a_sync(&Place::Folder(ground.path().join("salon"))).await;
    sharing_a_sync(&server.place()).await;
}

#[tokio::test]
async fn no_health_is_handed_out_when_the_access_cannot_be_recorded() {
    use sqlx::{Connection, Executor};
    let ground = tempfile::tempdir().unwrap();
    let place = Place::Folder(ground.path().to_owned());
    let (book, _) = Book::begin(&place, None, 1).await.unwrap();
    let document = Uuid::now_v7();
    book.append(batch(Stream::Health(document), None, &["no allergy"])).await.unwrap();
    book.close().await;
    let mut connection = outside::raw(ground.path()).await;
    connection.execute("CREATE TRIGGER full BEFORE INSERT ON trail BEGIN SELECT RAISE(ABORT, 'no room'); END").await.unwrap();
    connection.close().await.unwrap();
    let book = Book::open(&place, &Opener::Nothing).await.unwrap();
    let access = Access { who: Uuid::nil(), at_ms: 1, why: "try".into() };
    assert!(book.read_health(document, 0, &access).await.is_err());
    assert!(book.read_all(0, 10, Some(&access)).await.is_err());
    assert_eq!(book.read_all(0, 10, None).await.unwrap()[0].body, Body::Closed);
}

/// *Meaning*: two books with pools of their own, as two processes have them.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn two_books_on_one_database_keep_one_chain() {
    let server = server();
    let place = server.place();
    let (one, _) = Book::begin(&place, Some(&passphrase(WORDS)), 1).await.unwrap();
    let two = Book::open(&place, &by(WORDS)).await.unwrap();
    let books = [Arc::new(one), Arc::new(two)];
    let ida = Stream::Client(Uuid::now_v7());
    let mut tasks = Vec::new();
    for n in 0..8_usize {
        let book = Arc::clone(&books[n % 2]);
        tasks.push(tokio::spawn(async move {
            let mut won = Vec::new();
            for turn in 0..25 {
                // Everyone wants the same version; who is late looks again.
                let seen = book.version(ida).await.unwrap();
                match book.append(batch(ida, Some(seen), &[&format!("{n} {turn}")])).await {
                    Ok(appended) => won.push((appended[0].seq, appended[0].version)),
                    Err(fault) => assert_eq!(fault.meaning(), Meaning::Conflict, "{fault}"),
                }
                book.append(batch(Stream::Shelf, None, &["taken"])).await.unwrap();
            }
            won
        }));
    }
    let mut won = Vec::new();
    for task in tasks {
        won.extend(task.await.unwrap());
    }
    assert!(won.len() >= 25);
    let versions: BTreeSet<u64> = won.iter().map(|(_, version)| *version).collect();
    assert_eq!(versions, (1..=won.len() as u64).collect(), "each version was won by exactly one");
    let seqs: BTreeSet<u64> = won.iter().map(|(seq, _)| *seq).collect();
    assert_eq!(seqs.len(), won.len());
    assert_eq!(books[1].audit().await.unwrap().events, won.len() as u64 + 200);
    // One erases, the other, which had her key before, can neither read nor add.
    assert_eq!(books[1].read(ida, 0).await.unwrap().len(), won.len());
    books[0].erase(&[ida], Batch::default()).await.unwrap();
    assert!(matches!(books[1].read(ida, 0).await.unwrap_err(), StoreFault::Erased(_)));
    assert!(matches!(books[1].append(batch(ida, None, &["x"])).await.unwrap_err(), StoreFault::Erased(_)));
    for book in books {
        book.close().await;
    }
}

#[tokio::test]
async fn a_lost_connection_says_not_saved_and_the_next_attempt_works() {
    let server = server();
    let place = server.place();
    let (book, _) = Book::begin(&place, Some(&passphrase(WORDS)), 1).await.unwrap();
    book.append(batch(Stream::Diary, None, &["one"])).await.unwrap();
    let cut = |like: &str| {
        server.psql("hair", &format!("SELECT count(pg_terminate_backend(pid)) FROM pg_stat_activity WHERE application_name = 'strandwright' AND query LIKE '{like}'"));
    };
    // The connection breaks while a batch waits for the salon's lock.
    let lock = i64::from_be_bytes(book.salon().as_bytes()[8..].try_into().unwrap());
    let holder = sqlx::postgres::PgPool::connect(&server.url("keeper").replace("@/", "@localhost/")).await.unwrap();
    let mut held = holder.begin().await.unwrap();
    sqlx::query("SELECT pg_advisory_xact_lock($1)").bind(lock).execute(&mut *held).await.unwrap();
    let waiting = book.append(batch(Stream::Diary, Some(1), &["two"]));
    let cutting = async {
        while server.psql("hair", "SELECT count(*) FROM pg_stat_activity WHERE wait_event = 'advisory'") == "0" {
            tokio::task::yield_now().await;
        }
        cut("SELECT pg_advisory_xact_lock%");
    };
    let (outcome, ()) = tokio::join!(waiting, cutting);
    let fault = outcome.unwrap_err();
    assert_eq!(fault.meaning(), Meaning::NotSaved, "{fault}");
    held.rollback().await.unwrap();
    assert_eq!(book.version(Stream::Diary).await.unwrap(), 1);
    book.append(batch(Stream::Diary, Some(1), &["two"])).await.unwrap();
    book.audit().await.unwrap();
    // A server that is not there.
    let nowhere = Place::Postgres { url: server.url("keeper").replace("host=", "host=%2Fnowhere"), salon: book.salon() };
    let fault = Book::open(&nowhere, &by(WORDS)).await.unwrap_err();
    assert_eq!(fault.meaning(), Meaning::NotSaved, "{fault}");
    book.close().await;
}
