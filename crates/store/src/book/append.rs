//! Adding to the book: one batch, one transaction.

use super::batch::{Answer, Answered, Appended, Batch, NewEvent, Noted, Queue, ViewWrite, Waiting, Work, Write};
use super::core::{Chain, Core, Writing, altered};
use super::engine::with;
use super::seal::{self, Key, Sealed, Sum};
use super::{Book, Stream};
use crate::StoreFault;
use std::collections::HashMap;
use std::sync::{Arc, Mutex};
use tokio::sync::{mpsc, oneshot};
use tokio::task::JoinHandle;
use uuid::Uuid;

/// The most batches that share one transaction.
const MOST_TOGETHER: usize = 128;
/// Batches that may wait before a caller has to.
const MOST_WAITING: usize = 512;

/// Begins the task; it ends when the queue is dropped.
fn begin(core: Arc<Core>) -> (Queue, JoinHandle<()>) {
    let (sender, mut waiting) = mpsc::channel::<Waiting>(MOST_WAITING);
    let writer = tokio::spawn(async move {
        while let Some(first) = waiting.recv().await {
            let mut together = vec![first];
            while together.len() < MOST_TOGETHER
                && let Ok(next) = waiting.try_recv()
            {
                together.push(next);
            }
            write_together(&core, together).await;
        }
    });
    (Queue(sender), writer)
}

/// Appends batches in one transaction, so that they share one sync. Each is
/// whole or not at all by itself; none is answered before the commit.
async fn write_together(core: &Core, together: Vec<Waiting>) {
    let mut all = Vec::with_capacity(together.len());
    let mut outcomes = Vec::with_capacity(together.len());
    for waiting in together {
        all.push(waiting.work);
        outcomes.push(waiting.outcome);
    }
    let result = match core.may_write() {
        Ok(()) => write_all(core, all).await,
        Err(fault) => Err(fault),
    };
    match core.after_write(result) {
        Ok(results) => {
            for (outcome, result) in outcomes.into_iter().zip(results) {
                // Whoever asked may have gone; it is kept all the same.
                let _ = outcome.send(result);
            }
        }
        Err(fault) => {
            for outcome in outcomes {
                let _ = outcome.send(Err(fault.clone()));
            }
        }
    }
}

type Outcomes = Vec<Result<Vec<Appended>, StoreFault>>;

async fn write_all(core: &Core, all: Vec<Work>) -> Result<Outcomes, StoreFault> {
    let mut change = core.engine.change().await?;
    let mut writing = Writing::begin(core, change.as_mut()).await?;
    let mut outcomes = Vec::with_capacity(all.len());
    let before = writing.chain.seq;
    let named = |work: &Work| if let Work::Batch(batch) = work { batch.streams() } else { Vec::new() };
    let named: Vec<Stream> = all.iter().flat_map(named).collect();
    writing.ask_all(named).await?;
    for work in all {
        let outcome = match work {
            Work::Batch(batch) => writing.batch(batch).await,
            Work::Note(at_ms, who, what) => {
                core.note(writing.change, at_ms, who, what).await?;
                Ok(Vec::new())
            }
        };
        match outcome {
            // It was refused before anything of it was written; the others go on.
            Err(fault) if !fault.is_of_the_batch() => return Err(fault),
            outcome => outcomes.push(outcome),
        }
    }
    if outcomes.iter().all(Result::is_err) {
        return Ok(outcomes);
    }
    let chain = writing.end().await?;
    match change.commit().await {
        Err(StoreFault::Unsure(cause)) if chain.seq > before => was_kept(core, &chain, cause).await?,
        other => other?,
    }
    Ok(outcomes)
}

/// Looks, after a connection broke on a commit, whether it was kept: the lock
/// is had only when the broken transaction has ended one way or the other.
async fn was_kept(core: &Core, chain: &Chain, cause: String) -> Result<(), StoreFault> {
    let Ok(mut change) = core.engine.change().await else { return Err(StoreFault::Unsure(cause)) };
    let sql = "SELECT hash FROM event WHERE salon = $1 AND seq = $2";
    match change.rows(sql, with![core.salon, chain.seq]).await {
        Ok(lines) if lines.first().is_some_and(|line| line.sum(0).is_ok_and(|hash| hash == chain.hash)) => Ok(()),
        Ok(_) => Err(StoreFault::NotSaved(cause)),
        Err(_) => Err(StoreFault::Unsure(cause)),
    }
}

