//! An erased client's words are nowhere, whatever is opened with all the keys that remain.
//!
//! The search opens the file, its log, its free space, the blobs, a new archive
//! and every seal in them by code of its own (`ground/outside.rs`), and it must
//! find the words of the client who stays: a search that finds nothing proves nothing.

mod ground;
#[path = "ground/outside.rs"]
mod outside;

use ground::{batch, server};
use outside::{Key, cells, data_key, hex, holds, members, open, pages, stream_bytes, unhex, unwrapped};
use std::path::Path;
use store::book::{Batch, Book, Once, Opener, Place, RecoveryCode, Stream, ViewWrite};
use uuid::Uuid;

const GONE: &str = "canaryida";
const STAYS: &str = "robinbea";

/// Plants words of a client in every place that may hold them.
async fn plant(book: &Book, client: Stream, health: Stream, word: &str) {
    let text = |place: &str| format!("{word} in {place} ").repeat(40);
    let once = Once { key: text("key"), line_hash: [1; 32], owner: client, answer: Box::new(move |_| b"kept answer".to_vec()) };
    let answered = text("answer");
    let once = Once { answer: Box::new(move |_| answered.into_bytes()), ..once };
    let view = ViewWrite::Put { view: "cards".into(), key: text("view key").into_bytes(), owner: client, body: text("view").into_bytes() };
    book.append(Batch { once: Some(once), views: vec![view], ..batch(client, None, &[&text("facts"), &text("plan")]) }).await.unwrap();
    book.append(batch(health, None, &[&text("health")])).await.unwrap();
    book.put_blob(client, text("photo").as_bytes()).await.unwrap();
}

/// Opens every event and blob of an archive with every key in it, whosever it is.
fn opened_archive(file: &Path, code: &RecoveryCode) -> Vec<u8> {
    let members = members(file, code);
    let member =
        |name: &str| -> serde_json::Value { serde_json::from_slice(&members.iter().find(|(found, _)| found == name).unwrap().1).unwrap() };
    let salon: Uuid = member("manifest.json")["salon"].as_str().unwrap().parse().unwrap();
    let keys_file = member("keys.json");
    let identity: age::x25519::Identity = format!("AGE-SECRET-KEY-1{}", code.printed().replace('-', "")).parse().unwrap();
    let data_key: Key = age::decrypt(&identity, &unhex(keys_file["slot"]["sealed"].as_str().unwrap())).unwrap().try_into().unwrap();
    let rows: Vec<(Vec<u8>, Vec<u8>)> = keys_file["keys"]
        .as_array()
        .unwrap()
        .iter()
        .map(|line| (stream_bytes(line["owner"].as_str().unwrap().parse().unwrap()), unhex(line["wrapped"].as_str().unwrap())))
        .collect();
    let keys = unwrapped(&data_key, salon, &rows);
    let mut all = Vec::new();
    for (name, bytes) in &members {
        all.extend(bytes);
        if name.starts_with("events/") {
            let mut rest = bytes.as_slice();
            let mut fields = Vec::new();
            while let Some((length, after)) = rest.split_first_chunk::<8>() {
                let (field, after) = after.split_at(u64::from_be_bytes(*length) as usize);
                fields.push(field);
                rest = after;
            }
            for row in fields.chunks(9) {
                let bound = [salon.as_bytes().as_slice(), row[1], row[2], row[6]];
                all.extend(keys.iter().filter_map(|key| open(key, &bound, row[7])).flatten());
            }
        }
        if let Some(id) = name.strip_prefix("blobs/") {
            let id: Uuid = id.parse().unwrap();
            let owners = rows.iter().map(|(owner, _)| owner);
            for owner in owners {
                let bound = [b"blob".as_slice(), salon.as_bytes(), owner, id.as_bytes()];
                all.extend(keys.iter().filter_map(|key| open(key, &bound, bytes)).flatten());
            }
        }
    }
    all
}

