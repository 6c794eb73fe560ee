//! Plans and their papers: what command line and pages share.

use crate::limits;
use craft::matching::Ring;
use jiff::civil::Date;
use measure::RuleBook;
use measure::text::counted;
use paper::{Fonts, Heading, PaperFault};
use salon::Fault;
use salon::book::visit::Observed;
use salon::client::ClientFile;
use salon::make::head_model::DecidedLayout;
use salon::make::{Supplies, make_around};
use salon::plan::{OwnHair, Plan, StartLine, WayPlan};
use salon::stock::Order;
use std::fmt::Write;

/// What a plan is made from.
#[derive(Debug, Clone)]
pub struct PlanInput {
    /// The client's facts.
    pub client: ClientFile,
    /// The ring of shades; nothing when shades are chosen by eye.
    pub ring: Option<Ring>,
    /// What lies on the shelf and what is on sale.
    pub shelf: Option<Order>,
    /// The colour read from a photo.
    pub reading: Option<reading::Reading>,
    /// What earlier visits showed of her hair and bonds.
    pub observed: Observed,
    /// Her own pieces that go back in.
    pub hers: OwnHair,
    /// Where the search for places starts.
    pub seed: u64,
    /// What is already decided about the layout.
    pub state: DecidedLayout,
    /// The values in force.
    pub rules: RuleBook,
}

impl PlanInput {
    fn supplies(&self) -> Supplies<'_> {
        Supplies {
            ring: self.ring.as_ref(),
            shelf: self.shelf.as_ref(),
            reading: self.reading.as_ref(),
            observed: Some(&self.observed),
            hers: Some(&self.hers),
        }
    }
}

/// A plan, and the scalp it stands on.
#[derive(Debug, Clone)]
pub struct Planned {
    /// The plan.
    pub plan: Plan,
    /// The fitted scalp as OBJ in mm; nothing when the client was refused before measuring.
    pub scalp_obj: Option<String>,
}

impl Planned {
    /// Why there is nothing to place, in one sentence; nothing when there is a plan.
    #[must_use]
    pub fn refusal(&self) -> Option<String> {
        if !self.plan.verdict.verdict.allows_a_plan() {
            return Some(format!("{}: {}", self.plan.verdict.verdict.words(), self.plan.verdict.says));
        }
        if self.plan.sites.is_empty() {
            let lines: Vec<String> = self.plan.faults.iter().map(ToString::to_string).collect();
            return Some(format!("nothing can be placed: {}", lines.join(" ")));
        }
        None
    }
}

/// Makes the plan of one client's set.
///
/// *Errors*: facts that cannot be used, all at once.
pub fn plan(input: &PlanInput) -> Result<Planned, Vec<Fault>> {
    let beyond = limits::facts(&input.client);
    if !beyond.is_empty() {
        return Err(beyond);
    }
    let facts = input.client.check()?;
    let made = make_around(&facts, &input.supplies(), &input.state, input.seed, &input.rules)?;
    Ok(Planned { plan: made.plan, scalp_obj: made.scalp_obj })
}

/// The ways on from a plan that stops short of its wish; none from one that does not.
///
/// *Errors*: facts that cannot be used.
pub fn ways(input: &PlanInput, plan: &Plan) -> Result<Vec<WayPlan>, Vec<Fault>> {
    salon::make::ways(&input.client, &input.supplies(), plan, input.seed, &input.rules)
}

/// A plan as data.
///
/// *Errors*: it cannot be written.
pub fn plan_json(plan: &Plan) -> Result<Vec<u8>, PaperFault> {
    let mut json = serde_json::to_vec_pretty(plan).map_err(|error| PaperFault::Setting(error.to_string()))?;
    json.push(b'\n');
    Ok(json)
}

/// The calendar file of a plan by its name, where a set is due.
pub const CALENDAR_FILE: &str = "retape.ics";

/// What a plan's calendar file holds; nothing when nothing is placed.
#[must_use]
pub fn calendar(plan: &Plan, placed_on: Option<Date>, entry: &paper::Entry) -> Option<Vec<u8>> {
    let retape = plan.retape.as_ref().filter(|_| !plan.sites.is_empty())?;
    Some(paper::retape_calendar(retape, placed_on, entry).into_bytes())
}

