//! Drafts: what was typed on a part of the consultation and is no answer yet.
//!
//! A draft is no history: it is a row beside the events, sealed under her key, written over by
//! the next and gone when its part is saved or she is erased; no archive carries it. A draft of
//! her health answers is sealed under the key of her health document, is kept only while she
//! agrees that such answers are, goes with that document, and reading it is recorded first.

use crate::written::{Act, health_stream, new_id, now_ms, stream_of};
use crate::{DeskFault, Salon};
use salon::Fault;
use salon::book::{ClientBook, ClientEvent, ClientId, HealthAnswers, HealthId, Purpose, World};
use salon::client::Fact;
use salon::consultation::Part;
use salon::words::Message;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use store::book::{Access, ViewWrite};
use uuid::Uuid;

/// Answers as they were typed, by the names of their fields.
pub type TypedAnswers = BTreeMap<String, Vec<String>>;

/// What was typed on a part, and when it was kept.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Draft {
    /// The answers.
    pub answers: TypedAnswers,
    /// When, ms since 1970, by the machine's clock.
    pub kept_ms: i64,
}

/// Which view holds the drafts. No code makes it anew: what is in it follows from no event.
const DRAFTS: &str = "drafts";

/// The most letters of one draft, names and answers together.
const MOST_LETTERS: usize = 60_000;

fn key(id: ClientId, part: Part) -> Vec<u8> {
    [&id.0.to_be_bytes()[..], part.word().as_bytes()].concat()
}

/// That a part has no draft any more.
pub(crate) fn dropped(id: ClientId, part: Part) -> ViewWrite {
    ViewWrite::Take { view: DRAFTS.to_owned(), key: key(id, part) }
}

impl Salon {
    /// What was typed on a part and not saved; of her health, the reading is recorded first.
    ///
    /// *Errors*: the records.
    pub async fn draft(&self, id: ClientId, book: &ClientBook, part: Part) -> Result<Option<Draft>, DeskFault> {
        let row = match (part, book.health) {
            (Part::Health, None) => None,
            (Part::Health, Some(document)) => {
                let who = Uuid::from_u128(self.owner().await?.0);
                let access = Access { who, at_ms: now_ms(), why: "consultation".to_owned() };
                self.book.health_row(DRAFTS, &key(id, part), Uuid::from_u128(document.0), &access).await?
            }
            _ => self.book.view_row(DRAFTS, &key(id, part)).await?,
        };
        row.map(|row| serde_json::from_slice(&row.body).map_err(|cause| DeskFault::damaged("a draft", &cause))).transpose()
    }

    /// What keeping a draft writes.
    ///
    /// *Errors*: a draft of her health without her consent; one that is longer than any part.
    pub(crate) fn draft_act(
        &self,
        id: ClientId,
        book: ClientBook,
        part: Part,
        answers: TypedAnswers,
        world: &World,
    ) -> Result<Act, DeskFault> {
        let letters: usize = answers.iter().map(|(name, said)| name.len() + said.iter().map(|text| text.len() + 1).sum::<usize>()).sum();
        if letters > MOST_LETTERS {
            let message = Message::TextTooLong { letters: letters.to_string(), most: MOST_LETTERS.to_string() };
            return Err(DeskFault::Refused(vec![Fault::of(&message, "answers", "text-most")]));
        }
        let body = serde_json::to_vec(&Draft { answers, kept_ms: now_ms() }).map_err(|cause| DeskFault::damaged("a draft", &cause))?;
        let (owner, act) = match part {
            Part::Health => {
                let (document, act) = self.health_document(id, book, world)?;
                (health_stream(document), act)
            }
            _ => (stream_of(id), Act::default()),
        };
        Ok(act.view(ViewWrite::Put { view: DRAFTS.to_owned(), key: key(id, part), owner, body }))
    }

    /// Her health document; begun, with nothing in it, where there is none.
    fn health_document(&self, id: ClientId, book: ClientBook, world: &World) -> Result<(HealthId, Act), DeskFault> {
        if !book.consents.contains_key(&Purpose::Health) {
            return Err(DeskFault::Refused(vec![Fault::of(&Message::HealthWithoutConsent, Fact::Health, "consent-health")]));
        }
        if let Some(document) = book.health {
            return Ok((document, Act::default()));
        }
        let document = HealthId(new_id());
        let (_, act) = self.act_of(id, book, vec![ClientEvent::HealthKept { document }], world);
        Ok((document, act.health(document, HealthAnswers::default())))
    }
}
