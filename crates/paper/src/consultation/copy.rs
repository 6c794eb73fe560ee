//! Her copy of the consultation.

use super::{ConsultationPaper, Consulted, signature_svg};
use crate::fault::PaperFault;
use crate::heading::{Head, Heading};
use crate::paper::filled;
use crate::words::one_line;
use craft::suitability::book::rule_named;
use measure::text::{capital, sentence};
use serde::Serialize;

/// Her copy: what was asked and answered, what follows and why, and what she agreed to.
pub(super) const PAPER: ConsultationPaper = ConsultationPaper {
    file: "consultation.pdf",
    name: "Her copy",
    says: "What she answered, what follows, and what she agreed to",
    template: include_str!("../typ/consultation.typ"),
    fill,
    drawing: |of| of.agreed.iter().find_map(|agreed| agreed.signature.as_ref()).map(signature_svg),
};

#[derive(Debug, Serialize)]
struct Sheet {
    #[serde(flatten)]
    head: Head,
    verdict: String,
    says: String,
    rules: Vec<RuleLine>,
    parts: Vec<PartLine>,
    agreed: Vec<AgreedLine>,
}

#[derive(Debug, Serialize)]
struct RuleLine {
    effect: String,
    says: String,
    why: String,
    changes: String,
    next: String,
}

#[derive(Debug, Serialize)]
struct PartLine {
    name: String,
    answers: Vec<[String; 2]>,
}

#[derive(Debug, Serialize)]
struct AgreedLine {
    title: String,
    says: Vec<String>,
    how: String,
    drawn: bool,
}

fn fill(of: &Consulted, heading: &Heading) -> Result<serde_json::Value, PaperFault> {
    let rules = of.judged.rules_met.iter().map(|met| {
        let changes: Vec<&str> = rule_named(&met.rule).map_or(&[][..], |rule| rule.changes).iter().map(|change| change.words()).collect();
        RuleLine {
            effect: capital(met.effect.words()),
            says: one_line(&met.says),
            why: format!("{} Because of {}.", sentence(&met.reason), one_line(&met.because.replace('_', " "))),
            changes: changes.join("; "),
            next: one_line(&met.next),
        }
    });
    let parts = of.asked.iter().map(|part| PartLine {
        name: one_line(&part.name),
        answers: part.answers.iter().map(|(question, answer)| [one_line(question), one_line(answer)]).collect(),
    });
    // One drawing is placed: that of the first signature.
    let first = of.agreed.iter().position(|agreed| agreed.signature.is_some());
    let agreed = of.agreed.iter().enumerate().map(|(at, agreed)| AgreedLine {
        title: one_line(&agreed.title),
        says: agreed.says.iter().map(|says| one_line(says)).collect(),
        how: one_line(&agreed.how),
        drawn: first == Some(at),
    });
    filled(&Sheet {
        head: Head::of(heading),
        verdict: capital(of.judged.verdict.words()),
        says: one_line(&of.judged.says),
        rules: rules.collect(),
        parts: parts.collect(),
        agreed: agreed.collect(),
    })
}
