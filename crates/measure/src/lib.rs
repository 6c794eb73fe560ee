//! Quantities with units, and rules with sources.
//!
//! The lowest floor. It knows nothing of hair: only that a length is not a
//! mass, that money is whole, that an estimate has a range, and that a number
//! somebody decided has a name, a grade and a source.

pub mod estimate;
pub mod money;
pub mod quantity;
pub mod real;
pub mod rule;
pub mod text;

pub use estimate::Estimate;
pub use money::{Currency, Money};
pub use quantity::{Angle, Area, Days, Density, Force, Grams, Length};
pub use rule::{Grade, Rule, RuleBook, RuleFault};
