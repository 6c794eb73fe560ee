//! Where every sandwich goes on this head.

use measure::Rule;

/// The rules of this chapter.
pub const RULES: &[&Rule] = &[];
