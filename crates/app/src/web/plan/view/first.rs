//! The first screen of a plan: the verdict in one line with one line why, three
//! numbers, what is marked, and what stops it short.

use super::map::cautions_in_words;
use super::words::{without, without_fact};
use craft::placement::{HeadPart, WORTH_SHORT};
use craft::suitability::Effect;
use measure::Money;
use measure::text::{capital, counted, minutes, number, sentence, word_for};
use salon::plan::Plan;

/// What stands first.
pub struct FirstView {
    /// The verdict, in one line.
    pub headline: String,
    /// Why, in one line.
    pub why: String,
    /// The three numbers.
    pub figures: Vec<Figure>,
    /// What is marked, counted, each with the name of its mark.
    pub cautions: Vec<(&'static str, String)>,
    /// Whether the plan stops short, so that there are ways on to look for.
    pub short: bool,
}

/// One of the three numbers.
pub struct Figure {
    /// The number.
    pub value: String,
    /// What it counts, beside it; nothing where it is an amount of money.
    pub unit: &'static str,
    /// What to know of it, line by line.
    pub says: Vec<String>,
}

/// The first screen of a plan.
pub fn first(plan: &Plan) -> FirstView {
    let placed = plan.verdict.verdict.allows_a_plan() && !plan.sites.is_empty();
    FirstView {
        headline: headline(plan, placed),
        why: why(plan, placed),
        figures: if placed { figures(plan) } else { Vec::new() },
        cautions: if placed { cautions_in_words(plan) } else { Vec::new() },
        short: plan.verdict.verdict.allows_a_plan() && salon::make::stops_short(plan),
    }
}

/// Less than this is as wished, g: the page shows whole grams.
const AS_WISHED: f64 = 1.0;

fn headline(plan: &Plan, placed: bool) -> String {
    let words = capital(plan.verdict.verdict.words());
    if !plan.verdict.verdict.allows_a_plan() {
        return format!("{words}.");
    }
    if !placed {
        return format!("{words}, but nothing can be placed.");
    }
    let quantity = &plan.quantity;
    let (added, wished) = (number(quantity.added.to_g(), 0), number(quantity.wished.to_g(), 0));
    if quantity.wished.to_g() - quantity.added.to_g() >= AS_WISHED {
        format!("{words}: {added} g of the {wished} g she wished.")
    } else {
        format!("{words}: all of the {wished} g she wished.")
    }
}

fn why(plan: &Plan, placed: bool) -> String {
    let judged = &plan.verdict;
    if !judged.verdict.allows_a_plan() {
        return sentence(without(&judged.says, judged.verdict.words()));
    }
    let limits: Vec<String> =
        judged.rules_met.iter().filter(|met| met.effect == Effect::Limit).map(|met| sentence(&without_fact(&met.says))).collect();
    let mut said = match limits.as_slice() {
        [] => sentence(without(&judged.says, judged.verdict.words())),
        [one] => one.clone(),
        [first, rest @ ..] => format!("{first} {} more below.", counted(rest.len(), "limit", "limits")),
    };
    if let (true, Some(short)) = (placed, plan.faults.iter().find(|fault| fault.rule == WORTH_SHORT.id)) {
        let cause = short.cure.split_inclusive(". ").next().unwrap_or(&short.cure);
        said = if limits.is_empty() { sentence(cause) } else { format!("{said} {}", sentence(cause)) };
    }
    said
}

fn figures(plan: &Plan) -> Vec<Figure> {
    let quantity = &plan.quantity;
    let mut figures = vec![
        Figure {
            value: number(quantity.added.to_g(), 0),
            unit: "g",
            says: vec![
                format!("added; wish {} g,", number(quantity.wished.to_g(), 0)),
                format!("{} to {}", number(quantity.wished_low.to_g(), 0), number(quantity.wished_high.to_g(), 0)),
            ],
        },
        Figure {
            value: quantity.pieces.to_string(),
            unit: word_for(&quantity.pieces, "piece", "pieces"),
            says: vec![format!("{},", counted(quantity.sandwiches as usize, "sandwich", "sandwiches")), rows_in_words(plan)],
        },
    ];
    let retape = plan.retape.as_ref().map(|retape| format!("re-tape on day {} ({} to {})", retape.due, retape.window[0], retape.window[1]));
    match &plan.quote {
        Some(quote) => figures.push(Figure {
            value: quote.total().to_string(),
            unit: "",
            says: [
                Some(format!("{} a week of wear,", Money::minor(quote.per_week_minor, quote.currency))),
                Some(minutes(quote.minutes)),
                retape,
            ]
            .into_iter()
            .flatten()
            .collect(),
        }),
        None => figures.extend(plan.retape.as_ref().map(|retape| Figure {
            value: retape.due.to_string(),
            unit: "days",
            says: vec![format!("to the re-tape ({} to {})", retape.window[0], retape.window[1])],
        })),
    }
    figures
}

fn rows_in_words(plan: &Plan) -> String {
    let side = |part: Option<HeadPart>| matches!(part, Some(HeadPart::Left | HeadPart::Right));
    let sides = plan.rows.iter().filter(|row| side(row.section)).count();
    let rows = counted(plan.rows.len() - sides, "row", "rows");
    if sides > 0 { format!("{rows} and the sides") } else { rows }
}
