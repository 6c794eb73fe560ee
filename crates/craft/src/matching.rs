//! Which shades of the ring, in whole pieces, come nearest to the ends.

use measure::Rule;

/// The rules of this chapter.
pub const RULES: &[&Rule] = &[];
