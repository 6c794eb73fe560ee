//! Numbers drawn from a seed, the same everywhere.

/// SplitMix64, as its author published it.
///
/// *Source*: key `steele2014`; constants from memory.
#[derive(Debug, Clone)]
pub struct Chance(pub u64);

impl Chance {
    /// The next 64 bits.
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number below `most`.
    pub fn below(&mut self, most: u64) -> u64 {
        self.next() % most.max(1)
    }

    /// True once in so many draws.
    pub fn one_in(&mut self, n: u64) -> bool {
        self.below(n) == 0
    }

    /// One of several.
    pub fn of<'a, T>(&mut self, choices: &'a [T]) -> &'a T {
        &choices[self.below(choices.len() as u64) as usize]
    }
}

/// A number from the environment.
pub fn asked(name: &str) -> Option<u64> {
    std::env::var(name).ok()?.parse().ok()
}

/// The seed that was asked for, or one from the clock: a run prints it, to be repeated.
pub fn seed() -> u64 {
    let now = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).unwrap();
    asked("STRANDWRIGHT_SEED").unwrap_or(now.as_nanos() as u64)
}
