//! How much hair the wish takes, and the thickness along the length.

use measure::Rule;

/// The rules of this chapter.
pub const RULES: &[&Rule] = &[];
