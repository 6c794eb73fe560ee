//! Money against exact rational arithmetic (the crate num-rational, whose numbers have
//! no end), and against a plain model that keeps every invoice for ever.

use measure::Currency;
use num_bigint::BigInt;
use num_rational::BigRational;
use proptest::prelude::*;
use salon::Fault;
use salon::book::money::HELD_DAYS;
use salon::book::{
    Asked, ClientId, Day, InvoiceLine, MoneyBook, MoneyEvent, PaidBy, Percent, Stood, Tax, VisitId, VisitKind, decide_invoice,
    decide_returned, decide_taken, lines_of_visit,
};
use salon::quote::{QuoteCase, quote};
use std::collections::BTreeMap;

fn whole(number: impl Into<BigInt>) -> BigRational {
    BigRational::from_integer(number.into())
}

/// A percent as it is written: thousandths of it.
fn share(thousandths: u32) -> BigRational {
    BigRational::new(thousandths.into(), 100_000.into())
}

/// Of two whole numbers the nearer, of two as near the upper; by what the words say.
fn half_up(value: &BigRational) -> BigInt {
    let below = value.floor();
    let over = value - &below;
    if over >= BigRational::new(1.into(), 2.into()) { (below + whole(1)).to_integer() } else { below.to_integer() }
}

fn day(text: &str) -> Day {
    text.parse().unwrap()
}

fn stood(version: u64, on: Day) -> Stood {
    Stood { version, at_ms: 0, on, minute: None }
}

fn asked(visit: u128, lines: &[i64], tax: Tax) -> Asked {
    Asked {
        client: ClientId(1),
        visit: VisitId(visit),
        visited: day("2026-03-02"),
        name: "Ada Example".into(),
        currency: Currency::new("EUR").unwrap(),
        lines: lines.iter().map(|minor| InvoiceLine { what: "hair".into(), minor: *minor }).collect(),
        tax,
        deposit: None,
        due: None,
    }
}

fn tax(thousandths: u32, included: bool) -> Tax {
    Tax { percent: Percent::of_thousandths(thousandths).unwrap(), included }
}

fn rules(faults: Vec<Fault>) -> Vec<String> {
    faults.into_iter().map(|fault| fault.rule).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(4_000))]

    /// Tax on top, tax within, and a deposit: each the exact share, rounded once, half up.
    #[test]
    fn tax_is_the_exact_share_rounded_half_up(
        minor in prop_oneof![0_i64..1000, 0_i64..10_000_000, 0..=i64::MAX],
        thousandths in prop_oneof![0_u32..=100_000, Just(20_000_u32), Just(5_500), Just(8_875), Just(100_000)],
    ) {
        let percent = Percent::of_thousandths(thousandths).unwrap();
        let (sum, rate) = (whole(minor), share(thousandths));
        prop_assert_eq!(percent.of_sum(minor).map(BigInt::from), Some(half_up(&(&sum * &rate))));
        let within = &sum * &rate / (whole(1) + &rate);
        prop_assert_eq!(percent.within_sum(minor).map(BigInt::from), Some(half_up(&within)));
        let on_top = Tax { percent, included: false }.of_lines(minor);
        let total: BigInt = BigInt::from(minor) + half_up(&(sum * rate));
        match on_top {
            Some((paid, tax)) => {
                prop_assert_eq!(BigInt::from(paid), total);
                prop_assert_eq!(paid - tax, minor);
            }
            None => prop_assert!(total > BigInt::from(i64::MAX), "{} has room", total),
        }
        let (paid, tax) = Tax { percent, included: true }.of_lines(minor).unwrap();
        prop_assert!(paid == minor && (0..=minor).contains(&tax));
    }

    /// A percent is the decimal that was written, whatever a double makes of it.
    #[test]
    fn a_percent_is_what_was_written(thousandths in 0_u32..=100_000) {
        let written = format!("{}.{:03}", thousandths / 1000, thousandths % 1000);
        prop_assert_eq!(Percent::of(written.parse().unwrap()).map(Percent::thousandths), Some(thousandths));
        let kept = serde_json::to_string(&Percent::of_thousandths(thousandths).unwrap()).unwrap();
        prop_assert_eq!(serde_json::from_str::<Percent>(&kept).unwrap().thousandths(), thousandths);
        prop_assert_eq!(Percent::of(f64::from(thousandths) / 1000.0 + 0.0004), None, "finer than three decimals");
    }
}

