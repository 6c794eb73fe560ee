//! A plan with everything it was made from, put together from the versions it names.

use crate::making::{PlanInput, Planned};
use craft::coverage::THRESHOLD;
use craft::matching::Ring;
use measure::RuleBook;
use salon::book::visit::Observed;
use salon::client::ClientFile;
use salon::make::head_model::DecidedLayout;
use salon::plan::{OwnHair, Plan};
use salon::stock::Order;
use serde::{Deserialize, Serialize};

/// A plan with everything it was made from.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct KeptPlan {
    /// Her facts with the house's pieces and prices.
    pub client: ClientFile,
    /// The ring as it was.
    pub ring: Option<Ring>,
    /// The stock as it was.
    pub shelf: Option<Order>,
    /// The plan.
    pub plan: Plan,
    /// The reading of her ends it was made with.
    #[serde(default)]
    pub read: Option<ForPlan>,
    /// How much hair over a bond was asked, where the salon asks its own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub own_depth: Option<f64>,
    /// The plan it was made from, and how: moved by hand, or a way on taken.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<MadeFrom>,
    /// Levers that were pulled for it alone.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub levers: Vec<String>,
    /// What earlier visits had shown of her hair and bonds.
    #[serde(default)]
    pub observed: Observed,
    /// Her own pieces that go back in.
    #[serde(default)]
    pub hers: OwnHair,
}

/// What a plan was made from, where it was not her facts alone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MadeFrom {
    /// The plan before.
    pub plan: String,
    /// The way on that was taken, in words; nothing when sites were set by hand.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub taken: Option<String>,
}

/// The reading a plan was made with.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ForPlan {
    /// The reading's id.
    pub id: String,
    /// When the hair was seen, ms since 1970.
    pub seen_ms: i64,
    /// What was read.
    pub reading: reading::Reading,
}

impl KeptPlan {
    /// The rules it was made with.
    #[must_use]
    pub fn book(&self) -> RuleBook {
        let mut book = RuleBook::standard();
        if let Some(depth) = self.own_depth {
            // It was inside the rule's range when the plan was made.
            let _ = book.set(&THRESHOLD, depth);
        }
        book
    }

    /// The plan and its input again, as the papers want them.
    #[must_use]
    pub fn reopened(self, scalp: Option<String>, seed: u64) -> (Planned, PlanInput) {
        let rules = self.book();
        let reading = self.read.map(|read| read.reading);
        let (state, observed, hers) = (DecidedLayout::default(), self.observed, self.hers);
        let input = PlanInput { client: self.client, ring: self.ring, shelf: self.shelf, reading, observed, hers, seed, state, rules };
        (Planned { plan: self.plan, scalp_obj: scalp }, input)
    }
}
