//! Opens photographs from strangers.
//!
//! Floor 4: untrusted bytes come in here. Sizes are checked before anything is
//! decoded, of the picture and of what stands beside it. What the pixels say of a
//! colour is `reading`'s.
//!
//! Out of scope: HEIC (recognised and refused with what to do on the phone).

#[cfg(test)]
#[path = "../tests/bombs/mod.rs"]
mod bombs;
mod fault;
mod fine;
mod kept;
mod limits;
mod maker;
mod open;
mod parts;
mod profile;
mod shown;
mod whole;

pub use fault::PhotoFault;
pub use kept::stripped;
pub use limits::{LARGEST_FILE, LARGEST_SIDE, MOST_PIXELS};
pub use maker::camera_of;
pub use open::{format_of, open_photo};
pub use reading::Format;
pub use shown::corrected_patch;

use reading::{Marks, Reading};

/// Opens a photograph and reads the hair's colour.
///
/// *Errors*: bytes, marks or light that cannot be read, each with what to do.
pub fn read_photo(bytes: &[u8], marks: &Marks) -> Result<Reading, PhotoFault> {
    Ok(reading::read(&open_photo(bytes)?, marks)?)
}