#[test]
fn halves_go_up_and_what_is_no_share_is_refused() {
    // By hand: 2.5 % of 1.00 is 0.025, of 3.00 is 0.075; of 1.02 with 2 % within it is 0.02 exactly.
    let rate = Percent::of(2.5).unwrap();
    assert_eq!((rate.of_sum(100), rate.of_sum(300)), (Some(3), Some(8)));
    assert_eq!(Percent::of(2.0).unwrap().within_sum(102), Some(2));
    for wrong in [-0.001, 100.001, f64::NAN, f64::INFINITY, 19.6001, 1e300] {
        assert_eq!(Percent::of(wrong), None, "{wrong}");
    }
    assert_eq!(Percent::of(20.0).unwrap().of_sum(-1), None);
    assert_eq!(tax(20_000, false).of_lines(i64::MAX), None);
}

#[test]
fn any_currency_counts_in_its_own_smallest_unit() {
    // Yen have no smaller unit, dinars of Kuwait three places: the sums are whole units of either.
    for (code, minor, written) in [("JPY", 1101, "1101 JPY"), ("KWD", 1101, "1.101 KWD"), ("EUR", 1101, "11.01 EUR")] {
        let case = Asked { currency: Currency::new(code).unwrap(), ..asked(1, &[1001], tax(10_000, false)) };
        let made = decide_invoice(&MoneyBook::default(), case, day("2026-03-02")).unwrap();
        assert_eq!((made.total_minor, made.tax_minor), (minor, 100));
        assert_eq!(measure::Money::minor(made.total_minor, made.currency).to_string(), written);
    }
}

#[test]
fn what_is_wrong_with_an_invoice_is_said_and_nothing_wraps() {
    let book = MoneyBook::default();
    let on = day("2026-03-02");
    let made = |case: Asked| decide_invoice(&book, case, on).map_err(rules);
    assert!(made(asked(1, &[1], tax(0, true))).is_ok());
    for (lines, why) in [
        (&[][..], "nothing"),
        (&[0, 0], "nothing"),
        (&[-5, 10], "less"),
        (&[i64::MAX, 1], "sum"),
        (&[i64::MAX, i64::MAX, 3], "round"),
        (&[i64::MAX], "tax"),
    ] {
        assert_eq!(made(asked(1, lines, tax(20_000, false))).unwrap_err(), ["sums"], "{why}");
    }
    let later = Asked { visited: day("2026-03-03"), due: Some(day("2026-03-01")), ..asked(1, &[5], tax(0, true)) };
    assert_eq!(made(later).unwrap_err(), ["invoice-day", "invoice-day"], "all at once");
    let due = Asked { due: Some(on), deposit: Percent::of(30.0), ..asked(1, &[125], tax(0, true)) };
    assert_eq!(made(due).unwrap().deposit_minor, Some(38), "30 % of 1.25 is 0.375");
    let mut full = MoneyBook::default();
    let mut last = made(asked(9, &[5], tax(0, true))).unwrap();
    last.invoice = u64::MAX;
    full.apply(MoneyEvent::InvoiceMade(Box::new(last)), stood(1, on));
    assert!(decide_invoice(&full, asked(1, &[5], tax(0, true)), on).is_err(), "numbers do not begin again");
}

