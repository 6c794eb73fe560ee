//! Visits as pages ask for them.

use crate::client_line::due_of;
use crate::written::{opened, stream_of};
use crate::{DeskFault, Salon};
use salon::book::{ClientBook, ClientEvent, ClientId, Day, Step, VisitId};

impl Salon {
    /// A client's book without her health: her visits, pieces and plans.
    ///
    /// *Errors*: nothing has this id; the records.
    pub async fn book_of(&self, id: ClientId) -> Result<ClientBook, DeskFault> {
        self.client_book(id, None).await
    }

    /// Whose a visit is, with her book.
    ///
    /// *Errors*: nothing has this id; the records.
    pub async fn book_of_visit(&self, id: VisitId) -> Result<(ClientId, ClientBook), DeskFault> {
        let client = self.client_with(id.0, "visit").await?;
        Ok((client, self.client_book(client, None).await?))
    }

    /// What was done at a visit, step by step, from the events: also of one whose steps her book holds no more.
    ///
    /// *Errors*: the records.
    pub async fn steps_of(&self, client: ClientId, id: VisitId) -> Result<Vec<Step>, DeskFault> {
        let mut steps = Vec::new();
        for row in self.book.read(stream_of(client), 0).await? {
            match opened::<ClientEvent>(&row)?.0 {
                ClientEvent::StepDone { visit, step, .. } if visit == id => steps.push(step),
                ClientEvent::StepUndone { visit, .. } if visit == id => _ = steps.pop(),
                _ => {}
            }
        }
        Ok(steps)
    }

    /// When the set in her hair is due, and the window round that day.
    #[must_use]
    pub fn next_date(&self, book: &ClientBook) -> Option<(Day, [Day; 2])> {
        due_of(&book.plans)
    }
}
