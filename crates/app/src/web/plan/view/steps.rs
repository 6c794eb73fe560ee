//! The steps at the chair, phase by phase.

use super::words::without_fact;
use craft::steps::Phase;
use measure::text::sentence;
use salon::plan::Plan;

/// The steps of one phase.
pub struct PhaseView {
    /// The phase in words.
    pub name: &'static str,
    /// Its steps.
    pub steps: Vec<StepView>,
}

/// One step.
pub struct StepView {
    /// Its number.
    pub id: u32,
    /// What is done.
    pub what: String,
    /// How.
    pub how: String,
    /// The caution.
    pub caution: Option<String>,
    /// What is looked at before going on.
    pub confirm: Option<String>,
    /// Whether nothing goes on before it.
    pub stop: bool,
}

/// The steps, gathered by phase in the order of work.
pub fn phases(plan: &Plan) -> Vec<PhaseView> {
    let mut phases: Vec<(Phase, PhaseView)> = Vec::new();
    for step in &plan.steps {
        let view = StepView {
            id: step.id,
            what: sentence(&without_fact(&step.what)),
            how: without_fact(&step.how),
            caution: step.caution.as_deref().map(without_fact),
            confirm: step.value_to_confirm.clone(),
            stop: step.stop,
        };
        match phases.last_mut() {
            Some((phase, group)) if *phase == step.phase => group.steps.push(view),
            _ => {
                let name = match step.phase {
                    Phase::Prepare => "Prepare",
                    Phase::Ready => "Make ready",
                    Phase::Place => "Place",
                    Phase::Finish => "Finish",
                    Phase::Close => "Before she leaves",
                    Phase::Retape => "At the next visit",
                };
                phases.push((step.phase, PhaseView { name, steps: vec![view] }));
            }
        }
    }
    phases.into_iter().map(|(_, group)| group).collect()
}
