//! Archives: the same whichever engine made them, restored into either.

mod ground;
#[path = "ground/outside.rs"]
mod outside;

use ground::{batch, passphrase, server};
use outside::{members, write_members};
use std::path::{Path, PathBuf};
use store::StoreFault;
use store::book::{Access, Batch, BlobId, Book, Erasures, Noted, Opener, Place, RecoveryCode, Restorer, Stream, TrailLine, ViewWrite};
use uuid::Uuid;

const WORDS: &str = "four plain words here";
const BY: Restorer = Restorer { who: Uuid::from_u128(42), at_ms: 99 };

/// A book with something of everything.
struct Filled {
    book: Book,
    code: RecoveryCode,
    ida: Stream,
    answers: Uuid,
    photo: BlobId,
}

async fn filled(place: &Place) -> Filled {
    let (book, code) = Book::begin(place, Some(&passphrase(WORDS)), 1).await.unwrap();
    let (ida, answers, gone) = (Stream::Client(Uuid::now_v7()), Uuid::now_v7(), Stream::Client(Uuid::now_v7()));
    for n in 0..30 {
        book.append(batch(ida, Some(n), &[&format!("event {n}")])).await.unwrap();
    }
    book.append(batch(Stream::Health(answers), None, &["no allergy"])).await.unwrap();
    book.append(batch(gone, None, &["soon gone"])).await.unwrap();
    for stream in [Stream::Shelf, Stream::Money, Stream::Diary] {
        book.append(batch(stream, None, &["one", "two"])).await.unwrap();
    }
    let photo = book.put_blob(ida, &[7; 50_000]).await.unwrap();
    book.put_blob(Stream::Money, b"an invoice").await.unwrap();
    book.read_health(answers, 0, &Access { who: BY.who, at_ms: 5, why: "try".into() }).await.unwrap();
    book.erase(&[gone], batch(Stream::House, None, &["erased"])).await.unwrap();
    let view = ViewWrite::Put { view: "v".into(), key: vec![1], owner: Stream::House, body: vec![2] };
    book.append(Batch { views: vec![view], ..Batch::default() }).await.unwrap();
    Filled { book, code, ida, answers, photo }
}

/// All that an archive carries, as the book itself tells it.
async fn told(book: &Book, filled: &Filled) -> String {
    let mut all = String::new();
    for row in book.read_all(0, 1000, None).await.unwrap() {
        all += &format!("{row:?}\n");
    }
    all += &format!("{:?}\n{:?}\n{:?}\n", book.versions().await.unwrap(), book.head().await.unwrap(), book.erased().await.unwrap());
    let trail: Vec<TrailLine> = book.trail(0, 100).await.unwrap();
    all += &format!("{:?}\n", trail.iter().filter(|line| !matches!(line.what, Noted::Restored { .. })).collect::<Vec<_>>());
    all += &format!("{:?} {}", book.blob(filled.photo).await.unwrap().len(), book.recipient());
    all
}

async fn across(from: &Place, to: &Place, ground: &Path) {
    let filled = filled(from).await;
    let before = told(&filled.book, &filled).await;
    let file = ground.join("backup.age");
    let made = filled.book.backup(&file, 1234).await.unwrap();
    let events = filled.book.head().await.unwrap().seq;
    assert_eq!((made.events, made.blobs, made.erased, made.made_ms), (events, 2, 1, 1234));
    assert_eq!(made.head, filled.book.head().await.unwrap().hash);
    assert_eq!(Book::verify(&file, &filled.code).await.unwrap(), made);
    // An archive never takes another's place, and the book goes on meanwhile.
    assert!(matches!(filled.book.backup(&file, 1).await.unwrap_err(), StoreFault::NotEmpty(_)));
    filled.book.append(batch(filled.ida, None, &["after the backup"])).await.unwrap();
    filled.book.close().await;

    let (restored, verified) =
        Book::restore(&file, to, &filled.code, Some(&passphrase("another one")), &Erasures::Beside, BY).await.unwrap();
    assert_eq!(verified, made);
    assert_eq!(told(&restored, &filled).await, before);
    let trail = restored.trail(0, 100).await.unwrap();
    assert_eq!(trail.last().unwrap().what, Noted::Restored { seq: events, with_erasures: true });
    assert!(restored.view("v").await.unwrap().is_empty(), "views are built anew");
    restored.audit().await.unwrap();
    // It goes on from there, under its new passphrase, with the code of the sheet.
    restored.append(batch(filled.ida, Some(30), &["a year later"])).await.unwrap();
    restored.close().await;
    assert!(matches!(Book::open(to, &Opener::Passphrase(passphrase(WORDS))).await.unwrap_err(), StoreFault::WrongPassphrase));
    Book::open(to, &Opener::Passphrase(passphrase("another one"))).await.unwrap().close().await;
    let again = Book::open(to, &Opener::Code(filled.code.clone())).await.unwrap();
    assert_eq!(again.read(filled.ida, 0).await.unwrap().len(), 31);
    assert_eq!(again.read_health(filled.answers, 0, &Access { who: BY.who, at_ms: 6, why: "try".into() }).await.unwrap().len(), 1);
    // And back into the other kind of place: the same content.
    let second = ground.join("second.age");
    again.backup(&second, 1235).await.unwrap();
    Book::verify(&second, &filled.code).await.unwrap();
    again.close().await;
}

