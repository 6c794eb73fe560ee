//! The consultation as pages and papers ask for it: what she answered, what follows, what she signed.

use crate::client_line::worn;
use crate::{DeskFault, Salon};
use craft::suitability::{Judgement, judge};
use measure::RuleBook;
use salon::book::{BlobRef, ClientBook, ClientId, Signature, Signed};
use salon::client::ClientFile;
use store::book::BlobId;
use uuid::Uuid;

/// What was answered so far.
#[derive(Debug, Clone)]
pub struct Heard {
    /// All that is in force of her, without her health.
    pub book: ClientBook,
    /// Her file as it reads today, with what is kept of her health.
    pub file: ClientFile,
    /// What the rules make of it.
    pub judged: Judgement,
    /// Whether a set is in her hair.
    pub wears: bool,
}

impl Salon {
    /// What a client answered so far; that her health was read is recorded.
    ///
    /// *Errors*: nothing has this id; the records.
    pub async fn heard(&self, id: ClientId) -> Result<Heard, DeskFault> {
        let book = self.client_book(id, None).await?;
        let (health, _) = self.health(&book, "consultation", None).await?;
        let file = book.facts.file_on(crate::today(), health.as_ref());
        let judged = judge(&file.answers(), &RuleBook::standard());
        let wears = worn(&book.plans).is_some();
        Ok(Heard { book, file, judged, wears })
    }

    /// A signature as it was drawn; nothing where she typed her name.
    ///
    /// *Errors*: the records.
    pub async fn drawn(&self, signed: &Signed) -> Result<Option<Signature>, DeskFault> {
        let Signed::Drawn(BlobRef(blob)) = signed else { return Ok(None) };
        let bytes = self.book.blob(BlobId(Uuid::from_u128(*blob))).await?;
        serde_json::from_slice(&bytes).map(Some).map_err(|cause| DeskFault::damaged("a signature", &cause))
    }
}
