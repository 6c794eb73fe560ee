//! Corrections: later events that name what they correct.

use super::{Decided, Line, Stop, came_in, counted};
use crate::words::Message;
use crate::written::{Act, opened};
use crate::{DeskFault, Salon};
use salon::Fault;
use salon::book::{ClientEvent, ClientId, Day, ShelfEvent, World, decide_corrected, decide_shelf_corrected};
use serde_json::{Value, json};
use store::book::{Row, Stream};

fn refused(message: &Message, place: &str) -> Stop {
    Stop::Fault(DeskFault::Refused(vec![Fault::of(message, place, "correct")]))
}

impl Salon {
    /// Corrects an event by the whole act as it should have been.
    ///
    /// *Meaning*: what is set anew anyway (facts, ring, prices, the day a set went
    /// in) is no correction: it is said again.
    pub(super) async fn corrected(&self, line: &mut Line, world: &World) -> Result<Decided, Stop> {
        let seq: u64 = line.needed("event")?;
        let instead: Value = line.needed("instead")?;
        let (mut instead, head) = Line::of(&instead.to_string())?;
        let row = self.event_at(seq).await?.ok_or_else(|| refused(&Message::EventNone { seq: seq.to_string() }, "event"))?;
        let decided = match row.stream {
            Stream::Client(id) => self.her_corrected(ClientId(id.as_u128()), &row, &mut instead, head.on, world).await?,
            Stream::Shelf => self.shelf_corrected(&row, &mut instead).await?,
            _ => return Err(said_anew(instead.name)),
        };
        let corrects = json!({"seq": seq, "stream": row.stream.to_string(), "version": row.version});
        Ok(decided.with("corrects", corrects))
    }

    async fn event_at(&self, seq: u64) -> Result<Option<Row>, DeskFault> {
        let Some(before) = seq.checked_sub(1) else { return Ok(None) };
        let row = self.book.read_all(before, 1, None).await?.into_iter().next();
        Ok(row.filter(|row| row.seq == seq))
    }

    async fn her_corrected(&self, id: ClientId, row: &Row, instead: &mut Line, on: Day, world: &World) -> Result<Decided, Stop> {
        let book = self.client_book(id, None).await?;
        if instead.needed::<ClientId>("client")? != id {
            return Err(refused(&Message::EventOfAnother, "client"));
        }
        let event = match instead.name {
            "skin test set" => ClientEvent::SkinTestSet { lot: instead.needed("lot")?, place: instead.needed("place")? },
            "skin test read" => ClientEvent::SkinTestRead { found: instead.needed("found")? },
            other => return Err(said_anew(other)),
        };
        let (was, _) = opened::<ClientEvent>(row)?;
        let events = decide_corrected(&was, row.version, event, on).map_err(DeskFault::Refused)?;
        Ok(self.client_act(id, book, events, world).with("client", id.to_string()))
    }

    async fn shelf_corrected(&self, row: &Row, instead: &mut Line) -> Result<Decided, Stop> {
        let shelf = self.shelf_book().await?;
        let (was, _) = opened::<ShelfEvent>(row)?;
        let event = match instead.name {
            // The pieces keep their numbers.
            "pack receive" => came_in(instead, was.pieces())?.0,
            "shelf count" => counted(instead)?,
            other => return Err(said_anew(other)),
        };
        let mut later = Vec::new();
        for row in self.book.read(Stream::Shelf, row.version).await? {
            later.push(opened::<ShelfEvent>(&row)?.0);
        }
        let events = decide_shelf_corrected(&shelf, was, row.version, event, &later).map_err(DeskFault::Refused)?;
        let version = shelf.version + events.len() as u64;
        Ok(Decided::new(Act::default().shelf_at(shelf.version, events), Stream::Shelf).with("version", version))
    }
}

fn said_anew(act: &str) -> Stop {
    refused(&Message::ActNotCorrected { act: act.to_owned() }, "instead")
}
