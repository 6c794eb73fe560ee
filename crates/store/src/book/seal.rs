//! Keys, seals and the chain. Every cipher, hash and derivation is a reviewed
//! crate's; here stands only what is put into them, and in which order.
//!
//! *Source*: XChaCha20-Poly1305, HKDF, HMAC and SHA-256; keys `xchacha03`,
//! `rfc5869`, `rfc2104`, `fips180-4`.

use super::Stream;
use crate::StoreFault;
use chacha20poly1305::aead::{Aead, KeyInit, Payload};
use chacha20poly1305::{Key as CipherKey, XChaCha20Poly1305, XNonce};
use hkdf::Hkdf;
use hmac::{Hmac, Mac};
use sha2::{Digest, Sha256};
use uuid::Uuid;
use zeroize::{Zeroize, ZeroizeOnDrop, Zeroizing};

/// Bytes of a nonce: long enough to be drawn by chance for every seal.
const NONCE: usize = 24;

/// 32 bytes that a hash or a code of authenticity comes to.
pub(crate) type Sum = [u8; 32];

/// A key of 256 bits, overwritten when it is dropped.
#[derive(Clone, Zeroize, ZeroizeOnDrop)]
pub(crate) struct Key([u8; 32]);

impl Key {
    /// A key from the system's source of chance.
    pub(crate) fn random() -> Result<Self, StoreFault> {
        Ok(Self(chance()?))
    }

    pub(crate) fn from_slice(bytes: &[u8]) -> Option<Self> {
        bytes.try_into().ok().map(Self)
    }

    pub(crate) const fn bytes(&self) -> &[u8; 32] {
        &self.0
    }

    /// A key for one use, so that no key serves two ciphers.
    pub(crate) fn derived(&self, purpose: &str) -> Self {
        let mut key = Self([0; 32]);
        // 32 bytes are far below the 8160 that the derivation can give.
        let _ = Hkdf::<Sha256>::new(Some(b"strandwright book 1"), &self.0).expand(purpose.as_bytes(), &mut key.0);
        key
    }

    /// Seals `plain`; it opens only with the same key and the same `bound`.
    pub(crate) fn seal(&self, bound: &[&[u8]], plain: &[u8]) -> Result<Vec<u8>, StoreFault> {
        let nonce: [u8; NONCE] = chance()?;
        let cipher = XChaCha20Poly1305::new(<&CipherKey>::from(&self.0));
        let mut sealed = nonce.to_vec();
        let body = cipher
            .encrypt(<&XNonce>::from(&nonce), Payload { msg: plain, aad: &framed(bound) })
            .map_err(|_| StoreFault::Refused("a body is too long to be sealed".to_owned()))?;
        sealed.extend_from_slice(&body);
        Ok(sealed)
    }

    /// Opens what [`Key::seal`] made; nothing when a single bit differs.
    pub(crate) fn open(&self, bound: &[&[u8]], sealed: &[u8]) -> Option<Zeroizing<Vec<u8>>> {
        let (nonce, body) = sealed.split_first_chunk::<NONCE>()?;
        let cipher = XChaCha20Poly1305::new(<&CipherKey>::from(&self.0));
        cipher.decrypt(<&XNonce>::from(nonce), Payload { msg: body, aad: &framed(bound) }).ok().map(Zeroizing::new)
    }

    /// A code of authenticity over `parts`.
    pub(crate) fn code(&self, parts: &[&[u8]]) -> Sum {
        self.mac(parts).finalize().into_bytes().into()
    }

    /// Whether `code` is the code over `parts`; takes the same time either way.
    pub(crate) fn vouches(&self, parts: &[&[u8]], code: &[u8]) -> bool {
        self.mac(parts).verify_slice(code).is_ok()
    }

    fn mac(&self, parts: &[&[u8]]) -> Hmac<Sha256> {
        // A short key is filled up with zeros to the hash's block of 64 bytes. *Source*: key `rfc2104`.
        let mut block = Zeroizing::new([0_u8; 64]);
        block[..32].copy_from_slice(&self.0);
        let mut mac = Hmac::<Sha256>::new((&*block).into());
        mac.update(&framed(parts));
        mac
    }
}

/// The parts one after the other, each after its length in eight bytes, highest
/// first, so that no two lists of parts give the same bytes.
pub(crate) fn framed(parts: &[&[u8]]) -> Vec<u8> {
    let mut bytes = Vec::with_capacity(parts.iter().map(|part| part.len() + 8).sum());
    for part in parts {
        bytes.extend_from_slice(&(part.len() as u64).to_be_bytes());
        bytes.extend_from_slice(part);
    }
    bytes
}

/// SHA-256 over framed parts.
pub(crate) fn sum(parts: &[&[u8]]) -> Sum {
    Sha256::digest(framed(parts)).into()
}

/// SHA-256 over bytes as they are.
pub(crate) fn digest(bytes: &[u8]) -> Sum {
    Sha256::digest(bytes).into()
}

/// What the chain of a salon begins from.
pub(crate) fn beginning(salon: Uuid) -> Sum {
    sum(&[salon.as_bytes()])
}