impl Writing<'_> {
    /// Adds a batch to the transaction.
    ///
    /// *Errors*: a fault of the batch itself leaves nothing of it; after any
    /// other fault the transaction must be dropped.
    pub(crate) async fn batch(&mut self, batch: Batch) -> Result<Vec<Appended>, StoreFault> {
        let Batch { at_ms, actor, writes, once, views } = batch;
        let asked = once.as_ref().map(|once| (once.key.clone(), once.owner));
        let name = self.checked(asked, &writes, &views).await?;
        let mark = self.mark();
        let gathered = self.gathered(at_ms, actor, &writes).await.and_then(|(appended, rows, now)| {
            let answer = match once {
                Some(once) => Some((once.owner.key_owner(), once.line_hash, made(once.answer, &appended)?)),
                None => None,
            };
            Ok((appended, rows, now, answer))
        });
        let (appended, rows, now, answer) = match gathered {
            Ok(gathered) => gathered,
            Err(fault) => {
                self.back_to(mark);
                return Err(fault);
            }
        };
        // From here on nothing of the batch can be refused.
        self.grow(rows, now);
        for view in views {
            self.view(view).await?;
        }
        if let (Some(name), Some((owner, line_hash, answer))) = (name, answer) {
            self.keep_answer(&name, owner, line_hash, &answer).await?;
        }
        Ok(appended)
    }

    /// Refuses a batch that cannot be; gives the keyed sum of its idempotency key.
    async fn checked(&mut self, once: Option<(String, Stream)>, writes: &[Write], views: &[ViewWrite]) -> Result<Option<Sum>, StoreFault> {
        let mut name = None;
        if let Some((key, owner)) = &once {
            name = Some(self.first_time(*owner, key).await?);
        }
        for write in writes {
            let (stream, now) = (write.stream, self.version(write.stream).await?);
            if let Some(seen) = write.seen.filter(|seen| *seen != now) {
                return Err(StoreFault::Stale { stream, seen, now });
            }
            if !write.events.is_empty() {
                self.usable(stream).await?;
            }
        }
        // A kept answer is never a health document's: `first_time` refused it.
        for owner in views.iter().filter_map(ViewWrite::owner).chain(once.map(|(_, owner)| owner)) {
            self.usable(owner.key_owner()).await?;
        }
        Ok(name)
    }

    /// A batch's rows, and each stream's version after them.
    async fn gathered(&mut self, at_ms: i64, actor: Uuid, writes: &[Write]) -> Result<Gathered, StoreFault> {
        let (mut appended, mut rows, mut now) = (Vec::new(), Vec::new(), HashMap::new());
        let mut end = (self.chain.seq, self.chain.hash);
        for write in writes {
            let before = self.version(write.stream).await?;
            for event in &write.events {
                let version = now.entry(write.stream).or_insert(before);
                *version += 1;
                let key = self.key(write.stream).await?;
                let row = self.sealed(&key, end, write.stream, *version, (at_ms, actor), event)?;
                end = (row.seq, row.hash);
                appended.push(Appended { seq: row.seq, stream: write.stream, version: *version });
                rows.push(row);
            }
        }
        Ok((appended, rows, now))
    }

    /// The next event after `end`, sealed.
    fn sealed(
        &self,
        key: &Key,
        (seq, hash): (u64, Sum),
        stream: Stream,
        version: u64,
        (at_ms, actor): (i64, Uuid),
        event: &NewEvent,
    ) -> Result<Sealed, StoreFault> {
        let bytes = stream.bytes();
        let body = seal::seal_event(self.core.salon, key, &bytes, version, event.format, &event.body)?;
        let sort = stream.sort().to_owned();
        let mut row = Sealed { seq: seq + 1, stream: bytes, version, at_ms, actor, sort, format: event.format, body, hash: [0; 32] };
        row.hash = row.link(&hash);
        Ok(row)
    }

    /// The keyed sum of an idempotency key that was never used.
    async fn first_time(&mut self, owner: Stream, key: &str) -> Result<Sum, StoreFault> {
        if matches!(owner, Stream::Health(_)) {
            return Err(StoreFault::HealthIsApart);
        }
        let name = self.core.once_name(key);
        let known = self.change.rows("SELECT owner FROM answer WHERE salon = $1 AND once = $2", with![self.core.salon, name]).await?;
        if known.is_empty() { Ok(name) } else { Err(StoreFault::Repeated) }
    }

    async fn keep_answer(&mut self, name: &Sum, owner: Stream, line_hash: Sum, answer: &[u8]) -> Result<(), StoreFault> {
        let key = self.key(owner).await?;
        let sealed = key.seal(&[b"answer", self.core.salon.as_bytes(), name, &line_hash], answer)?;
        let sql = "INSERT INTO answer (salon, once, owner, line_hash, sealed) VALUES ($1, $2, $3, $4, $5)";
        self.change.run(sql, with![self.core.salon, *name, owner.bytes(), line_hash, sealed]).await?;
        Ok(())
    }
}

