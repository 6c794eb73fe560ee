//! Money: invoices, what was paid on them and what was given back.
//!
//! *Invariants*: invoice numbers count from one and none is left out; one visit has
//! one invoice; of an invoice no more is ever paid than it says, and no more given
//! back than was paid; no sum wraps. What the law keeps (number, day, sums, the name
//! as invoiced) stands here and not with the client, who may be erased.
//!
//! The book in force is bounded: an invoice that is settled is let go [`HELD_DAYS`]
//! after something last happened to it. What is asked of an earlier one is found by
//! reading the events again into [`MoneyBook::whole`], with the same answer.

use super::client::no_such;
use super::day::{Day, Stood};
use super::id::{ClientId, VisitId};
use super::tax::{Percent, Tax};
use super::visit::words::VisitKind;
use crate::Fault;
use crate::quote::Quote;
use crate::words::Message;
use measure::{Currency, Money};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// Days for which a settled invoice is held ready, counted from what last happened to it.
pub const HELD_DAYS: i64 = 400;

/// How money changes hands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PaidBy {
    /// Notes and coins.
    Cash,
    /// A card.
    Card,
    /// From account to account.
    Transfer,
}

/// One line of an invoice.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct InvoiceLine {
    /// What for.
    pub what: String,
    /// How much.
    pub minor: i64,
}

/// An invoice as it was made.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct InvoiceMade {
    /// Its number.
    pub invoice: u64,
    /// Whose.
    pub client: ClientId,
    /// Of which visit.
    pub visit: VisitId,
    /// The name it is made out to.
    pub name: String,
    /// The currency of every sum.
    pub currency: Currency,
    /// What for.
    pub lines: Vec<InvoiceLine>,
    /// What is owed, tax and all.
    pub total_minor: i64,
    /// The tax within that.
    pub tax_minor: i64,
    /// The tax of a hundred.
    pub tax_percent: Percent,
    /// Whether the lines hold the tax already.
    pub prices_include_tax: bool,
    /// What of it is paid ahead, where that was asked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub deposit_minor: Option<i64>,
    /// The day by which it is to be paid, where one was said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub due: Option<Day>,
}

/// One thing that happened to the salon's money.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum MoneyEvent {
    /// An invoice was made.
    InvoiceMade(Box<InvoiceMade>),
    /// Something was paid on an invoice.
    PaymentTaken {
        /// Which.
        invoice: u64,
        /// How much.
        minor: i64,
        /// In what way.
        by: PaidBy,
    },
    /// Something that was paid was given back.
    PaymentReturned {
        /// Of which invoice.
        invoice: u64,
        /// How much.
        minor: i64,
        /// In what way.
        by: PaidBy,
        /// The invoice as it stood before: the book may have let it go long ago, and
        /// now something is owed on it again.
        stood: Invoice,
    },
}

/// An invoice as it stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Invoice {
    /// Whose.
    pub client: ClientId,
    /// Of which visit.
    pub visit: VisitId,
    /// The currency of its sums.
    pub currency: Currency,
    /// What it says, tax and all.
    pub total_minor: i64,
    /// The tax within that.
    pub tax_minor: i64,
    /// What was paid and not given back.
    pub paid_minor: i64,
    /// The last day on which something happened to it.
    pub touched: Day,
}

impl Invoice {
    /// What is still owed.
    #[must_use]
    pub const fn owed_minor(&self) -> i64 {
        self.total_minor.saturating_sub(self.paid_minor)
    }

    /// A sum of it as it is written.
    fn money(&self, minor: i64) -> String {
        Money::minor(minor, self.currency).to_string()
    }
}

/// All that is in force of the salon's money.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct MoneyBook {
    /// The stream's version.
    pub version: u64,
    /// How many invoices were made.
    pub made: u64,
    /// The latest day that any event of it stands on.
    pub latest: Option<Day>,
    /// Invoices by their numbers: those that are not settled, and those settled lately.
    pub invoices: BTreeMap<u64, Invoice>,
    /// Clients of whom an invoice was let go.
    pub let_go_of: BTreeSet<ClientId>,
    /// Whether nothing is ever let go.
    #[serde(skip)]
    whole: bool,
}

impl MoneyBook {
    /// An empty book that lets nothing go: what the events come to from the first on.
    #[must_use]
    pub fn whole() -> Self {
        Self { whole: true, ..Self::default() }
    }

