//! The client's own hair: density, strand, mass, length, each with its range.

use measure::Rule;

/// The rules of this chapter.
pub const RULES: &[&Rule] = &[];
