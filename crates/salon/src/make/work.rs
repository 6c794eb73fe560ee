//! What follows from the placed sites: buying, the quote, the steps, the next
//! date, the aftercare sheet.

use super::places::PlacedSet;
use super::supplies::Supplies;
use crate::client::{ClientFacts, Fact};
use crate::plan::{Plan, RetapePlan, RowPlan, SitePlan, whole_pieces};
use crate::quote::{QuoteCase, quote};
use crate::stock::{BuyFault, Need, Order, buy};
use crate::words::Message;
use crate::{Fault, Place};
use craft::aftercare::{Worn, sheet};
use craft::growth::loose_strands;
use craft::hair::Hair;
use craft::load::BOND_OFF_SCALP;
use craft::retape::{Basis, DUE_FROM, DUE_TO, DueBy, HOLDING_SHARE, LONGEST, Retape, RetapeCase, SetByHand, retape};
use craft::steps::{RowToSet, SiteToSet, Visit, run_sheet};
use craft::suitability::answers::{HotTools, Oil};
use craft::wear::{HeadWear, slip};
use measure::text::{millimetres, number};
use measure::{Days, Length, RuleBook};

/// Fills in everything that rests on the placed and dressed sites.
pub fn finish(plan: &mut Plan, facts: &ClientFacts, supplies: &Supplies, hair: &Hair, placed: &PlacedSet, book: &RuleBook) {
    let (due, closes) = match next_date(plan, facts, supplies, placed, book) {
        Ok(date) => {
            let (opens, closes) = (whole(date.window.0), whole(date.window.1));
            let mut because = vec![due_words(date.by).to_string()];
            because.extend(date.notes);
            plan.retape = Some(RetapePlan { due: whole(date.due), window: [opens, closes], because });
            (whole(date.due), closes)
        }
        Err(fault) => {
            plan.faults.push(fault);
            let cap = whole(plan.limits.wear_cap);
            (cap, cap)
        }
    };
    let need = new_hair(plan, supplies);
    let order = supplies.shelf.map(|shelf| Order { need, ..shelf.clone() });
    if let Some(order) = &order {
        match buy(order) {
            Ok(purchase) => plan.buy = Some(purchase),
            Err(BuyFault::Short(short)) => plan.faults.extend(short.iter().map(|s| {
                let length = millimetres(s.length_mm.length());
                let message = Message::PiecesNotToBeHad { pieces: s.pieces, shade: s.shade.clone(), length };
                Fault::of(&message, Fact::Stock, "buying")
            })),
            Err(fault) => plan.faults.push(Fault::new(fault.to_string(), Fact::Stock, "buying", "Mend the stock and try again.")),
        }
    }
    plan.steps = steps(plan, hair, book);
    price(plan, facts, order.as_ref(), due, book);
    let usual = plan.sites.iter().map(|site| site.hairs).sum::<f64>() / plan.sites.len().max(1) as f64;
    let worn = Worn {
        limits: &plan.limits,
        oil: facts.answers.oil.unwrap_or(Oil::Normal),
        swims: facts.answers.swims.unwrap_or(false),
        hot_tools: facts.answers.hot_tools.unwrap_or(HotTools::Weekly),
        due,
        closes,
        hairs: usual,
        loose: loose_strands(usual, Days::days(f64::from(due)), book),
    };
    plan.aftercare = Some(sheet(&worn, book));
}

/// What is to be had, by shade and length: what the set is made of, less her own pieces that go back in.
fn new_hair(plan: &mut Plan, supplies: &Supplies) -> Vec<Need> {
    let mut needs = whole_pieces(&plan.sites);
    if let Some(hers) = supplies.hers {
        let need = |(shade, length_mm, pieces)| Need { shade, length_mm, pieces };
        plan.again = hers.serve(&mut needs).into_iter().map(need).collect();
        if hers.worn_out > 0 {
            plan.warnings.push(Message::OwnWornOut { pieces: hers.worn_out }.to_string());
        }
    }
    needs.into_iter().map(|((shade, length_mm), pieces)| Need { shade, length_mm, pieces }).collect()
}

