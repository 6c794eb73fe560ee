//! Places to keep books in, for tests: folders, and a PostgreSQL server of
//! their own in a temporary folder, reached by its socket only.

#![allow(dead_code, reason = "each test file uses a part of it")]

pub mod chance;

use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::{Arc, Mutex, Weak};
use std::time::{Duration, Instant};
use store::book::{Batch, NewEvent, Passphrase, Place, Stream, Write};
use uuid::Uuid;

/// A database server that lives as long as somebody holds it.
pub struct Server {
    folder: tempfile::TempDir,
    process: Child,
}

static SERVER: Mutex<Weak<Server>> = Mutex::new(Weak::new());

/// The server, shared by the tests of one file.
///
/// *Panics* where PostgreSQL is not installed: the test must fail, not pass unseen.
pub fn server() -> Arc<Server> {
    let mut shared = SERVER.lock().unwrap();
    if let Some(server) = shared.upgrade() {
        return server;
    }
    // No test here cuts the power; without fsync the many small commits are quick.
    let server = Arc::new(Server::start("fsync=off"));
    *shared = Arc::downgrade(&server);
    server
}

/// A folder in memory where there is one: for tests of what is kept, not of the disk.
pub fn quick_folder() -> tempfile::TempDir {
    tempfile::tempdir_in("/dev/shm").or_else(|_| tempfile::tempdir()).unwrap()
}

/// A server that keeps what it commits, as one at work does: for measuring.
pub fn durable_server() -> Server {
    Server::start("fsync=on")
}

/// The newest PostgreSQL that Debian's packages put there.
fn programs() -> PathBuf {
    let mut found: Vec<PathBuf> = std::fs::read_dir("/usr/lib/postgresql")
        .map(|entries| entries.flatten().map(|entry| entry.path().join("bin")).filter(|bin| bin.join("initdb").is_file()).collect())
        .unwrap_or_default();
    found.sort();
    found.pop().expect("PostgreSQL is missing: sudo apt-get install postgresql")
}

/// A command that runs as Debian's user `postgres` where the tests run as the
/// superuser, whom the server refuses.
fn command(program: &Path) -> Command {
    if !is_superuser() {
        return Command::new(program);
    }
    let mut command = Command::new("setpriv");
    command.args(["--reuid=postgres", "--regid=postgres", "--clear-groups", "--"]).arg(program);
    command
}

fn is_superuser() -> bool {
    number(&["-u"]) == 0
}

fn number(asked: &[&str]) -> u32 {
    let output = Command::new("id").args(asked).output().unwrap();
    String::from_utf8_lossy(&output.stdout).trim().parse().unwrap()
}

impl Server {
    fn start(fsync: &str) -> Self {
        let bin = programs();
        let folder = tempfile::tempdir().unwrap();
        std::fs::set_permissions(folder.path(), std::fs::Permissions::from_mode(0o700)).unwrap();
        if is_superuser() {
            let (user, group) = (number(&["-u", "postgres"]), number(&["-g", "postgres"]));
            std::os::unix::fs::chown(folder.path(), Some(user), Some(group)).unwrap();
        }
        let data = folder.path().join("data");
        let made = command(&bin.join("initdb"))
            .args(["--auth=trust", "--username=admin", "--encoding=UTF8", "--locale=C", "--no-sync", "--pgdata"])
            .arg(&data)
            .current_dir(folder.path())
            .output()
            .unwrap();
        assert!(made.status.success(), "initdb: {}", String::from_utf8_lossy(&made.stderr));
        let process = command(&bin.join("postgres"))
            .arg("-D")
            .arg(&data)
            .arg("-k")
            .arg(folder.path())
            .args(["-c", "listen_addresses=", "-c", fsync, "-c", "max_connections=90"])
            .current_dir(folder.path())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let server = Self { folder, process };
        let begun = Instant::now();
        loop {
            let ready = Command::new(bin.join("pg_isready")).arg("-h").arg(server.folder.path()).args(["-U", "admin"]).output().unwrap();
            if ready.status.success() {
                break;
            }
            assert!(begun.elapsed() < Duration::from_secs(60), "the database server does not answer");
            std::thread::sleep(Duration::from_millis(50));
        }
        // The owner of the database may make roles and is no superuser, as it should be in a salon.
        server.psql("postgres", "CREATE ROLE keeper LOGIN CREATEROLE NOSUPERUSER");
        server.psql("postgres", "CREATE DATABASE hair OWNER keeper");
        server
    }

    /// The address of the database for a role.
    pub fn url(&self, role: &str) -> String {
        let folder = self.folder.path().to_string_lossy().replace('/', "%2F");
        format!("postgres://{role}@/hair?host={folder}")
    }

    /// A new salon's place, reached as the database's owner.
    pub fn place(&self) -> Place {
        Place::Postgres { url: self.url("keeper"), salon: Uuid::now_v7() }
    }

    /// Runs SQL as the superuser, past row security.
    pub fn psql(&self, database: &str, sql: &str) -> String {
        self.psql_as("admin", database, sql)
    }

    /// Runs SQL as a role.
    pub fn psql_as(&self, role: &str, database: &str, sql: &str) -> String {
        let output = Command::new(programs().join("psql"))
            .args(["-X", "-q", "-A", "-t", "-v", "ON_ERROR_STOP=1", "-U", role, "-d", database, "-h"])
            .arg(self.folder.path())
            .args(["-c", sql])
            .output()
            .unwrap();
        assert!(output.status.success(), "{sql}: {}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8_lossy(&output.stdout).trim().to_owned()
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

/// A passphrase for tests.
pub fn passphrase(text: &str) -> Passphrase {
    Passphrase::new(text.to_owned()).unwrap()
}

/// An event of a format and a text.
pub fn event(format: u32, text: &str) -> NewEvent {
    NewEvent { format, body: text.as_bytes().to_vec() }
}

/// A batch that adds texts to one stream.
pub fn batch(stream: Stream, seen: Option<u64>, texts: &[&str]) -> Batch {
    let events = texts.iter().map(|text| event(1, text)).collect();
    Batch { at_ms: 1_770_000_000_000, actor: Uuid::from_u128(1), writes: vec![Write { stream, seen, events }], ..Batch::default() }
}