/// Opens every sealed cell of the file with every key in it, and adds all pages and all files as they are.
async fn opened_folder(folder: &Path, salon: Uuid) -> Vec<u8> {
    let tables = cells(folder).await;
    let pair = |row: &Vec<Vec<u8>>| (row[1].clone(), row[2].clone());
    let rows: Vec<_> = tables["stream_key"].iter().map(pair).collect();
    let keys = unwrapped(&data_key(folder), salon, &rows);
    let salon = salon.as_bytes().as_slice();
    let mut all: Vec<u8> = tables.values().flatten().flatten().flatten().copied().collect();
    let mut with_every_key = |bound: &[&[u8]], sealed: &[u8]| all.extend(keys.iter().filter_map(|key| open(key, bound, sealed)).flatten());
    for row in &tables["event"] {
        with_every_key(&[salon, &row[2], &row[3], &row[7]], &row[8]);
    }
    for row in &tables["view_row"] {
        with_every_key(&[b"view", salon, &row[1], &row[2]], &row[4]);
    }
    for row in &tables["answer"] {
        with_every_key(&[b"answer", salon, &row[1], &row[3]], &row[4]);
    }
    for row in &tables["trail"] {
        with_every_key(&[b"trail", salon, &row[1]], &row[2]);
    }
    for row in &tables["blob"] {
        let name = hex(&row[1]);
        let sealed = std::fs::read(folder.join("blobs").join(&name[..2]).join(&name)).unwrap();
        with_every_key(&[b"blob", salon, &row[2], &row[1]], &sealed);
    }
    all.extend(pages(folder));
    for file in walk(folder) {
        all.extend(std::fs::read(file).unwrap());
    }
    all
}

fn walk(folder: &Path) -> Vec<std::path::PathBuf> {
    std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .flat_map(|path| if path.is_dir() { walk(&path) } else { vec![path] })
        .collect()
}

const PLACES: [&str; 6] = ["facts", "plan", "health", "photo", "view", "answer"];

/// Asserts that nothing holds the words of the one who is gone, and that all holds those of the one who stays.
fn assert_gone(hay: &[u8], places: &[&str], what: &str) {
    for place in places {
        assert!(holds(hay, format!("{STAYS} in {place}").as_bytes()), "{what}: the search finds nothing in {place}");
    }
    assert!(!holds(hay, GONE.as_bytes()), "{what}: the erased client's words are still there");
}

#[tokio::test]
async fn an_erased_clients_words_are_nowhere_in_a_folder_or_a_new_archive() {
    let ground = tempfile::tempdir().unwrap();
    let folder = ground.path().join("salon");
    let place = Place::Folder(folder.clone());
    let (book, code) = Book::begin(&place, None, 1).await.unwrap();
    let [ida, ida_health, bea, bea_health] = [Uuid::now_v7(), Uuid::now_v7(), Uuid::now_v7(), Uuid::now_v7()];
    plant(&book, Stream::Client(ida), Stream::Health(ida_health), GONE).await;
    plant(&book, Stream::Client(bea), Stream::Health(bea_health), STAYS).await;
    let earlier = ground.path().join("earlier.age");
    book.backup(&earlier, 2).await.unwrap();
    book.close().await;

    // Before the erasure the search finds her everywhere, her keys in the pages too.
    let before = opened_folder(&folder, book.salon()).await;
    for place in PLACES {
        assert!(holds(&before, format!("{GONE} in {place}").as_bytes()), "{place}");
    }
    assert!(holds(&before, b"CREATE TABLE event"), "the pages are not open");
    assert!(holds(&opened_archive(&earlier, &code), GONE.as_bytes()));
    let hers = [stream_bytes(Stream::Client(ida)), stream_bytes(Stream::Health(ida_health))];
    let wrapped: Vec<Vec<u8>> =
        cells(&folder).await["stream_key"].iter().filter(|row| hers.contains(&row[1])).map(|row| row[2].clone()).collect();
    assert_eq!(wrapped.len(), 2);
    assert!(wrapped.iter().all(|key| holds(&pages(&folder), key)));

    let book = Book::open(&place, &Opener::Nothing).await.unwrap();
    let erased =
        book.erase(&[Stream::Client(ida), Stream::Health(ida_health)], batch(Stream::House, None, &["one client erased"])).await.unwrap();
    assert!(erased.let_go);
    // The log is empty while the book is still open.
    let while_open = pages(&folder);
    assert!(wrapped.iter().all(|key| !holds(&while_open, key)), "a destroyed key is still in the file or its log");
    let later = ground.path().join("later.age");
    book.backup(&later, 3).await.unwrap();
    book.audit().await.unwrap();
    book.close().await;

    let after = opened_folder(&folder, book.salon()).await;
    assert_gone(&after, &PLACES, "the folder");
    assert!(wrapped.iter().all(|key| !holds(&after, key)), "a destroyed key is still in the folder");
    let archive = opened_archive(&later, &code);
    assert_gone(&archive, &["facts", "plan", "health", "photo"], "the archive");
    assert!(wrapped.iter().all(|key| !holds(&archive, hex(key).as_bytes())));
    // The list beside the archives names ids and times, nothing else.
    let list = std::fs::read(ground.path().join(format!("erased-{}.json", book.salon().simple()))).unwrap();
    assert!(holds(&list, ida.to_string().as_bytes()) && !holds(&list, GONE.as_bytes()));
}

