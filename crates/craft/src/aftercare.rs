//! What the client is told to do and to leave, for her hair and her plan.

use measure::Rule;

/// The rules of this chapter.
pub const RULES: &[&Rule] = &[];
