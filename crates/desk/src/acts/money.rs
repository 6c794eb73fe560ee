//! Acts of the money: an invoice of a visit, what is paid on it and given back.

use super::{Decided, Line, Stop};
use crate::visit_for_invoice::Charged;
use crate::written::Act;
use crate::{DeskFault, Salon};
use salon::Fault;
use salon::book::{
    Asked, ClientId, House, Invoice, MoneyBook, MoneyEvent, PaidBy, Percent, Tax, VisitId, World, decide_invoice, decide_returned,
    decide_taken, lines_of_visit,
};
use salon::words::Message;
use std::sync::Arc;
use store::book::Stream;

/// A share that the house set, exactly.
fn exactly(percent: f64, place: &str) -> Result<Percent, DeskFault> {
    Percent::of(percent).ok_or_else(|| {
        let message = Message::TaxTooFine { percent: measure::text::number(percent, 9) };
        DeskFault::Refused(vec![Fault::of(&message, place, "house")])
    })
}

/// How the house taxes: nothing where no tax was set; prices that hold it only where that was said.
fn tax_of(house: &House) -> Result<Tax, DeskFault> {
    let percent = house.tax_percent.map_or(Ok(Percent::NONE), |percent| exactly(percent, "tax_percent"))?;
    Ok(Tax { percent, included: house.prices_include_tax.unwrap_or(false) })
}

impl Salon {
    /// Makes the invoice of a visit.
    pub(super) async fn invoice_made(&self, line: &mut Line, world: &World) -> Result<Decided, Stop> {
        let (client, visit): (ClientId, VisitId) = (line.needed("client")?, line.needed("visit")?);
        let her = self.client_book(client, None).await?;
        let mut money = self.money_book().await?;
        line.still("the money book", money.version)?;
        let Charged { visited, kind, quote } = self.visit_for_invoice(&her, visit).await?;
        let lines =
            lines_of_visit(kind, &quote).ok_or_else(|| DeskFault::Refused(vec![Fault::of(&Message::InvoiceOfNothing, "visit", "sums")]))?;
        if !money.holds_visits_of(visited) {
            money = Arc::new(self.folded(MoneyBook::whole()).await?);
        }
        let house = &self.house_book().await?.house.0;
        let asked = Asked {
            client,
            visit,
            visited,
            name: line.asked("name")?.unwrap_or_else(|| her.label.clone()),
            currency: quote.currency,
            lines,
            tax: tax_of(house)?,
            deposit: house.deposit_percent.map(|percent| exactly(percent, "deposit_percent")).transpose()?,
            due: line.asked("due")?,
        };
        let made = decide_invoice(&money, asked, world.on).map_err(DeskFault::Refused)?;
        let (number, currency, total, tax, deposit) =
            (made.invoice, made.currency.code().to_owned(), made.total_minor, made.tax_minor, made.deposit_minor);
        // With her stream as it was read: nobody is invoiced who is being erased.
        let act = Act::default().money_at(money.version, vec![MoneyEvent::InvoiceMade(Box::new(made))]).client(client, her.version, vec![]);
        let decided = Decided::new(act, Stream::Money)
            .with("invoice", number)
            .with("currency", currency)
            .with("total_minor", total)
            .with("tax_minor", tax)
            .with("version", money.version + 1);
        Ok(match deposit {
            Some(deposit) => decided.with("deposit_minor", deposit),
            None => decided,
        })
    }

    /// Takes a payment, or gives one back.
    pub(super) async fn payment(&self, line: &mut Line) -> Result<Decided, Stop> {
        let (number, minor, by): (u64, i64, PaidBy) = (line.needed("invoice")?, line.needed("minor")?, line.needed("by")?);
        let mut money = self.money_book().await?;
        line.still("the money book", money.version)?;
        let taken = line.name == "payment take";
        if !taken && money.has_let_go(number) {
            money = Arc::new(self.folded(MoneyBook::whole()).await?);
        }
        let event = if taken { decide_taken(&money, number, minor, by) } else { decide_returned(&money, number, minor, by) };
        let event = event.map_err(DeskFault::Refused)?;
        let stood: Invoice = *money.invoices.get(&number).ok_or(DeskFault::Unknown("invoice"))?;
        let paid = if taken { stood.paid_minor + minor } else { stood.paid_minor - minor };
        Ok(Decided::new(Act::default().money_at(money.version, vec![event]), Stream::Money)
            .with("invoice", number)
            .with("total_minor", stood.total_minor)
            .with("tax_minor", stood.tax_minor)
            .with("paid_minor", paid)
            .with("owed_minor", stood.total_minor - paid)
            .with("version", money.version + 1))
    }
}