#[tokio::test]
async fn an_erased_clients_words_are_nowhere_in_a_database_or_a_new_archive() {
    let (server, ground) = (server(), tempfile::tempdir().unwrap());
    let place = server.place();
    let (book, code) = Book::begin(&place, Some(&ground::passphrase("four plain words")), 1).await.unwrap();
    let [ida, ida_health, bea, bea_health] = [Uuid::now_v7(), Uuid::now_v7(), Uuid::now_v7(), Uuid::now_v7()];
    plant(&book, Stream::Client(ida), Stream::Health(ida_health), GONE).await;
    plant(&book, Stream::Client(bea), Stream::Health(bea_health), STAYS).await;
    let dump = || {
        let tables = ["event", "stream_key", "blob", "blob_bytes", "view_row", "view_number", "answer", "trail", "erased", "key_document"];
        tables.map(|table| server.psql("hair", &format!("SELECT t::text FROM strandwright.{table} t"))).join("\n")
    };
    let hers = [Stream::Client(ida), Stream::Health(ida_health)];
    let wrapped = hers.map(|stream| {
        let owner = hex(&stream_bytes(stream));
        server.psql("hair", &format!("SELECT encode(wrapped, 'hex') FROM strandwright.stream_key WHERE owner = '\\x{owner}'"))
    });
    assert!(wrapped.iter().all(|key| key.len() == 144 && dump().contains(key)));
    let blobs = |server: &ground::Server| {
        server.psql("hair", &format!("SELECT count(*) FROM strandwright.blob_bytes WHERE salon = '\\x{}'", book.salon().simple()))
    };
    assert_eq!(blobs(&server), "2");

    let erased = book.erase(&hers, batch(Stream::House, None, &["one client erased"])).await.unwrap();
    assert!(erased.let_go, "the database's owner may vacuum");
    let after = dump();
    assert!(wrapped.iter().all(|key| !after.contains(key)));
    assert!(!after.contains(GONE) && !after.contains(&hex(GONE.as_bytes())), "nothing is ever readable in the tables");
    assert_eq!(blobs(&server), "1");
    let later = ground.path().join("later.age");
    book.backup(&later, 3).await.unwrap();
    let archive = opened_archive(&later, &code);
    assert_gone(&archive, &["facts", "plan", "health", "photo"], "the archive");
    assert!(wrapped.iter().all(|key| !holds(&archive, key.as_bytes())));
    book.close().await;
}
