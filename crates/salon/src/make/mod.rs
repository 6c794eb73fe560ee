//! From a client's facts to her plan: every engine asked in its turn, the
//! answers gathered into one document.

pub mod chair;
mod hair_wanted;
pub mod head_model;
pub mod moved;
mod places;
mod shades;
mod shown;
mod supplies;
mod ways;
mod why_not;
mod work;

use crate::Fault;
use crate::client::{ClientFacts, of_the_tapes};
use crate::plan::rim::combed;
use crate::plan::{ColourPlan, HairPlan, HeadPlan, LandmarksPlan, Plan, QuantityPlan, SetByHand, SiteId};
use crate::words::Message;
use craft::placement::{ROW_SPACING, WORTH_SHORT};
use craft::suitability::{Judgement, judge};
use head_model::{DecidedLayout, HeadModel};
use measure::RuleBook;
use measure::text::number;
pub use supplies::Supplies;
pub use ways::{stops_short, take, ways};
pub use why_not::WhyNot;

/// A plan and the scalp it stands on.
#[derive(Debug, Clone)]
pub struct PlanAndScalp {
    /// The plan.
    pub plan: Plan,
    /// The scalp as OBJ in mm; nothing when she was refused.
    pub scalp_obj: Option<String>,
}

/// Makes the plan of one client's set.
///
/// *Meaning*: when she cannot wear tapes, or nothing can be placed, the plan
/// holds the verdict and the faults, and no sites. The same facts, supplies and
/// seed give the same plan.
///
/// *Errors*: facts or supplies that cannot be used, all at once.
pub fn make(facts: &ClientFacts, supplies: &Supplies, seed: u64, book: &RuleBook) -> Result<PlanAndScalp, Vec<Fault>> {
    make_around(facts, supplies, &DecidedLayout::default(), seed, book)
}

/// Makes the plan of one client's set around the sandwiches that stand.
///
/// *Errors*: as for [`make`].
pub fn make_around(
    facts: &ClientFacts,
    supplies: &Supplies,
    state: &DecidedLayout,
    seed: u64,
    book: &RuleBook,
) -> Result<PlanAndScalp, Vec<Fault>> {
    let verdict = judge(&facts.answers, book);
    // Measures that no head has are bad input whatever the verdict.
    let fit = head::fit(&facts.head.measures).map_err(of_the_tapes)?;
    let asked = shades::asked(facts, supplies)?;
    let mut plan = blank(facts, verdict, seed);
    if !plan.verdict.verdict.allows_a_plan() {
        plan.faults = refusal(&plan.verdict);
        return Ok(PlanAndScalp { plan, scalp_obj: None });
    }
    let model = HeadModel::new(facts, &plan.limits, &fit, book)?;
    let (head, hair, wanted) = (model.head(), model.hair(), model.wanted());
    plan.warnings.extend(fit.warnings.iter().chain(head.warnings()).chain(&hair.warnings).cloned());
    plan.head = shown::head_plan(&fit, head);
    plan.hair = shown::hair_plan(hair);
    plan.landmarks_mm = shown::landmarks_plan(head.landmarks());
    plan.faults.extend(wanted.faults.iter().cloned());
    // The picture of the head does not wait for the places, nor they for it.
    let (placed, (outlines, scalp_obj)) = std::thread::scope(|scope| {
        let picture = scope.spawn(|| (head.panel_outlines(), Some(head.mesh().to_obj())));
        let placed = places::place(&model, state, seed);
        (placed, picture.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)))
    });
    let placed = match placed {
        Ok(placed) => placed,
        Err(faults) => {
            plan.faults.extend(faults);
            return Ok(PlanAndScalp { plan, scalp_obj });
        }
    };
    plan.panels = Some(shown::panels_plan(facts, head, &placed.placement.rows, &outlines));
    plan.cautions = placed.cautions.clone();
    plan.row_spacing = Some(combed(placed.placement.row_spacing));
    plan.warnings.extend(close_rows(&placed, book));
    plan.rows = placed.rows.clone();
    plan.sites = placed.sites.clone();
    plan.faults.extend(placed.faults.iter().filter(|fault| state.add.is_none() || fault.rule != WORTH_SHORT.id).cloned());
    plan.others = placed.others.clone();
    plan.set_by_hand = set_by_hand(&placed, state);
    plan.warnings.extend(places::heavier_side(&plan.sites));
    plan.quantity = hair_wanted::quantity_plan(facts, hair, wanted, &plan.sites, book);
    if state.add.is_some() {
        let shortfall = chair::shortfall(state, &placed, &plan.quantity);
        plan.faults.extend(shortfall);
    }
    shades::dress(&mut plan, facts, supplies, &asked, book)?;
    work::finish(&mut plan, facts, supplies, hair, &placed, book);
    Ok(PlanAndScalp { plan, scalp_obj })
}

/// What was set by hand, with the reason that was given for passing limits.
fn set_by_hand(placed: &places::PlacedSet, state: &DecidedLayout) -> Option<SetByHand> {
    let stood = |site: &&craft::placement::Site| site.already_in;
    let sites: Vec<SiteId> = placed.placement.sites.iter().filter(stood).map(|site| site.id).collect();
    (!sites.is_empty()).then(|| SetByHand { sites, reason: state.reason.clone() })
}

/// What closer rows than usual mean for the next visit.
fn close_rows(placed: &places::PlacedSet, book: &RuleBook) -> Option<String> {
    let (spacing, usual) = (placed.placement.row_spacing.to_mm(), book.value(&ROW_SPACING));
    // A row more or less exactly as far apart as usual is as usual.
    (spacing < usual - 0.5).then(|| Message::RowsClose { spacing: number(spacing, 0), usual: number(usual, 0) }.to_string())
}

/// Lays out what a client's layout stands on, for questions about single sites.
///
/// *Errors*: measures that no head has; she cannot wear tapes.
pub fn head_model(facts: &ClientFacts, book: &RuleBook) -> Result<HeadModel, Vec<Fault>> {
    let verdict = judge(&facts.answers, book);
    if !verdict.verdict.allows_a_plan() {
        return Err(refusal(&verdict));
    }
    let fit = head::fit(&facts.head.measures).map_err(of_the_tapes)?;
    HeadModel::new(facts, &verdict.limits, &fit, book)
}

fn blank(facts: &ClientFacts, verdict: Judgement, seed: u64) -> Plan {
    Plan {
        limits: verdict.limits.clone(),
        verdict,
        colour: ColourPlan::default(),
        quantity: QuantityPlan::default(),
        rows: Vec::new(),
        sites: Vec::new(),
        set_by_hand: None,
        others: Vec::new(),
        again: Vec::new(),
        buy: None,
        quote: None,
        steps: Vec::new(),
        retape: None,
        aftercare: None,
        faults: Vec::new(),
        warnings: facts.warnings.clone(),
        head: HeadPlan::default(),
        hair: HairPlan::default(),
        map: None,
        panels: None,
        cautions: Vec::new(),
        row_spacing: None,
        ways: Vec::new(),
        landmarks_mm: LandmarksPlan::default(),
        seed,
    }
}

/// The stops of a verdict as faults, each with who to see.
fn refusal(verdict: &Judgement) -> Vec<Fault> {
    verdict
        .rules_met
        .iter()
        .filter(|met| !met.next.is_empty())
        .map(|met| Fault::new(met.says.clone(), met.because.clone(), met.rule.clone(), met.next.clone()))
        .collect()
}
