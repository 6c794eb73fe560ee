//! Erasing a client: her keys are destroyed, and with them all that was sealed under them.

use super::core::{Chain, Core, Writing, altered};
use super::engine::{Change, with};
use super::seal::{Key, Sum, hex, unhex};
use super::sqlite::{beside, write_whole};
use super::{Appended, Batch, Book, Stream};
use crate::StoreFault;
use serde::{Deserialize, Serialize};
use std::path::{Path, PathBuf};
use uuid::Uuid;

/// What an erasure did.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Erased {
    /// The note's events, as they were added.
    pub appended: Vec<Appended>,
    /// Keys destroyed.
    pub keys: u64,
    /// Blobs deleted.
    pub blobs: u64,
    /// Rows of views and kept answers deleted.
    pub rows: u64,
    /// Whether the engine has let go of the place where the keys stood: the
    /// file's log truncated, the database's tables vacuumed. False where the
    /// database's role may not; its own housekeeping does it then.
    pub let_go: bool,
}

/// One line of the list of erased streams.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ErasedLine {
    /// Which stream: a client's, or a health document.
    pub stream: Stream,
    /// The machine's clock when its key was destroyed, ms since 1970.
    pub at_ms: i64,
}

impl Book {
    /// Destroys the keys of `streams` (clients and health documents), deletes
    /// their blobs, their rows of views and kept answers, and adds `note`, the
    /// caller's events in other streams, in the same transaction. A stream that
    /// was never written is noted as erased all the same and can then never be begun.
    ///
    /// *Errors*: as [`Book::append`]; nothing is destroyed then. A stream that
    /// is not a client's or a health document, or is written by the note itself.
    pub async fn erase(&self, streams: &[Stream], note: Batch) -> Result<Erased, StoreFault> {
        for stream in streams {
            if stream.key_owner() == Stream::House {
                return Err(StoreFault::Refused(format!("{stream} is no client's and cannot be erased")));
            }
            if note.writes.iter().any(|write| write.stream == *stream) {
                return Err(StoreFault::Refused(format!("the note of an erasure cannot stand in {stream}, which is erased")));
            }
        }
        let core = self.core();
        core.may_write()?;
        let _no_archive = core.blobs_rest.write().await;
        let (mut erased, leaving) = core.after_write(core.erase(streams, note).await)?;
        // Committed: what follows is done again at the next opening when it is cut short.
        core.after_write(drop_leaving(core, leaving).await)?;
        erased.let_go = core.engine.let_go().await.unwrap_or(false);
        Ok(erased)
    }

    /// Every erased stream, in the order of the erasures, its authenticity checked.
    ///
    /// *Errors*: the book cannot be read, or its list of erasures is not as it was written.
    pub async fn erased(&self) -> Result<Vec<ErasedLine>, StoreFault> {
        let core = self.core();
        let mut change = core.engine.snapshot().await?;
        let chain = Chain::load(core, change.as_mut()).await?;
        let list = core.erased_list(change.as_mut(), &chain).await?;
        Ok(list.lines.into_iter().map(|line| line.line).collect())
    }

    /// Writes the authenticated list of erased streams into a folder of
    /// archives, over the earlier one; ids and times only. [`Book::backup`]
    /// does it too: call this at each other destination after an erasure.
    ///
    /// *Errors*: the list cannot be read, or the folder cannot be written to.
    pub async fn write_erasures(&self, folder: &Path) -> Result<PathBuf, StoreFault> {
        let core = self.core();
        let mut change = core.engine.snapshot().await?;
        let chain = Chain::load(core, change.as_mut()).await?;
        let text = core.erased_list(change.as_mut(), &chain).await?.text(core.salon, &core.keys.list)?;
        drop(change);
        let (folder, name) = (folder.to_owned(), list_name(core.salon));
        beside(move || write_whole(&folder, &name, text.as_bytes()).map(|()| folder.join(name))).await
    }
}

/// The file that holds a salon's list beside its archives.
pub(crate) fn list_name(salon: Uuid) -> String {
    format!("erased-{}.json", salon.simple())
}

/// One line of the list with the code that covers it and the line before.
#[derive(Debug, Clone)]
pub(crate) struct CodedLine {
    pub line: ErasedLine,
    pub code: Sum,
}

