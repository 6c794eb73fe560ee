//! What a slice bears and how thick it may be.

use measure::Rule;

/// The rules of this chapter.
pub const RULES: &[&Rule] = &[];