#[test]
fn a_visit_is_charged_by_the_quote_of_its_plan() {
    let eur = |minor| measure::Money::minor(minor, Currency::new("EUR").unwrap());
    let case = QuoteCase {
        currency: eur(0).currency,
        hour: Some(eur(6000)),
        tape_tab: Some(eur(35)),
        hair: None,
        sandwiches: 20,
        pieces: 40,
        again: 0,
        worn: 49,
        budget: None,
    };
    let book = measure::RuleBook::standard();
    // 38 of her 40 pieces go back: 185.00 of the 199.00 are time, and 38 tabs at 0.35 are 13.30.
    let again = quote(&QuoteCase { again: 38, ..case }, &book);
    let lines = lines_of_visit(VisitKind::Retape, &again).unwrap();
    assert_eq!(lines.iter().map(|line| line.minor).collect::<Vec<_>>(), [18_500, 1_330]);
    let quote = quote(&case, &book);
    let sum = |kind| lines_of_visit(kind, &quote).map(|lines| lines.iter().map(|line| line.minor).sum::<i64>());
    // By hand in the quote's own test: 125.00 for the set, 199.00 for a re-tape.
    assert_eq!((sum(VisitKind::Application), sum(VisitKind::Retape)), (Some(12_500), Some(19_900)));
    assert_eq!(sum(VisitKind::Consultation), None);
}

/// One step of a salon's money.
#[derive(Debug, Clone)]
enum Step {
    Invoice(u8, i64),
    Take(u8, i64),
    Return(u8, i64),
    /// So many days go by; back, where it is less than nothing.
    Days(i16),
}

fn step() -> impl Strategy<Value = Step> {
    let sum = prop_oneof![-2_i64..400, Just(0)];
    prop_oneof![
        (0_u8..40, 1_i64..400).prop_map(|(visit, minor)| Step::Invoice(visit, minor)),
        (0_u8..12, sum.clone()).prop_map(|(number, minor)| Step::Take(number, minor)),
        (0_u8..12, sum.clone()).prop_map(|(number, minor)| Step::Return(number, minor)),
        (0_u8..12, Just(i64::MIN)).prop_map(|(number, minor)| Step::Take(number, minor)),
        (-30_i16..300).prop_map(Step::Days),
    ]
}

/// What a plain model keeps of an invoice: its visit, what it says, what was paid.
type Plain = Vec<(u8, i64, i64)>;

/// A book that holds what is asked of: the one in force, or all events read again.
fn holding(book: &MoneyBook, events: &[(MoneyEvent, Stood)], held: bool) -> MoneyBook {
    if held {
        return book.clone();
    }
    let mut whole = MoneyBook::whole();
    events.iter().for_each(|(event, stood)| whole.apply(event.clone(), *stood));
    whole
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1_000))]

    /// The bounded book says yes and no as a model that forgets nothing.
    #[test]
    fn the_bounded_book_decides_as_one_that_forgets_nothing(steps in prop::collection::vec(step(), 1..120)) {
        let (mut book, mut events, mut plain) = (MoneyBook::default(), Vec::new(), Plain::new());
        let (start, mut visits) = (day("2026-01-01"), BTreeMap::<u8, Day>::new());
        let mut on = start;
        for step in steps {
            let (decided, expected) = match step {
                Step::Days(days) => {
                    let so_far = on.days_since(start) + i64::from(days);
                    on = start.later_by(so_far.max(0) as u32).unwrap();
                    continue;
                }
                Step::Invoice(visit, minor) => {
                    // A visit keeps its day, however late its invoice is asked for.
                    let visited = *visits.entry(visit).or_insert(on);
                    let book = holding(&book, &events, book.holds_visits_of(visited));
                    let case = Asked { visited, ..asked(visit.into(), &[minor], tax(0, true)) };
                    let made = decide_invoice(&book, case, on).map(|made| MoneyEvent::InvoiceMade(Box::new(made)));
                    let free = visited <= on && plain.iter().all(|(taken, ..)| *taken != visit);
                    if free {
                        plain.push((visit, minor, 0));
                    }
                    (made, free)
                }
                Step::Take(number, minor) => {
                    let held = plain.get_mut(usize::from(number).wrapping_sub(1));
                    let fits = held.filter(|held| minor > 0 && minor <= held.1 - held.2).map(|held| held.2 += minor).is_some();
                    (decide_taken(&book, number.into(), minor, PaidBy::Cash), fits)
                }
                Step::Return(number, minor) => {
                    let book = holding(&book, &events, !book.has_let_go(number.into()));
                    let held = plain.get_mut(usize::from(number).wrapping_sub(1));
                    let fits = held.filter(|held| minor > 0 && minor <= held.2).map(|held| held.2 -= minor).is_some();
                    (decide_returned(&book, number.into(), minor, PaidBy::Card), fits)
                }
            };
            prop_assert_eq!(decided.is_ok(), expected, "{:?}", decided);
            if let Ok(event) = decided {
                let stood = stood(events.len() as u64 + 1, on);
                book.apply(event.clone(), stood);
                events.push((event, stood));
            }
            prop_assert_eq!(book.made, plain.len() as u64, "no gap");
            for (number, (_, total, paid)) in (1..).zip(&plain) {
                match book.invoices.get(&number) {
                    Some(held) => prop_assert_eq!((held.total_minor, held.paid_minor), (*total, *paid)),
                    None => prop_assert_eq!(total, paid, "only what is settled is let go"),
                }
            }
        }
        // Bounded: nothing settled is held that nobody touched for so long before the newest day.
        let stale = |held: &salon::book::Invoice| held.owed_minor() == 0 && book.latest.is_some_and(|on| on.days_since(held.touched) > HELD_DAYS + 30);
        prop_assert!(!book.invoices.values().any(stale));
    }
}