/// The list of erased streams, its codes checked.
#[derive(Debug, Clone, Default)]
pub(crate) struct ErasedList {
    pub lines: Vec<CodedLine>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct ListFile {
    format: u32,
    salon: Uuid,
    erased: Vec<ListLine>,
    /// Covers the number of lines and the last line's code: a line cannot be cut off.
    code: String,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct ListLine {
    stream: String,
    at_ms: i64,
    code: String,
}

/// The code of a line, from the code of the line before.
fn line_code(salon: Uuid, list_key: &Key, number: u64, line: &ErasedLine, before: &Sum) -> Sum {
    list_key.code(&[salon.as_bytes(), &number.to_be_bytes(), before, &line.stream.bytes(), &line.at_ms.to_be_bytes()])
}

impl ErasedList {
    pub(crate) fn last_code(&self) -> Sum {
        self.lines.last().map_or([0; 32], |line| line.code)
    }

    pub(crate) fn count(&self) -> u64 {
        self.lines.len() as u64
    }

    /// Adds a line; false when it does not follow from the one before.
    fn add(&mut self, salon: Uuid, list_key: &Key, line: ErasedLine, code: Sum) -> bool {
        let right = line_code(salon, list_key, self.count() + 1, &line, &self.last_code()) == code;
        self.lines.push(CodedLine { line, code });
        right
    }

    fn end_parts(&self) -> [Vec<u8>; 2] {
        [self.count().to_be_bytes().to_vec(), self.last_code().to_vec()]
    }

    /// The list as it stands beside archives and in them.
    pub(crate) fn text(&self, salon: Uuid, list_key: &Key) -> Result<String, StoreFault> {
        let [count, last] = self.end_parts();
        let file = ListFile {
            format: 1,
            salon,
            erased: self
                .lines
                .iter()
                .map(|line| ListLine { stream: line.line.stream.to_string(), at_ms: line.line.at_ms, code: hex(&line.code) })
                .collect(),
            code: hex(&list_key.code(&[b"end", salon.as_bytes(), &count, &last])),
        };
        serde_json::to_string_pretty(&file).map_err(|cause| StoreFault::Refused(cause.to_string()))
    }

    /// Reads a list and checks all its codes.
    ///
    /// *Errors*: what does not hold, in words.
    pub(crate) fn from_text(text: &str, salon: Uuid, list_key: &Key) -> Result<Self, String> {
        let file: ListFile = serde_json::from_str(text).map_err(|_| "the list of erased clients is not whole".to_owned())?;
        if file.salon != salon {
            return Err("the list of erased clients is another salon's".to_owned());
        }
        let wrong = || "the list of erased clients is not the one that was written with the house key".to_owned();
        let mut list = Self::default();
        for line in file.erased {
            let stream: Stream = line.stream.parse().map_err(|_| wrong())?;
            let code = unhex(&line.code).and_then(|code| code.try_into().ok()).ok_or_else(wrong)?;
            if !list.add(salon, list_key, ErasedLine { stream, at_ms: line.at_ms }, code) {
                return Err(wrong());
            }
        }
        let [count, last] = list.end_parts();
        let code = unhex(&file.code).ok_or_else(wrong)?;
        if list_key.vouches(&[b"end", salon.as_bytes(), &count, &last], &code) { Ok(list) } else { Err(wrong()) }
    }
}

impl Core {
    /// The list as the book holds it, checked up to the head.
    pub(crate) async fn erased_list(&self, change: &mut dyn Change, chain: &Chain) -> Result<ErasedList, StoreFault> {
        let sql = "SELECT number, owner, at, code FROM erased WHERE salon = $1 ORDER BY number";
        let mut list = ErasedList::default();
        for line in change.rows(sql, with![self.salon]).await? {
            let number = line.count(0)?;
            let wrong = || altered(0, format!("line {number} of the list of erased clients"));
            let stream = Stream::from_bytes(line.bytes(1)?).ok_or_else(wrong)?;
            let kept = ErasedLine { stream, at_ms: line.int(2)? };
            if number != list.count() + 1 || !list.add(self.salon, &self.keys.list, kept, line.sum(3)?) {
                return Err(wrong());
            }
        }
        if list.count() == chain.erased && list.last_code() == chain.erased_code {
            Ok(list)
        } else {
            Err(altered(0, "the list of erased clients does not end where the head says"))
        }
    }

    async fn erase(&self, streams: &[Stream], note: Batch) -> Result<(Erased, Vec<Uuid>), StoreFault> {
        let mut change = self.engine.change().await?;
        let mut writing = Writing::begin(self, change.as_mut()).await?;
        let mut erased = Erased { appended: Vec::new(), keys: 0, blobs: 0, rows: 0, let_go: false };
        let mut leaving = Vec::new();
        let at_ms = note.at_ms;
        for stream in streams {
            leaving.extend(writing.destroy(*stream, at_ms, &mut erased).await?);
        }
        erased.appended = writing.batch(note).await?;
        writing.end().await?;
        change.commit().await?;
        Ok((erased, leaving))
    }
}

impl Writing<'_> {
    /// Destroys one stream's key and all that hangs on it; gives the blobs whose bytes are to go.
    pub(crate) async fn destroy(&mut self, owner: Stream, at_ms: i64, erased: &mut Erased) -> Result<Vec<Uuid>, StoreFault> {
        let (salon, bytes) = (self.core.salon, owner.bytes());
        let known = self.change.rows("SELECT number FROM erased WHERE salon = $1 AND owner = $2", with![salon, bytes.as_slice()]).await?;
        if !known.is_empty() {
            return Ok(Vec::new());
        }
        let run = |sql: &'static str| (sql, with![salon, bytes.as_slice()]);
        let lines = self.change.rows("SELECT id FROM blob WHERE salon = $1 AND owner = $2", with![salon, bytes.as_slice()]).await?;
        let leaving: Vec<Uuid> = lines.iter().map(|line| line.id(0)).collect::<Result<_, _>>()?;
        for id in &leaving {
            self.change.run("INSERT INTO leaving (salon, id) VALUES ($1, $2)", with![salon, *id]).await?;
        }
        let (sql, values) = run("DELETE FROM stream_key WHERE salon = $1 AND owner = $2");
        erased.keys += self.change.run(sql, values).await?;
        let (sql, values) = run("DELETE FROM blob WHERE salon = $1 AND owner = $2");
        erased.blobs += self.change.run(sql, values).await?;
        for sql in ["DELETE FROM view_row WHERE salon = $1 AND owner = $2", "DELETE FROM answer WHERE salon = $1 AND owner = $2"] {
            let (sql, values) = run(sql);
            erased.rows += self.change.run(sql, values).await?;
        }
        let line = ErasedLine { stream: owner, at_ms };
        let code = line_code(salon, &self.core.keys.list, self.chain.erased + 1, &line, &self.chain.erased_code);
        (self.chain.erased, self.chain.erased_code) = (self.chain.erased + 1, code);
        let sql = "INSERT INTO erased (salon, number, owner, at, code) VALUES ($1, $2, $3, $4, $5)";
        self.change.run(sql, with![salon, self.chain.erased, bytes, at_ms, code]).await?;
        self.forget(owner);
        Ok(leaving)
    }
}

/// Deletes the bytes of blobs whose rows are gone.
pub(crate) async fn drop_leaving(core: &Core, leaving: Vec<Uuid>) -> Result<(), StoreFault> {
    if leaving.is_empty() {
        return Ok(());
    }
    core.engine.drop_bytes(leaving.clone()).await?;
    let mut change = core.engine.change().await?;
    for id in leaving {
        change.run("DELETE FROM leaving WHERE salon = $1 AND id = $2", with![core.salon, id]).await?;
    }
    change.commit().await
}

/// Deletes what an erasure that was cut short left over of blobs.
pub(crate) async fn finish_leaving(core: &Core) -> Result<(), StoreFault> {
    let lines = core.engine.look("SELECT id FROM leaving WHERE salon = $1", with![core.salon]).await?;
    let leaving = lines.iter().map(|line| line.id(0)).collect::<Result<_, _>>()?;
    drop_leaving(core, leaving).await
}
