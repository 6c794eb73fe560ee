//! The letter to whoever looks at her before tapes are set.

use super::{ConsultationPaper, Consulted};
use crate::fault::PaperFault;
use crate::heading::{Head, Heading};
use crate::paper::filled;
use crate::words::one_line;
use craft::suitability::{Effect, Met};
use measure::text::capital;
use serde::Serialize;

/// The letter: of what was answered it holds what she agreed to take along, and never a diagnosis.
pub(super) const PAPER: ConsultationPaper = ConsultationPaper {
    file: "letter.pdf",
    name: "Letter",
    says: "To take along to whoever looks at her first",
    template: include_str!("../typ/letter.typ"),
    fill,
    drawing: |_| None,
};

/// Who should look where she does not take along at what.
const ANY_DOCTOR: &str = "A doctor or dermatologist.";

#[derive(Debug, Serialize)]
struct Letter {
    #[serde(flatten)]
    head: Head,
    /// Who should look, each once.
    to: Vec<String>,
    /// What was answered or seen, as far as she takes it along.
    seen: Vec<String>,
}

fn fill(of: &Consulted, heading: &Heading) -> Result<serde_json::Value, PaperFault> {
    let stops = || of.judged.rules_met.iter().filter(|met| met.effect == Effect::Refer);
    let carried = |met: &&Met| of.carried.contains(&met.rule);
    let mut to: Vec<String> = Vec::new();
    for met in stops() {
        // Who should look at an answer that stays with her would tell of it.
        let who = if carried(&met) { one_line(&met.next) } else { ANY_DOCTOR.to_owned() };
        if !to.contains(&who) {
            to.push(who);
        }
    }
    let seen = stops().filter(carried).map(|met| capital(&one_line(&met.because.replace('_', " ")))).collect();
    filled(&Letter { head: Head::of(heading), to, seen })
}
