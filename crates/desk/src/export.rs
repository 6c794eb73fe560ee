//! Everything in open files, and back from them.
//!
//! An export holds no sequence number, no hash and no machine time: only what was
//! said and done, when by the salon's day, and by whom. Read into an empty place
//! it gives the same export again.

use crate::short::{json_of, short};
use crate::words::Message;
use crate::written::{health_stream, opened, stream_of};
use crate::{DeskFault, Salon};
use salon::book::{ClientEvent, ClientId, FORMAT, HealthId};
use serde_json::{Value, json};
use std::io::Write;
use std::path::{Path, PathBuf};
use store::StoreFault;
use store::book::{Access, Batch, BlobId, Book, Passphrase, Place, Row, Stream, Write as Written};
use uuid::Uuid;

/// What every export says of itself.
const ABOUT: &str = "export.json";

fn disk(what: impl Into<String>, cause: &std::io::Error) -> DeskFault {
    DeskFault::Store(StoreFault::Disk { what: what.into(), cause: cause.to_string() })
}

fn wrong(what: impl std::fmt::Display, place: &Path) -> DeskFault {
    let fault = salon::Fault::of(&Message::ExportWrong { what: what.to_string() }, place.display().to_string(), "import");
    DeskFault::Refused(vec![fault])
}

fn put(folder: &Path, name: &str, bytes: &[u8]) -> Result<(), DeskFault> {
    let path = folder.join(name);
    let write = || -> std::io::Result<()> {
        if let Some(parent) = path.parent() {
            std::fs::create_dir_all(parent)?;
        }
        let mut file = std::fs::File::create_new(&path)?;
        file.write_all(bytes)?;
        file.sync_all()
    };
    write().map_err(|cause| disk(format!("writing {}", path.display()), &cause))
}

/// The file in which a kept file of an event lies, and where the event names it. `version` is
/// the event's own: a signature has no other number of its own.
fn file_of(event: &Value, version: u64) -> Option<(String, &'static str)> {
    let id = |key: &str| event[key].as_str();
    match event["kind"].as_str()? {
        "photo_kept" => Some((format!("photos/{}.jpg", id("photo")?), "/blob")),
        "plan_made" => Some((format!("plans/{}.plan", id("plan")?), "/blob")),
        "consent_given" if event["signed"]["drawn"].is_string() => Some((format!("signatures/{version}.json"), "/signed/drawn")),
        _ => None,
    }
}

impl Salon {
    /// Writes everything as open files into a missing or empty folder; how many files.
    ///
    /// *Errors*: the folder holds something; the disk or the records.
    pub async fn export(&self, folder: &Path) -> Result<usize, DeskFault> {
        if std::fs::read_dir(folder).is_ok_and(|mut entries| entries.next().is_some()) {
            return Err(DeskFault::Store(StoreFault::NotEmpty(folder.display().to_string())));
        }
        let about = json!({"what": "an export of a salon's records", "format": FORMAT});
        put(folder, ABOUT, format!("{about:#}\n").as_bytes())?;
        let mut files = 1;
        for (stream, name) in [(Stream::House, "house"), (Stream::Shelf, "shelf"), (Stream::Money, "money"), (Stream::Diary, "diary")] {
            files += self.export_rows(folder, name, &self.book.read(stream, 0).await?).await?;
        }
        let mut table = String::from("client,label\n");
        for line in self.all_lines().await?.iter().map(|line| &line.1) {
            let at = format!("clients/{}", line.id);
            let rows = self.book.read(stream_of(line.id), 0).await?;
            files += self.export_rows(folder, &at, &rows).await?;
            for document in documents(&rows)? {
                let who = Uuid::from_u128(self.owner().await?.0);
                let access = Access { who, at_ms: crate::written::now_ms(), why: "export".to_owned() };
                match self.book.read_health(Uuid::from_u128(document.0), 0, &access).await {
                    Ok(rows) => files += self.export_rows(folder, &format!("{at}/health/{document}"), &rows).await?,
                    Err(StoreFault::Erased(_)) => {}
                    Err(fault) => return Err(fault.into()),
                }
            }
            // For people: her facts as they read today. Nothing of it is read back.
            put(folder, &format!("{at}/facts.json"), self.client(line.id).await?.facts.as_bytes())?;
            table.push_str(&format!("{},{}\n", line.id, cell(&line.label)));
            files += 1;
        }
        put(folder, "clients.csv", table.as_bytes())?;
        Ok(files + 1)
    }

