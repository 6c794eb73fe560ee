//! Whether this client can wear tapes, within which limits, and why.

use measure::Rule;

/// The rules of this chapter.
pub const RULES: &[&Rule] = &[];
