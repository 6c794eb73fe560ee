//! The encrypted SQLite engine: the common story, and what is its own.

mod story;

use proptest::prelude::*;
use std::io::{BufRead, BufReader};
use std::os::unix::fs::PermissionsExt;
use std::path::Path;
use std::process::{Command, Stdio};
use store::{EarlierRecords, NewPhoto, NewReading, Protection, StoreFault};

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().unwrap()
}

#[tokio::test]
async fn the_story_holds_with_and_without_a_passphrase() {
    for passphrase in [None, Some("four plain words here")] {
        let place = folder();
        story::story(|| async { EarlierRecords::open_or_begin(place.path(), passphrase).await.unwrap() }).await;
    }
}

#[tokio::test]
async fn no_file_holds_a_name_in_plain_text() {
    let place = folder();
    let salon = EarlierRecords::begin(place.path(), Some("four plain words here")).await.unwrap();
    let maria = salon.add_client("Canarymaria Quellwasser", r#"{"note":"canaryallergy"}"#).await.unwrap();
    let picture = b"canarypicture ".repeat(2000);
    let photo = NewPhoto { client: Some(maria), picture, note: "canarymarks".into() };
    let photo = salon.keep_photo(&photo).await.unwrap();
    salon.keep_reading(&NewReading { client: maria, photo: Some(photo), document: "canarycolour".into() }).await.unwrap();
    assert_no_canary(place.path());
    salon.close().await;
    assert_no_canary(place.path());
}

fn assert_no_canary(place: &Path) {
    let mut seen = 0;
    for entry in std::fs::read_dir(place).unwrap() {
        let bytes = std::fs::read(entry.unwrap().path()).unwrap();
        let text = String::from_utf8_lossy(&bytes).to_lowercase();
        for canary in
            ["canarymaria", "canaryallergy", "canarypicture", "canarymarks", "canarycolour", "client_facts", "sqlite format", "four plain"]
        {
            assert!(!text.contains(canary), "{canary} is readable");
        }
        seen += bytes.len();
    }
    assert!(seen > 8192, "the records must have been among the files");
}

#[tokio::test]
async fn the_wrong_passphrase_is_told_from_a_damaged_key() {
    let place = folder();
    EarlierRecords::begin(place.path(), Some("right")).await.unwrap().close().await;
    let wrong = EarlierRecords::open(place.path(), Some("wrong")).await.unwrap_err();
    assert!(matches!(wrong, StoreFault::WrongPassphrase), "{wrong}");
    assert_eq!(wrong.exit_code(), 12);
    assert!(matches!(EarlierRecords::open(place.path(), None).await.unwrap_err(), StoreFault::PassphraseNeeded));
    assert_eq!(EarlierRecords::open(place.path(), Some("right")).await.unwrap().protection(), Protection::Passphrase);

    let key = place.path().join("salon.key");
    let text = std::fs::read_to_string(&key).unwrap();
    let at = text.find("covered_key").unwrap() + 16;
    let mut bent = text.clone().into_bytes();
    bent[at] = if bent[at] == b'0' { b'1' } else { b'0' };
    std::fs::write(&key, bent).unwrap();
    let damaged = EarlierRecords::open(place.path(), Some("right")).await.unwrap_err();
    assert_eq!(damaged.exit_code(), 13, "{damaged}");
    std::fs::remove_file(&key).unwrap();
    assert_eq!(EarlierRecords::open(place.path(), Some("right")).await.unwrap_err().exit_code(), 13);
}

#[tokio::test]
async fn the_key_file_is_for_its_owner_alone() {
    let place = folder();
    EarlierRecords::begin(place.path(), None).await.unwrap().close().await;
    let mode = std::fs::metadata(place.path().join("salon.key")).unwrap().permissions().mode();
    assert_eq!(mode & 0o777, 0o600);
}

#[tokio::test]
async fn a_second_opening_is_refused_until_the_first_is_gone() {
    let place = folder();
    let first = EarlierRecords::begin(place.path(), None).await.unwrap();
    let second = EarlierRecords::open(place.path(), None).await.unwrap_err();
    assert!(matches!(second, StoreFault::InUse(_)), "{second}");
    assert_eq!(second.exit_code(), 11);
    first.close().await;
    EarlierRecords::open(place.path(), None).await.unwrap();
}

#[tokio::test]
async fn an_empty_folder_holds_no_salon_and_a_full_one_is_not_taken_over() {
    let place = folder();
    assert_eq!(EarlierRecords::open(place.path(), None).await.unwrap_err().exit_code(), 10);
    std::fs::write(place.path().join("letters.txt"), "mine").unwrap();
    assert_eq!(EarlierRecords::begin(place.path(), None).await.unwrap_err().exit_code(), 10);
    assert_eq!(std::fs::read_to_string(place.path().join("letters.txt")).unwrap(), "mine");
}

#[tokio::test]
async fn a_beginning_cut_short_is_begun_anew() {
    let place = folder();
    std::fs::write(place.path().join("salon.beginning"), "").unwrap();
    std::fs::write(place.path().join("salon.key"), "{").unwrap();
    assert!(!EarlierRecords::is_in(place.path()));
    let salon = EarlierRecords::open_or_begin(place.path(), None).await.unwrap();
    salon.add_client("Ida", "{}").await.unwrap();
    salon.close().await;
    assert!(EarlierRecords::is_in(place.path()));
    assert_eq!(EarlierRecords::open(place.path(), None).await.unwrap().clients("", 9).await.unwrap().1, 1);
}

/// A folder's files by name, what they hold.
fn files_in(place: &Path) -> Vec<(String, Vec<u8>)> {
    let mut files: Vec<_> = std::fs::read_dir(place)
        .unwrap()
        .map(|entry| entry.unwrap())
        .map(|entry| (entry.file_name().to_string_lossy().into_owned(), std::fs::read(entry.path()).unwrap()))
        .collect();
    files.sort();
    files
}

#[tokio::test]
async fn a_stray_mark_of_beginning_never_costs_a_full_salon() {
    for passphrase in [None, Some("four plain words here")] {
        let place = folder();
        let salon = EarlierRecords::begin(place.path(), passphrase).await.unwrap();
        salon.add_client("Ida", "{}").await.unwrap();
        salon.close().await;
        let mark = place.path().join("salon.beginning");
        std::fs::write(&mark, "").unwrap();
        assert!(EarlierRecords::is_in(place.path()), "a mark beside records hides them");
        let before = files_in(place.path());
        let refused = EarlierRecords::begin(place.path(), passphrase).await.unwrap_err();
        assert_eq!(refused.exit_code(), 10, "{refused}");
        assert_eq!(files_in(place.path()), before);
        if passphrase.is_some() {
            assert_eq!(EarlierRecords::open_or_begin(place.path(), Some("another")).await.unwrap_err().exit_code(), 12);
            assert_eq!(files_in(place.path()), before);
        }
        let salon = EarlierRecords::open_or_begin(place.path(), passphrase).await.unwrap();
        assert_eq!(salon.clients("", 9).await.unwrap().1, 1);
        assert!(!mark.exists(), "the salon is whole: nothing is being begun any more");
    }
}

type Files = Vec<(&'static str, Vec<u8>)>;

/// Every choice of what may lie in a folder, given the records' file while its
/// log is not folded in, that log, the file with it, the key and a stranger's.
fn whatever_lies_there([unfolded, log, folded, right, stranger]: [&[u8]; 5]) -> Vec<Files> {
    let choices: [(&str, Vec<Option<&[u8]>>); 6] = [
        ("salon.beginning", vec![None, Some(b""), Some(b"mine")]),
        ("salon.db", vec![None, Some(b""), Some(unfolded), Some(folded)]),
        ("salon.db-wal", vec![None, Some(log)]),
        ("salon.db-journal", vec![None, Some(b"of a file that is not yet there")]),
        ("salon.key", vec![None, Some(b"{"), Some(right), Some(stranger)]),
        ("salon.key.new", vec![None, Some(b"{\"")]),
    ];
    choices.iter().fold(vec![Vec::new()], |all, (name, held)| {
        let with = |files: &Files, bytes: &Option<&[u8]>| files.iter().cloned().chain(bytes.map(|bytes| (*name, bytes.to_vec()))).collect();
        all.iter().flat_map(|files| held.iter().map(move |bytes| with(files, bytes))).collect()
    })
}

#[tokio::test]
async fn opening_deletes_nothing_whatever_lies_in_the_folder() {
    let (full, other) = (folder(), folder());
    let read = |place: &Path, name: &str| std::fs::read(place.join(name)).unwrap();
    let salon = EarlierRecords::begin(full.path(), None).await.unwrap();
    for n in 0..3 {
        salon.add_client(&format!("Client {n}"), "{}").await.unwrap();
    }
    let (unfolded, log, right) = (read(full.path(), "salon.db"), read(full.path(), "salon.db-wal"), read(full.path(), "salon.key"));
    salon.close().await;
    let folded = read(full.path(), "salon.db");
    assert!(!unfolded.is_empty() && folded.len() > unfolded.len() && log.len() >= folded.len());
    EarlierRecords::begin(other.path(), None).await.unwrap().close().await;
    let stranger = read(other.path(), "salon.key");
    let mut seen = [0; 3];
    for files in whatever_lies_there([&unfolded, &log, &folded, &right, &stranger]) {
        let place = folder();
        for (name, bytes) in &files {
            std::fs::write(place.path().join(name), bytes).unwrap();
        }
        let told: Vec<_> = files.iter().map(|(name, bytes)| format!("{name} {}", bytes.len())).collect();
        let held =
            |name: &str| files.iter().find(|(one, _)| *one == name).map(|(_, bytes)| bytes.as_slice()).filter(|bytes| !bytes.is_empty());
        let clients = match (held("salon.db"), held("salon.db-wal")) {
            (Some(_), Some(_)) => 3,
            (Some(db), None) if db == folded => 3,
            _ => 0,
        };
        let outcome = EarlierRecords::open_or_begin(place.path(), None).await;
        let after = files_in(place.path());
        let stays = |name: &str| held(name).is_none_or(|bytes| after.iter().any(|(_, there)| there == bytes));
        assert!(stays("salon.key") && stays("salon.key.new"), "a key is gone: {told:?}");
        match outcome {
            Ok(salon) => {
                assert_eq!(salon.clients("", 9).await.unwrap().1, clients, "{told:?}");
                assert!(held("salon.db").is_some() || held("salon.db-wal").is_none() && stays("salon.db-journal"), "{told:?}");
                seen[usize::from(held("salon.db").is_some())] += 1;
            }
            Err(fault) => {
                seen[2] += 1;
                assert!([10, 13].contains(&fault.exit_code()), "{fault}: {told:?}");
                if clients > 0 {
                    // A log may have been folded in; the right key opens it all the same.
                    std::fs::write(place.path().join("salon.key"), &right).unwrap();
                    let _ = std::fs::remove_file(place.path().join("salon.db-journal"));
                    let salon = EarlierRecords::open(place.path(), None).await.unwrap();
                    assert_eq!(salon.clients("", 9).await.unwrap().1, clients, "{told:?}");
                } else {
                    assert!(stays("salon.db") && stays("salon.db-wal"), "{fault}: {told:?}");
                }
            }
        }
    }
    assert!(seen.iter().all(|count| *count > 10), "begun, opened, refused: {seen:?}");
}

#[tokio::test]
async fn a_flipped_bit_anywhere_is_damage_and_never_other_records() {
    let place = folder();
    let salon = EarlierRecords::begin(place.path(), None).await.unwrap();
    for n in 0..50 {
        salon.add_client(&format!("Client {n}"), &"x".repeat(500)).await.unwrap();
    }
    salon.close().await;
    let path = place.path().join("salon.db");
    let whole = std::fs::read(&path).unwrap();
    for part in 0..24 {
        let mut bent = whole.clone();
        let at = whole.len() * part / 24 + 17;
        bent[at] ^= 0x10;
        std::fs::write(&path, &bent).unwrap();
        let outcome = EarlierRecords::open(place.path(), None).await;
        let fault = outcome.err().unwrap_or_else(|| panic!("byte {at} was changed and nothing was noticed"));
        assert_eq!(fault.exit_code(), 13, "byte {at}: {fault}");
    }
    for cut in [0, 100, 4096, whole.len() - 1] {
        std::fs::write(&path, &whole[..cut]).unwrap();
        let fault = EarlierRecords::open(place.path(), None).await.err().unwrap_or_else(|| panic!("cut at {cut} passed"));
        assert_eq!(fault.exit_code(), 13, "cut at {cut}: {fault}");
    }
    std::fs::write(&path, &whole).unwrap();
    assert_eq!(EarlierRecords::open(place.path(), None).await.unwrap().clients("", 1).await.unwrap().1, 50);
}

#[tokio::test]
async fn records_of_a_newer_program_are_refused_and_left_alone() {
    let place = folder();
    EarlierRecords::begin(place.path(), None).await.unwrap().close().await;
    let key = std::fs::read_to_string(place.path().join("salon.key")).unwrap();
    let hex = key.split('"').find(|part| part.len() == 64).unwrap().to_owned();
    let options = sqlx::sqlite::SqliteConnectOptions::new().filename(place.path().join("salon.db")).pragma("key", format!("\"x'{hex}'\""));
    let pool = sqlx::SqlitePool::connect_with(options).await.unwrap();
    sqlx::query("INSERT INTO layout (number, since_ms) VALUES (99, 0)").execute(&pool).await.unwrap();
    let changed = sqlx::query("UPDATE event SET verb = 'x'").execute(&pool).await;
    assert_eq!(changed.unwrap().rows_affected(), 0, "there is no event yet");
    pool.close().await;
    let newer = EarlierRecords::open(place.path(), None).await.unwrap_err();
    assert!(matches!(newer, StoreFault::Newer { found: 99, known: 2 }), "{newer}");
    assert_eq!(newer.exit_code(), 14);
}

/// The records of the first layout, made by undoing what the second adds.
#[tokio::test]
async fn records_of_the_first_layout_are_brought_up_to_date_and_lose_nothing() {
    let place = folder();
    let salon = EarlierRecords::begin(place.path(), None).await.unwrap();
    let ida = salon.add_client("Ida", "{}").await.unwrap();
    salon.close().await;
    let pool = raw(place.path()).await;
    sqlx::raw_sql("DROP TABLE reading; DROP TABLE photo; DELETE FROM layout WHERE number > 1").execute(&pool).await.unwrap();
    pool.close().await;
    let salon = EarlierRecords::open(place.path(), None).await.unwrap();
    assert_eq!(salon.client(ida).await.unwrap().label, "Ida");
    let photo = NewPhoto { client: Some(ida), picture: vec![1, 2, 3], note: "{}".into() };
    let photo = salon.keep_photo(&photo).await.unwrap();
    assert_eq!(salon.picture(photo).await.unwrap(), [1, 2, 3]);
}

async fn raw(place: &Path) -> sqlx::SqlitePool {
    let key = std::fs::read_to_string(place.join("salon.key")).unwrap();
    let hex = key.split('"').find(|part| part.len() == 64).unwrap().to_owned();
    let options = sqlx::sqlite::SqliteConnectOptions::new().filename(place.join("salon.db")).pragma("key", format!("\"x'{hex}'\""));
    sqlx::SqlitePool::connect_with(options).await.unwrap()
}

#[tokio::test]
async fn the_event_log_cannot_be_rewritten() {
    let place = folder();
    let salon = EarlierRecords::begin(place.path(), None).await.unwrap();
    salon.add_client("Ida", "{}").await.unwrap();
    salon.close().await;
    let key = std::fs::read_to_string(place.path().join("salon.key")).unwrap();
    let hex = key.split('"').find(|part| part.len() == 64).unwrap().to_owned();
    let options = sqlx::sqlite::SqliteConnectOptions::new().filename(place.path().join("salon.db")).pragma("key", format!("\"x'{hex}'\""));
    let pool = sqlx::SqlitePool::connect_with(options).await.unwrap();
    assert!(sqlx::query("UPDATE event SET verb = 'x'").execute(&pool).await.is_err());
    assert!(sqlx::query("DELETE FROM event").execute(&pool).await.is_err());
}

/// *Source*: key `sqlitedocs`, "PRAGMA synchronous": in WAL mode only FULL (2) or
/// more keeps a commit through a loss of power.
#[tokio::test]
async fn commits_are_made_to_survive_a_loss_of_power() {
    let place = folder();
    let salon = EarlierRecords::begin(place.path(), None).await.unwrap();
    assert_eq!(salon.durability().await.unwrap(), ("wal".to_owned(), 2, true));
}

#[tokio::test]
async fn of_many_changes_from_one_version_exactly_one_wins() {
    let place = folder();
    let salon = std::sync::Arc::new(EarlierRecords::begin(place.path(), None).await.unwrap());
    let ida = salon.add_client("Ida", "{}").await.unwrap();
    let tries: Vec<_> = (0..20)
        .map(|n| {
            let salon = salon.clone();
            tokio::spawn(async move { salon.change_client(ida, 1, &format!("Ida {n}"), "{}").await.is_ok() })
        })
        .collect();
    let mut won = 0;
    for one in tries {
        won += usize::from(one.await.unwrap());
    }
    assert_eq!(won, 1);
    assert_eq!(salon.client(ida).await.unwrap().version, 2);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(8))]
    /// Whatever is typed, with quotes, controls or half an alphabet, comes back as it was.
    #[test]
    fn any_text_comes_back_as_it_went_in(label in "\\PC{0,40}", facts in any::<String>()) {
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
        runtime.block_on(async {
            let place = folder();
            let salon = EarlierRecords::begin(place.path(), None).await.unwrap();
            let id = salon.add_client(&label, &facts).await.unwrap();
            let found = salon.client(id).await.unwrap();
            assert_eq!((found.label, found.facts), (label, facts));
        });
    }
}

