//! The quote on paper.

use crate::heading::{Head, Heading};
use crate::paper::{Paper, filled};
use crate::words::one_line;
use measure::text::{counted, millimetres};
use measure::{Currency, Money};
use salon::plan::Plan;
use salon::quote::Quote;
use salon::stock::Purchase;
use serde::Serialize;

/// The quote: lines, total, cost by the week, what to buy, what it rests on, and what a
/// budget that does not reach would reach.
pub(crate) const PAPER: Paper = Paper {
    file: "quote.pdf",
    name: "Quote",
    says: "For the client",
    template: include_str!("typ/quote.typ"),
    fill: |plan, heading| filled(&quote_sheet(plan, heading)),
    drawing: None,
};

/// What the template is filled with.
#[derive(Debug, Serialize)]
pub(crate) struct QuoteSheet {
    #[serde(flatten)]
    head: Head,
    facts: Vec<[String; 2]>,
    shortfall: Vec<String>,
    /// What, how it comes about, amount.
    lines: Vec<[String; 3]>,
    /// What the lines come to together: her first visit, or this re-tape.
    visit: &'static str,
    total: Option<String>,
    /// Her own pieces that go back in: shade, length, pieces.
    again: Vec<[String; 3]>,
    per_week: Option<PerWeek>,
    /// Pack and count.
    buy: Vec<[String; 2]>,
    /// Lot, shade, length, pieces.
    shelf: Vec<[String; 4]>,
    buy_notes: Vec<String>,
    rests_on: Vec<String>,
}

#[derive(Debug, Serialize)]
struct PerWeek {
    amount: String,
    rests_on: String,
}

/// The quote of a plan. Without prices it says so and still shows what to buy.
pub(crate) fn quote_sheet(plan: &Plan, heading: &Heading) -> QuoteSheet {
    let quote = plan.quote.as_ref();
    let mut rests_on: Vec<String> = quote.map_or_else(
        || vec!["No prices were given, so there are no amounts.".to_owned()],
        |quote| quote.rests_on.iter().map(|line| one_line(line)).collect(),
    );
    rests_on.push("The quote stands on the plan and the prices it was made with; when either changes, a new one is made.".to_owned());
    QuoteSheet {
        head: Head::of(heading),
        facts: facts(plan),
        shortfall: quote.map(|quote| shortfall(plan, quote)).unwrap_or_default(),
        lines: quote.map(lines).unwrap_or_default(),
        visit: if is_retape(plan) { "this re-tape" } else { "first visit" },
        total: quote.map(|quote| quote.total().to_string()),
        again: plan.again.iter().map(|own| [one_line(&own.shade), millimetres(own.length_mm.length()), own.pieces.to_string()]).collect(),
        per_week: quote.filter(|quote| quote.weeks_of_wear > 0).map(per_week),
        buy: plan.buy.iter().flat_map(|buy| &buy.buy).map(|b| [one_line(&b.id), counted(b.packs as usize, "pack", "packs")]).collect(),
        shelf: plan.buy.as_ref().map(shelf).unwrap_or_default(),
        buy_notes: plan.buy.as_ref().map(buy_notes).unwrap_or_default(),
        rests_on,
    }
}

fn facts(plan: &Plan) -> Vec<[String; 2]> {
    let mut facts = vec![[
        "The set".to_owned(),
        format!(
            "{} of hair in {}, {}",
            measure::text::number(plan.quantity.added.to_g(), 0) + " g",
            counted(plan.quantity.pieces as usize, "piece", "pieces"),
            counted(plan.sites.len(), "sandwich", "sandwiches"),
        ),
    ]];
    if let Some(quote) = &plan.quote {
        facts.push([
            if is_retape(plan) { "This re-tape" } else { "First visit" }.to_owned(),
            format!("about {}", measure::text::minutes(quote.minutes)),
        ]);
    }
    facts
}

/// Whether pieces of her own go back in.
fn is_retape(plan: &Plan) -> bool {
    !plan.again.is_empty()
}

fn lines(quote: &Quote) -> Vec<[String; 3]> {
    let amount = |minor| Money::minor(minor, quote.currency).to_string();
    quote.lines.iter().map(|line| [one_line(&line.what), one_line(&line.detail), amount(line.amount_minor)]).collect()
}

fn per_week(quote: &Quote) -> PerWeek {
    let amount = |minor| Money::minor(minor, quote.currency).to_string();
    PerWeek {
        amount: amount(quote.per_week_minor),
        rests_on: format!(
            "over {} of wear, with this visit and every re-tape after it at {} in it; an estimate, for hair lasts longer or shorter with its care.",
            counted(quote.weeks_of_wear as usize, "week", "weeks"),
            amount(quote.retape_minor),
        ),
    }
}

/// What a budget that does not reach is short of, and what it reaches.
fn shortfall(plan: &Plan, quote: &Quote) -> Vec<String> {
    let amount = |minor| Money::minor(minor, quote.currency).to_string();
    let (Some(budget), Some(short)) = (quote.budget_minor, quote.short_minor) else { return Vec::new() };
    let mut lines = vec![format!("Of {} the budget of {} leaves {} open.", amount(quote.total_minor), amount(budget), amount(short))];
    match quote.sandwiches_within_budget {
        Some(0) => lines.push("No part of this set fits the budget with the prices given.".to_owned()),
        Some(reached) => lines.push(format!(
            "It reaches about {} of the {} planned: a lighter set.",
            counted(reached as usize, "sandwich", "sandwiches"),
            plan.sites.len()
        )),
        None => {}
    }
    lines
}

fn shelf(purchase: &Purchase) -> Vec<[String; 4]> {
    purchase
        .from_stock
        .iter()
        .map(|lot| [one_line(&lot.lot), one_line(&lot.shade), millimetres(lot.length_mm.length()), lot.pieces.to_string()])
        .collect()
}

fn buy_notes(purchase: &Purchase) -> Vec<String> {
    let amount = |minor, currency: Currency| Money::minor(minor, currency).to_string();
    let mut notes = Vec::new();
    if !purchase.buy.is_empty() {
        notes.push(format!(
            "The packs cost {}, shipping {}: {} together.",
            amount(purchase.goods_minor, purchase.currency),
            amount(purchase.shipping_minor, purchase.currency),
            amount(purchase.cost_minor, purchase.currency)
        ));
        notes.push(if purchase.proved_least {
            "No cheaper choice of these packs meets the need.".to_owned()
        } else {
            "The cheapest choice found; a cheaper one was not ruled out.".to_owned()
        });
    }
    notes.extend(purchase.left_over.iter().map(|left| {
        format!(
            "Left over: {} of {}, {}.",
            counted(left.pieces as usize, "piece", "pieces"),
            one_line(&left.shade),
            millimetres(left.length_mm.length())
        )
    }));
    notes
}
