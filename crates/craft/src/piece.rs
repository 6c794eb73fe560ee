//! A tape-in piece and a sandwich of two.

use measure::Rule;

/// The rules of this chapter.
pub const RULES: &[&Rule] = &[];
