//! What stands in a book's files, read without the book's own code: only the
//! ciphers' crates, and the formats as the documents describe them.

#![allow(dead_code, reason = "each test file uses a part of it")]

use aes::cipher::{BlockModeDecrypt, KeyIvInit, block_padding::NoPadding};
use chacha20poly1305::aead::{Aead, KeyInit, Payload};
use chacha20poly1305::{XChaCha20Poly1305, XNonce};
use hkdf::Hkdf;
use sha2::Sha256;
use sqlx::sqlite::{SqliteConnectOptions, SqliteConnection};
use sqlx::{ConnectOptions, Row};
use std::collections::BTreeMap;
use std::io::Read;
use std::path::Path;
use store::book::{RecoveryCode, Stream};
use uuid::Uuid;

pub type Key = [u8; 32];

/// Derives a key for one use: HKDF-SHA256, the book's salt, the purpose.
pub fn derived(key: &Key, purpose: &str) -> Key {
    let mut out = [0; 32];
    Hkdf::<Sha256>::new(Some(b"strandwright book 1"), key).expand(purpose.as_bytes(), &mut out).unwrap();
    out
}

/// Opens a seal: 24 bytes of nonce, then XChaCha20-Poly1305 over the parts with their lengths.
pub fn open(key: &Key, bound: &[&[u8]], sealed: &[u8]) -> Option<Vec<u8>> {
    let (nonce, body) = sealed.split_first_chunk::<24>()?;
    let mut aad = Vec::new();
    for part in bound {
        aad.extend((part.len() as u64).to_be_bytes());
        aad.extend(*part);
    }
    XChaCha20Poly1305::new(key.into()).decrypt(<&XNonce>::from(nonce), Payload { msg: body, aad: &aad }).ok()
}

pub fn unhex(text: &str) -> Vec<u8> {
    (0..text.len()).step_by(2).map(|i| u8::from_str_radix(&text[i..i + 2], 16).unwrap()).collect()
}

pub fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// The data key of a folder without a passphrase.
pub fn data_key(folder: &Path) -> Key {
    let text = std::fs::read_to_string(folder.join("book.key")).unwrap();
    let document: serde_json::Value = serde_json::from_str(&text).unwrap();
    unhex(document["keeping"]["key"].as_str().unwrap()).try_into().unwrap()
}

/// A connection to the file of a closed book, past all of the book's code.
pub async fn raw(folder: &Path) -> SqliteConnection {
    let key = hex(&derived(&data_key(folder), "file"));
    SqliteConnectOptions::new().filename(folder.join("book.db")).pragma("key", format!("\"x'{key}'\"")).connect().await.unwrap()
}

/// The same for a book with a passphrase: Argon2id as the key file says, then the seal over the data key.
pub async fn raw_with(folder: &Path, passphrase: &str) -> SqliteConnection {
    let text = std::fs::read_to_string(folder.join("book.key")).unwrap();
    let document: serde_json::Value = serde_json::from_str(&text).unwrap();
    let keeping = &document["keeping"];
    let number = |name: &str| u32::try_from(keeping[name].as_u64().unwrap()).unwrap();
    let params = argon2::Params::new(number("memory_kib"), number("passes"), number("lanes"), Some(32)).unwrap();
    let mut cover: Key = [0; 32];
    argon2::Argon2::new(argon2::Algorithm::Argon2id, argon2::Version::V0x13, params)
        .hash_password_into(passphrase.as_bytes(), &unhex(keeping["salt"].as_str().unwrap()), &mut cover)
        .unwrap();
    let salon: Uuid = document["salon"].as_str().unwrap().parse().unwrap();
    let data_key = open(&cover, &[b"data key", salon.as_bytes()], &unhex(keeping["sealed"].as_str().unwrap())).unwrap();
    let key = hex(&derived(&data_key.try_into().unwrap(), "file"));
    SqliteConnectOptions::new().filename(folder.join("book.db")).pragma("key", format!("\"x'{key}'\"")).connect().await.unwrap()
}

/// Every cell of every table of the file, by table.
pub async fn cells(folder: &Path) -> BTreeMap<String, Vec<Vec<Vec<u8>>>> {
    let mut connection = raw(folder).await;
    let names = sqlx::query("SELECT name FROM sqlite_schema WHERE type = 'table'").fetch_all(&mut connection).await.unwrap();
    let mut tables = BTreeMap::new();
    for name in names {
        let name: String = name.get(0);
        let sql = format!("SELECT * FROM {name}");
        let rows = sqlx::query(sqlx::AssertSqlSafe(sql)).fetch_all(&mut connection).await.unwrap();
        let rows = rows.iter().map(|row| (0..row.len()).map(|at| cell(row, at)).collect()).collect();
        tables.insert(name, rows);
    }
    // Closed here: a connection that is dropped takes its log away while others look through the folder.
    sqlx::Connection::close(connection).await.unwrap();
    tables
}

