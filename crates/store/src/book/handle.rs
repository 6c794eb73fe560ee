//! An open book.

use super::Place;
use super::batch::Queue;
use super::core::Core;
use crate::{Protection, StoreFault};
use std::sync::{Arc, Mutex, PoisonError};
use tokio::task::JoinHandle;
use uuid::Uuid;

/// An open book: the one way to what happened in a salon.
///
/// *Meaning*: a folder's book is open once at a time, in one process; a
/// database's book may be open in several. It is opened inside a tokio runtime.
pub struct Book {
    pub(super) core: Arc<Core>,
    pub(super) writing: Mutex<Option<(Arc<Queue>, JoinHandle<()>)>>,
}

impl std::fmt::Debug for Book {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Book").field("place", &self.core.place).field("salon", &self.core.salon).finish_non_exhaustive()
    }
}

impl Book {
    /// Where the book is kept.
    #[must_use]
    pub fn place(&self) -> &Place {
        &self.core.place
    }

    /// Which salon's book it is.
    #[must_use]
    pub fn salon(&self) -> Uuid {
        self.core.salon
    }

    /// What guards the key.
    #[must_use]
    pub fn protection(&self) -> Protection {
        self.core.document().protection()
    }

    /// The public half of the recovery code, as backups use it (`age1…`).
    #[must_use]
    pub fn recipient(&self) -> String {
        self.core.document().slot().recipient.clone()
    }

    /// How durably a commit is kept, in the engine's own words.
    ///
    /// *Errors*: the engine does not answer.
    pub async fn durability(&self) -> Result<String, StoreFault> {
        self.core.engine.durability().await
    }

    /// Closes the book for everyone who still holds it, and frees its folder.
    /// What was handed to [`Book::append`] before is written first.
    pub async fn close(&self) {
        let writing = self.writing.lock().unwrap_or_else(PoisonError::into_inner).take();
        if let Some((queue, writer)) = writing {
            drop(queue);
            // It ends when the last batch that waits is written; a fault was told to whoever waits.
            let _ = writer.await;
        }
        self.core.engine.close().await;
    }

    pub(crate) fn core(&self) -> &Core {
        &self.core
    }

    pub(super) fn queue(&self) -> Result<Arc<Queue>, StoreFault> {
        let writing = self.writing.lock().unwrap_or_else(PoisonError::into_inner);
        writing.as_ref().map(|(queue, _)| Arc::clone(queue)).ok_or_else(|| StoreFault::NotSaved("the book is closed".to_owned()))
    }
}
