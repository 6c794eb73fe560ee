//! What erasing a client writes, and what is said to stay.

use crate::client_line::KEPT_AFTER_ERASING;
use crate::written::{Act, health_stream, stream_of};
use crate::{DeskFault, Salon};
use measure::text::{counted, list};
use salon::Fault;
use salon::book::{ClientBook, ClientEvent, ClientId, DiaryEvent, HouseEvent, MoneyBook, ShelfEvent, World};
use salon::words::Message;
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
        (true, true) => "from more than a year ago".to_owned(),
        (false, false) => list(&numbers),
        (false, true) => format!("{}, and earlier ones", list(&numbers)),
    };
    Some(format!(
        "her invoices ({which}): number, day, sums, what was paid, and the name they were made out to, since the law asks that books are kept"
    ))
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
        let mut kept = KEPT_AFTER_ERASING.map(str::to_owned).to_vec();
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
                kept.push(format!(
                    "{} of the same person, whole, and no longer said to be hers together with this one",
                    counted(others.len(), "other record", "other records")
                ));
                let linked = |other: &ClientId| book.same.kept == Some(*other) || book.same.set_aside.contains(other);
                for (other, its) in others.into_iter().filter(|(other, _)| linked(other)) {
                    let parted = ClientEvent::NotSameAs { client: id, reason: "the other record was erased".to_owned() };
                    act = act.and(self.act_of(other, its, vec![parted], world).1);
                }
            }
        }
        let ids: Vec<ClientId> = gone.iter().map(|(id, _)| *id).collect();
        act = act.house(ids.iter().map(|client| HouseEvent::ClientErased { client: *client, reason: reason.clone() }).collect());
        let diary = self.diary_book().await?;
        let cancelled = |appointment| DiaryEvent::AppointmentCancelled { appointment, reason: Some("her records were erased".to_owned()) };
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
