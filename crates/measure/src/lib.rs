//! Quantities with units, rules with sources, and the arithmetic that every floor shares.
//!
//! The lowest floor. It knows nothing of hair: only that a length is not a
//! mass, that money is whole, that an estimate has a range, and that a number
//! somebody decided has a name, a grade and a source.
//!
//! ```
//! use measure::{Density, Length};
//! let tab = Length::mm(40.0) * Length::cm(0.9);
//! assert!((tab.to_cm2() - 3.6).abs() < 1e-12);
//! assert!((Density::per_cm2(180.0) * tab - 648.0).abs() < 1e-9);
//! ```

pub mod estimate;
pub mod linear;
pub mod money;
pub mod quantity;
pub mod real;
pub mod rule;
pub mod statistics;
pub mod text;
pub mod vector;
pub mod words;

pub use estimate::Estimate;
pub use money::{Currency, Money};
pub use quantity::{Angle, Area, Days, Density, Force, Grams, Length};
pub use rule::{Grade, Rule, RuleBook, RuleFault};
