//! How fast hair grows and how far a bond has moved.

use measure::Rule;

/// The rules of this chapter.
pub const RULES: &[&Rule] = &[];
