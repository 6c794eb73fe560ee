//! One process at a time: an advisory lock that dies with its holder.

use crate::StoreFault;
use std::fs::{File, OpenOptions, TryLockError};
use std::path::Path;

/// The lock's file; its content means nothing, so a stale one is harmless.
pub(crate) const LOCK_FILE: &str = "salon.lock";

/// Takes the lock of the salon in `folder` until the returned file is dropped.
pub(crate) fn take(folder: &Path) -> Result<File, StoreFault> {
    take_named(folder, LOCK_FILE)
}

/// Takes a lock of that name in `folder` until the returned file is dropped.
pub(crate) fn take_named(folder: &Path, name: &str) -> Result<File, StoreFault> {
    let path = folder.join(name);
    let file = OpenOptions::new()
        .create(true)
        .truncate(false)
        .write(true)
        .open(&path)
        .map_err(|cause| StoreFault::disk(format!("opening {}", path.display()), &cause))?;
    match file.try_lock() {
        Ok(()) => Ok(file),
        Err(TryLockError::WouldBlock) => Err(StoreFault::InUse(folder.to_owned())),
        Err(TryLockError::Error(cause)) => Err(StoreFault::disk(format!("locking {}", path.display()), &cause)),
    }
}
