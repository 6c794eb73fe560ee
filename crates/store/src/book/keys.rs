//! The document that holds the data key: in a folder the file `book.key`, in a
//! database a row.
//!
//! The data key is random. With a passphrase it is sealed under a key that
//! Argon2id makes of it; without one (in a folder only) it stands in the file as
//! it is, and only the file's permissions guard it. Beside that it is always
//! sealed to the recovery code, as a small age file. The recipient of backups is
//! vouched for under the data key: whoever can write the file cannot put
//! another one there unseen.
//!
//! *Source*: OWASP Password Storage Cheat Sheet: Argon2id with at least 19 MiB
//! and two passes; ours is 64 MiB and three, kept in the document so that it can rise.

use super::seal::{self, Key, hex, unhex};
use super::{Opener, Passphrase, RecoveryCode};
use crate::{Protection, StoreFault};
use argon2::{Algorithm, Argon2, Params, Version};
use serde::{Deserialize, Serialize};
use std::str::FromStr;
use uuid::Uuid;
use zeroize::Zeroizing;

const FORMAT: u32 = 1;
const MEMORY_KIB: u32 = 64 * 1024;
const PASSES: u32 = 3;
/// The most that a document may ask for: a hostile one must not hang the program.
const MOST_MEMORY_KIB: u32 = 1024 * 1024;
const MOST_PASSES: u32 = 32;

#[derive(Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct KeyDocument {
    format: u32,
    salon: Uuid,
    keeping: Keeping,
    slot: CodeSlot,
    /// Tells a damaged document from a wrong passphrase.
    sum: String,
}

#[derive(Clone, Serialize, Deserialize)]
#[serde(tag = "by", rename_all = "snake_case")]
enum Keeping {
    FileOnly { key: String },
    Passphrase { memory_kib: u32, passes: u32, salt: String, sealed: String },
}

/// What the recovery code opens. It stands in every archive too.
#[derive(Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct CodeSlot {
    /// The code's public half: whom backups are encrypted to.
    pub recipient: String,
    /// The data key as an age file to that recipient.
    sealed: String,
    /// Vouches for both under the data key.
    code: String,
}

impl CodeSlot {
    pub(crate) fn new(salon: Uuid, data_key: &Key, recipient: String) -> Result<Self, StoreFault> {
        let to = recipient_of(&recipient)?;
        let sealed = age::encrypt(&to, data_key.bytes()).map_err(|cause| damaged(&cause.to_string()))?;
        let code = hex(&data_key.derived("recovery").code(&[salon.as_bytes(), recipient.as_bytes(), &sealed]));
        Ok(Self { recipient, sealed: hex(&sealed), code })
    }

    /// The data key, opened by the printed code.
    pub(crate) fn open(&self, salon: Uuid, code: &RecoveryCode) -> Result<Key, StoreFault> {
        let sealed = unhex(&self.sealed).ok_or_else(|| damaged("the recovery slot is not whole"))?;
        let plain = Zeroizing::new(age::decrypt(code.identity(), &sealed).map_err(|_| StoreFault::WrongCode)?);
        let key = Key::from_slice(&plain).ok_or_else(|| damaged("the recovery slot is not whole"))?;
        self.vouched(salon, &key)?;
        Ok(key)
    }

    /// Checks that nobody without the data key put the recipient there.
    pub(crate) fn vouched(&self, salon: Uuid, data_key: &Key) -> Result<(), StoreFault> {
        let (Some(sealed), Some(code)) = (unhex(&self.sealed), unhex(&self.code)) else {
            return Err(damaged("the recovery slot is not whole"));
        };
        if data_key.derived("recovery").vouches(&[salon.as_bytes(), self.recipient.as_bytes(), &sealed], &code) {
            Ok(())
        } else {
            Err(damaged("the recipient of backups is not the one that was put there with the key"))
        }
    }
}

/// A recipient from its text.
pub(crate) fn recipient_of(text: &str) -> Result<age::x25519::Recipient, StoreFault> {
    age::x25519::Recipient::from_str(text).map_err(|_| damaged("the recipient of backups is not whole"))
}

fn damaged(why: &str) -> StoreFault {
    StoreFault::Damaged(format!("the key document: {why}"))
}

