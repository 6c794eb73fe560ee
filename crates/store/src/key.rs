//! The key of the records and how it is kept.
//!
//! The records are encrypted with a random 256-bit data key. Beside them stands
//! the key file. With a passphrase it holds the data key wrapped: Argon2id turns
//! the passphrase and a fresh salt into 64 bytes; the first 32, used this once,
//! cover the data key, the last 32 tell a wrong passphrase from a right one.
//! Without a passphrase the file holds the data key itself and only the file's
//! own permissions (owner alone) protect it: whoever can read the folder can
//! read the salon.
//!
//! *Source*: key `owasppasswords`: Argon2id with at least 19 MiB and two passes;
//! ours is 64 MiB and three passes, kept in the file so that it can rise later.

use crate::StoreFault;
use argon2::{Algorithm, Argon2, Params, Version};
use serde::{Deserialize, Serialize};
use std::fs::{File, OpenOptions};
use std::io::Write;
use std::os::unix::fs::OpenOptionsExt;
use std::path::Path;

/// The key file's name beside the records.
pub(crate) const KEY_FILE: &str = "salon.key";
/// The key file while it is being written.
pub(crate) const UNFINISHED_FILE: &str = "salon.key.new";

const MEMORY_KIB: u32 = 64 * 1024;
const PASSES: u32 = 3;
/// The most memory and passes that a key file may ask for: a mended or hostile
/// file must not hang the program.
const MOST_MEMORY_KIB: u32 = 1024 * 1024;
const MOST_PASSES: u32 = 32;

/// What guards the key of the records.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Protection {
    /// A passphrase that only its owner knows.
    Passphrase,
    /// Nothing but the permissions of the key file.
    FileOnly,
}

/// The 256-bit key of the records.
#[derive(Clone)]
pub(crate) struct DataKey([u8; 32]);

impl DataKey {
    /// A new key from the system's source of chance.
    pub(crate) fn random() -> Result<Self, StoreFault> {
        Ok(Self(random_bytes()?))
    }

