//! What happened to a client's health answers, and what is in force of them.

use super::day::Stood;
use super::facts::HealthAnswers;
use super::id::PlanId;
use crate::Fault;
use craft::suitability::Judgement;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// One thing that happened to her health answers.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum HealthEvent {
    /// All her answers, as they are from now on.
    HealthAnswered(HealthAnswers),
    /// How a plan was judged from them: why its verdict fell as it did repeats
    /// what she answered, so it stands here and not with the plan.
    PlanJudged {
        /// Which plan.
        plan: PlanId,
        /// The verdict with everything it rests on.
        judgement: Box<Judgement>,
        /// Why no plan was made, where none was.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        faults: Vec<Fault>,
        /// The answers that a plan of the earlier records held.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        answers: Option<Box<HealthAnswers>>,
    },
}

/// Her health answers as they stand, and how plans were judged from them.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct HealthBook {
    /// Her answers; nothing when they were withdrawn or never kept.
    pub answers: Option<HealthAnswers>,
    /// The version of the document in which they stand.
    pub version: u64,
    /// How plans were judged.
    judged: BTreeMap<PlanId, PlanJudged>,
}

/// How a plan was judged from her health answers.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanJudged {
    /// The verdict with everything it rests on.
    pub judgement: Judgement,
    /// Why no plan was made, where none was.
    pub faults: Vec<Fault>,
    /// The answers that a plan of the earlier records held.
    pub answers: Option<HealthAnswers>,
}

impl HealthBook {
    /// What follows from an event; of answers later than `most` nothing.
    pub fn apply(&mut self, event: HealthEvent, stood: Stood, most: Option<u64>) {
        match event {
            HealthEvent::HealthAnswered(_) if most.is_some_and(|most| stood.version > most) => {}
            HealthEvent::HealthAnswered(answers) => (self.answers, self.version) = (Some(answers), stood.version),
            HealthEvent::PlanJudged { plan, judgement, faults, answers } => {
                self.judged.insert(plan, PlanJudged { judgement: *judgement, faults, answers: answers.map(|answers| *answers) });
            }
        }
    }

    /// How a plan was judged.
    #[must_use]
    pub fn judged(&self, plan: PlanId) -> Option<&PlanJudged> {
        self.judged.get(&plan)
    }
}
