//! A book is begun or opened; its passphrase and its code are changed.

use super::batch::Noted;
use super::core::{Chain, Core, altered};
use super::engine::{Engine, with};
use super::keys::{CodeSlot, KeyDocument};
use super::seal::Key;
use super::{Book, Opener, Passphrase, Place, RecoveryCode, Stream, erase, postgres, seal, sqlite};
use crate::{Protection, StoreFault};
use std::path::Path;
use uuid::Uuid;

impl Book {
    /// Whether a folder holds a book. (A salon of the earlier kind is none.)
    #[must_use]
    pub fn is_in(folder: &Path) -> bool {
        folder.join(sqlite::KEY_FILE).exists()
    }

    /// Begins a new book at an empty place and makes its recovery code: print it
    /// now, it is kept nowhere. A folder may hold a salon of the earlier kind.
    /// A database needs a passphrase (nothing there may hold the key open); its
    /// tables and the salon's role are made when they are missing and the
    /// address's role may make them.
    ///
    /// *Errors*: `NotEmpty`, `PassphraseRefused`, `NoPlace`, the disk or database refuses.
    pub async fn begin(place: &Place, passphrase: Option<&Passphrase>, now_ms: i64) -> Result<(Self, RecoveryCode), StoreFault> {
        let code = RecoveryCode::generate();
        let salon = match place {
            Place::Folder(_) => seal::random_id()?,
            Place::Postgres { salon, .. } => *salon,
        };
        let (data_key, house) = (Key::random()?, Key::random()?);
        let slot = CodeSlot::new(salon, &data_key, code.recipient())?;
        let engine = engine_for_beginning(place, &data_key, passphrase.is_some()).await?;
        let document = made_document(salon, &data_key, slot, passphrase).await?;
        let core = Core::new(place.clone(), salon, engine, &data_key, house, document);
        let mut change = core.engine.change().await?;
        let wrapped = seal::wrap(&core.keys.wrapping, salon, Stream::House, &core.keys.house)?;
        let sql = "INSERT INTO stream_key (salon, owner, wrapped) VALUES ($1, $2, $3)";
        change.run(sql, with![salon, Stream::House.bytes(), wrapped]).await?;
        Chain::beginning(salon).keep(salon, &core.keys.head, change.as_mut()).await?;
        core.note(change.as_mut(), now_ms, Uuid::nil(), Noted::Begun).await?;
        core.engine.keep_key_document(change, core.document().text()?).await?;
        Ok((Self::of(core), code))
    }

    /// Opens a book. What it checks does not grow with what the book holds.
    ///
    /// *Errors*: `NoBook`, `InUse`, `PassphraseNeeded`, `WrongPassphrase`,
    /// `PassphraseNotWanted`, `WrongCode`, `Damaged`, `Altered`, `Newer`.
    pub async fn open(place: &Place, opener: &Opener) -> Result<Self, StoreFault> {
        let (engine, document, data_key): (Box<dyn Engine>, _, _) = match place {
            Place::Folder(folder) => {
                let folder = sqlite::Folder::with_book(folder)?;
                let document = KeyDocument::from_text(&folder.key_document()?)?;
                let data_key = opened(&document, opener).await?;
                (Box::new(folder.connect(&data_key, false).await?), document, data_key)
            }
            Place::Postgres { url, salon } => {
                let engine = postgres::connect(url, *salon).await?;
                let text = engine.key_document().await?.ok_or_else(|| StoreFault::NoBook(place.to_string()))?;
                let document = KeyDocument::from_text(&text)?;
                let data_key = opened(&document, opener).await?;
                (Box::new(engine), document, data_key)
            }
        };
        let salon = document.salon();
        if let Place::Postgres { salon: named, .. } = place
            && *named != salon
        {
            return Err(altered(0, "the key document is another salon's"));
        }
        let sql = "SELECT wrapped FROM stream_key WHERE salon = $1 AND owner = $2";
        let lines = engine.look(sql, with![salon, Stream::House.bytes()]).await?;
        let wrapped = lines.first().ok_or_else(|| altered(0, "the house key is missing"))?.bytes(0)?;
        let house = seal::unwrap(&data_key.derived("wrapping"), salon, Stream::House, wrapped)
            .ok_or_else(|| altered(0, "the house key does not open under the data key"))?;
        let core = Core::new(place.clone(), salon, engine, &data_key, house, document);
        if let Err(fault) = core.check_end().await {
            // Something was altered: only now the whole chain is walked, to name the first row.
            return Err(core.audit().await.err().unwrap_or(fault));
        }
        erase::finish_leaving(&core).await?;
        Ok(Self::of(core))
    }

