//! When a set is due that a visit put in: the plan's day, or sooner where her own growth and bonds ask it.

use super::super::client::ClientBook;
use super::state::VisitState;
use super::words::NextDate;
use craft::hair::Oil;
use craft::retape::{Basis, DUE_TO, HOLDING_SHARE, RetapeCase, SetByHand, retape};
use craft::wear::{HeadWear, slip};
use measure::{Days, RuleBook};

/// When the set is due that a visit put in, counted from that visit's day, whenever it is closed; nothing
/// where none went in by a plan.
#[must_use]
pub fn next_date(book: &ClientBook, visit: &VisitState, rules: &RuleBook) -> Option<NextDate> {
    let plan = visit.plan.and_then(|plan| book.plan(plan)).filter(|_| visit.kind.sets() && visit.tally.placed > 0)?;
    let [due, opens, closes] = plan.retape_days?;
    let due = own_due(book, visit, closes, rules).map_or(due, |own| own.min(due)).max(1);
    let at = |days: u32| visit.on.later_by(days);
    Some(NextDate { due: at(due)?, window: [at(opens.min(due))?, at(closes.max(due))?] })
}

/// The day that her own records ask for, today's among them; nothing where there are none.
fn own_due(book: &ClientBook, visit: &VisitState, closes: u32, rules: &RuleBook) -> Option<u32> {
    let mut observed = book.year.observed.clone();
    observed.learn(visit.steps.iter().map(|done| &done.step));
    let (grown, bonds) = observed.rests_on();
    if grown == 0 && bonds == 0 {
        return None;
    }
    let basis = |own: bool| if own { Basis::Own } else { Basis::AtLarge };
    let curve = slip(&HeadWear { oil: Oil::default(), bonds: observed.bonds() }, &[], rules).ok()?;
    let longest = Days::days(f64::from(closes));
    let case = RetapeCase {
        growth: (observed.growth(rules), basis(grown > 0)),
        slip: Some((curve.day_when(rules.value(&HOLDING_SHARE)), basis(bonds > 0))),
        over_load: None,
        set: (longest.to_days() < rules.value(&DUE_TO)).then(|| SetByHand { longest, reason: "the plan's window".to_owned() }),
    };
    let date = retape(&case, rules).ok()?;
    Some(date.due.to_days().floor().max(1.0) as u32)
}
