//! Acts of the consultation: drafts, and what she agrees to and signs.

use super::Decided;
use super::line::{Line, Stop, no_act, quoted, word};
use crate::drafts::TypedAnswers;
use crate::words::Message;
use crate::written::{Act, health_stream, stream_of, write_text};
use crate::{DeskFault, Salon, drafts};
use salon::Fault;
use salon::book::{BlobRef, ClientBook, ClientId, Purpose, Signature, Signed, World, decide_consent, typed_signature};
use salon::consultation::Part;
use serde::Deserialize;
use store::book::{Stream, ViewWrite};

/// How she signed, as a line says it.
#[derive(Deserialize)]
#[serde(rename_all = "snake_case")]
enum SignedNow {
    Drawn(Signature),
    Typed(String),
}

const PARTS: &str = "before, wish, life, hair, health, agreement";

impl Salon {
    /// What agreeing or taking it back writes, and the streams whose keys are destroyed with it.
    pub(crate) fn consent_act(
        &self,
        id: ClientId,
        book: ClientBook,
        purpose: Purpose,
        given: Option<(String, Option<Signed>)>,
        world: &World,
    ) -> (Act, Vec<Stream>) {
        let document = book.health.filter(|_| purpose == Purpose::Health && given.is_none());
        let events = decide_consent(&book, purpose, given, world.on);
        (self.act_of(id, book, events, world).1, document.map(health_stream).into_iter().collect())
    }

    pub(super) async fn consent(&self, line: &mut Line, world: &World) -> Result<Decided, Stop> {
        let (id, book) = self.hers(line).await?;
        let purpose = word(&line.needed::<String>("purpose")?, Purpose::from_word, "purpose", Purpose::WORDS)?;
        let given = if line.name == "consent give" {
            Some((line.needed("wording")?, self.signed(line, id).await?))
        } else {
            let keeps = purpose == Purpose::Health && book.health.is_some();
            if !keeps && !book.consents.contains_key(&purpose) {
                let message = Message::ConsentNotGiven { purpose: purpose.word().to_owned() };
                let fault = Fault::of(&message, "purpose", "consent");
                return Err(Stop::Fault(DeskFault::Refused(vec![fault])));
            }
            None
        };
        let version = book.version;
        let (act, erases) = self.consent_act(id, book, purpose, given, world);
        let written = act.writes.iter().map(|(_, _, events)| events.len() as u64).sum::<u64>();
        Ok(Decided { erases, ..Decided::new(act, stream_of(id)).with("version", version + written) })
    }

    /// How she signed; a drawn signature is on the disk before the event that names it.
    async fn signed(&self, line: &mut Line, id: ClientId) -> Result<Option<Signed>, Stop> {
        Ok(match line.asked::<SignedNow>("signature")? {
            None => None,
            Some(SignedNow::Typed(name)) => Some(typed_signature(&name).map_err(DeskFault::Refused)?),
            Some(SignedNow::Drawn(drawn)) => {
                let text = write_text(&drawn.checked().map_err(DeskFault::Refused)?, "a signature")?;
                let blob = self.book.put_blob(stream_of(id), text.as_bytes()).await.map_err(DeskFault::from)?;
                Some(Signed::Drawn(BlobRef(blob.0.as_u128())))
            }
        })
    }

    pub(super) async fn draft_kept(&self, line: &mut Line, world: &World) -> Result<Decided, Stop> {
        let id: ClientId = line.needed("client")?;
        let book = self.client_book(id, None).await?;
        let part = part(line)?.ok_or_else(|| no_act(&Message::KeyNeeded { act: "draft keep".to_owned(), key: quoted("part") }, "part"))?;
        let answers: TypedAnswers = line.needed("answers")?;
        Ok(Decided::new(self.draft_act(id, book, part, answers, world)?, stream_of(id)))
    }

    /// That the draft of a part is done with, where facts that are saved take its place.
    pub(super) fn draft_done(&self, line: &mut Line, id: ClientId) -> Result<Option<ViewWrite>, Stop> {
        Ok(part(line)?.map(|part| drafts::dropped(id, part)))
    }
}

fn part(line: &mut Line) -> Result<Option<Part>, Stop> {
    line.asked::<String>("part")?.map(|said| word(&said, Part::from_word, "part", PARTS)).transpose()
}
