//! What is large, written small: a plan's document, a client's kept book.

use crate::DeskFault;
use flate2::Compression;
use flate2::read::ZlibDecoder;
use flate2::write::ZlibEncoder;
use serde::Serialize;
use serde::de::DeserializeOwned;
use std::io::{Read, Write};

/// The most bytes that anything packed has when it is unpacked.
const MOST_BYTES: u64 = 64 * 1024 * 1024;

/// A value as packed JSON.
///
/// *Errors*: it cannot be written.
pub(crate) fn packed<T: Serialize>(value: &T, what: &str) -> Result<Vec<u8>, DeskFault> {
    let text = serde_json::to_vec(value).map_err(|cause| DeskFault::damaged(&format!("{what} cannot be written"), &cause))?;
    let mut packer = ZlibEncoder::new(Vec::new(), Compression::fast());
    packer.write_all(&text).and_then(|()| packer.finish()).map_err(|cause| DeskFault::damaged(&format!("{what} cannot be packed"), &cause))
}

/// A value out of packed JSON.
///
/// *Errors*: what is there is not packed, or no longer has its shape.
pub(crate) fn unpacked<T: DeserializeOwned>(bytes: &[u8], what: &str) -> Result<T, DeskFault> {
    let mut text = Vec::new();
    ZlibDecoder::new(bytes)
        .take(MOST_BYTES)
        .read_to_end(&mut text)
        .map_err(|cause| DeskFault::damaged(&format!("{what} cannot be unpacked"), &cause))?;
    serde_json::from_slice(&text).map_err(|cause| DeskFault::damaged(what, &cause))
}
