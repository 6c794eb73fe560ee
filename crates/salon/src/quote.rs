//! The quote: hair, time and consumables, the price over the hair's life, and
//! what the budget reaches.

use crate::stock::{Order, Purchase};
use crate::words::Message;
use craft::pace;
use measure::text::number;
use measure::{Currency, Days, Money, RuleBook};
use serde::{Deserialize, Serialize};

/// A quote in whole minor units of one currency.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Quote {
    /// The currency of every amount.
    pub currency: Currency,
    /// What this visit costs, line by line: her first, or a re-tape where pieces of hers go back in.
    pub lines: Vec<QuoteLine>,
    /// What this visit costs together.
    pub total_minor: i64,
    /// How long this visit takes.
    pub minutes: u32,
    /// Whole pieces of her own that go back in: above none, this visit is a re-tape.
    #[serde(default, skip_serializing_if = "is_none")]
    pub again_pieces: u32,
    /// What one re-tape costs.
    pub retape_minor: i64,
    /// Weeks that the hair is worn, re-tapes between.
    pub weeks_of_wear: u32,
    /// Everything over the hair's life, by the week, rounded up.
    pub per_week_minor: i64,
    /// What she wants to spend at most.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub budget_minor: Option<i64>,
    /// What is missing to the budget.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub short_minor: Option<i64>,
    /// Sandwiches that the budget reaches, where it does not reach all.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sandwiches_within_budget: Option<u32>,
    /// What the quote rests on, in plain words.
    pub rests_on: Vec<String>,
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "serde asks by reference")]
const fn is_none(count: &u32) -> bool {
    *count == 0
}

impl Quote {
    /// This whole visit as money.
    #[must_use]
    pub fn total(&self) -> Money {
        Money::minor(self.total_minor, self.currency)
    }
}

/// One line of a quote.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct QuoteLine {
    /// What for.
    pub what: String,
    /// How it comes about.
    pub detail: String,
    /// How much.
    pub amount_minor: i64,
}

/// What a quote is made from.
#[derive(Debug, Clone, Copy)]
pub struct QuoteCase<'a> {
    /// The currency.
    pub currency: Currency,
    /// One hour of work; nothing leaves the time out.
    pub hour: Option<Money>,
    /// One new tape tab; nothing leaves the tabs out.
    pub tape_tab: Option<Money>,
    /// What is bought, and from what choice.
    pub hair: Option<(&'a Purchase, &'a Order)>,
    /// Sandwiches.
    pub sandwiches: u32,
    /// Pieces in them.
    pub pieces: u32,
    /// Whole pieces of hers among them, which are taped anew and go back in.
    pub again: u32,
    /// Days from one re-tape to the next.
    pub worn: u32,
    /// The most she wants to spend.
    pub budget: Option<Money>,
}

/// The quote of a set.
#[must_use]
pub fn quote(case: &QuoteCase, book: &RuleBook) -> Quote {
    let mut lines = Vec::new();
    let mut rests_on = Vec::new();
    let hair = hair_lines(case, &mut lines, &mut rests_on);
    let again = whole_minutes(pace::retape_visit(case.sandwiches, book));
    let this = whole_minutes(visit(case, case.sandwiches, book));
    let time = |minutes: f64| case.hour.map_or(0, |hour| hour.scaled_rounding_half_up(minutes / 60.0).minor);
    if case.hour.is_some() {
        lines.push(QuoteLine {
            what: Message::QuoteTime.to_string(),
            detail: Message::QuoteTimeDetail { minutes: number(this, 0), sandwiches: case.sandwiches }.to_string(),
            amount_minor: time(this),
        });
    } else {
        rests_on.push(Message::TimeNotQuoted.to_string());
    }
    let tabs_of = |pieces: u32| case.tape_tab.and_then(|tab| tab.times(i64::from(pieces))).map_or(0, |money| money.minor);
    if case.again > 0 && case.tape_tab.is_some() {
        lines.push(QuoteLine {
            what: Message::QuoteTabs.to_string(),
            detail: Message::QuoteTabsDetail { pieces: case.again }.to_string(),
            amount_minor: tabs_of(case.again),
        });
    }
    let tabs = tabs_of(case.pieces);
    let total_minor = lines.iter().fold(0_i64, |sum, line| sum.saturating_add(line.amount_minor));
    let retape_minor = time(again).saturating_add(tabs);
    // Hair that was worn before is reckoned to its next re-tape and no farther: how long it lasts is seen then.
    let wears = if case.again > 0 { 1 } else { pace::wears(book).max(1) };
    let weeks = (wears * case.worn / 7).max(1);
    let life = total_minor.saturating_add(retape_minor.saturating_mul(i64::from(wears - 1)));
    let worn = match case.again {
        0 => Message::HairWorn {
            times: wears.to_string(),
            days: case.worn.to_string(),
            retapes: wears - 1,
            each: Money::minor(retape_minor, case.currency).to_string(),
        },
        _ => Message::RetapeServes { days: case.worn },
    };
    rests_on.push(worn.to_string());
    let budget_minor = case.budget.filter(|b| b.currency == case.currency).map(|b| b.minor);
    let short_minor = budget_minor.map(|b| total_minor.saturating_sub(b)).filter(|short| *short > 0);
    let reaches = short_minor.and(budget_minor).map(|budget| within(budget, hair.saturating_add(tabs_of(case.again)), case, &time, book));
    Quote {
        currency: case.currency,
        lines,
        total_minor,
        minutes: this as u32,
        again_pieces: case.again,
        retape_minor,
        weeks_of_wear: weeks,
        per_week_minor: Money::minor(life, case.currency).divided_rounding_up(i64::from(weeks)).minor,
        budget_minor,
        short_minor,
        sandwiches_within_budget: reaches,
        rests_on,
    }
}