impl KeyDocument {
    /// A document that keeps `data_key` under a passphrase, or as it is. Slow: Argon2id.
    pub(crate) fn new(salon: Uuid, data_key: &Key, slot: CodeSlot, passphrase: Option<&Passphrase>) -> Result<Self, StoreFault> {
        let keeping = match passphrase {
            None => Keeping::FileOnly { key: hex(data_key.bytes()) },
            Some(passphrase) => {
                let salt: [u8; 16] = seal::chance()?;
                let cover = derive(passphrase, &salt, MEMORY_KIB, PASSES)?;
                let sealed = cover.seal(&[b"data key", salon.as_bytes()], data_key.bytes())?;
                Keeping::Passphrase { memory_kib: MEMORY_KIB, passes: PASSES, salt: hex(&salt), sealed: hex(&sealed) }
            }
        };
        let mut document = Self { format: FORMAT, salon, keeping, slot, sum: String::new() };
        document.sum = document.summed();
        Ok(document)
    }

    pub(crate) fn from_text(text: &str) -> Result<Self, StoreFault> {
        let document: Self = serde_json::from_str(text).map_err(|_| damaged("it is not whole"))?;
        if document.format > FORMAT {
            return Err(StoreFault::Newer { found: i64::from(document.format), known: i64::from(FORMAT) });
        }
        if document.sum != document.summed() {
            return Err(damaged("it is not whole"));
        }
        Ok(document)
    }

    pub(crate) fn text(&self) -> Result<String, StoreFault> {
        serde_json::to_string_pretty(self).map_err(|cause| damaged(&cause.to_string()))
    }

    pub(crate) const fn salon(&self) -> Uuid {
        self.salon
    }

    pub(crate) const fn slot(&self) -> &CodeSlot {
        &self.slot
    }

    pub(crate) const fn protection(&self) -> Protection {
        match self.keeping {
            Keeping::FileOnly { .. } => Protection::FileOnly,
            Keeping::Passphrase { .. } => Protection::Passphrase,
        }
    }

    /// The data key. Slow with a passphrase: Argon2id.
    pub(crate) fn open(&self, opener: &Opener) -> Result<Key, StoreFault> {
        let key = match (&self.keeping, opener) {
            (_, Opener::Code(code)) => return self.slot.open(self.salon, code),
            (Keeping::FileOnly { .. }, Opener::Passphrase(_)) => return Err(StoreFault::PassphraseNotWanted),
            (Keeping::Passphrase { .. }, Opener::Nothing) => return Err(StoreFault::PassphraseNeeded),
            (Keeping::FileOnly { key }, Opener::Nothing) => {
                let bytes = unhex(key).map(Zeroizing::new);
                bytes.and_then(|bytes| Key::from_slice(&bytes)).ok_or_else(|| damaged("it is not whole"))?
            }
            (Keeping::Passphrase { memory_kib, passes, salt, sealed }, Opener::Passphrase(passphrase)) => {
                let (Some(salt), Some(sealed)) = (unhex(salt), unhex(sealed)) else {
                    return Err(damaged("it is not whole"));
                };
                if *memory_kib > MOST_MEMORY_KIB || *passes > MOST_PASSES {
                    return Err(damaged("it asks for the impossible"));
                }
                let cover = derive(passphrase, &salt, *memory_kib, *passes)?;
                let plain = cover.open(&[b"data key", self.salon.as_bytes()], &sealed);
                plain.and_then(|plain| Key::from_slice(&plain)).ok_or(StoreFault::WrongPassphrase)?
            }
        };
        self.slot.vouched(self.salon, &key)?;
        Ok(key)
    }

    fn summed(&self) -> String {
        let keeping = match &self.keeping {
            Keeping::FileOnly { key } => Zeroizing::new(key.clone()),
            Keeping::Passphrase { memory_kib, passes, salt, sealed } => {
                Zeroizing::new(format!("{memory_kib} {passes} {salt} {sealed}"))
            }
        };
        let slot = [&self.slot.recipient, &self.slot.sealed, &self.slot.code];
        let sum = seal::sum(&[self.salon.as_bytes(), keeping.as_bytes(), slot[0].as_bytes(), slot[1].as_bytes(), slot[2].as_bytes()]);
        hex(&sum[..8])
    }
}

fn derive(passphrase: &Passphrase, salt: &[u8], memory_kib: u32, passes: u32) -> Result<Key, StoreFault> {
    let refused = |cause: argon2::Error| damaged(&format!("it asks for the impossible: {cause}"));
    let params = Params::new(memory_kib, passes, 1, Some(32)).map_err(refused)?;
    let mut out = Zeroizing::new([0_u8; 32]);
    Argon2::new(Algorithm::Argon2id, Version::V0x13, params)
        .hash_password_into(passphrase.bytes(), salt, &mut *out)
        .map_err(refused)?;
    Key::from_slice(&*out).ok_or_else(|| damaged("it is not whole"))
}
