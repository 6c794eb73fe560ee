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
//! *Source*: key `rfc9106`, section 4, the second recommended choice: Argon2id
//! with 64 MiB, three passes and four lanes; kept in the document so that it can
//! rise. Documents of before had one lane.

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
const LANES: u32 = 4;
/// The most that a document may ask for: a hostile one must not hang the program.
const MOST_MEMORY_KIB: u32 = 1024 * 1024;
const MOST_PASSES: u32 = 32;
const MOST_LANES: u32 = 32;

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
    FileOnly {
        key: String,
    },
    Passphrase {
        #[serde(flatten)]
        cost: Cost,
        salt: String,
        sealed: String,
    },
}

/// What trying one passphrase costs.
#[derive(Clone, Copy, Serialize, Deserialize)]
struct Cost {
    memory_kib: u32,
    passes: u32,
    #[serde(default = "one", skip_serializing_if = "is_one")]
    lanes: u32,
}

const fn one() -> u32 {
    1
}

// The serializer asks with a reference.
#[allow(clippy::trivially_copy_pass_by_ref)]
const fn is_one(lanes: &u32) -> bool {
    *lanes == 1
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
                let cost = Cost { memory_kib: MEMORY_KIB, passes: PASSES, lanes: LANES };
                let cover = derive(passphrase, &salt, cost)?;
                let sealed = cover.seal(&[b"data key", salon.as_bytes()], data_key.bytes())?;
                Keeping::Passphrase { cost, salt: hex(&salt), sealed: hex(&sealed) }
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
            (Keeping::Passphrase { cost, salt, sealed }, Opener::Passphrase(passphrase)) => {
                let (Some(salt), Some(sealed)) = (unhex(salt), unhex(sealed)) else {
                    return Err(damaged("it is not whole"));
                };
                if cost.memory_kib > MOST_MEMORY_KIB || cost.passes > MOST_PASSES || cost.lanes > MOST_LANES {
                    return Err(damaged("it asks for the impossible"));
                }
                let cover = derive(passphrase, &salt, *cost)?;
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
            Keeping::Passphrase { cost: Cost { memory_kib, passes, lanes }, salt, sealed } => {
                let lanes = if is_one(lanes) { String::new() } else { format!(" {lanes}") };
                Zeroizing::new(format!("{memory_kib} {passes}{lanes} {salt} {sealed}"))
            }
        };
        let slot = [&self.slot.recipient, &self.slot.sealed, &self.slot.code];
        let sum = seal::sum(&[self.salon.as_bytes(), keeping.as_bytes(), slot[0].as_bytes(), slot[1].as_bytes(), slot[2].as_bytes()]);
        hex(&sum[..8])
    }
}

fn derive(passphrase: &Passphrase, salt: &[u8], cost: Cost) -> Result<Key, StoreFault> {
    let refused = |cause: argon2::Error| damaged(&format!("it asks for the impossible: {cause}"));
    let params = Params::new(cost.memory_kib, cost.passes, cost.lanes, Some(32)).map_err(refused)?;
    let mut out = Zeroizing::new([0_u8; 32]);
    Argon2::new(Algorithm::Argon2id, Version::V0x13, params).hash_password_into(passphrase.bytes(), salt, &mut *out).map_err(refused)?;
    Key::from_slice(&*out).ok_or_else(|| damaged("it is not whole"))
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    /// A document as it was written before there were lanes, of a salon made by chance.
    const OF_ONE_LANE: &str = include_str!("../../tests/data/key-of-one-lane.json");

    #[test]
    fn a_document_of_one_lane_opens_and_a_new_one_has_four() {
        let by = |words: &str| Opener::Passphrase(Passphrase::new(words.to_owned()).unwrap());
        let old = KeyDocument::from_text(OF_ONE_LANE).unwrap();
        let key = old.open(&by("a passphrase for measuring")).unwrap();
        assert!(matches!(old.open(&by("another passphrase")), Err(StoreFault::WrongPassphrase)));
        // Written again it is what it was.
        let value = |text: &str| serde_json::from_str::<serde_json::Value>(text).unwrap();
        assert_eq!(value(&old.text().unwrap()), value(OF_ONE_LANE));

        let words = Passphrase::new("four lanes side by side".to_owned()).unwrap();
        let new = KeyDocument::new(old.salon, &key, old.slot.clone(), Some(&words)).unwrap();
        assert_eq!(value(&new.text().unwrap())["keeping"]["lanes"], 4);
        let again = KeyDocument::from_text(&new.text().unwrap()).unwrap();
        assert_eq!(again.open(&Opener::Passphrase(words)).unwrap().bytes(), key.bytes());
        // Fewer lanes are another key, and the sum tells that the document was changed.
        let fewer = new.text().unwrap().replace("\"lanes\": 4", "\"lanes\": 1");
        assert!(KeyDocument::from_text(&fewer).is_err());
    }
}
