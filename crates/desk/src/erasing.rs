//! What erasing a client writes, and what is said to stay.

use crate::words::Message;
use crate::written::{Act, health_stream, stream_of};
use crate::{DeskFault, Salon};
use measure::text::{counted, list};
use salon::Fault;
use salon::book::{ClientBook, ClientEvent, ClientId, DiaryBook, DiaryEvent, HouseEvent, MoneyBook, ShelfEvent, World};
use std::sync::Arc;
use store::book::Stream;

/// Which records go, where several are hers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Which {
    /// Every one of them.
    All,
    /// The one that is named; the others are parted from it and stay whole.
    This,
}

impl Which {
    /// The word's meaning; nothing when it has none.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        match word {
            "all" => Some(Self::All),
            "this" => Some(Self::This),
            _ => None,
        }
    }
}

/// What is said of her invoices; nothing where she has none.
fn invoices_kept(money: &MoneyBook, clients: &[ClientId]) -> Option<String> {
    let hers = money.invoices.iter().filter(|(_, invoice)| clients.contains(&invoice.client));
    let numbers: Vec<String> = hers.map(|(number, _)| number.to_string()).collect();
    let earlier = clients.iter().any(|client| money.let_go_of.contains(client));
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
        (id, book): (ClientId, &ClientBook),
        which: Option<Which>,
        reason: String,
        world: &World,
    ) -> Result<(Act, Vec<Stream>, Vec<String>), DeskFault> {
        let others = self.other_books(id, book).await?;
        let mut kept = vec![Message::ErasedStays.to_string(), Message::SealedStays.to_string()];
        let mut act = Act::default();
        let mut gone = vec![(id, book.clone())];
        match which {
            None if !others.is_empty() => {
                let message = Message::ErasingOneOfSeveral { records: (others.len() + 1).to_string() };
                return Err(DeskFault::Refused(vec![Fault::of(&message, "records", "same-person")]));
            }
            Some(Which::All) => gone.extend(others),
            _ if others.is_empty() => {}
            _ => {
                kept.push(Message::OtherRecordsStay { records: counted(others.len(), "other record", "other records") }.to_string());
                let linked = |other: &ClientId| book.same.kept == Some(*other) || book.same.set_aside.contains(other);
                for (other, its) in others.into_iter().filter(|(other, _)| linked(other)) {
                    let parted = ClientEvent::NotSameAs { client: id, reason: Message::OtherRecordErased.to_string() };
                    act = act.and(self.act_of(other, its, vec![parted], world).1);
                }
            }
        }
        let ids: Vec<ClientId> = gone.iter().map(|(id, _)| *id).collect();
        act = act.house(ids.iter().map(|client| HouseEvent::ClientErased { client: *client, reason: reason.clone() }).collect());
        let mut diary = self.diary_book().await?;
        if !diary.holds(world.on) {
            diary = Arc::new(self.folded(DiaryBook::whole()).await?);
        }
        let cancelled =
            |appointment| DiaryEvent::AppointmentCancelled { appointment, reason: Some(Message::RecordsWereErased.to_string()) };
        let cancelled: Vec<DiaryEvent> = ids.iter().flat_map(|id| diary.of_client(*id, world.on)).map(cancelled).collect();
        if !cancelled.is_empty() {
            act = act.diary_at(diary.version, cancelled);
        }
        // Her pieces go out of the books with her.
        let pieces = gone.iter().map(|(_, book)| book.year.pieces.counts().0).sum();
        if pieces > 0 {
            act = act.shelf_at(self.shelf_book().await?.version, vec![ShelfEvent::GoneWithErased { pieces }]);
        }
        let mut streams: Vec<Stream> = ids.iter().map(|id| stream_of(*id)).collect();
        streams.extend(gone.iter().filter_map(|(_, book)| book.health).map(health_stream));
        kept.extend(invoices_kept(&*self.money_book().await?, &ids));
        Ok((act, streams, kept))
    }
}
