//! The day book: invoices and payments of a span of days; and whether the money holds
//! what it promises.

use crate::{DeskFault, Salon};
use measure::Currency;
use salon::Fault;
use salon::book::{Day, MoneyEvent, PaidBy, Stood, VisitId};
use salon::words::Message;
use serde_json::{Map, Value, json};
use std::collections::{BTreeMap, BTreeSet};
use store::book::Stream;

/// The keys of a currency's sums: what was invoiced, the tax within, what was paid and given back.
const SUMS: [&str; 7] = ["total_minor", "tax_minor", "taken_minor", "returned_minor", "cash_minor", "card_minor", "transfer_minor"];
const TOTAL: usize = 0;
const TAX: usize = 1;
const TAKEN: usize = 2;
const RETURNED: usize = 3;
const CASH: usize = 4;
const CARD: usize = 5;
const TRANSFER: usize = 6;

/// The sums of one currency.
type Sums = [i64; SUMS.len()];

/// What a span of days adds up to while events are read.
struct Adding {
    from: Day,
    to: Day,
    invoices: Vec<Value>,
    payments: Vec<Value>,
    currencies: BTreeMap<u64, Currency>,
    /// In the order in which the currencies came.
    sums: Vec<(Currency, Sums)>,
    fits: bool,
}

impl Adding {
    fn add(&mut self, currency: Currency, which: usize, minor: i64) {
        let at = self.sums.iter().position(|(known, _)| *known == currency).unwrap_or_else(|| {
            self.sums.push((currency, [0; SUMS.len()]));
            self.sums.len() - 1
        });
        match self.sums[at].1[which].checked_add(minor) {
            Some(sum) => self.sums[at].1[which] = sum,
            None => self.fits = false,
        }
    }

    fn payment(&mut self, stood: Stood, number: u64, (minor, by): (i64, PaidBy), taken: bool) {
        let Some(currency) = self.currencies.get(&number).copied().filter(|_| self.is_within(stood)) else { return };
        self.payments.push(json!({
            "invoice": number, "on": stood.on, "minor": minor, "by": by, "kind": if taken { "taken" } else { "returned" },
            "currency": currency,
        }));
        self.add(currency, if taken { TAKEN } else { RETURNED }, minor);
        let way = match by {
            PaidBy::Cash => CASH,
            PaidBy::Card => CARD,
            PaidBy::Transfer => TRANSFER,
        };
        self.add(currency, way, if taken { minor } else { -minor });
    }

    fn is_within(&self, stood: Stood) -> bool {
        (self.from..=self.to).contains(&stood.on)
    }

    fn put(&mut self, event: MoneyEvent, stood: Stood) {
        match event {
            MoneyEvent::InvoiceMade(made) => {
                self.currencies.insert(made.invoice, made.currency);
                if self.is_within(stood) {
                    self.invoices.push(json!({
                        "invoice": made.invoice, "on": stood.on, "total_minor": made.total_minor, "tax_minor": made.tax_minor,
                        "currency": made.currency, "name": made.name,
                    }));
                    self.add(made.currency, TOTAL, made.total_minor);
                    self.add(made.currency, TAX, made.tax_minor);
                }
            }
            MoneyEvent::PaymentTaken { invoice, minor, by } => self.payment(stood, invoice, (minor, by), true),
            MoneyEvent::PaymentReturned { invoice, minor, by, .. } => self.payment(stood, invoice, (minor, by), false),
        }
    }
}

fn told(currency: Option<Currency>, sums: &Sums) -> Map<String, Value> {
    let mut told = Map::new();
    told.insert("currency".to_owned(), json!(currency));
    told.extend(SUMS.iter().zip(sums).map(|(key, sum)| ((*key).to_owned(), json!(sum))));
    told
}

