//! What was acknowledged survives the death of the process; on a database two
//! processes write at once and die in turn.

mod ground;

use ground::{batch, passphrase, server};
use std::collections::BTreeMap;
use std::io::{BufRead, BufReader, Lines};
use std::process::{Child, ChildStdout, Command, Stdio};
use std::sync::Arc;
use store::StoreFault;
use store::book::{BlobId, Book, Opener, Place, Stream};
use uuid::Uuid;

const WORDS: &str = "four plain words here";

/// Appends, keeps blobs and erases from several tasks until it is killed, saying
/// each thing once it was acknowledged. Run only by the tests below.
#[tokio::test]
#[ignore = "the victim of the tests that kill a writer"]
async fn victim_that_writes_until_killed() {
    let place: Place = std::env::var("STRANDWRIGHT_TEST_PLACE").unwrap().parse().unwrap();
    let book = Arc::new(Book::open(&place, &Opener::Passphrase(passphrase(WORDS))).await.unwrap());
    let mut tasks = tokio::task::JoinSet::new();
    for task in 0..4 {
        let book = Arc::clone(&book);
        tasks.spawn(async move {
            for turn in 0_u32.. {
                let client = Stream::Client(Uuid::now_v7());
                let appended = book.append(batch(client, Some(0), &["born", "bleached"])).await.unwrap();
                println!("\nkept {client} {}", appended[1].seq);
                if task == 0 {
                    println!("\nblob {}", book.put_blob(client, b"a photo").await.unwrap());
                }
                if turn % 5 == 4 {
                    book.erase(&[client], batch(Stream::House, None, &["erased"])).await.unwrap();
                    println!("\ngone {client}");
                }
            }
        });
    }
    while let Some(done) = tasks.join_next().await {
        done.unwrap();
    }
}

/// What victims said.
#[derive(Default)]
struct Said {
    kept: BTreeMap<u64, Stream>,
    blobs: Vec<BlobId>,
    gone: Vec<Stream>,
}

impl Said {
    /// Takes one line down; a line that was cut by the death says nothing.
    fn hear(&mut self, line: &str) -> bool {
        let words: Vec<&str> = line.split(' ').collect();
        match words[..] {
            ["kept", stream, seq] if stream.len() == "client/".len() + 36 => {
                self.kept.insert(seq.parse().unwrap(), stream.parse().unwrap());
            }
            ["blob", id] if id.len() == 32 => self.blobs.push(id.parse().unwrap()),
            ["gone", stream] if stream.len() == "client/".len() + 36 => self.gone.push(stream.parse().unwrap()),
            _ => return false,
        }
        true
    }
}

fn victim(place: &Place) -> (Child, Lines<BufReader<ChildStdout>>) {
    let mut victim = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "victim_that_writes_until_killed", "--ignored", "--nocapture"])
        .env("STRANDWRIGHT_TEST_PLACE", place.to_string())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let lines = BufReader::new(victim.stdout.take().unwrap()).lines();
    (victim, lines)
}

async fn killing(place: &Place, at_once: usize) {
    Book::begin(place, Some(&passphrase(WORDS)), 1).await.unwrap().0.close().await;
    let mut said = Said::default();
    for round in 0..4 {
        let mut victims: Vec<_> = (0..at_once).map(|_| victim(place)).collect();
        for (_, lines) in &mut victims {
            let mut heard = 0;
            while heard < 30 + 11 * round {
                heard += u32::from(said.hear(&lines.next().expect("the victim must write").unwrap()));
            }
        }
        for (victim, lines) in &mut victims {
            victim.kill().unwrap();
            victim.wait().unwrap();
            // The last line may have been cut short, in the middle of a number.
            let rest: Vec<String> = lines.map_while(Result::ok).collect();
            for line in rest.iter().rev().skip(1) {
                said.hear(line);
            }
        }
        let book = Book::open(place, &Opener::Passphrase(passphrase(WORDS))).await.unwrap();
        let events = book.audit().await.unwrap().events;
        for (seq, client) in &said.kept {
            assert!(*seq <= events);
            match book.read(*client, 0).await {
                Ok(rows) => assert!(rows.len() == 2 && rows[1].seq >= *seq && !said.gone.contains(client)),
                Err(StoreFault::Erased(_)) => {}
                Err(fault) => panic!("{fault}"),
            }
        }
        for id in &said.blobs {
            match book.blob(*id).await {
                Ok(bytes) => assert_eq!(bytes, b"a photo"),
                Err(StoreFault::Unknown("blob")) => {}
                Err(fault) => panic!("{fault}"),
            }
        }
        let erased = book.erased().await.unwrap();
        assert!(said.gone.iter().all(|client| erased.iter().any(|line| line.stream == *client)));
        book.close().await;
    }
    assert!(said.kept.len() > 40 && !said.blobs.is_empty() && !said.gone.is_empty());
}

#[tokio::test]
async fn what_was_acknowledged_survives_kill_minus_nine_in_a_folder() {
    let ground = tempfile::tempdir().unwrap();
    killing(&Place::Folder(ground.path().join("salon")), 1).await;
}

#[tokio::test]
async fn what_two_processes_acknowledged_survives_kill_minus_nine_in_a_database() {
    let server = server();
    killing(&server.place(), 2).await;
}
