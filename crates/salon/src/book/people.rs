//! How a client is reached, and which records are one person's: what may be said of it.
//!
//! *Meaning*: streams stay as they are and nothing is copied. Of two records of one person one is
//! kept and stands in the lists; the other is set aside and takes nothing new.

use super::client::ClientBook;
use super::client_event::ClientEvent;
use super::contact::Contact;
use super::id::ClientId;
use crate::Fault;
use crate::words::Message;

/// The most letters of a reason.
const LONGEST_REASON: usize = 1000;

/// Says how she is reached from now on.
///
/// *Errors*: everything that is no number and no address, all at once.
pub fn decide_contact(book: &ClientBook, contact: Contact) -> Result<Vec<ClientEvent>, Vec<Fault>> {
    let contact = contact.tidied();
    let faults = contact.faults();
    if !faults.is_empty() {
        return Err(faults);
    }
    Ok(if contact == book.contact { Vec::new() } else { vec![ClientEvent::ContactSet(contact)] })
}

/// A record that is set aside, or kept, with its number.
pub type Record<'a> = (ClientId, &'a ClientBook);

/// Says that two records are one person's: what is written in the one that is set aside, and in
/// the one that is kept.
///
/// *Errors*: all that stands against it. A record in which something is under way (a visit, a set
/// in her hair, pieces in her bag) is the one to keep; where both are, one must be ended first.
pub fn decide_merge((aside, book): Record, (kept, other): Record, reason: &str) -> Result<[ClientEvent; 2], Vec<Fault>> {
    let mut faults = reason_faults(reason);
    let mut fault = |place: &str, message: &Message| faults.push(Fault::of(message, place, "same-person"));
    if aside == kept {
        fault("same_as", &Message::SameRecord);
    }
    for (place, record) in [("client", book), ("same_as", other)] {
        if let Some(kept) = record.same.kept {
            fault(place, &Message::RecordIsSetAside { kept: kept.to_string() });
        }
        if record.year.open().is_some() {
            fault(place, &Message::VisitGoesOnThere);
        }
    }
    if !book.same.set_aside.is_empty() {
        fault("client", &Message::OthersSetAsideForIt);
    }
    let pieces = &book.year.pieces;
    match (wears(book), wears(other)) {
        (true, true) => fault("client", &Message::BothWear),
        (true, false) => fault("client", &Message::WearsThere),
        _ if !pieces.in_bag().is_empty() => fault("client", &Message::BagThere { pieces: pieces.in_bag().len().to_string() }),
        _ => {}
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let said = |client, kept| ClientEvent::SameAs { client, kept, reason: reason.trim().to_owned() };
    Ok([said(kept, true), said(aside, false)])
}

/// Says that a record which was set aside is another person's after all: its own event, which
/// stands in the kept record too where that is still there.
///
/// *Errors*: it is not set aside; no reason.
pub fn decide_part(book: &ClientBook, reason: &str) -> Result<(ClientId, ClientEvent), Vec<Fault>> {
    let mut faults = reason_faults(reason);
    let Some(kept) = book.same.kept else {
        faults.push(Fault::of(&Message::NotSetAside, "client", "same-person"));
        return Err(faults);
    };
    if faults.is_empty() { Ok((kept, ClientEvent::NotSameAs { client: kept, reason: reason.trim().to_owned() })) } else { Err(faults) }
}

/// What a record that is set aside still takes: that it is another person's after all, what takes
/// something back, and what corrects.
///
/// *Errors*: it is set aside, and something new is said of it.
pub fn decide_takes(book: &ClientBook, events: &[ClientEvent]) -> Result<(), Vec<Fault>> {
    let Some(kept) = book.same.kept else { return Ok(()) };
    let takes = |event: &ClientEvent| {
        matches!(
            event,
            ClientEvent::NotSameAs { .. }
                | ClientEvent::ConsentWithdrawn { .. }
                | ClientEvent::Corrected { .. }
                | ClientEvent::PhotoRemoved { .. }
                | ClientEvent::PlanPlaced { day: None, .. }
        )
    };
    let fault = || Fault::of(&Message::RecordIsSetAside { kept: kept.to_string() }, "client", "same-person");
    if events.iter().all(takes) { Ok(()) } else { Err(vec![fault()]) }
}

/// Whether a set of hers is in her hair, by its pieces or by the day its plan went in.
fn wears(book: &ClientBook) -> bool {
    book.year.pieces.in_hair() > 0 || book.plans.iter().any(|plan| plan.placed_on.is_some() && plan.ended_on.is_none())
}

fn reason_faults(reason: &str) -> Vec<Fault> {
    let message = match reason.trim().chars().count() {
        0 => Message::ReasonMissing,
        letters if letters > LONGEST_REASON => Message::ReasonTooLong { most: LONGEST_REASON.to_string() },
        _ => return Vec::new(),
    };
    vec![Fault::of(&message, "reason", "reason")]
}
