//! The client's own sheet.

use crate::heading::{Head, Heading};
use crate::paper::{Paper, filled};
use crate::words::{long_date, one_line};
use jiff::ToSpan;
use measure::text::days_in_weeks;
use salon::plan::{Plan, RetapePlan};
use serde::Serialize;

/// The client's own sheet, of one page: how to look after the hair, when to come back, when
/// to come at once.
pub(crate) const PAPER: Paper = Paper {
    file: "aftercare.pdf",
    name: "Aftercare",
    says: "For the client to take home",
    template: include_str!("typ/aftercare.typ"),
    fill: |plan, heading| filled(&aftercare_sheet(plan, heading)),
    drawing: None,
};

/// What the template is filled with.
#[derive(Debug, Serialize)]
pub(crate) struct AftercareSheet {
    #[serde(flatten)]
    head: Head,
    next: Option<Next>,
    parts: Vec<Part>,
    warnings: Vec<Part>,
}

#[derive(Debug, Serialize)]
struct Next {
    when: String,
    window: String,
}

#[derive(Debug, Serialize)]
struct Part {
    name: String,
    lines: Vec<String>,
}

/// The sheet of a plan.
pub(crate) fn aftercare_sheet(plan: &Plan, heading: &Heading) -> AftercareSheet {
    let (mut parts, mut warnings) = (Vec::new(), Vec::new());
    for part in plan.aftercare.iter().flat_map(|sheet| &sheet.parts) {
        let set = Part { name: one_line(&part.heading), lines: part.lines.iter().map(|line| one_line(line)).collect() };
        if part.warns { warnings.push(set) } else { parts.push(set) }
    }
    AftercareSheet { head: Head::of(heading), next: plan.retape.as_ref().map(|retape| next(retape, heading)), parts, warnings }
}

fn next(retape: &RetapePlan, heading: &Heading) -> Next {
    let on = |days: u32| heading.date.and_then(|date| date.checked_add(i64::from(days).days()).ok()).map(long_date);
    let [first, last] = retape.window;
    match (on(retape.due), on(first), on(last)) {
        (Some(due), Some(first), Some(last)) => Next { when: due, window: format!("Best between {first} and {last}.") },
        _ => Next {
            when: format!("{} after the set went in", days_in_weeks(retape.due)),
            window: format!("Best between day {first} and day {last}. Date: ______________________"),
        },
    }
}