    /// Puts an event in force.
    pub fn apply(&mut self, event: MoneyEvent, stood: Stood) {
        self.version = stood.version;
        match event {
            MoneyEvent::InvoiceMade(made) => {
                self.made = self.made.max(made.invoice);
                let InvoiceMade { client, visit, currency, total_minor, tax_minor, .. } = *made;
                let invoice = Invoice { client, visit, currency, total_minor, tax_minor, paid_minor: 0, touched: stood.on };
                self.invoices.insert(made.invoice, invoice);
            }
            MoneyEvent::PaymentTaken { invoice, minor, .. } => {
                if let Some(held) = self.invoices.get_mut(&invoice) {
                    held.paid_minor = held.paid_minor.saturating_add(minor);
                    held.touched = held.touched.max(stood.on);
                }
            }
            MoneyEvent::PaymentReturned { invoice, minor, stood: before, .. } => {
                let held = self.invoices.entry(invoice).or_insert(before);
                held.paid_minor = held.paid_minor.saturating_sub(minor);
                held.touched = held.touched.max(stood.on);
            }
        }
        // Only a new day lets anything go: otherwise every event would look at every invoice.
        if self.latest.is_none_or(|latest| stood.on > latest) {
            self.latest = Some(stood.on);
            self.let_go(stood.on);
        }
    }

    fn let_go(&mut self, on: Day) {
        if self.whole {
            return;
        }
        let let_go_of = &mut self.let_go_of;
        self.invoices.retain(|_, invoice| {
            let stays = invoice.owed_minor() > 0 || on.days_since(invoice.touched) <= HELD_DAYS;
            if !stays {
                let_go_of.insert(invoice.client);
            }
            stays
        });
    }

    /// Whether an invoice of a visit on this day would be held, if there were one: an
    /// invoice is never older than its visit.
    #[must_use]
    pub fn holds_visits_of(&self, day: Day) -> bool {
        self.whole || self.latest.is_none_or(|latest| latest.days_since(day) <= HELD_DAYS)
    }

    /// Whether an invoice was made whose sums are held no longer.
    #[must_use]
    pub fn has_let_go(&self, invoice: u64) -> bool {
        (1..=self.made).contains(&invoice) && !self.invoices.contains_key(&invoice)
    }

    /// The invoice of a visit, where it is held.
    #[must_use]
    pub fn of_visit(&self, visit: VisitId) -> Option<u64> {
        self.invoices.iter().find(|(_, invoice)| invoice.visit == visit).map(|(number, _)| *number)
    }
}

/// What an invoice is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// Whose.
    pub client: ClientId,
    /// Of which visit.
    pub visit: VisitId,
    /// The day of the visit.
    pub visited: Day,
    /// The name it is made out to.
    pub name: String,
    /// The currency of the lines.
    pub currency: Currency,
    /// What for.
    pub lines: Vec<InvoiceLine>,
    /// How it is taxed.
    pub tax: Tax,
    /// What of it is paid ahead, of a hundred.
    pub deposit: Option<Percent>,
    /// The day by which it is to be paid.
    pub due: Option<Day>,
}

/// What a visit comes to in lines, by the quote of its plan; nothing where a visit of
/// that kind has no price of its own.
#[must_use]
pub fn lines_of_visit(kind: VisitKind, quote: &Quote) -> Option<Vec<InvoiceLine>> {
    match kind {
        // A re-tape whose plan knows her own pieces is charged by its lines: new hair, tape and time.
        VisitKind::Application | VisitKind::Retape if kind == VisitKind::Application || quote.again_pieces > 0 => {
            let of = |line: &crate::quote::QuoteLine| {
                let what = if line.detail.is_empty() { line.what.clone() } else { format!("{}: {}", line.what, line.detail) };
                InvoiceLine { what, minor: line.amount_minor }
            };
            Some(quote.lines.iter().map(of).collect())
        }
        VisitKind::Retape => Some(vec![InvoiceLine { what: Message::InvoiceRetape.to_string(), minor: quote.retape_minor }]),
        _ => None,
    }
}

