//! The verdict as the page shows it: what stops or limits the plan, what is only
//! told, and what was not answered.

use super::words::without_fact;
use craft::suitability::{Effect, Met, Verdict};
use measure::text::sentence;
use salon::plan::Plan;

/// The verdict.
pub struct VerdictView {
    /// `go`, `limits` or `halt`.
    pub tone: &'static str,
    /// The rules met that stop or limit, gravest first.
    pub reasons: Vec<Reason>,
    /// The rules met that are only told.
    pub notes: Vec<Reason>,
    /// What was not answered.
    pub unanswered: Vec<String>,
}

/// A rule that an answer met.
pub struct Reason {
    /// What it says.
    pub says: String,
    /// What was answered.
    pub because: String,
    /// Why the rule stands.
    pub reason: String,
    /// What to do first.
    pub next: String,
    /// How well it is founded.
    pub grade: String,
}

/// The verdict with the rules that were met, the graver apart from the rest.
pub fn verdict(plan: &Plan) -> VerdictView {
    let judged = &plan.verdict;
    let halted = !judged.verdict.allows_a_plan();
    let tells = |met: &&Met| match met.effect {
        Effect::Refer | Effect::NotToday => true,
        Effect::Limit => !halted,
        Effect::Note => false,
    };
    let (graver, notes): (Vec<&Met>, Vec<&Met>) = judged.rules_met.iter().partition(tells);
    let reason = |met: &&Met| Reason {
        says: sentence(&without_fact(&met.says)),
        because: met.because.replace('_', " "),
        reason: sentence(&met.reason),
        next: match met.effect {
            Effect::Refer if !met.next.is_empty() => format!("To see first: {}", met.next),
            _ => met.next.clone(),
        },
        grade: met.grade.clone(),
    };
    VerdictView {
        tone: match judged.verdict {
            Verdict::GoAhead => "go",
            Verdict::GoAheadWithinLimits => "limits",
            Verdict::NotToday | Verdict::Refer => "halt",
        },
        reasons: graver.iter().map(reason).collect(),
        notes: notes.iter().map(reason).collect(),
        unanswered: judged.unanswered.clone(),
    }
}
