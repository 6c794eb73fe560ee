//! The program while it serves: how it ends, what it leaves on the disk and for
//! whom, and what a full disk comes to.

// Not every test of the program uses all of it.
#[allow(dead_code)]
mod common;

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitStatus, Stdio};
use std::time::{Duration, Instant};

const PROGRAM: &str = env!("CARGO_BIN_EXE_strandwright");

/// The program, serving.
struct Serving {
    child: Child,
    address: String,
}

impl Serving {
    /// Starts it from a shell that sets what a shell can: limits and umask.
    fn start(before: &str, arguments: &[&str], folder_for_others: &Path) -> Self {
        let mut child = Command::new("sh")
            .args(["-c", &format!("{before}; exec \"$0\" \"$@\""), PROGRAM])
            .args(arguments)
            .args(["--listen", "127.0.0.1:0"])
            .env("TMPDIR", folder_for_others)
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
        let address = line.trim().strip_prefix("http://").unwrap_or_else(|| panic!("no address: {line}")).to_owned();
        Self { child, address }
    }

    fn connect(&self) -> TcpStream {
        let line = TcpStream::connect(&self.address).unwrap();
        line.set_read_timeout(Some(Duration::from_secs(120))).unwrap();
        line
    }

    /// One request; the whole answer as text.
    fn ask(&self, method: &str, path: &str, body: &str) -> String {
        let (mut line, host) = (self.connect(), &self.address);
        let kind = "application/x-www-form-urlencoded";
        let head =
            format!("{method} {path} HTTP/1.1\r\nhost: {host}\r\norigin: http://{host}\r\nconnection: close\r\ncontent-type: {kind}\r\n");
        line.write_all(format!("{head}content-length: {}\r\n\r\n{body}", body.len()).as_bytes()).unwrap();
        let mut answer = Vec::new();
        line.read_to_end(&mut answer).unwrap();
        String::from_utf8_lossy(&answer).into_owned()
    }

    /// Asks it to end and waits until it has.
    fn end(mut self) -> ExitStatus {
        let asked = Instant::now();
        let told = Command::new("kill").args(["-TERM", &self.child.id().to_string()]).status().unwrap();
        assert!(told.success());
        // Far longer than it may take; only that a program which hangs fails here.
        while asked.elapsed() < Duration::from_secs(45) {
            if let Some(status) = self.child.try_wait().unwrap() {
                eprintln!("ended {} ms after it was asked to", asked.elapsed().as_millis());
                return status;
            }
            std::thread::sleep(Duration::from_millis(20));
        }
        self.child.kill().unwrap();
        panic!("it did not end");
    }
}

/// Every file and folder in a folder, with what others may do with it.
fn open_to_others(folder: &Path) -> Vec<(PathBuf, u32)> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let entry = entry.unwrap();
        found.push((entry.path(), entry.metadata().unwrap().permissions().mode() & 0o077));
        if entry.path().is_dir() {
            found.extend(open_to_others(&entry.path()));
        }
    }
    found
}

#[test]
fn what_it_writes_is_the_owners_alone_and_the_log_lies_beside_the_records() {
    let place = tempfile::tempdir().unwrap();
    let folder = place.path().join("salon");
    let arguments = ["serve", "--data", folder.to_str().unwrap()];
    let serving = Serving::start("umask 022", &arguments, place.path());
    let added = serving.ask("POST", "/clients", "client.name=Quillonwhisp&all_here=yes");
    assert!(added.starts_with("HTTP/1.1 303"), "{added}");
    serving.ask("GET", "/clients?search=Quillonwhisp", "");
    let closed = |found: &[(PathBuf, u32)]| assert!(found.iter().all(|(_, others)| *others == 0), "{found:?}");
    let found = open_to_others(&folder);
    assert!(found.len() > 4, "{found:?}");
    closed(&found);
    assert_eq!(std::fs::metadata(&folder).unwrap().permissions().mode() & 0o077, 0);
    let told = std::fs::read_to_string(format!("/proc/{}/status", serving.child.id())).unwrap();
    assert!(told.lines().any(|line| line.split_whitespace().eq(["Umask:", "0077"])), "files made later are the owner's too");
    assert!(serving.end().success());
    // What an older version left open is closed to others at the next start.
    std::fs::set_permissions(folder.join("book.db"), std::fs::Permissions::from_mode(0o644)).unwrap();
    let serving = Serving::start("umask 022", &arguments, place.path());
    closed(&open_to_others(&folder));
    assert!(serving.end().success());
    let log = std::fs::read_to_string(folder.join("log/strandwright.log")).unwrap();
    assert!(log.contains("verb=POST path=/clients status=303") && log.contains("serving ended"), "{log}");
    assert!(!log.contains("Quillonwhisp"), "{log}");
}

