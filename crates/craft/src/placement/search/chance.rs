//! A seeded source of chance.

/// Numbers that look random and follow from the seed alone.
///
/// *Source*: the splitmix64 generator, key `steele2014`; constants from memory.
#[derive(Debug, Clone)]
pub struct Chance(u64);

impl Chance {
    /// The sequence of this seed.
    pub const fn new(seed: u64) -> Self {
        Self(seed ^ 0x5851_F42D_4C95_7F2D)
    }

    /// The next 64 bits.
    pub const fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// A whole number below `end` (0 when `end` is 0).
    pub const fn below(&mut self, end: usize) -> usize {
        (((self.bits() >> 32) * end as u64) >> 32) as usize
    }

    /// A number from 0 up to, not including, 1.
    pub const fn share(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / 9_007_199_254_740_992.0
    }
}
