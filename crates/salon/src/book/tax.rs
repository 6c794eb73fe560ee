//! Tax and deposit of a sum: a share of a hundred, reckoned in whole numbers alone.
//!
//! *Meaning*: a share is held in thousandths of a percent, so that 8.875 % is 8875
//! and no binary fraction. Every share of a sum is rounded once, half up, from the
//! whole sum and never line by line.

use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// A share of a hundred with at most three decimals, from 0 to 100.
///
/// ```
/// use salon::book::Percent;
/// let rate = Percent::of(8.875).unwrap();
/// assert_eq!(rate.thousandths(), 8875);
/// assert_eq!(Percent::of(8.8755), None, "finer than three decimals");
/// assert_eq!(rate.of_sum(10_000), Some(888), "887.5 is rounded half up");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Percent(u32);

/// Thousandths of a percent in the whole.
const WHOLE: u32 = 100_000;

/// How far the number that stands for a share of three decimals may be from it: a
/// hundred times what a double of this size rounds by.
const SLACK: f64 = 1e-8;

impl Percent {
    /// Nothing.
    pub const NONE: Self = Self(0);

    /// The share that a number says; nothing where it says more than three decimals,
    /// or is none of a hundred.
    #[must_use]
    pub fn of(percent: f64) -> Option<Self> {
        let thousandths = (percent * 1000.0).round();
        let is_one = (0.0..=f64::from(WHOLE)).contains(&thousandths) && (percent * 1000.0 - thousandths).abs() <= SLACK;
        is_one.then_some(Self(thousandths as u32))
    }

    /// The share from thousandths of a percent.
    #[must_use]
    pub fn of_thousandths(thousandths: u32) -> Option<Self> {
        (thousandths <= WHOLE).then_some(Self(thousandths))
    }

    /// Thousandths of a percent.
    #[must_use]
    pub const fn thousandths(self) -> u32 {
        self.0
    }

    /// This share of a sum of minor units, rounded half up; nothing for a sum below zero.
    #[must_use]
    pub fn of_sum(self, minor: i64) -> Option<i64> {
        rounded_half_up(i128::from(minor) * i128::from(self.0), i128::from(WHOLE))
    }

    /// The part of a sum that is this share *on top of* the rest, rounded half up;
    /// nothing for a sum below zero.
    #[must_use]
    pub fn within_sum(self, minor: i64) -> Option<i64> {
        rounded_half_up(i128::from(minor) * i128::from(self.0), i128::from(WHOLE) + i128::from(self.0))
    }
}

/// A quotient to the nearest whole number, its half upward (commercial rounding of a
/// sum that is not below zero). Of 63 bits by 17 the product has room in 128.
fn rounded_half_up(above: i128, below: i128) -> Option<i64> {
    if above < 0 {
        return None;
    }
    i64::try_from((2 * above + below) / (2 * below)).ok()
}

impl Serialize for Percent {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_f64(f64::from(self.0) / 1000.0)
    }
}

impl<'de> Deserialize<'de> for Percent {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let percent = f64::deserialize(deserializer)?;
        Self::of(percent)
            .ok_or_else(|| serde::de::Error::custom("a share of a hundred lies between 0 and 100, with three decimals at most"))
    }
}

/// How sums are taxed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Tax {
    /// How much of a hundred.
    pub percent: Percent,
    /// Whether prices hold it already.
    pub included: bool,
}

impl Tax {
    /// What is paid for lines of a sum, and the tax within that; nothing where the
    /// sum is below zero or what is paid has no room.
    ///
    /// ```
    /// use salon::book::{Percent, Tax};
    /// let percent = Percent::of(20.0).unwrap();
    /// assert_eq!(Tax { percent, included: true }.of_lines(12_000), Some((12_000, 2_000)));
    /// assert_eq!(Tax { percent, included: false }.of_lines(12_000), Some((14_400, 2_400)));
    /// ```
    #[must_use]
    pub fn of_lines(self, minor: i64) -> Option<(i64, i64)> {
        if self.included {
            return Some((minor, self.percent.within_sum(minor)?));
        }
        let tax = self.percent.of_sum(minor)?;
        Some((minor.checked_add(tax)?, tax))
    }
}