    /// The key as the database wants it: a raw key in hexadecimal.
    pub(crate) fn for_database(&self) -> String {
        format!("\"x'{}'\"", hex(&self.0))
    }
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct KeyFile {
    format: u32,
    keeping: Keeping,
    /// Tells a damaged file from a wrong passphrase.
    sum: String,
}

#[derive(Serialize, Deserialize)]
#[serde(tag = "by", rename_all = "snake_case")]
enum Keeping {
    FileOnly { key: String },
    Passphrase { memory_kib: u32, passes: u32, salt: String, covered_key: String, check: String },
}

impl Keeping {
    fn sum(&self) -> String {
        let text = match self {
            Self::FileOnly { key } => key.clone(),
            Self::Passphrase { memory_kib, passes, salt, covered_key, check } => {
                format!("{memory_kib} {passes} {salt} {covered_key} {check}")
            }
        };
        format!("{:016x}", fnv_1a(text.as_bytes()))
    }
}

/// Writes the key file anew: whole or not at all.
pub(crate) fn write(folder: &Path, key: &DataKey, passphrase: Option<&str>) -> Result<(), StoreFault> {
    let keeping = match passphrase {
        None => Keeping::FileOnly { key: hex(&key.0) },
        Some(passphrase) => {
            let salt: [u8; 16] = random_bytes()?;
            let (cover, check) = derive(passphrase, &salt, MEMORY_KIB, PASSES)?;
            Keeping::Passphrase {
                memory_kib: MEMORY_KIB,
                passes: PASSES,
                salt: hex(&salt),
                covered_key: hex(&exclusive_or(&key.0, &cover)),
                check: hex(&check),
            }
        }
    };
    let sum = keeping.sum();
    let text =
        serde_json::to_string_pretty(&KeyFile { format: 1, keeping, sum }).map_err(|cause| StoreFault::Damaged(cause.to_string()))?;
    let beside = folder.join(UNFINISHED_FILE);
    let failed = |cause: std::io::Error| StoreFault::disk(format!("writing the key in {}", folder.display()), &cause);
    let mut file = OpenOptions::new().write(true).create(true).truncate(true).mode(0o600).open(&beside).map_err(failed)?;
    file.write_all(text.as_bytes()).map_err(failed)?;
    file.sync_all().map_err(failed)?;
    std::fs::rename(&beside, folder.join(KEY_FILE)).map_err(failed)?;
    sync_folder(folder)
}

/// Reads the key file and opens it.
pub(crate) fn read(folder: &Path, passphrase: Option<&str>) -> Result<(DataKey, Protection), StoreFault> {
    let path = folder.join(KEY_FILE);
    let text = std::fs::read_to_string(&path).map_err(|cause| match cause.kind() {
        std::io::ErrorKind::NotFound => StoreFault::Damaged("the key file salon.key is missing".to_owned()),
        std::io::ErrorKind::InvalidData => StoreFault::Damaged("the key file salon.key is not text".to_owned()),
        _ => StoreFault::disk(format!("reading {}", path.display()), &cause),
    })?;
    let broken = || StoreFault::Damaged("the key file salon.key is not whole".to_owned());
    let file: KeyFile = serde_json::from_str(&text).map_err(|_| broken())?;
    if file.format > 1 {
        return Err(StoreFault::Newer { found: i64::from(file.format), known: 1 });
    }
    if file.sum != file.keeping.sum() {
        return Err(broken());
    }
    match file.keeping {
        Keeping::FileOnly { key } => Ok((DataKey(unhex(&key).ok_or_else(broken)?), Protection::FileOnly)),
        Keeping::Passphrase { memory_kib, passes, salt, covered_key, check } => {
            let passphrase = passphrase.ok_or(StoreFault::PassphraseNeeded)?;
            if memory_kib > MOST_MEMORY_KIB || passes > MOST_PASSES {
                return Err(broken());
            }
            let salt: [u8; 16] = unhex(&salt).ok_or_else(broken)?;
            let covered: [u8; 32] = unhex(&covered_key).ok_or_else(broken)?;
            let (cover, found) = derive(passphrase, &salt, memory_kib, passes)?;
            if hex(&found) != check {
                return Err(StoreFault::WrongPassphrase);
            }
            Ok((DataKey(exclusive_or(&covered, &cover)), Protection::Passphrase))
        }
    }
}

/// Makes the names in a folder durable.
pub(crate) fn sync_folder(folder: &Path) -> Result<(), StoreFault> {
    File::open(folder)
        .and_then(|handle| handle.sync_all())
        .map_err(|cause| StoreFault::disk(format!("writing to {}", folder.display()), &cause))
}

fn derive(passphrase: &str, salt: &[u8], memory_kib: u32, passes: u32) -> Result<([u8; 32], [u8; 32]), StoreFault> {
    let refused = |cause: argon2::Error| StoreFault::Damaged(format!("the key file asks for the impossible: {cause}"));
    let params = Params::new(memory_kib, passes, 1, Some(64)).map_err(refused)?;
    let mut out = [0_u8; 64];
    Argon2::new(Algorithm::Argon2id, Version::V0x13, params).hash_password_into(passphrase.as_bytes(), salt, &mut out).map_err(refused)?;
    let mut cover = [0_u8; 32];
    let mut check = [0_u8; 32];
    cover.copy_from_slice(&out[..32]);
    check.copy_from_slice(&out[32..]);
    Ok((cover, check))
}

fn random_bytes<const N: usize>() -> Result<[u8; N], StoreFault> {
    let mut bytes = [0_u8; N];
    getrandom::fill(&mut bytes)
        .map_err(|cause| StoreFault::Disk { what: "asking the system for chance".to_owned(), cause: cause.to_string() })?;
    Ok(bytes)
}

fn exclusive_or(a: &[u8; 32], b: &[u8; 32]) -> [u8; 32] {
    std::array::from_fn(|i| a[i] ^ b[i])
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

fn unhex<const N: usize>(text: &str) -> Option<[u8; N]> {
    if text.len() != 2 * N || !text.is_ascii() {
        return None;
    }
    let mut bytes = [0_u8; N];
    for (i, byte) in bytes.iter_mut().enumerate() {
        *byte = u8::from_str_radix(&text[2 * i..2 * i + 2], 16).ok()?;
    }
    Some(bytes)
}

/// FNV-1a, 64 bits: finds accidents, not attacks.
fn fnv_1a(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |sum, byte| (sum ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// *Source*: values for testing published with the algorithm, key `fnv`: the
    /// empty string and "a".
    #[test]
    fn the_sum_is_fnv_1a() {
        assert_eq!(fnv_1a(b""), 0xcbf2_9ce4_8422_2325);
        assert_eq!(fnv_1a(b"a"), 0xaf63_dc4c_8601_ec8c);
    }

    #[test]
    fn hexadecimal_there_and_back() {
        assert_eq!(unhex::<3>(&hex(&[0, 127, 255])), Some([0, 127, 255]));
        assert_eq!(unhex::<2>("00"), None);
        assert_eq!(unhex::<1>("zz"), None);
        assert_eq!(unhex::<1>("é"), None);
    }
}