fn next_date(plan: &mut Plan, facts: &ClientFacts, supplies: &Supplies, placed: &PlacedSet, book: &RuleBook) -> Result<Retape, Fault> {
    let oil = facts.answers.oil.unwrap_or(Oil::Normal);
    let observed = supplies.observed.cloned().unwrap_or_default();
    let (grown, bonds) = observed.rests_on();
    let basis = |own: bool| if own { Basis::Own } else { Basis::AtLarge };
    let slipped = slip(&HeadWear { oil, bonds: observed.bonds() }, &[], book).ok().map(|curve| curve.day_when(book.value(&HOLDING_SHARE)));
    let growth = observed.growth(book);
    let over_load = placed.placement.sites.iter().filter_map(|site| placed.load_limit(site, growth.value, book)).reduce(Days::min);
    if let Some(early) = over_load.filter(|day| day.to_days() < book.value(&DUE_FROM)) {
        plan.warnings.push(Message::OverLoadEarly { days: number(early.to_days(), 0) }.to_string());
    }
    let cap = plan.limits.wear_cap;
    let case = RetapeCase {
        growth: (growth, basis(grown > 0)),
        slip: slipped.map(|day| (day, basis(bonds > 0))),
        // Growth at large is no record of hers: it does not bring the date below six weeks.
        over_load: over_load.map(|day| if grown > 0 { day } else { day.max(Days::days(book.value(&DUE_FROM))) }),
        set: (cap.to_days() < book.value(&DUE_TO)).then(|| SetByHand { longest: cap, reason: "the consultation's limit".to_owned() }),
    };
    retape(&case, book).map_err(|fault| Fault::new(fault.to_string(), Place::Retape, LONGEST.id, "Set another longest wear."))
}

const fn due_words(by: DueBy) -> Message {
    match by {
        DueBy::Growth => Message::DueByGrowth,
        DueBy::Slip => Message::DueBySlip,
        DueBy::Load => Message::DueByLoad,
        DueBy::Longest => Message::DueByLongest,
    }
}

/// A day as a whole number that passes no limit.
fn whole(days: Days) -> u32 {
    (days.to_days() + 1e-9) as u32
}

fn steps(plan: &Plan, hair: &Hair, book: &RuleBook) -> Vec<craft::steps::Step> {
    let rows: Vec<RowToSet> = plan.rows.iter().map(RowPlan::to_set).collect();
    let sites: Vec<SiteToSet> = plan.sites.iter().map(SitePlan::to_set).collect();
    let visit = Visit {
        rows: &rows,
        sites: &sites,
        limits: &plan.limits,
        ends: hair.ends,
        oil: hair.oil,
        off_scalp: Length::mm(book.value(&BOND_OFF_SCALP)),
    };
    run_sheet(&visit, book)
}

fn price(plan: &mut Plan, facts: &ClientFacts, order: Option<&Order>, worn: u32, book: &RuleBook) {
    let Some(currency) = facts.prices.currency.or(order.map(|order| order.currency)) else { return };
    let hair = match (&plan.buy, order) {
        (Some(purchase), Some(order)) if order.currency == currency => Some((purchase, order)),
        _ => None,
    };
    let case = QuoteCase {
        currency,
        hour: facts.prices.hour,
        tape_tab: facts.prices.tape_tab,
        hair,
        sandwiches: plan.quantity.sandwiches,
        pieces: plan.quantity.pieces,
        again: plan.again.iter().map(|own| own.pieces).sum(),
        worn,
        budget: facts.budget,
    };
    let quote = quote(&case, book);
    if let (Some(short), Some(reaches)) = (quote.short_minor, quote.sandwiches_within_budget) {
        let message = Message::BudgetShort {
            short: measure::Money::minor(short, currency).to_string(),
            reaches,
            sandwiches: plan.quantity.sandwiches.to_string(),
        };
        plan.faults.push(Fault::of(&message, Fact::Budget, "budget"));
    }
    plan.quote = Some(quote);
}
