//! A client as a line of the list, and the views that lists are drawn from.

use salon::book::{ClientId, Day, PlanId, PlanState};
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use store::book::{Moment, ViewWrite};

/// Which view holds the list's lines.
pub(crate) const LINES: &str = "clients";

/// The number of the code that makes the views; another number rebuilds them.
pub(crate) const VIEWS: u64 = 7;

/// A client as a line of the list.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ClientLine {
    /// Who.
    pub id: ClientId,
    /// Her name, or what the technician calls her; may be empty.
    pub label: String,
    /// When her facts last changed, ms since 1970.
    pub changed_ms: i64,
    /// How many plans were made for her.
    pub plans: i64,
    /// Her newest plan.
    pub newest_plan: Option<PlanId>,
    /// When the set in her hair is due, and the window round that day.
    #[serde(default)]
    pub next_due: Option<Day>,
    /// The window.
    #[serde(default)]
    pub window: Option<[Day; 2]>,
    /// The moments in which the numbers of her pieces were made, ms since 1970, in their order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub pieces_made: Vec<u64>,
    /// The record that is kept, where this one is set aside for it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kept: Option<ClientId>,
    /// What tells that another record may be hers too.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub tells: Vec<String>,
}

/// The list's lines as they stood at a moment of the book; by the name as it is looked for.
#[derive(Debug, Clone)]
pub(crate) struct Lines {
    pub at: Moment,
    pub all: Arc<Vec<Arc<(String, ClientLine)>>>,
}

/// Says that the views are made by this code.
pub(crate) fn views_are_made() -> ViewWrite {
    ViewWrite::Number { view: LINES.to_owned(), number: VIEWS }
}

/// When her set is due, and the window round that day.
pub(crate) fn due_of(plans: &[PlanState]) -> Option<(Day, [Day; 2])> {
    let (plan, day) = worn(plans)?;
    if let Some(next) = plan.next {
        return Some((next.due, next.window));
    }
    let [due, opens, closes] = plan.retape_days?;
    Some((day.later_by(due)?, [day.later_by(opens)?, day.later_by(closes)?]))
}

/// The set that is in her hair: the plan that went in last.
pub(crate) fn worn(plans: &[PlanState]) -> Option<(&PlanState, Day)> {
    plans.iter().filter(|plan| plan.ended_on.is_none()).filter_map(|plan| Some((plan, plan.placed_on?))).max_by_key(|(_, day)| *day)
}
