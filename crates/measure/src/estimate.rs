//! A value that is not known exactly, with the range it may lie in.

use serde::{Deserialize, Serialize};

/// A best value and the range it may lie in.
///
/// *Meaning*: `low <= value <= high`, all in one unit that the name of the
/// field states. The range is meant as about nine chances in ten unless the
/// place that makes it says otherwise.
///
/// ```
/// use measure::Estimate;
/// let days = Estimate::new(49.0, 42.0, 56.0);
/// assert!(days.contains(45.0) && !days.contains(60.0));
/// assert_eq!(days.map(|d| d / 7.0).low, 6.0);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Estimate<T> {
    /// The best single value.
    pub value: T,
    /// The lower end of the range.
    pub low: T,
    /// The upper end of the range.
    pub high: T,
}

impl<T: Copy + PartialOrd> Estimate<T> {
    /// A value with its range, whichever way round the ends are given; the
    /// range is widened to hold the value.
    #[must_use]
    pub fn new(value: T, one_end: T, other_end: T) -> Self {
        let (mut low, mut high) = if one_end <= other_end { (one_end, other_end) } else { (other_end, one_end) };
        if value < low {
            low = value;
        }
        if value > high {
            high = value;
        }
        Self { value, low, high }
    }

    /// A value known exactly.
    #[must_use]
    pub fn exact(value: T) -> Self {
        Self { value, low: value, high: value }
    }

    /// Carries value and range through a function that only rises or only falls.
    #[must_use]
    pub fn map<U: Copy + PartialOrd>(self, f: impl Fn(T) -> U) -> Estimate<U> {
        Estimate::new(f(self.value), f(self.low), f(self.high))
    }

    /// Whether `x` lies in the range.
    #[must_use]
    pub fn contains(&self, x: T) -> bool {
        self.low <= x && x <= self.high
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_falling_function_turns_the_range_round() {
        let e = Estimate::new(4.0, 2.0, 8.0).map(|x| 16.0 / x);
        assert_eq!((e.low, e.value, e.high), (2.0, 4.0, 8.0));
    }

    #[test]
    fn the_range_always_holds_the_value() {
        let e = Estimate::new(10.0, 2.0, 3.0);
        assert!(e.contains(10.0) && e.contains(2.0));
    }
}
