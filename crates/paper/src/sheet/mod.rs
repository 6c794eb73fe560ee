//! The run sheet: everything for one visit, to be read beside the chair.

mod table;

use crate::heading::{Head, Heading};
use crate::map;
use crate::paper::{Paper, filled};
use crate::shade::{self, Shade};
use crate::words::one_line;
use craft::steps::{Phase, Step};
use craft::suitability::{Effect, Limits};
use measure::text::{capital, counted, days_in_weeks, minutes, number, sentence, sentences};
use salon::Fault;
use salon::plan::{Plan, QuantityPlan};
use salon::words::without_keys;
use serde::Serialize;

/// The run sheet: what to prepare, the map, every site in working order, the steps with
/// their cautions, the closing checks.
pub(crate) const PAPER: Paper = Paper {
    file: "run-sheet.pdf",
    name: "Run sheet",
    says: "Every step at the chair, to print",
    template: include_str!("../typ/run-sheet.typ"),
    fill: |plan, heading| filled(&run_sheet(plan, heading, &shade::of_plan(plan))),
    drawing: Some(|plan| map::draw(plan, &shade::of_plan(plan))),
};

/// What the template is filled with.
#[derive(Debug, Serialize)]
pub(crate) struct RunSheet {
    #[serde(flatten)]
    head: Head,
    facts: Vec<[String; 2]>,
    cautions: Vec<String>,
    /// What the models mark, summed up.
    marked: Vec<String>,
    not_as_wished: Vec<String>,
    open: Vec<String>,
    prepare: Vec<StepLine>,
    shades: ShadeTable,
    notes: Vec<String>,
    map_in_words: String,
    how_to_measure: String,
    rows: Vec<table::RowLines>,
    table_notes: Vec<String>,
    stages: Vec<Stage>,
    rests_on: Vec<String>,
}

