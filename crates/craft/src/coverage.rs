//! What hides a bond: hair rooted upstream of the slice, lying over it in a style.

use measure::Rule;

/// The rules of this chapter.
pub const RULES: &[&Rule] = &[];
