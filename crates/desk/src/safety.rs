//! The records' safety: backups, verifying and restoring them, and the chain.

use crate::written::{Act, now_ms};
use crate::{DeskFault, Salon};
use salon::book::{Day, HouseEvent};
use serde_json::{Value, json};
use std::path::Path;
use store::book::{Book, Erasures, Opener, Passphrase, Place, RecoveryCode, Restorer, Verified};
use uuid::Uuid;

/// How the records stand.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RecordsNow {
    /// How many events there are.
    pub events: u64,
    /// The chain's last hash.
    pub head: String,
    /// How many clients were erased.
    pub erased: usize,
    /// The last backup; nothing when none was made yet.
    pub backup: Option<LastBackup>,
}

/// The last backup.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LastBackup {
    /// Its day.
    pub on: Day,
    /// When, ms since 1970.
    pub at_ms: i64,
    /// How many events came since.
    pub since: u64,
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

fn opener(passphrase: Option<&Passphrase>) -> Opener {
    passphrase.map_or(Opener::Nothing, |passphrase| Opener::Passphrase(passphrase.clone()))
}

fn told(verified: &Verified) -> Value {
    json!({"ok": true, "events": verified.events, "blobs": verified.blobs, "erased": verified.erased, "head": hex(&verified.head)})
}

impl Salon {
    /// Writes one archive of everything, reads it back and compares.
    ///
    /// *Errors*: the file exists; the disk refuses.
    pub async fn backup(&self, to: &Path) -> Result<Value, DeskFault> {
        let verified = self.book.backup(to, now_ms()).await?;
        let world = self.world_now().await?;
        self.keep(&world, Act::default().house(vec![HouseEvent::BackupMade { events: verified.events }]), None).await?;
        Ok(told(&verified))
    }

    /// How the records stand: what an owner looks at.
    ///
    /// *Errors*: the records cannot be read.
    pub async fn records(&self) -> Result<RecordsNow, DeskFault> {
        let head = self.book.head().await?;
        let house = self.house_book().await?;
        let backup = house.backup.map(|(on, events, at_ms)| LastBackup { on, at_ms, since: head.seq.saturating_sub(events + 1) });
        Ok(RecordsNow { events: head.seq, head: hex(&head.hash), erased: house.erased.len(), backup })
    }

    /// Walks an archive through as a restore does, without a place to put it: the
    /// chain, every key, every body and every kept file are opened and compared.
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
        let salon = Self::of(book, place.clone());
        // Views are not in archives; made here, the first start is as quick as any other.
        salon.rebuild_views().await?;
        let audit = salon.book.audit().await?;
        salon.close().await;
        Ok(json!({"ok": true, "events": audit.events, "blobs": verified.blobs, "head": hex(&audit.head.hash)}))
    }

    /// Makes a new recovery code and ends the old one; archives made before still open with the old one only.
    ///
    /// *Errors*: the passphrase is missing or wrong; the records.
    pub async fn renew_recovery_code(&self, passphrase: Option<&Passphrase>) -> Result<RecoveryCode, DeskFault> {
        Ok(self.book.renew_recovery_code(&opener(passphrase)).await?)
    }

    /// Sets, changes or takes away the passphrase; the one of now opens the door to it.
    ///
    /// *Errors*: the passphrase is missing or wrong; the records.
    pub async fn change_passphrase(&self, now: Option<&Passphrase>, to: Option<&Passphrase>) -> Result<(), DeskFault> {
        Ok(self.book.change_passphrase(&opener(now), to).await?)
    }

    /// Walks the whole chain.
    ///
    /// *Errors*: the first altered row.
    pub async fn audit(&self) -> Result<Value, DeskFault> {
        let audit = self.book.audit().await?;
        Ok(json!({"ok": true, "events": audit.events, "head": hex(&audit.head.hash)}))
    }
}