/// Writes clients until it is killed, saying each id once its write was
/// acknowledged. Run only by the test below, in a process of its own.
#[tokio::test]
#[ignore = "the victim of the test that kills a writer"]
async fn victim_that_writes_until_killed() {
    let place = std::env::var("STRANDWRIGHT_TEST_FOLDER").unwrap();
    let salon = EarlierRecords::open(Path::new(&place), None).await.unwrap();
    loop {
        let id = salon.add_client("Ida", "{}").await.unwrap();
        println!("kept {id}");
    }
}

#[tokio::test]
async fn what_was_acknowledged_survives_kill_minus_nine() {
    let place = folder();
    EarlierRecords::begin(place.path(), None).await.unwrap().close().await;
    let mut acknowledged = Vec::new();
    for round in 0..6 {
        let mut victim = Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "victim_that_writes_until_killed", "--ignored", "--nocapture"])
            .env("STRANDWRIGHT_TEST_FOLDER", place.path())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(victim.stdout.take().unwrap()).lines();
        let mut seen = 0;
        while seen < 20 + 7 * round {
            let line = lines.next().expect("the victim must write").unwrap();
            if let Some((_, id)) = line.split_once("kept ") {
                acknowledged.push(id.trim().to_owned());
                seen += 1;
            }
        }
        victim.kill().unwrap();
        victim.wait().unwrap();
        for line in lines.map_while(Result::ok) {
            if let Some((_, id)) = line.split_once("kept ").filter(|(_, id)| id.trim().len() == 36) {
                acknowledged.push(id.trim().to_owned());
            }
        }
        let salon = EarlierRecords::open(place.path(), None).await.unwrap();
        for id in &acknowledged {
            salon.client(id.parse().unwrap()).await.unwrap();
        }
        let (_, there) = salon.clients("", 1).await.unwrap();
        let most = acknowledged.len() as u64 + round + 1;
        assert!(there >= acknowledged.len() as u64 && there <= most, "{there} of {}", acknowledged.len());
        assert_eq!(salon.events_after(0, 100_000).await.unwrap().len() as u64, there, "a change without its line");
        salon.close().await;
    }
}
