//! Acts about who somebody is: how she is reached, which records are hers, erasing.

use super::{Decided, Line, Stop, word};
use crate::erasing::Which;
use crate::written::stream_of;
use crate::{DeskFault, Salon};
use salon::book::{ClientId, Contact, World, decide_contact};

impl Salon {
    /// Says how a client is reached.
    pub(super) async fn contact_set(&self, line: &mut Line, world: &World) -> Result<Decided, Stop> {
        let (id, book) = self.hers(line).await?;
        let contact: Contact = line.needed("contact")?;
        let events = decide_contact(&book, contact).map_err(DeskFault::Refused)?;
        Ok(self.client_act(id, book, events, world))
    }

    /// Says that two records are one person's.
    pub(super) async fn clients_merged(&self, line: &mut Line, world: &World) -> Result<Decided, Stop> {
        let (aside, book) = self.hers(line).await?;
        let kept: ClientId = line.needed("same_as")?;
        let (act, moved) = self.merging((aside, book), kept, &line.needed::<String>("reason")?, world).await?;
        Ok(Decided::new(act, stream_of(kept)).with("client", kept.to_string()).with("appointments", moved))
    }

    /// Says that a record which was set aside is somebody else's after all.
    pub(super) async fn clients_parted(&self, line: &mut Line, world: &World) -> Result<Decided, Stop> {
        let (id, book) = self.hers(line).await?;
        let (act, kept) = self.parting((id, book), &line.needed::<String>("reason")?, world).await?;
        Ok(Decided::new(act, stream_of(id)).with("client", id.to_string()).with("was", kept.to_string()))
    }

    /// Erases a client.
    pub(super) async fn erased(&self, line: &mut Line, world: &World) -> Result<Decided, Stop> {
        let id: ClientId = line.needed("client")?;
        let which = line.asked::<String>("records")?.map(|text| word(&text, Which::from_word, "records", "all, this")).transpose()?;
        let book = self.client_book(id, None).await?;
        let (act, erases, kept) = self.erasing((id, &book), which, line.needed("reason")?, world).await?;
        Ok(Decided { erases, ..Decided::new(act, store::book::Stream::House).with("kept", kept) })
    }
}