#[tokio::test]
async fn an_archive_goes_from_a_folder_into_a_database() {
    let (server, ground) = (server(), tempfile::tempdir().unwrap());
    let from = Place::Folder(ground.path().join("from"));
    // A database's salon is named by its id, which the folder drew by chance.
    let (probe, code) = Book::begin(&Place::Folder(ground.path().join("probe")), None, 1).await.unwrap();
    let file = ground.path().join("probe.age");
    probe.backup(&file, 1).await.unwrap();
    let wrong = Book::restore(&file, &server.place(), &code, Some(&passphrase(WORDS)), &Erasures::Beside, BY).await.unwrap_err();
    assert!(wrong.to_string().contains(&format!("?salon={}", probe.salon())), "{wrong}");
    let to = Place::Postgres { url: server.url("keeper"), salon: probe.salon() };
    let no_words = Book::restore(&file, &to, &code, None, &Erasures::Beside, BY).await.unwrap_err();
    assert!(matches!(no_words, StoreFault::PassphraseRefused(_)), "{no_words}");
    drop(probe);
    let filled = filled(&from).await;
    let before = told(&filled.book, &filled).await;
    let file = ground.path().join("backup.age");
    let made = filled.book.backup(&file, 1).await.unwrap();
    let to = Place::Postgres { url: server.url("keeper"), salon: filled.book.salon() };
    let (restored, verified) = Book::restore(&file, &to, &filled.code, Some(&passphrase(WORDS)), &Erasures::Beside, BY).await.unwrap();
    assert_eq!((verified, told(&restored, &filled).await), (made, before));
    restored.audit().await.unwrap();
    // A second restore finds the place taken and leaves it as it is.
    let taken = Book::restore(&file, &to, &filled.code, Some(&passphrase(WORDS)), &Erasures::Beside, BY).await.unwrap_err();
    assert!(matches!(taken, StoreFault::NotEmpty(_)), "{taken}");
    // From there back into a folder: member for member the same archive, but for its day and the trail of the restore.
    let second = ground.path().join("second.age");
    restored.backup(&second, 1).await.unwrap();
    let (first, second) = (members(&file, &filled.code), members(&second, &filled.code));
    assert_eq!(first.iter().map(|(name, _)| name).collect::<Vec<_>>(), second.iter().map(|(name, _)| name).collect::<Vec<_>>());
    for ((name, one), (_, other)) in first.iter().zip(&second).filter(|((name, _), _)| name != "trail.json") {
        assert!(one == other, "{name} differs between the engines");
    }
    restored.close().await;
}

#[tokio::test]
async fn an_archive_goes_from_a_database_into_a_folder() {
    let (server, ground) = (server(), tempfile::tempdir().unwrap());
    across(&server.place(), &Place::Folder(ground.path().join("to")), ground.path()).await;
}

#[tokio::test]
async fn an_archive_goes_from_a_folder_into_another() {
    let ground = tempfile::tempdir().unwrap();
    across(&Place::Folder(ground.path().join("from")), &Place::Folder(ground.path().join("to")), ground.path()).await;
}

fn folder_in(ground: &Path, name: &str) -> Place {
    Place::Folder(ground.join(name))
}

