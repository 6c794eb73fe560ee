//! What a visit is charged by.

use crate::{DeskFault, Salon};
use salon::Fault;
use salon::book::{ClientBook, Day, VisitId, VisitKind};
use salon::quote::Quote;
use salon::words::Message;

/// What an invoice of a visit is made from.
pub(crate) struct Charged {
    /// The day of the visit. It never changes once the visit has an invoice.
    pub visited: Day,
    /// What was done.
    pub kind: VisitKind,
    /// What her plan says that it costs.
    pub quote: Quote,
}

impl Salon {
    /// What a visit of hers is charged by: the quote of the plan that went by it.
    ///
    /// *Errors*: nothing has this id, or it is another client's; the visit goes on; it went by no
    /// plan, or its plan has no price; the records.
    pub(crate) async fn visit_for_invoice(&self, her: &ClientBook, visit: VisitId) -> Result<Charged, DeskFault> {
        let refused = |message: &Message| DeskFault::Refused(vec![Fault::of(message, "visit", "price")]);
        let state = her.year.visit(visit).ok_or(DeskFault::Unknown("visit"))?;
        if state.is_open() {
            return Err(refused(&Message::VisitGoesOn));
        }
        let plan = state.plan.and_then(|plan| her.plan(plan)).ok_or_else(|| refused(&Message::NoPlanPlaced))?;
        let quote = self.quote_of(plan).await?.ok_or_else(|| refused(&Message::PlanWithoutPrice))?;
        Ok(Charged { visited: state.on, kind: state.kind, quote })
    }
}