/// The count of shades.
#[derive(Debug, Serialize)]
struct ShadeTable {
    columns: [&'static str; 5],
    lines: Vec<[String; 5]>,
}

/// Steps that belong together.
#[derive(Debug, Serialize)]
struct Stage {
    name: &'static str,
    steps: Vec<StepLine>,
}

/// One step at the chair.
#[derive(Debug, Serialize)]
struct StepLine {
    number: String,
    what: String,
    how: String,
    caution: Option<String>,
    confirm: Option<String>,
    stop: bool,
    /// One line only: a sandwich like those before it.
    brief: bool,
}

/// The run sheet of a plan.
pub(crate) fn run_sheet(plan: &Plan, heading: &Heading, shades: &[Shade]) -> RunSheet {
    let mut rests_on: Vec<String> =
        plan.quantity.notes.iter().chain(&plan.warnings).map(|line| capital(&without_keys(&one_line(line)))).collect();
    rests_on.dedup();
    RunSheet {
        head: Head::of(heading),
        facts: facts(plan, heading),
        cautions: cautions(plan),
        marked: marked(plan),
        not_as_wished: plan.faults.iter().map(not_as_wished).collect(),
        open: open(plan),
        prepare: plan.steps.iter().filter(|step| step.phase == Phase::Prepare).map(whole).collect(),
        shades: ShadeTable { columns: ["", "Shade", "Hair", "Sandwiches", "Pieces"], lines: table::shade_lines(&plan.sites, shades) },
        notes: plan.colour.notes.iter().map(|line| one_line(line)).collect(),
        map_in_words: map::described(plan, shades),
        how_to_measure: map::how_to_measure(plan),
        rows: table::rows(plan, shades),
        table_notes: table::notes(&plan.sites),
        stages: stages(&plan.steps),
        rests_on,
    }
}

fn facts(plan: &Plan, heading: &Heading) -> Vec<[String; 2]> {
    let mut facts: Vec<[String; 2]> = Vec::new();
    let mut fact = |name: &str, says: String| facts.push([name.to_owned(), says]);
    if let Some(client) = heading.client.as_deref().map(one_line).filter(|name| !name.is_empty()) {
        fact("Client", client);
    }
    let (verdict, says) = (plan.verdict.verdict.words(), capital(&one_line(&plan.verdict.says)));
    let told = says.to_lowercase().starts_with(verdict);
    fact("Verdict", if told { says } else { format!("{}. {says}", capital(verdict)) });
    let pieces = counted(plan.quantity.pieces as usize, "piece", "pieces");
    fact("The set", format!("{}, {pieces}", table::summary(&plan.rows, &plan.sites)));
    fact("Hair added", grams(&plan.quantity));
    if let Some(apart) = plan.colour.mix_de00 {
        let apart = if apart < 0.05 { "less than 0.1".to_owned() } else { number(apart, 1) };
        fact("Match", format!("CIEDE2000 {apart} from the ends, all shades together"));
    }
    if let Some(quote) = &plan.quote {
        fact("Time", format!("about {}", minutes(quote.minutes)));
    }
    if let Some(retape) = &plan.retape {
        let [first, last] = retape.window;
        fact("Due again", format!("after {}; between day {first} and day {last}", days_in_weeks(retape.due)));
    }
    facts
}

fn grams(quantity: &QuantityPlan) -> String {
    format!(
        "{} g as placed; the wish comes to {} g, and may lie between {} and {} g",
        number(quantity.added.to_g(), 0),
        number(quantity.wished.to_g(), 0),
        number(quantity.wished_low.to_g(), 0),
        number(quantity.wished_high.to_g(), 0),
    )
}

/// What must be known before her hair is touched, the gravest first.
fn cautions(plan: &Plan) -> Vec<String> {
    let mut met: Vec<_> = plan.verdict.rules_met.iter().collect();
    met.sort_by_key(|met| std::cmp::Reverse(met.effect));
    let mut lines: Vec<String> = met
        .iter()
        .filter(|met| met.effect != Effect::Note)
        .map(|met| {
            let next = if met.next.is_empty() { String::new() } else { format!(" {}", one_line(&met.next)) };
            format!("{} ({}){next}", one_line(&met.says), one_line(&met.because))
        })
        .collect();
    lines.extend(met.iter().filter(|met| met.effect == Effect::Note).map(|met| one_line(&met.says)));
    lines
}

/// What is marked, so that it is looked at before and after.
fn marked(plan: &Plan) -> Vec<String> {
    let mut lines: Vec<String> = plan.caution_summary().iter().map(|line| sentence(&one_line(line))).collect();
    if !lines.is_empty() {
        lines.push("Which ones, the map and the table say.".to_owned());
    }
    lines
}

/// A fault without the name of its key: what, and what to do.
fn not_as_wished(fault: &Fault) -> String {
    without_keys(&sentences(&one_line(&fault.what), &one_line(&fault.cure)))
}

/// What is still to be signed, read or asked.
fn open(plan: &Plan) -> Vec<String> {
    let limits: &Limits = &plan.limits;
    let mut lines = Vec::new();
    if limits.consent_open {
        lines.push("Consent is signed before her hair is touched.".to_owned());
    }
    if limits.guardian_signs {
        lines.push("A guardian signs before her hair is touched.".to_owned());
    }
    if let Some(test) = &limits.patch_test {
        lines.push(format!(
            "Patch test read after {} and {} hours. Seen: ______________________",
            number(test.first_reading_hours, 0),
            number(test.second_reading_hours, 0)
        ));
    }
    lines.extend(plan.verdict.unanswered.iter().map(|question| format!("{}: ______________________", capital(&one_line(question)))));
    lines
}

/// The steps after preparing, in their stages.
fn stages(steps: &[Step]) -> Vec<Stage> {
    steps
        .chunk_by(|a, b| a.phase == b.phase)
        .filter_map(|stage| {
            let first = stage.first()?;
            // Preparing stands on the first page.
            let name = match first.phase {
                Phase::Prepare => return None,
                Phase::Ready => "Wash, dry, section",
                Phase::Place => "Place, from the nape upward",
                Phase::Finish => "Look and blend",
                Phase::Close => "Closing checks",
                Phase::Retape => "At the next visit",
            };
            Some(Stage { name, steps: lines(stage) })
        })
        .collect()
}

fn whole(step: &Step) -> StepLine {
    StepLine {
        number: step.id.to_string(),
        what: one_line(&step.what),
        how: capital(&one_line(&step.how)),
        caution: step.caution.as_deref().map(one_line),
        confirm: step.value_to_confirm.as_deref().map(one_line),
        stop: step.stop,
        brief: false,
    }
}

/// The steps as lines. How a sandwich is set is told in full for the first one;
/// further ones that ask nothing else are gathered, since each has its own line
/// in the table.
fn lines(steps: &[Step]) -> Vec<StepLine> {
    let like_others = |step: &Step| step.site.is_some() && step.caution.is_none() && step.value_to_confirm.is_none() && !step.stop;
    let mut told = false;
    steps
        .chunk_by(|a, b| like_others(a) && like_others(b))
        .flat_map(|group| {
            let whole_ones = if told || !like_others(&group[0]) { usize::from(!like_others(&group[0])) } else { 1 };
            told |= group[0].site.is_some();
            let (first, rest) = group.split_at(whole_ones);
            first.iter().map(whole).chain(gathered(rest)).collect::<Vec<_>>()
        })
        .collect()
}

/// Several sandwiches in one line.
fn gathered(steps: &[Step]) -> Option<StepLine> {
    let (first, last) = (steps.first()?, steps.last()?);
    let sites: Vec<String> = steps.iter().filter_map(|step| step.site).map(|site| site.to_string()).collect();
    let number = if first.id == last.id { first.id.to_string() } else { format!("{}–{}", first.id, last.id) };
    Some(StepLine {
        number,
        what: sites.join(", "),
        how: "set the same way, each at its place in the table".to_owned(),
        caution: None,
        confirm: None,
        stop: false,
        brief: true,
    })
}