#[tokio::test]
async fn an_erasure_after_the_backup_is_done_again_at_the_restore() {
    let ground = tempfile::tempdir().unwrap();
    let filled = filled(&folder_in(ground.path(), "from")).await;
    let file = ground.path().join("backup.age");
    filled.book.backup(&file, 1).await.unwrap();
    let list = ground.path().join(format!("erased-{}.json", filled.book.salon().simple()));
    let older = std::fs::read(&list).unwrap();
    filled.book.erase(&[filled.ida], batch(Stream::House, None, &["erased"])).await.unwrap();
    filled.book.write_erasures(ground.path()).await.unwrap();
    filled.book.close().await;
    let newer = std::fs::read(&list).unwrap();
    let restore = |name: &'static str, erasures: Erasures| {
        let (file, to, code) = (file.clone(), folder_in(ground.path(), name), filled.code.clone());
        async move { Book::restore(&file, &to, &code, None, &erasures, BY).await }
    };

    let (restored, _) = restore("a", Erasures::Beside).await.unwrap();
    assert!(matches!(restored.read(filled.ida, 0).await.unwrap_err(), StoreFault::Erased(_)));
    assert!(matches!(restored.blob(filled.photo).await.unwrap_err(), StoreFault::Unknown("blob")));
    assert_eq!(restored.erased().await.unwrap().len(), 2);
    restored.audit().await.unwrap();

    // Without the list nothing is restored, unless that is said, and then it is noted.
    std::fs::remove_file(&list).unwrap();
    assert!(matches!(restore("b", Erasures::Beside).await.unwrap_err(), StoreFault::ErasuresMissing(_)));
    assert!(!Book::is_in(&ground.path().join("b")));
    let (restored, _) = restore("b", Erasures::Without).await.unwrap();
    assert_eq!(restored.read(filled.ida, 0).await.unwrap().len(), 30);
    let last = restored.trail(0, 99).await.unwrap().pop().unwrap();
    assert!(matches!(last.what, Noted::Restored { with_erasures: false, .. }) && last.who == BY.who && last.at_ms == 99);

    // A list that was shortened, changed or is another salon's is refused; so is one older than the archive.
    let elsewhere = ground.path().join("list.json");
    let mut short: serde_json::Value = serde_json::from_slice(&newer).unwrap();
    short["erased"].as_array_mut().unwrap().pop();
    let mut other: serde_json::Value = serde_json::from_slice(&newer).unwrap();
    other["erased"][1]["stream"] = format!("client/{}", Uuid::nil()).into();
    let mut nobodys: serde_json::Value = serde_json::from_slice(&newer).unwrap();
    nobodys["salon"] = Uuid::nil().to_string().into();
    for (n, wrong) in [short, other, nobodys].iter().enumerate() {
        std::fs::write(&elsewhere, wrong.to_string()).unwrap();
        let refused = restore("c", Erasures::File(elsewhere.clone())).await.unwrap_err();
        assert!(matches!(refused, StoreFault::Archive { .. }), "{n}: {refused}");
    }
    std::fs::write(&elsewhere, &newer).unwrap();
    restore("c", Erasures::File(elsewhere.clone())).await.unwrap();
    let book = Book::open(&folder_in(ground.path(), "from"), &Opener::Passphrase(passphrase(WORDS))).await.unwrap();
    let second = ground.path().join("second.age");
    book.backup(&second, 2).await.unwrap();
    std::fs::write(&elsewhere, &older).unwrap();
    let code = filled.code.clone();
    let stale = Book::restore(&second, &folder_in(ground.path(), "d"), &code, None, &Erasures::File(elsewhere), BY).await.unwrap_err();
    assert!(stale.to_string().contains("older than the archive"), "{stale}");
}

#[tokio::test]
async fn an_archive_that_is_not_whole_is_refused_and_leaves_no_book() {
    let ground = tempfile::tempdir().unwrap();
    let filled = filled(&folder_in(ground.path(), "from")).await;
    let file = ground.path().join("backup.age");
    filled.book.backup(&file, 1).await.unwrap();
    let (_, strange) = Book::begin(&folder_in(ground.path(), "strange"), None, 1).await.unwrap();
    assert!(matches!(Book::verify(&file, &strange).await.unwrap_err(), StoreFault::WrongCode));
    assert_eq!(Book::verify(&ground.path().join("none.age"), &strange).await.unwrap_err().exit_code(), 1);

    // Cut off at any of many places, or with a bit turned.
    let bytes = std::fs::read(&file).unwrap();
    let bent = ground.path().join("bent.age");
    let check = |what: String| {
        let (bent, code) = (bent.clone(), filled.code.clone());
        async move {
            let fault = Book::verify(&bent, &code).await.unwrap_err();
            assert!(matches!(fault, StoreFault::Archive { .. } | StoreFault::WrongCode), "{what}: {fault}");
        }
    };
    for part in 0..40 {
        let at = bytes.len() * part / 40;
        std::fs::write(&bent, &bytes[..at]).unwrap();
        check(format!("cut at {at}")).await;
        let mut turned = bytes.clone();
        turned[at] ^= 0x10;
        std::fs::write(&bent, &turned).unwrap();
        check(format!("bit at {at}")).await;
    }

    // Made anew by somebody who has the public half only, one member changed at a time.
    let members = members(&file, &filled.code);
    for (at, (name, bytes)) in members.iter().enumerate() {
        let mut missing = members.clone();
        missing.remove(at);
        write_members(&bent, &filled.code, &missing);
        check(format!("without {name}")).await;
        let mut twice = members.clone();
        twice.insert(at, (name.clone(), bytes.clone()));
        write_members(&bent, &filled.code, &twice);
        check(format!("{name} twice")).await;
        for place in [bytes.len() / 3, bytes.len() / 2, bytes.len() - 2] {
            // The trail is sealed line by line and checked when it is read; the day it was made is only told.
            if name == "trail.json" || name == "manifest.json" {
                continue;
            }
            let mut changed = members.clone();
            changed[at].1[place] ^= 1;
            write_members(&bent, &filled.code, &changed);
            check(format!("{name} changed at {place}")).await;
        }
    }
    let place = folder_in(ground.path(), "to");
    let refused = Book::restore(&bent, &place, &filled.code, None, &Erasures::Without, BY).await.unwrap_err();
    assert!(matches!(refused, StoreFault::Archive { .. }), "{refused}");
    assert!(!Book::is_in(&ground.path().join("to")));
    // The same place takes the good one afterwards.
    Book::restore(&file, &place, &filled.code, None, &Erasures::Beside, BY).await.unwrap().0.audit().await.unwrap();
    assert!(leftovers(ground.path()).is_empty(), "{:?}", leftovers(ground.path()));
}