/// What a plan is made for, without her name: it stands for the plan where nobody keeps it.
///
/// *Errors*: it cannot be written.
pub fn made_for(file: &ClientFile) -> Result<String, PaperFault> {
    let mut file = file.clone();
    if let Some(client) = file.client.as_mut() {
        client.name = None;
    }
    serde_json::to_string(&file).map_err(|error| PaperFault::Setting(error.to_string()))
}

/// Every file of a plan by its name but the calendar's: plan.json always, the map
/// and the papers when something is placed.
///
/// *Meaning*: `placed_on` is the day the set goes in, when it is known; nothing here reads the clock.
///
/// *Errors*: a paper cannot be set.
pub fn files(planned: &Planned, input: &PlanInput, placed_on: Option<Date>, fonts: &Fonts) -> Result<Vec<(String, Vec<u8>)>, PaperFault> {
    let plan = &planned.plan;
    let mut files = vec![("plan.json".to_owned(), plan_json(plan)?)];
    if planned.refusal().is_some() {
        return Ok(files);
    }
    let client = input.client.client.as_ref().and_then(|client| client.name.clone());
    let heading = Heading { salon: None, client, date: placed_on };
    files.push(("head-map.svg".to_owned(), paper::head_map_svg(plan).into_bytes()));
    for paper in paper::PAPERS {
        files.push((paper.file.to_owned(), paper.pdf(plan, &heading, fonts)?));
    }
    if let Some(scalp) = &planned.scalp_obj {
        files.push(("scalp.obj".to_owned(), scalp.clone().into_bytes()));
    }
    Ok(files)
}

/// The plan told in a few lines for a terminal.
#[must_use]
pub fn in_words(plan: &Plan) -> String {
    let mut out = String::new();
    // Writing into a string cannot fail.
    let _ = writeln!(out, "Verdict: {}. {}", plan.verdict.verdict.words(), plan.verdict.says);
    for met in &plan.verdict.rules_met {
        let _ = writeln!(out, "  {} ({})", met.says, met.because);
    }
    if !plan.sites.is_empty() {
        let quantity = &plan.quantity;
        let _ = writeln!(
            out,
            "Hair: {:.0} g in {} pieces, {} sandwiches in {} rows (the wish: {:.0} g, {:.0} to {:.0}).",
            quantity.added.to_g(),
            quantity.pieces,
            quantity.sandwiches,
            plan.rows.len(),
            quantity.wished.to_g(),
            quantity.wished_low.to_g(),
            quantity.wished_high.to_g()
        );
        let mix: Vec<String> = plan.colour.mix.iter().map(|(code, pieces)| format!("{pieces} x {code}")).collect();
        if !mix.is_empty() {
            let apart = plan.colour.mix_de00.map_or_else(String::new, |de| format!(" (dE00 {de:.2} from the ends)"));
            let _ = writeln!(out, "Shades: {}{apart}.", mix.join(", "));
        }
        for row in &plan.rows {
            let count = plan.sites.iter().filter(|site| site.row == row.row).count();
            let _ = writeln!(
                out,
                "  Row {} ({}): starts {:.0} mm up the {}, {}, {}.",
                row.name,
                row.zone.word(),
                row.start.map_or(row.parting_above_nape, |start| start.up).to_mm(),
                row.start.filter(|start| start.on != StartLine::Midline).map_or("middle", |_| "ear-to-ear line"),
                counted(count, "sandwich", "sandwiches"),
                row.setting.words()
            );
        }
        if let Some(quote) = &plan.quote {
            let _ = writeln!(out, "Price: {}.", quote.total());
        }
        if let Some(retape) = &plan.retape {
            let [opens, closes] = retape.window;
            let _ = writeln!(out, "Re-tape: day {} (window {opens} to {closes}).", retape.due);
        }
    }
    for fault in &plan.faults {
        let _ = writeln!(out, "Not as wished: {fault}");
    }
    for way in &plan.ways {
        let _ = writeln!(out, "  A way on: {}: {:.0} g in {} pieces, {} marked.", way.says, way.added.to_g(), way.pieces, way.cautions);
    }
    for caution in &plan.cautions {
        let at = caution.site.map_or_else(|| "the whole set".to_owned(), |site| site.to_string());
        let _ = writeln!(out, "Look at {at}: {}", caution.what);
    }
    for warning in &plan.warnings {
        let _ = writeln!(out, "Note: {warning}");
    }
    out
}
