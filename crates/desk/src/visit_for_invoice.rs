//! What a visit is charged by.

use crate::{DeskFault, Salon};
use salon::Fault;
use salon::book::{AppointmentKind, ClientBook, Day, VisitId};
use salon::quote::Quote;
use salon::words::Message;

/// What an invoice of a visit is made from.
pub(crate) struct Charged {
    /// The day of the visit. It never changes once the visit has an invoice.
    pub visited: Day,
    /// What was done.
    pub kind: AppointmentKind,
    /// What her plan says that it costs.
    pub quote: Quote,
}

impl Salon {
    /// What a visit of hers is charged by: the quote of the plan that was placed on it.
    ///
    /// *Meaning*: until visits are told one by one, the set that went in last stands
    /// for the visit, as an application.
    ///
    /// *Errors*: no set of hers is in; its plan has no price; the records.
    pub(crate) async fn visit_for_invoice(&self, her: &ClientBook, _visit: VisitId) -> Result<Charged, DeskFault> {
        let refused = |message: &Message| DeskFault::Refused(vec![Fault::of(message, "visit", "price")]);
        let (plan, visited) = crate::client_line::worn(&her.plans).ok_or_else(|| refused(&Message::NoPlanPlaced))?;
        let quote = self.quote_of(plan).await?.ok_or_else(|| refused(&Message::PlanWithoutPrice))?;
        Ok(Charged { visited, kind: AppointmentKind::Application, quote })
    }
}