#[test]
fn what_was_paid_two_years_ago_can_still_be_given_back_once() {
    let mut book = MoneyBook::default();
    let mut events: Vec<(MoneyEvent, Stood)> = Vec::new();
    let mut put = |book: &mut MoneyBook, event: MoneyEvent, on: &str| {
        let stood = stood(events.len() as u64 + 1, day(on));
        book.apply(event.clone(), stood);
        events.push((event, stood));
        events.clone()
    };
    let first = decide_invoice(&book, asked(1, &[900], tax(0, true)), day("2026-03-02")).unwrap();
    put(&mut book, MoneyEvent::InvoiceMade(Box::new(first)), "2026-03-02");
    let paid = decide_taken(&book, 1, 900, PaidBy::Cash).unwrap();
    put(&mut book, paid, "2026-03-02");
    let second = decide_invoice(&book, asked(2, &[100], tax(0, true)), day("2028-03-02")).unwrap();
    let events = put(&mut book, MoneyEvent::InvoiceMade(Box::new(second)), "2028-03-02");
    assert!(book.has_let_go(1) && book.let_go_of.contains(&ClientId(1)));
    assert_eq!(rules(decide_taken(&book, 1, 1, PaidBy::Cash).unwrap_err()), ["owed"]);
    assert!(!book.holds_visits_of(day("2026-03-02")) && book.holds_visits_of(day("2027-03-02")));
    let whole = holding(&book, &events, false);
    assert_eq!(rules(decide_invoice(&whole, asked(1, &[900], tax(0, true)), day("2028-03-02")).unwrap_err()), ["one-invoice"]);
    assert_eq!(rules(decide_returned(&whole, 1, 901, PaidBy::Card).unwrap_err()), ["paid"]);
    let back = decide_returned(&whole, 1, 400, PaidBy::Card).unwrap();
    book.apply(back, stood(4, day("2028-03-03")));
    assert_eq!(book.invoices.get(&1).map(|invoice| (invoice.owed_minor(), invoice.paid_minor)), Some((400, 500)));
    assert_eq!(rules(decide_returned(&book, 1, 501, PaidBy::Card).unwrap_err()), ["paid"]);
    assert!(decide_taken(&book, 1, 400, PaidBy::Card).is_ok());
    for (number, minor, rule) in [(3, 5, "unknown"), (0, 5, "unknown"), (2, 0, "sums"), (2, -5, "sums"), (2, 101, "owed")] {
        assert_eq!(rules(decide_taken(&book, number, minor, PaidBy::Cash).unwrap_err()), [rule]);
    }
    assert_eq!(rules(decide_returned(&book, 7, 5, PaidBy::Cash).unwrap_err()), ["unknown"]);
}
