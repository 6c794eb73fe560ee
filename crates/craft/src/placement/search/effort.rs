//! How long a search may look.

/// How hard to search. More rounds find better layouts and take longer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Effort {
    /// Annealing runs from an empty head; 4 is usual.
    pub restarts: usize,
    /// Re-layings in each run; 400 is usual, and costs about half a millisecond a run.
    pub rounds: usize,
    /// The most ways of laying partings that the exact walk looks at at once.
    /// 15 000 is usual; below a few thousand proofs become rare.
    pub patterns: usize,
    /// The most part-built layouts the exact walk keeps per parting; 800 is usual.
    pub labels: usize,
    /// How many different layouts to give besides the best.
    pub runners_up: usize,
}

impl Default for Effort {
    fn default() -> Self {
        Self { restarts: 4, rounds: 400, patterns: 15_000, labels: 800, runners_up: 2 }
    }
}
