//! Where every sandwich goes on this head.

pub mod instance;
pub mod search;

use measure::Rule;

pub use instance::{LayoutAnswer, LayoutInstance, check_layout};

/// The rules of this chapter.
pub const RULES: &[&Rule] = &[];
