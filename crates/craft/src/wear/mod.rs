//! How long bonds hold: Weibull's law from what was seen to hold and to slip.
//!
//! Legend: `k` shape; `lambda` scale; `H(t) = (t / lambda)^k`; share still
//! holding `S(t) = exp(-H(t))`. A bond seen to slip on a day, found slipped
//! between two looks, or still holding at the last look: each says what it says
//! and no more.
//!
//! [`check_wear`] is plain maximum likelihood. [`slip`] is what plans use: a
//! prior (our choice, not founded on any published bond) weighed with the
//! salon's own records, every head having its own lasting effect, because the
//! bonds of one head fail together.

mod belief;
mod likelihood;

pub use belief::{HeadWear, SlipCurve, slip};
pub use likelihood::{WeibullFit, check_wear};

use crate::words::Message;
use measure::{Days, Grade, Rule};
use serde::{Deserialize, Serialize};

/// Shape of the wear curve before anything was recorded.
pub const SLIP_SHAPE: Rule = Rule {
    id: "wear-slip-shape",
    says: "Before anything was recorded, bonds wear with a Weibull shape of 2.5: few slip early, more and more later.",
    value: 2.5,
    range: (1.0, 5.0),
    unit: "",
    grade: Grade::OurChoice,
    source: "",
};
/// Spread of that shape.
pub const SLIP_SHAPE_SPREAD: Rule = Rule {
    id: "wear-slip-shape-spread",
    says: "That shape is right within a factor of 1.4 (one standard deviation of 0.35 of its logarithm).",
    value: 0.35,
    range: (0.1, 1.0),
    unit: "",
    grade: Grade::OurChoice,
    source: "",
};
/// Scale of the wear curve before anything was recorded.
pub const SLIP_SCALE: Rule = Rule {
    id: "wear-slip-scale",
    says: "Before anything was recorded, two bonds in three would slip within 160 days.",
    value: 160.0,
    range: (60.0, 400.0),
    unit: "days",
    grade: Grade::OurChoice,
    source: "",
};
/// Spread of that scale.
pub const SLIP_SCALE_SPREAD: Rule = Rule {
    id: "wear-slip-scale-spread",
    says: "That scale is right within a factor of 1.6 (one standard deviation of 0.5 of its logarithm).",
    value: 0.5,
    range: (0.1, 1.0),
    unit: "",
    grade: Grade::OurChoice,
    source: "",
};
/// How much the bonds of one head fail together.
pub const HEAD_SPREAD: Rule = Rule {
    id: "wear-head-spread",
    says: "The bonds of one head last together: from head to head the scale differs by a factor of 1.35 (0.3 of its logarithm).",
    value: 0.3,
    range: (0.0, 1.0),
    unit: "",
    grade: Grade::OurChoice,
    source: "",
};
/// How much sooner bonds slip on oily hair.
pub const OILY_LOSS: Rule = Rule {
    id: "wear-oily-loss",
    says: "On oily hair bonds last shorter: 0.3 off the logarithm of the scale.",
    value: 0.3,
    range: (0.0, 1.0),
    unit: "",
    grade: Grade::OurChoice,
    source: "",
};
/// How sure that is.
pub const OILY_LOSS_SPREAD: Rule = Rule {
    id: "wear-oily-loss-spread",
    says: "What oily hair takes off is right within 0.2 of the logarithm.",
    value: 0.2,
    range: (0.0, 0.5),
    unit: "",
    grade: Grade::OurChoice,
    source: "",
};

/// The rules of this chapter.
pub const RULES: &[&Rule] =
    &[&SLIP_SHAPE, &SLIP_SHAPE_SPREAD, &SLIP_SCALE, &SLIP_SCALE_SPREAD, &HEAD_SPREAD, &OILY_LOSS, &OILY_LOSS_SPREAD];

/// What is known of one bond's life.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Wear {
    /// Still holding when last looked at, or taken out by hand.
    Holding(Days),
    /// Seen to slip on this day of wear.
    Slipped(Days),
    /// Holding at the first day, found slipped at the second.
    SlippedBetween(Days, Days),
}

/// Records that cannot be used, or that no wear curve fits.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum WearFault {
    /// No record at all.
    #[error("{}", Message::NoBondsRecorded)]
    Empty,
    /// A number that is no span of days.
    #[error("{}", Message::WearNoDays { record: record.to_string(), value: value.to_string() })]
    Days {
        /// Counted from 1.
        record: usize,
        /// As given.
        value: f64,
    },
    /// The end of a span before its beginning.
    #[error("{}", Message::WearBackwards { record: record.to_string(), lower: lower.to_string(), upper: upper.to_string() })]
    Order {
        /// Counted from 1.
        record: usize,
        /// As given.
        lower: f64,
        /// As given.
        upper: f64,
    },
    /// A bond that slipped as it was set.
    #[error("{}", Message::WearOnDayZero { record: record.to_string() })]
    DayZero {
        /// Counted from 1.
        record: usize,
    },
    /// Nothing has slipped.
    #[error("{}", Message::AllBondsHold { bonds: *bonds })]
    AllHolding {
        /// How many.
        bonds: usize,
    },
    /// Everything slipped at one age.
    #[error("{}", Message::SlippedAtOneAge)]
    OneAge,
    /// The records allow any curve as flat or as far off as one likes.
    #[error("{}", Message::WearUnbounded)]
    Unbounded,
}