#[test]
fn papers_of_the_command_line_keep_the_users_own_umask() {
    let place = tempfile::tempdir().unwrap();
    let (client, out) = (common::casebook().join("two-tone-ends/client.toml"), place.path().join("papers"));
    let made = Command::new("sh")
        .args(["-c", "umask 022; \"$0\" plan \"$1\" --out \"$2\"", PROGRAM])
        .args([client, out.clone()])
        .output()
        .unwrap();
    assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
    assert!(open_to_others(&out).iter().all(|(_, others)| *others == 0o044), "{:?}", open_to_others(&out));
}

#[test]
fn a_passphrase_that_locks_nothing_is_not_taken_in_silence() {
    let place = tempfile::tempdir().unwrap();
    let (folder, secret) = (place.path().join("salon"), place.path().join("secret"));
    std::fs::write(&secret, "a passphrase\n").unwrap();
    let serving = Serving::start(":", &["serve", "--data", folder.to_str().unwrap()], place.path());
    assert!(serving.end().success());
    let mut child = Command::new(PROGRAM)
        .args(["serve", "--listen", "127.0.0.1:0", "--data", folder.to_str().unwrap()])
        .env("STRANDWRIGHT_PASSPHRASE_FILE", &secret)
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // An address would mean that it serves.
    let mut said = String::new();
    BufReader::new(child.stdout.take().unwrap()).read_line(&mut said).unwrap();
    if !said.is_empty() {
        child.kill().unwrap();
    }
    let refused = child.wait_with_output().unwrap();
    assert_eq!((said.as_str(), refused.status.code()), ("", Some(12)));
    assert!(String::from_utf8_lossy(&refused.stderr).contains("has no passphrase"), "{refused:?}");
}

#[test]
fn it_ends_when_asked_whatever_runs() {
    let place = tempfile::tempdir().unwrap();
    // The invented salon makes every client's plan as soon as it serves.
    let serving = Serving::start(":", &["demo"], place.path());
    let host = &serving.address;
    let mut idle = serving.connect();
    idle.write_all(format!("GET /clients HTTP/1.1\r\nhost: {host}\r\n\r\n").as_bytes()).unwrap();
    let mut first = [0; 12];
    idle.read_exact(&mut first).unwrap();
    assert_eq!(&first, b"HTTP/1.1 200");
    let mut upload = serving.connect();
    let head =
        format!("POST /clients HTTP/1.1\r\nhost: {host}\r\norigin: http://{host}\r\ncontent-type: application/x-www-form-urlencoded\r\n");
    upload.write_all(format!("{head}content-length: 100000\r\n\r\nclient.name=Half").as_bytes()).unwrap();
    let mut slow = serving.connect();
    slow.write_all(b"GET /cli").unwrap();
    assert!(serving.end().success());
    assert_eq!(std::fs::read_dir(place.path()).unwrap().count(), 0, "the invented salon is gone");
    drop((idle, upload, slow));
}

#[test]
fn a_full_disk_keeps_what_was_typed_on_the_page() {
    let place = tempfile::tempdir().unwrap();
    let folder = place.path().join("salon");
    // No file may grow beyond 512 kB: 1000 blocks of 512 bytes, as POSIX counts them.
    let serving = Serving::start("trap '' XFSZ; ulimit -f 1000", &["serve", "--data", folder.to_str().unwrap()], place.path());
    let allergies = vec!["x".repeat(250); 50].join(",");
    let refused = (0..300).find_map(|n| {
        let answer = serving.ask(
            "POST",
            "/clients",
            &format!("client.name=Typed+{n}&consultation.allergies.other={allergies}&consent.health=true&all_here=yes"),
        );
        (!answer.starts_with("HTTP/1.1 303")).then_some((n, answer))
    });
    let (n, answer) = refused.expect("the disk is full at last");
    assert!(answer.starts_with("HTTP/1.1 500"), "{}", &answer[..200]);
    assert!(answer.contains("Not saved") && answer.contains(&format!("value=\"Typed {n}\"")), "what was typed is there");
    let later = serving.ask("POST", "/settings/house", "seen=0&house.name=Typed+House&all_here=yes");
    assert!(later.starts_with("HTTP/1.1 500") && later.contains("value=\"Typed House\"") && later.contains("start again"), "{later}");
    let ring = serving.ask("POST", "/settings/ring", "seen=0&code=T1&l=30&a=1&b=2&all_here=yes");
    assert!(ring.starts_with("HTTP/1.1 500") && ring.contains("value=\"T1\""), "{ring}");
    assert!(serving.ask("GET", "/clients", "").starts_with("HTTP/1.1 200"), "reading goes on");
    assert!(serving.end().success());
}