fn cell(row: &sqlx::sqlite::SqliteRow, at: usize) -> Vec<u8> {
    row.try_get::<Vec<u8>, _>(at)
        .or_else(|_| row.try_get::<String, _>(at).map(String::into_bytes))
        .or_else(|_| row.try_get::<i64, _>(at).map(|number| number.to_be_bytes().to_vec()))
        .unwrap()
}

/// The pages of the file and of its log with SQLCipher's encryption taken off,
/// free ones and leftovers within pages included.
///
/// *Source*: key `sqlcipherdesign`: AES-256-CBC, pages of 4096 bytes, of which
/// the last 80 hold the initialisation vector and the code; the first page begins
/// with 16 bytes of salt. The log's header has 32 bytes, a frame's 24: key
/// `sqlitedocs`, "Database File Format".
pub fn pages(folder: &Path) -> Vec<u8> {
    let key = derived(&data_key(folder), "file");
    let file = std::fs::read(folder.join("book.db")).unwrap();
    let log = std::fs::read(folder.join("book.db-wal")).unwrap_or_default();
    let mut plain = Vec::new();
    for (at, page) in file.chunks(4096).enumerate() {
        plain.extend(page_of(&key, page, if at == 0 { 16 } else { 0 }));
    }
    for frame in log.get(32..).unwrap_or_default().chunks_exact(24 + 4096) {
        plain.extend(page_of(&key, &frame[24..], if frame[..4] == [0, 0, 0, 1] { 16 } else { 0 }));
    }
    plain
}

fn page_of(key: &Key, page: &[u8], skip: usize) -> Vec<u8> {
    let (body, rest) = page.split_at(4096 - 80);
    let iv: [u8; 16] = rest[..16].try_into().unwrap();
    let mut plain = body[skip..].to_vec();
    cbc::Decryptor::<aes::Aes256>::new(key.into(), (&iv).into()).decrypt_padded::<NoPadding>(&mut plain).unwrap();
    plain
}

/// An archive's members, in order, opened with the printed code.
pub fn members(file: &Path, code: &RecoveryCode) -> Vec<(String, Vec<u8>)> {
    let identity: age::x25519::Identity = format!("AGE-SECRET-KEY-1{}", code.printed().replace('-', "")).parse().unwrap();
    let bytes = std::fs::read(file).unwrap();
    let sealed = age::Decryptor::new(bytes.as_slice()).unwrap();
    let open = sealed.decrypt(std::iter::once(&identity as &dyn age::Identity)).unwrap();
    let mut archive = tar::Archive::new(flate2::read::GzDecoder::new(open));
    let mut members = Vec::new();
    for entry in archive.entries().unwrap() {
        let mut entry = entry.unwrap();
        let name = entry.path().unwrap().to_string_lossy().into_owned();
        let mut bytes = Vec::new();
        entry.read_to_end(&mut bytes).unwrap();
        members.push((name, bytes));
    }
    members
}

/// Writes an archive of these members to the code's public half.
pub fn write_members(file: &Path, code: &RecoveryCode, members: &[(String, Vec<u8>)]) {
    let recipient: age::x25519::Recipient = code.recipient().parse().unwrap();
    let encryptor = age::Encryptor::with_recipients(std::iter::once(&recipient as &dyn age::Recipient)).unwrap();
    let sealed = encryptor.wrap_output(std::fs::File::create(file).unwrap()).unwrap();
    let mut archive = tar::Builder::new(flate2::write::GzEncoder::new(sealed, flate2::Compression::fast()));
    for (name, bytes) in members {
        let mut header = tar::Header::new_ustar();
        header.set_size(bytes.len() as u64);
        archive.append_data(&mut header, name, bytes.as_slice()).unwrap();
    }
    archive.into_inner().unwrap().finish().unwrap().finish().unwrap();
}

/// Unwraps what stands in a key table: owner and wrapped key.
pub fn unwrapped(data_key: &Key, salon: Uuid, rows: &[(Vec<u8>, Vec<u8>)]) -> Vec<Key> {
    let wrapping = derived(data_key, "wrapping");
    rows.iter().map(|(owner, wrapped)| open(&wrapping, &[b"key", salon.as_bytes(), owner], wrapped).unwrap().try_into().unwrap()).collect()
}

/// A stream as the tables name it.
pub fn stream_bytes(stream: Stream) -> Vec<u8> {
    match stream {
        Stream::Client(id) => [b"c", id.as_bytes().as_slice()].concat(),
        Stream::Health(id) => [b"h", id.as_bytes().as_slice()].concat(),
        Stream::Shelf => b"s".to_vec(),
        Stream::Money => b"m".to_vec(),
        Stream::Diary => b"d".to_vec(),
        Stream::House => b"o".to_vec(),
    }
}

/// Whether `needle` stands anywhere in `hay`.
pub fn holds(hay: &[u8], needle: &[u8]) -> bool {
    hay.windows(needle.len()).any(|window| window == needle)
}