    async fn export_rows(&self, folder: &Path, at: &str, rows: &[Row]) -> Result<usize, DeskFault> {
        let (mut lines, mut files) = (String::new(), 0);
        for row in rows {
            let Some(body) = json_of(row)? else { continue };
            let mut event: Value =
                serde_json::from_slice(&body).map_err(|cause| DeskFault::damaged(&format!("event {}", row.seq), &cause))?;
            if let Some((name, place)) = file_of(&event, row.version)
                && let Some(named) = event.pointer_mut(place)
            {
                let blob: Uuid = named.as_str().and_then(|id| id.parse().ok()).ok_or(DeskFault::Unknown("kept file"))?;
                *named = match self.book.blob(BlobId(blob)).await {
                    Ok(bytes) => {
                        put(folder, &format!("{at}/{name}"), &bytes)?;
                        files += 1;
                        json!(name)
                    }
                    // Thrown away since; the event that says so follows.
                    Err(StoreFault::Unknown(_)) => Value::Null,
                    Err(fault) => return Err(fault.into()),
                };
            }
            lines.push_str(&json!({"format": FORMAT, "by": row.actor, "event": event}).to_string());
            lines.push('\n');
        }
        put(folder, &format!("{at}/events.jsonl"), lines.as_bytes())?;
        Ok(files + 1)
    }

    /// Reads an export into a missing or empty place.
    ///
    /// *Errors*: the place holds something; a file is not as it was written. What
    /// was begun is said then and is no salon to go on with.
    pub async fn import(folder: &Path, place: &Place, passphrase: Option<&Passphrase>) -> Result<crate::Opened, DeskFault> {
        let about = std::fs::read(folder.join(ABOUT)).map_err(|cause| disk(format!("reading {}", folder.join(ABOUT).display()), &cause))?;
        let about: Value = serde_json::from_slice(&about).map_err(|cause| wrong(cause, &folder.join(ABOUT)))?;
        if about["format"].as_u64() != Some(u64::from(FORMAT)) {
            return Err(DeskFault::Store(StoreFault::Newer { found: about["format"].as_i64().unwrap_or(0), known: i64::from(FORMAT) }));
        }
        let (book, code) = Book::begin(place, passphrase, crate::written::now_ms()).await?;
        let salon = Self::of(book, place.clone());
        let read = salon.import_all(folder).await;
        if let Err(fault) = read {
            salon.close().await;
            return Err(fault);
        }
        Ok(crate::Opened { salon, code: Some(code), set_aside: None })
    }

    async fn import_all(&self, folder: &Path) -> Result<(), DeskFault> {
        for (stream, name) in [(Stream::House, "house"), (Stream::Shelf, "shelf"), (Stream::Money, "money"), (Stream::Diary, "diary")] {
            self.import_rows(&folder.join(name), stream, Stream::House).await?;
        }
        for at in sorted(&folder.join("clients"))? {
            let id: ClientId = named(&at)?;
            for document in sorted(&at.join("health"))? {
                let health: HealthId = named(&document)?;
                self.import_rows(&document, health_stream(health), Stream::House).await?;
            }
            self.import_rows(&at, stream_of(id), stream_of(id)).await?;
        }
        self.rebuild_views().await?;
        Ok(())
    }