fn leftovers(folder: &Path) -> Vec<PathBuf> {
    std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "new"))
        .collect()
}

#[tokio::test]
async fn a_backup_that_cannot_be_written_leaves_no_file() {
    let ground = tempfile::tempdir().unwrap();
    let filled = filled(&folder_in(ground.path(), "from")).await;
    let nowhere = ground.path().join("missing").join("backup.age");
    assert!(filled.book.backup(&nowhere, 1).await.is_err());
    assert!(!nowhere.exists());
    // A blob whose bytes are gone: no archive rather than one without it.
    let name = filled.photo.to_string();
    std::fs::remove_file(ground.path().join("from/blobs").join(&name[..2]).join(&name)).unwrap();
    let file = ground.path().join("backup.age");
    let fault = filled.book.backup(&file, 1).await.unwrap_err();
    assert!(fault.to_string().contains(&name), "{fault}");
    assert!(!file.exists() && leftovers(ground.path()).is_empty());
}

/// Another implementation of the age format (Debian's `age`, the reference one,
/// in Go), another language's SHA-256 and libsodium's XChaCha20-Poly1305 (PyPI
/// `PyNaCl`) read an archive by the description alone: `tools/read_archive.py`.
#[tokio::test]
async fn python_opens_an_archive_and_comes_to_the_same_chain() {
    let Some(python) = std::env::var_os("STRANDWRIGHT_PYTHON").filter(|python| Path::new(python).exists()) else {
        eprintln!("STRANDWRIGHT_PYTHON names no interpreter: archives are read by the other checks only");
        return;
    };
    let ground = tempfile::tempdir().unwrap();
    let filled = filled(&folder_in(ground.path(), "from")).await;
    let file = ground.path().join("backup.age");
    let made = filled.book.backup(&file, 1).await.unwrap();
    let code = ground.path().join("code.txt");
    std::fs::write(&code, filled.code.printed().as_bytes()).unwrap();
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tools/read_archive.py");
    let read = |file: &Path| {
        let output = std::process::Command::new(&python).arg(&script).arg(file).arg(&code).output().unwrap();
        assert!(!output.stdout.is_empty(), "{}", String::from_utf8_lossy(&output.stderr));
        (output.status.success(), serde_json::from_slice::<serde_json::Value>(&output.stdout).unwrap())
    };
    let (ok, said) = read(&file);
    assert!(ok, "{said}");
    assert_eq!(said["events"], made.events);
    assert_eq!(said["head"], outside::hex(&made.head));
    // All but the one event of the erased client opens.
    assert_eq!((said["erased"].as_u64(), said["opened"].as_u64(), said["blobs"].as_u64()), (Some(1), Some(made.events - 1), Some(2)));
    // It finds a row that was changed, too.
    let mut members = members(&file, &filled.code);
    let events = members.iter_mut().find(|(name, _)| name.starts_with("events/")).unwrap();
    let middle = events.1.len() / 2;
    events.1[middle] ^= 1;
    write_members(&file, &filled.code, &members);
    let (ok, said) = read(&file);
    assert!(!ok && said["fault"].as_str().unwrap().starts_with("event "), "{said}");
}