/// Makes the next invoice, on the day it is made.
///
/// *Meaning*: the book must hold the invoices of the visit's day
/// ([`MoneyBook::holds_visits_of`]).
///
/// *Errors*: the visit has an invoice; it is on a later day; it is to be paid before
/// it is made; nothing is to be paid, or less; a sum beyond all sums.
pub fn decide_invoice(book: &MoneyBook, asked: Asked, on: Day) -> Result<InvoiceMade, Vec<Fault>> {
    let mut faults = Vec::new();
    if let Some(stands) = book.of_visit(asked.visit) {
        faults.push(Fault::of(&Message::VisitInvoiced { invoice: stands.to_string() }, "visit", "one-invoice"));
    }
    if asked.visited > on {
        let message = Message::InvoiceBeforeVisit { visited: asked.visited.to_string(), day: on.to_string() };
        faults.push(Fault::of(&message, "on", "invoice-day"));
    }
    if asked.due.is_some_and(|due| due < on) {
        faults.push(Fault::of(&Message::DueBeforeInvoice { day: on.to_string() }, "due", "invoice-day"));
    }
    let too_large = || Fault::of(&Message::CostBeyondSums, "visit", "sums");
    if asked.lines.iter().any(|line| line.minor < 0) {
        faults.push(Fault::of(&Message::InvoiceLineNegative, "visit", "sums"));
        return Err(faults);
    }
    let sum = asked.lines.iter().try_fold(0_i64, |sum, line| sum.checked_add(line.minor));
    let sums = sum.and_then(|sum| {
        let (total, tax) = asked.tax.of_lines(sum)?;
        let deposit = match asked.deposit {
            Some(deposit) => Some(deposit.of_sum(total)?),
            None => None,
        };
        Some((total, tax, deposit))
    });
    match sums {
        None => faults.push(too_large()),
        Some((total, ..)) if total <= 0 => faults.push(Fault::of(&Message::InvoiceOfNothing, "visit", "sums")),
        Some(_) => {}
    }
    let number = book.made.checked_add(1);
    let (Some((total_minor, tax_minor, deposit_minor)), Some(invoice), true) = (sums, number, faults.is_empty()) else {
        return Err(faults);
    };
    Ok(InvoiceMade {
        invoice,
        client: asked.client,
        visit: asked.visit,
        name: asked.name,
        currency: asked.currency,
        lines: asked.lines,
        total_minor,
        tax_minor,
        tax_percent: asked.tax.percent,
        prices_include_tax: asked.tax.included,
        deposit_minor,
        due: asked.due,
    })
}

/// Refuses a sum that cannot change hands.
fn changes_hands(minor: i64) -> Result<(), Vec<Fault>> {
    if minor > 0 { Ok(()) } else { Err(vec![Fault::of(&Message::SumNone { minor: minor.to_string() }, "minor", "sums")]) }
}

/// Takes a payment on an invoice.
///
/// *Meaning*: an invoice that was let go is settled, so that nothing is owed on it.
///
/// *Errors*: no such invoice; a sum of nothing or less; more than is owed.
pub fn decide_taken(book: &MoneyBook, number: u64, minor: i64, by: PaidBy) -> Result<MoneyEvent, Vec<Fault>> {
    changes_hands(minor)?;
    let owing = book.invoices.get(&number).filter(|invoice| invoice.owed_minor() > 0);
    let Some(invoice) = owing else {
        let made = (1..=book.made).contains(&number);
        let fault =
            if made { Fault::of(&Message::NothingOwed { invoice: number.to_string() }, "minor", "owed") } else { no_such("invoice") };
        return Err(vec![fault]);
    };
    let owed = invoice.owed_minor();
    if minor > owed {
        let message = Message::MoreThanOwed { sum: invoice.money(minor), owed: invoice.money(owed), invoice: number.to_string() };
        return Err(vec![Fault::of(&message, "minor", "owed")]);
    }
    Ok(MoneyEvent::PaymentTaken { invoice: number, minor, by })
}

/// Gives back something that was paid.
///
/// *Meaning*: the book must hold the invoice ([`MoneyBook::has_let_go`]).
///
/// *Errors*: no such invoice; a sum of nothing or less; more than was paid.
pub fn decide_returned(book: &MoneyBook, number: u64, minor: i64, by: PaidBy) -> Result<MoneyEvent, Vec<Fault>> {
    changes_hands(minor)?;
    let invoice = book.invoices.get(&number).copied().ok_or_else(|| vec![no_such("invoice")])?;
    if minor > invoice.paid_minor {
        let (sum, paid) = (invoice.money(minor), invoice.money(invoice.paid_minor));
        return Err(vec![Fault::of(&Message::MoreThanPaid { sum, paid, invoice: number.to_string() }, "minor", "paid")]);
    }
    Ok(MoneyEvent::PaymentReturned { invoice: number, minor, by, stood: invoice })
}