type Gathered = (Vec<Appended>, Vec<Sealed>, HashMap<Stream, u64>);

/// Makes an answer; a caller's mistake must not take the writer down with all who wait.
fn made(answer: Answer, appended: &[Appended]) -> Result<Vec<u8>, StoreFault> {
    std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| answer(appended)))
        .map_err(|_| StoreFault::Refused("the answer to be kept could not be made".to_owned()))
}

impl Core {
    fn once_name(&self, key: &str) -> Sum {
        self.keys.names.code(&[b"once", key.as_bytes()])
    }
}

impl Book {
    /// An open book whose task of writing has begun.
    pub(super) fn of(core: Core) -> Self {
        let core = Arc::new(core);
        let (queue, writer) = begin(Arc::clone(&core));
        Self { core, writing: Mutex::new(Some((Arc::new(queue), writer))) }
    }

    /// Adds a batch: every event of it, its views and its answer, or nothing.
    /// A new client's or document's key is made on the way. Batches that wait
    /// at the same time share one sync of the disk.
    ///
    /// *Errors*: `Stale` (a stream has moved on), `Repeated` (the key was used:
    /// see [`Book::answered`]), `Erased` (a stream's key was destroyed),
    /// `TryAgain`, `NotSaved`, `Unsure`, `WritesStopped`, `Altered`.
    pub async fn append(&self, batch: Batch) -> Result<Vec<Appended>, StoreFault> {
        self.written(Work::Batch(batch)).await
    }

    /// Adds a line to the trail, durably, together with whatever else waits.
    pub(crate) async fn noted(&self, at_ms: i64, who: Uuid, what: Noted) -> Result<(), StoreFault> {
        self.written(Work::Note(at_ms, who, what)).await.map(|_| ())
    }

    async fn written(&self, work: Work) -> Result<Vec<Appended>, StoreFault> {
        let (outcome, result) = oneshot::channel();
        let gone = |_| StoreFault::NotSaved("the book is closed".to_owned());
        let queue = self.queue()?;
        queue.0.send(Waiting { work, outcome }).await.map_err(|_| gone(()))?;
        // Whoever closes the book waits until nobody can hand in any more.
        drop(queue);
        result.await.map_err(|_| gone(()))?
    }

    /// What was kept under an idempotency key; nothing when it was never used,
    /// or its answer was erased with the client it spoke of.
    ///
    /// *Errors*: the book cannot be read, or is not as it was written.
    pub async fn answered(&self, key: &str) -> Result<Option<Answered>, StoreFault> {
        let core = self.core();
        let name = core.once_name(key);
        let sql = "SELECT owner, line_hash, sealed FROM answer WHERE salon = $1 AND once = $2";
        let lines = core.engine.look(sql, with![core.salon, name]).await?;
        let Some(line) = lines.first() else { return Ok(None) };
        let does_not_open = || altered(0, "a kept answer does not open");
        let owner = Stream::from_bytes(line.bytes(0)?).ok_or_else(does_not_open)?;
        let Some(key) = core.key_of(owner).await? else { return Ok(None) };
        let line_hash = line.sum(1)?;
        let answer = key.open(&[b"answer", core.salon.as_bytes(), &name, &line_hash], line.bytes(2)?).ok_or_else(does_not_open)?;
        Ok(Some(Answered { line_hash, answer: answer.to_vec() }))
    }
}