/// A span as it is quoted.
fn whole_minutes(span: Days) -> f64 {
    (span.to_days() * 24.0 * 60.0).round()
}

/// How long the visit takes with so many sandwiches: a re-tape, where pieces of hers go back in.
fn visit(case: &QuoteCase, sandwiches: u32, book: &RuleBook) -> Days {
    if case.again > 0 { pace::retape_visit(sandwiches, book) } else { pace::first_visit(sandwiches, book) }
}

/// Adds what the hair costs; returns it.
fn hair_lines(case: &QuoteCase, lines: &mut Vec<QuoteLine>, rests_on: &mut Vec<String>) -> i64 {
    let Some((purchase, order)) = case.hair else {
        rests_on.push(Message::HairNotQuoted.to_string());
        return 0;
    };
    let bought: u32 = purchase.buy.iter().map(|bought| bought.packs).sum();
    if bought > 0 {
        lines.push(QuoteLine {
            what: Message::QuoteOrdered.to_string(),
            detail: Message::QuoteOrderedDetail { packs: bought }.to_string(),
            amount_minor: purchase.goods_minor,
        });
    }
    if purchase.shipping_minor > 0 {
        lines.push(QuoteLine { what: Message::QuoteShipping.to_string(), detail: String::new(), amount_minor: purchase.shipping_minor });
    }
    let (mut shelf, mut unpriced, mut taken) = (0_i64, 0_u32, 0_u32);
    for lot in &purchase.from_stock {
        taken += lot.pieces;
        let each = order
            .packs
            .iter()
            .filter(|pack| pack.shade == lot.shade && pack.length_mm == lot.length_mm && pack.pieces > 0)
            .map(|pack| pack.price_minor as f64 / f64::from(pack.pieces))
            .min_by(f64::total_cmp);
        match each {
            Some(each) => shelf = shelf.saturating_add((each * f64::from(lot.pieces)).round() as i64),
            None => unpriced += lot.pieces,
        }
    }
    if taken > 0 {
        let detail = Message::QuoteShelfDetail { pieces: taken }.to_string();
        lines.push(QuoteLine { what: Message::QuoteShelf.to_string(), detail, amount_minor: shelf });
    }
    if unpriced > 0 {
        rests_on.push(Message::ShelfUnpriced { pieces: unpriced }.to_string());
    }
    purchase.cost_minor.saturating_add(shelf)
}

/// Sandwiches that a budget reaches when hair (with the tape of her own) and placing shrink with their number.
fn within(budget: i64, hair: i64, case: &QuoteCase, time: &impl Fn(f64) -> i64, book: &RuleBook) -> u32 {
    let cost = |n: u32| {
        let share = f64::from(n) / f64::from(case.sandwiches.max(1));
        let minutes = whole_minutes(visit(case, n, book));
        (hair as f64 * share).round() as i64 + time(minutes)
    };
    (0..case.sandwiches).rev().find(|&n| cost(n) <= budget).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn eur(minor: i64) -> Money {
        Money::minor(minor, Currency::new("EUR").unwrap())
    }

    fn case(sandwiches: u32, budget: Option<i64>) -> QuoteCase<'static> {
        QuoteCase {
            currency: eur(0).currency,
            hour: Some(eur(6000)),
            tape_tab: Some(eur(35)),
            hair: None,
            sandwiches,
            pieces: 2 * sandwiches,
            again: 0,
            worn: 49,
            budget: budget.map(eur),
        }
    }

    /// Arithmetic by hand: 45 + 20 x 2.5 + 30 = 125 minutes at 60.00 an hour is 125.00; a re-tape
    /// takes 60 minutes more and 40 tabs at 0.35; four wears of 49 days are 28 weeks.
    #[test]
    fn the_sums_are_those_done_by_hand() {
        let q = quote(&case(20, None), &RuleBook::standard());
        assert_eq!((q.total_minor, q.minutes), (12_500, 125));
        assert_eq!(q.retape_minor, 18_500 + 1_400);
        assert_eq!(q.weeks_of_wear, 28);
        assert_eq!(q.per_week_minor, (12_500 + 3 * 19_900 + 27) / 28);
    }

    #[test]
    fn a_budget_that_reaches_says_nothing_and_one_that_does_not_says_what_it_reaches() {
        let book = RuleBook::standard();
        let enough = quote(&case(20, Some(12_500)), &book);
        assert_eq!((enough.short_minor, enough.sandwiches_within_budget), (None, None));
        let short = quote(&case(20, Some(12_499)), &book);
        assert_eq!((short.short_minor, short.sandwiches_within_budget), (Some(1), Some(19)));
        assert_eq!(quote(&case(20, Some(10)), &book).sandwiches_within_budget, Some(0));
        // At a re-tape the new tape shrinks with the sandwiches too: what 19 cost together reaches 19, a cent less 18.
        let again = |sandwiches, budget| QuoteCase { again: 2 * sandwiches, ..case(sandwiches, budget) };
        let nineteen = quote(&again(19, None), &book).total_minor;
        for (budget, reached) in [(nineteen, 19), (nineteen - 1, 18)] {
            assert_eq!(quote(&again(20, Some(budget)), &book).sandwiches_within_budget, Some(reached));
        }
    }

    #[test]
    fn a_budget_in_another_currency_is_not_compared() {
        let mut c = case(20, None);
        c.budget = Some(Money::minor(1, Currency::new("GBP").unwrap()));
        assert_eq!(quote(&c, &RuleBook::standard()).short_minor, None);
    }
}
