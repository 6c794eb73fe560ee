//! What erasing a client writes, and what is said to stay.

use crate::words::Message;
use crate::written::{Act, health_stream, stream_of};
use crate::{DeskFault, Salon};
use measure::text::list;
use salon::book::{ClientBook, ClientId, DiaryBook, DiaryEvent, HouseEvent, MoneyBook, ShelfEvent, World};
use std::sync::Arc;
use store::book::Stream;

/// What is said of her invoices; nothing where she has none.
fn invoices_kept(money: &MoneyBook, client: ClientId) -> Option<String> {
    let numbers: Vec<String> =
        money.invoices.iter().filter(|(_, invoice)| invoice.client == client).map(|(number, _)| number.to_string()).collect();
    let earlier = money.let_go_of.contains(&client);
    let which = match (numbers.is_empty(), earlier) {
        (true, false) => return None,
        (true, true) => Message::InvoicesLongAgo.to_string(),
        (false, false) => list(&numbers),
        (false, true) => Message::InvoicesAndEarlier { numbers: list(&numbers) }.to_string(),
    };
    Some(Message::InvoicesStay { which }.to_string())
}

impl Salon {
    /// What erasing a client writes, the streams whose keys are destroyed with it, and
    /// what stays and why. What she is booked for from that day on is cancelled.
    pub(crate) async fn erasing(
        &self,
        id: ClientId,
        book: &ClientBook,
        reason: String,
        world: &World,
    ) -> Result<(Act, Vec<Stream>, Vec<String>), DeskFault> {
        let mut diary = self.diary_book().await?;
        if !diary.holds(world.on) {
            diary = Arc::new(self.folded(DiaryBook::whole()).await?);
        }
        let cancelled =
            |appointment| DiaryEvent::AppointmentCancelled { appointment, reason: Some(Message::RecordsWereErased.to_string()) };
        let cancelled: Vec<DiaryEvent> = diary.of_client(id, world.on).into_iter().map(cancelled).collect();
        let mut act = Act::default().house(vec![HouseEvent::ClientErased { client: id, reason }]);
        if !cancelled.is_empty() {
            act = act.diary_at(diary.version, cancelled);
        }
        // Her pieces go out of the books with her.
        let (pieces, _) = book.year.pieces.counts();
        if pieces > 0 {
            act = act.shelf_at(self.shelf_book().await?.version, vec![ShelfEvent::GoneWithErased { pieces }]);
        }
        let mut streams = vec![stream_of(id)];
        streams.extend(book.health.map(health_stream));
        let mut kept = vec![Message::ErasedStays.to_string(), Message::SealedStays.to_string()];
        kept.extend(invoices_kept(&*self.money_book().await?, id));
        Ok((act, streams, kept))
    }
}
