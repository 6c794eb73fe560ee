//! What is wrong, where, which rule says so, and the cure.

use serde::{Deserialize, Serialize};

/// One thing that is wrong with what was handed in, or cannot be done.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Fault {
    /// What is wrong.
    pub what: String,
    /// Where: section and key, or the part of the plan.
    #[serde(rename = "where")]
    pub place: String,
    /// The rule that says so.
    pub rule: String,
    /// What to do.
    pub cure: String,
}

impl Fault {
    /// A fault of four plain sentences.
    pub fn new(what: impl Into<String>, place: impl Into<String>, rule: impl Into<String>, cure: impl Into<String>) -> Self {
        Self { what: what.into(), place: place.into(), rule: rule.into(), cure: cure.into() }
    }
}

impl std::fmt::Display for Fault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: {}. {}", self.place, self.what.trim_end_matches('.'), self.cure)
    }
}

impl std::error::Error for Fault {}