    async fn import_rows(&self, at: &Path, stream: Stream, owner: Stream) -> Result<(), DeskFault> {
        let path = at.join("events.jsonl");
        let text = std::fs::read_to_string(&path).map_err(|cause| disk(format!("reading {}", path.display()), &cause))?;
        for (line, version) in text.lines().zip(1..) {
            let line: Value = serde_json::from_str(line).map_err(|cause| wrong(cause, &path))?;
            let mut event = line["event"].clone();
            if let Some((name, place)) = file_of(&event, version)
                && let Some(named) = event.pointer_mut(place)
            {
                let blob = match named.as_str() {
                    Some(_) => {
                        let file = at.join(&name);
                        let bytes = std::fs::read(&file).map_err(|cause| disk(format!("reading {}", file.display()), &cause))?;
                        self.book.put_blob(owner, &bytes).await?.0
                    }
                    None => Uuid::nil(),
                };
                *named = json!(blob.hyphenated().to_string());
            }
            let actor = line["by"].as_str().and_then(|by| by.parse().ok()).ok_or_else(|| wrong("a line says not by whom", &path))?;
            let format = line["format"].as_u64().ok_or_else(|| wrong("a line has no format", &path))?;
            if format > u64::from(FORMAT) {
                return Err(DeskFault::Store(StoreFault::Newer { found: format as i64, known: i64::from(FORMAT) }));
            }
            check(stream, &event, &path)?;
            let writes = vec![Written { stream, seen: None, events: vec![short(event.to_string().into_bytes())] }];
            let batch = Batch { at_ms: crate::written::now_ms(), actor, writes, ..Batch::default() };
            self.book.append(batch).await?;
        }
        Ok(())
    }
}

/// Refuses an event that could not be read again.
fn check(stream: Stream, event: &Value, path: &Path) -> Result<(), DeskFault> {
    use salon::book::{DiaryEvent, Happened, HealthEvent, HouseEvent, MoneyEvent, ShelfEvent};
    let event = event.clone();
    let read = match stream {
        Stream::Client(_) => serde_json::from_value::<Happened<ClientEvent>>(event).map(|_| ()),
        Stream::Health(_) => serde_json::from_value::<Happened<HealthEvent>>(event).map(|_| ()),
        Stream::House => serde_json::from_value::<Happened<HouseEvent>>(event).map(|_| ()),
        Stream::Shelf => serde_json::from_value::<Happened<ShelfEvent>>(event).map(|_| ()),
        Stream::Money => serde_json::from_value::<Happened<MoneyEvent>>(event).map(|_| ()),
        Stream::Diary => serde_json::from_value::<Happened<DiaryEvent>>(event).map(|_| ()),
    };
    read.map_err(|cause| wrong(cause, path))
}

/// Her health documents, by the events that name them.
fn documents(rows: &[Row]) -> Result<Vec<HealthId>, DeskFault> {
    let mut found = Vec::new();
    for row in rows.iter().filter(|row| row.opened().is_some()) {
        if let (ClientEvent::HealthKept { document }, _) = opened::<ClientEvent>(row)?
            && !found.contains(&document)
        {
            found.push(document);
        }
    }
    Ok(found)
}

fn sorted(folder: &Path) -> Result<Vec<PathBuf>, DeskFault> {
    match std::fs::read_dir(folder) {
        Ok(entries) => {
            let mut all: Vec<PathBuf> = entries.flatten().map(|entry| entry.path()).filter(|path| path.is_dir()).collect();
            all.sort();
            Ok(all)
        }
        Err(cause) if cause.kind() == std::io::ErrorKind::NotFound => Ok(Vec::new()),
        Err(cause) => Err(disk(format!("reading {}", folder.display()), &cause)),
    }
}

fn named<T: std::str::FromStr>(folder: &Path) -> Result<T, DeskFault> {
    let name = folder.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    name.parse().map_err(|_| wrong("a folder that is named by no id", folder))
}

/// A cell of a table: quoted, and never a formula.
fn cell(text: &str) -> String {
    let defused = if text.starts_with(['=', '+', '-', '@', '\t', '\r']) { format!("'{text}") } else { text.to_owned() };
    format!("\"{}\"", defused.replace('"', "\"\""))
}