/// Bytes from the system's source of chance.
pub(crate) fn chance<const N: usize>() -> Result<[u8; N], StoreFault> {
    let mut bytes = [0_u8; N];
    getrandom::fill(&mut bytes)
        .map_err(|cause| StoreFault::Disk { what: "asking the system for chance".to_owned(), cause: cause.to_string() })?;
    Ok(bytes)
}

/// An id drawn by chance.
pub(crate) fn random_id() -> Result<Uuid, StoreFault> {
    Ok(uuid::Builder::from_random_bytes(chance()?).into_uuid())
}

/// One row of the table of events, its body sealed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Sealed {
    pub seq: u64,
    pub stream: Vec<u8>,
    pub version: u64,
    pub at_ms: i64,
    pub actor: Uuid,
    pub sort: String,
    pub format: u32,
    pub body: Vec<u8>,
    pub hash: Sum,
}

impl Sealed {
    /// The hash this row must have after the row with `previous`.
    pub(crate) fn link(&self, previous: &Sum) -> Sum {
        sum(&[
            previous,
            &self.seq.to_be_bytes(),
            &self.stream,
            &self.version.to_be_bytes(),
            &self.at_ms.to_be_bytes(),
            self.actor.as_bytes(),
            self.sort.as_bytes(),
            &u64::from(self.format).to_be_bytes(),
            &self.body,
        ])
    }

    /// Opens the body under the stream's key.
    pub(crate) fn open(&self, salon: Uuid, key: &Key) -> Option<Zeroizing<Vec<u8>>> {
        key.open(&bound(salon.as_bytes(), &self.stream, &self.version.to_be_bytes(), &u64::from(self.format).to_be_bytes()), &self.body)
    }
}

/// Seals the body of an event: it opens only in its salon, stream, version and format.
pub(crate) fn seal_event(salon: Uuid, key: &Key, stream: &[u8], version: u64, format: u32, body: &[u8]) -> Result<Vec<u8>, StoreFault> {
    key.seal(&bound(salon.as_bytes(), stream, &version.to_be_bytes(), &u64::from(format).to_be_bytes()), body)
}

const fn bound<'a>(salon: &'a [u8; 16], stream: &'a [u8], version: &'a [u8; 8], format: &'a [u8; 8]) -> [&'a [u8]; 4] {
    [salon, stream, version, format]
}

/// Wraps a stream's key under the key that is derived from the data key for it.
pub(crate) fn wrap(wrapping: &Key, salon: Uuid, owner: Stream, key: &Key) -> Result<Vec<u8>, StoreFault> {
    wrapping.seal(&[b"key", salon.as_bytes(), &owner.bytes()], key.bytes())
}

/// Unwraps a stream's key.
pub(crate) fn unwrap(wrapping: &Key, salon: Uuid, owner: Stream, wrapped: &[u8]) -> Option<Key> {
    let plain = wrapping.open(&[b"key", salon.as_bytes(), &owner.bytes()], wrapped)?;
    Key::from_slice(&plain)
}

pub(crate) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

pub(crate) fn unhex(text: &str) -> Option<Vec<u8>> {
    if !text.len().is_multiple_of(2) || !text.is_ascii() {
        return None;
    }
    (0..text.len()).step_by(2).map(|i| u8::from_str_radix(&text[i..i + 2], 16).ok()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// *Source*: key `xchacha03`, appendix A.3.1: key, nonce, associated data,
    /// the first bytes of the ciphertext and the tag.
    #[test]
    fn the_cipher_is_the_published_one() {
        let key = Key::from_slice(&unhex("808182838485868788898a8b8c8d8e8f909192939495969798999a9b9c9d9e9f").unwrap()).unwrap();
        let nonce: [u8; NONCE] = unhex("404142434445464748494a4b4c4d4e4f5051525354555657").unwrap().try_into().unwrap();
        let aad = unhex("50515253c0c1c2c3c4c5c6c7").unwrap();
        let plain = b"Ladies and Gentlemen of the class of '99: If I could offer you only one tip for the future, sunscreen would be it.";
        let cipher = XChaCha20Poly1305::new(<&CipherKey>::from(key.bytes()));
        let sealed = cipher.encrypt(<&XNonce>::from(&nonce), Payload { msg: plain, aad: &aad }).unwrap();
        assert_eq!(hex(&sealed[..16]), "bd6d179d3e83d43b9576579493c0e939");
        assert_eq!(hex(&sealed[plain.len()..]), "c0875924c1c7987947deafd8780acf49");
    }

    #[test]
    fn a_seal_opens_only_where_it_was_made() {
        let (key, other) = (Key::random().unwrap(), Key::random().unwrap());
        let sealed = key.seal(&[b"a", b"bc"], b"body").unwrap();
        assert_eq!(key.open(&[b"a", b"bc"], &sealed).unwrap().as_slice(), b"body");
        assert!(key.open(&[b"ab", b"c"], &sealed).is_none(), "the same bytes, parted elsewhere");
        assert!(other.open(&[b"a", b"bc"], &sealed).is_none());
        assert!(key.open(&[b"a", b"bc"], &sealed[..20]).is_none());
        for at in 0..sealed.len() {
            let mut bent = sealed.clone();
            bent[at] ^= 1;
            assert!(key.open(&[b"a", b"bc"], &bent).is_none(), "bit {at}");
        }
        assert_ne!(key.derived("a").bytes(), key.derived("b").bytes());
    }
}
