//! How much of a picture is read at all.

use crate::fault::PhotoFault;

/// The largest file that is looked at, in bytes.
pub const LARGEST_FILE: usize = 40_000_000;

/// The longest side, in pixels.
pub const LARGEST_SIDE: u32 = 12_000;

/// The most pixels.
pub const MOST_PIXELS: u64 = 64_000_000;

/// Refuses a picture of more pixels than are read.
pub(crate) fn check_not_larger((width, height): (u32, u32)) -> Result<(), PhotoFault> {
    if width > LARGEST_SIDE || height > LARGEST_SIDE || u64::from(width) * u64::from(height) > MOST_PIXELS {
        return Err(PhotoFault::TooLarge { width, height });
    }
    Ok(())
}
