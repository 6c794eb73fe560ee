//! The records' safety: backups, verifying and restoring them, and the chain.

use crate::salon_book::now_ms;
use crate::{DeskFault, Salon};
use serde_json::{Value, json};
use std::path::Path;
use store::book::{Book, Erasures, Passphrase, Place, RecoveryCode, Restorer, Verified};
use uuid::Uuid;

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

fn told(verified: &Verified) -> Value {
    json!({"ok": true, "events": verified.events, "blobs": verified.blobs, "erased": verified.erased, "head": hex(&verified.head)})
}

impl Salon {
    /// Writes one archive of everything, reads it back and compares.
    ///
    /// *Errors*: the file exists; the disk refuses.
    pub async fn backup(&self, to: &Path) -> Result<Value, DeskFault> {
        Ok(told(&self.book.backup(to, now_ms()).await?))
    }

    /// Restores an archive into a scratch place and compares.
    ///
    /// *Errors*: the archive is not whole; the code is not its code.
    pub async fn verify(file: &Path, code: &RecoveryCode) -> Result<Value, DeskFault> {
        Ok(told(&Book::verify(file, code).await?))
    }

    /// Restores an archive into an empty place; what was erased since stays erased.
    ///
    /// *Errors*: the place is not empty; the archive, the code or the list is not right.
    pub async fn restore(
        file: &Path,
        place: &Place,
        code: &RecoveryCode,
        passphrase: Option<&Passphrase>,
        without_erasures: bool,
    ) -> Result<Value, DeskFault> {
        let erasures = if without_erasures { Erasures::Without } else { Erasures::Beside };
        let restorer = Restorer { who: Uuid::nil(), at_ms: now_ms() };
        let (book, verified) = Book::restore(file, place, code, passphrase, &erasures, restorer).await?;
        let audit = book.audit().await?;
        book.close().await;
        Ok(json!({"ok": true, "events": audit.events, "blobs": verified.blobs, "head": hex(&audit.head.hash)}))
    }

    /// Walks the whole chain.
    ///
    /// *Errors*: the first altered row.
    pub async fn audit(&self) -> Result<Value, DeskFault> {
        let audit = self.book.audit().await?;
        Ok(json!({"ok": true, "events": audit.events, "head": hex(&audit.head.hash)}))
    }
}