    /// Sets, changes or (in a folder) takes away the passphrase. `was` must open
    /// the book as it is now: who walks by an open book cannot lock its owner out.
    ///
    /// *Errors*: as [`Book::open`]; `PassphraseRefused`.
    pub async fn change_passphrase(&self, was: &Opener, to: Option<&Passphrase>) -> Result<(), StoreFault> {
        if to.is_none() && matches!(self.core.place, Place::Postgres { .. }) {
            return Err(StoreFault::PassphraseRefused(NEEDS_ONE));
        }
        let _one_at_a_time = self.core.changing.lock().await;
        let document = self.core.document();
        let data_key = opened(&document, was).await?;
        let changed = made_document(self.core.salon, &data_key, document.slot().clone(), to).await?;
        self.core.keep_document(changed).await
    }

    /// Makes a new recovery code and ends the old one. Archives made before
    /// still open with the old code only.
    ///
    /// *Errors*: as [`Book::open`]. With a passphrase, `was` must be the
    /// passphrase: the document is sealed under it anew.
    pub async fn renew_recovery_code(&self, was: &Opener) -> Result<RecoveryCode, StoreFault> {
        let _one_at_a_time = self.core.changing.lock().await;
        let document = self.core.document();
        let data_key = opened(&document, was).await?;
        let passphrase = match (document.protection(), was) {
            (Protection::FileOnly, _) => None,
            (Protection::Passphrase, Opener::Passphrase(passphrase)) => Some(passphrase),
            (Protection::Passphrase, _) => return Err(StoreFault::PassphraseNeeded),
        };
        let code = RecoveryCode::generate();
        let slot = CodeSlot::new(self.core.salon, &data_key, code.recipient())?;
        let changed = made_document(self.core.salon, &data_key, slot, passphrase).await?;
        self.core.keep_document(changed).await?;
        Ok(code)
    }
}

const NEEDS_ONE: &str = "a book in a database needs a passphrase: nothing there may hold its key open";

/// The engine of a place in which a book may be begun, tables and all.
pub(super) async fn engine_for_beginning(place: &Place, data_key: &Key, passphrase: bool) -> Result<Box<dyn Engine>, StoreFault> {
    match place {
        Place::Folder(folder) => Ok(Box::new(sqlite::Folder::for_beginning(folder)?.connect(data_key, true).await?)),
        Place::Postgres { url, salon } => {
            if !passphrase {
                return Err(StoreFault::PassphraseRefused(NEEDS_ONE));
            }
            postgres::prepare(url, *salon).await?;
            let engine = postgres::connect(url, *salon).await?;
            if engine.key_document().await?.is_some() {
                return Err(StoreFault::NotEmpty(place.to_string()));
            }
            Ok(Box::new(engine))
        }
    }
}

/// The data key; Argon2id runs beside the event loop.
pub(super) async fn opened(document: &KeyDocument, opener: &Opener) -> Result<Key, StoreFault> {
    let (document, opener) = (document.clone(), opener.clone());
    sqlite::beside(move || document.open(&opener)).await
}

pub(super) async fn made_document(
    salon: Uuid,
    data_key: &Key,
    slot: CodeSlot,
    passphrase: Option<&Passphrase>,
) -> Result<KeyDocument, StoreFault> {
    let (data_key, passphrase) = (data_key.clone(), passphrase.cloned());
    sqlite::beside(move || KeyDocument::new(salon, &data_key, slot, passphrase.as_ref())).await
}
