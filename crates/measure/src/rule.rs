//! A number somebody decided: what it says, how far it may move, how well it
//! is founded, and where it was read.

use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// How well a rule's number is founded, best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Grade {
    /// Laid down by a published standard or regulation.
    Standard,
    /// Measured, and read in the publication named.
    Measured,
    /// Read in a handbook or a secondary text.
    Handbook,
    /// What the trade does; no published source.
    CommonPractice,
    /// Decided here. Honest, and open to change.
    OurChoice,
}

impl Grade {
    /// The grade in plain words, as shown beside a number.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Standard => "published standard",
            Self::Measured => "measured and published",
            Self::Handbook => "handbook",
            Self::CommonPractice => "common practice, no source",
            Self::OurChoice => "our choice",
        }
    }
}

/// One number of the trade.
///
/// *Meaning*: `value` and `range` are in `unit`; the user may set her own value
/// inside the range and nowhere else. `source` is a key of SOURCES.bib, or
/// empty for common practice and our own choice.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Rule {
    /// A short stable name, as shown in a plan's reasons.
    pub id: &'static str,
    /// What it says, one plain sentence.
    pub says: &'static str,
    /// The number.
    pub value: f64,
    /// The smallest and largest value that may be set.
    pub range: (f64, f64),
    /// The unit of value and range, as written for a person.
    pub unit: &'static str,
    /// How well it is founded.
    pub grade: Grade,
    /// A key of SOURCES.bib; empty when there is no source.
    pub source: &'static str,
}

/// A value that the range of its rule does not hold, or a rule that nobody knows.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RuleFault {
    /// No rule has this name.
    #[error("no rule is called \"{0}\"")]
    Unknown(String),
    /// The value lies outside the rule's range.
    #[error("rule {id}: {value} {unit} is outside {low} to {high} {unit}")]
    OutOfRange {
        /// The rule.
        id: &'static str,
        /// What was asked for.
        value: f64,
        /// The least that may be set.
        low: f64,
        /// The most that may be set.
        high: f64,
        /// The unit of all three.
        unit: &'static str,
    },
}

/// The values in force: every rule's own, unless the user set another.
///
/// ```
/// use measure::{Grade, Rule, RuleBook};
/// const GAP: Rule =
///     Rule { id: "gap", says: "A gap.", value: 2.0, range: (1.0, 3.0), unit: "mm", grade: Grade::OurChoice, source: "" };
/// let mut book = RuleBook::standard();
/// assert_eq!(book.value(&GAP), 2.0);
/// assert!(book.set(&GAP, 3.5).is_err());
/// book.set(&GAP, 2.5).unwrap();
/// assert_eq!(book.value(&GAP), 2.5);
/// ```
#[derive(Debug, Clone, Default, PartialEq)]
pub struct RuleBook {
    own: BTreeMap<&'static str, f64>,
}

impl RuleBook {
    /// Every rule at its own value.
    #[must_use]
    pub fn standard() -> Self {
        Self::default()
    }

    /// Sets the user's own value for a rule.
    ///
    /// *Errors*: the value lies outside the rule's range, or is no number.
    pub fn set(&mut self, rule: &Rule, value: f64) -> Result<(), RuleFault> {
        let (low, high) = rule.range;
        if !(low..=high).contains(&value) {
            return Err(RuleFault::OutOfRange { id: rule.id, value, low, high, unit: rule.unit });
        }
        self.own.insert(rule.id, value);
        Ok(())
    }

    /// The value in force, in the rule's unit.
    #[must_use]
    pub fn value(&self, rule: &Rule) -> f64 {
        self.own.get(rule.id).copied().unwrap_or(rule.value)
    }

    /// Whether the user set her own value for this rule.
    #[must_use]
    pub fn is_own(&self, rule: &Rule) -> bool {
        self.own.contains_key(rule.id)
    }

    /// The rules the user set, by id, with her values.
    pub fn own(&self) -> impl Iterator<Item = (&'static str, f64)> + '_ {
        self.own.iter().map(|(id, value)| (*id, *value))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const EXAMPLE: Rule = Rule {
        id: "example",
        says: "An example is between one and three.",
        value: 2.0,
        range: (1.0, 3.0),
        unit: "mm",
        grade: Grade::OurChoice,
        source: "",
    };

    #[test]
    fn an_own_value_holds_inside_the_range_only() {
        let mut book = RuleBook::standard();
        assert_eq!(book.value(&EXAMPLE), 2.0);
        assert!(book.set(&EXAMPLE, 3.1).is_err());
        assert!(book.set(&EXAMPLE, f64::NAN).is_err());
        assert_eq!(book.value(&EXAMPLE), 2.0);
        book.set(&EXAMPLE, 3.0).unwrap();
        assert_eq!(book.value(&EXAMPLE), 3.0);
        assert!(book.is_own(&EXAMPLE));
    }
}
