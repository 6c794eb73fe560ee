//! When the set is due to be taken out and put back.

use measure::Rule;

/// The rules of this chapter.
pub const RULES: &[&Rule] = &[];