impl Salon {
    /// Invoices and payments from a day to a day, both included, with their sums: those
    /// of the house's currency first, and of others where there are any.
    ///
    /// *Errors*: the last day is before the first; sums beyond all sums; the records.
    pub async fn show_day_book(&self, from: Day, to: Day) -> Result<Value, DeskFault> {
        if to < from {
            return Err(DeskFault::Refused(vec![Fault::of(&Message::SpanBackwards, "to", "days")]));
        }
        let mut adding = Adding { from, to, invoices: vec![], payments: vec![], currencies: BTreeMap::new(), sums: Vec::new(), fits: true };
        self.each(Stream::Money, |event, stood| adding.put(event, stood)).await?;
        if !adding.fits {
            return Err(DeskFault::Refused(vec![Fault::of(&Message::CostBeyondSums, "day book", "sums")]));
        }
        let own = self.house_book().await?.house.0.currency();
        // Without any money the sums are nothing, in the house's currency.
        let at = adding.sums.iter().position(|(currency, _)| Some(*currency) == own).or((!adding.sums.is_empty()).then_some(0));
        let (currency, sums) = at.map_or((own, [0; SUMS.len()]), |at| {
            let (currency, sums) = adding.sums.remove(at);
            (Some(currency), sums)
        });
        let mut totals = told(currency, &sums);
        if !adding.sums.is_empty() {
            let others: Vec<Value> = adding.sums.iter().map(|(currency, sums)| Value::Object(told(Some(*currency), sums))).collect();
            totals.insert("in_other_currencies".to_owned(), Value::Array(others));
        }
        Ok(json!({"invoices": adding.invoices, "payments": adding.payments, "totals": totals}))
    }

    /// What the money promises, reckoned from its events alone.
    pub(crate) async fn money_checks(&self) -> Result<Vec<(&'static str, bool)>, DeskFault> {
        #[derive(Default)]
        struct Held {
            total: i128,
            taken: i128,
            returned: i128,
        }
        let mut all: Vec<Held> = Vec::new();
        let mut visits: BTreeSet<VisitId> = BTreeSet::new();
        let (mut gapless, mut once, mut summed, mut within) = (true, true, true, true);
        self.each(Stream::Money, |event: MoneyEvent, _| {
            let (number, taken, returned) = match event {
                MoneyEvent::InvoiceMade(made) => {
                    gapless &= made.invoice == all.len() as u64 + 1;
                    once &= visits.insert(made.visit);
                    let lines: i128 = made.lines.iter().map(|line| i128::from(line.minor)).sum();
                    let tax = if made.prices_include_tax { 0 } else { i128::from(made.tax_minor) };
                    summed &= lines + tax == i128::from(made.total_minor) && (0..=made.total_minor).contains(&made.tax_minor);
                    all.push(Held { total: made.total_minor.into(), ..Held::default() });
                    return;
                }
                MoneyEvent::PaymentTaken { invoice, minor, .. } => (invoice, minor, 0),
                MoneyEvent::PaymentReturned { invoice, minor, .. } => (invoice, 0, minor),
            };
            match usize::try_from(number).ok().and_then(|number| all.get_mut(number.checked_sub(1)?)) {
                Some(held) => {
                    held.taken += i128::from(taken);
                    held.returned += i128::from(returned);
                    within &= taken >= 0 && returned >= 0 && held.returned <= held.taken && held.taken - held.returned <= held.total;
                }
                None => within = false,
            }
        })
        .await?;
        let money = self.money_book().await?;
        let same = all.iter().zip(1_u64..).all(|(held, number)| match money.invoices.get(&number) {
            Some(kept) => i128::from(kept.total_minor) == held.total && i128::from(kept.paid_minor) == held.taken - held.returned,
            None => held.taken - held.returned == held.total,
        });
        Ok(vec![
            ("invoice numbers count from one and none is left out", gapless),
            ("no visit has two invoices", once),
            ("every invoice is the sum of its lines and its tax", summed),
            ("no invoice has more paid than is owed, or more given back than was paid", within),
            ("the money book in force says what its events say", same && money.made == all.len() as u64),
        ])
    }
}
