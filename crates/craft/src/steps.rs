//! The ordered steps at the chair.

use measure::Rule;

/// The rules of this chapter.
pub const RULES: &[&Rule] = &[];
