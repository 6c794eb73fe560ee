//! How long bonds hold.

use measure::Rule;

/// The rules of this chapter.
pub const RULES: &[&Rule] = &[];
