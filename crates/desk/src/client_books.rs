//! Clients' books as they are in force, and as they were at any version.
//!
//! A client's stream grows with every visit, and her page must not grow slower.
//! So those who were looked at lately are held in memory, and of everybody the
//! book at the newest version that is a multiple of [`EVERY`] is kept as a row of
//! a view: whoever asks reads that row and the few events after it. The row is
//! sealed under her own key, so that erasing her takes it along.

use crate::packed::{packed, unpacked};
use crate::written::{opened, stream_of};
use crate::{DeskFault, Salon};
use salon::book::{ClientBook, ClientEvent, ClientId, Stood};
use store::StoreFault;
use store::book::ViewWrite;

/// The versions between two books that are kept.
pub(crate) const EVERY: u64 = 64;

/// Rows of this view are of no use to code that reads events otherwise: the
/// number that makes all views anew is part of its name.
pub(crate) fn view() -> String {
    format!("books {}", crate::client_line::VIEWS)
}

/// Puts an event in force; the row to keep, where the book has come so far.
pub(crate) fn applied(id: ClientId, book: &mut ClientBook, event: ClientEvent, stood: Stood) -> Option<ViewWrite> {
    book.apply(event, stood);
    book.version.is_multiple_of(EVERY).then(|| row(id, book))
}

/// The row in which a book is kept.
pub(crate) fn row(id: ClientId, book: &ClientBook) -> ViewWrite {
    // A book of plain fields can always be written.
    let body = packed(book, "a client's book").unwrap_or_default();
    ViewWrite::Put { view: view(), key: id.0.to_be_bytes().to_vec(), owner: stream_of(id), body }
}

impl Salon {
    /// A client's book as it is in force, or as it was at a version; without her health.
    ///
    /// *Errors*: nothing has this id; she was erased.
    pub(crate) async fn client_book(&self, id: ClientId, at: Option<u64>) -> Result<ClientBook, DeskFault> {
        let erased = |fault| match fault {
            StoreFault::Erased(_) => DeskFault::Unknown("client"),
            fault => fault.into(),
        };
        let version = match self.book.standing(stream_of(id)).await {
            Ok(version) => version,
            Err(fault) => {
                self.recent.forget(id);
                return Err(erased(fault));
            }
        };
        let wanted = at.map_or(version, |at| at.min(version));
        if wanted == 0 {
            return Err(DeskFault::Unknown("client"));
        }
        let mut book = match self.recent.get(id).filter(|book| book.version <= wanted) {
            Some(book) => (*book).clone(),
            None => self.kept_book(id, wanted).await?,
        };
        if book.version == wanted {
            return Ok(book);
        }
        for row in self.book.read_to(stream_of(id), book.version, wanted).await.map_err(erased)? {
            let (event, stood) = opened::<ClientEvent>(&row)?;
            book.apply(event, stood);
        }
        if wanted == version {
            self.recent.put(id, &book);
        }
        Ok(book)
    }

    /// The kept book where it is no newer than a version; the empty one otherwise.
    async fn kept_book(&self, id: ClientId, most: u64) -> Result<ClientBook, DeskFault> {
        if most < EVERY {
            return Ok(ClientBook::default());
        }
        let row = self.book.view_row(&view(), &id.0.to_be_bytes()).await?;
        let book = row.and_then(|row| unpacked::<ClientBook>(&row.body, "a client's book").ok());
        Ok(book.filter(|book| book.version <= most).unwrap_or_default())
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::acts::Ended;
    use serde_json::json;
    use store::book::{Place, ViewRow};

    async fn rows(salon: &Salon) -> Vec<ViewRow> {
        salon.book.view(&view()).await.unwrap()
    }

    async fn done(salon: &Salon, line: serde_json::Value) -> serde_json::Value {
        let (answer, ended) = salon.act(&line.to_string()).await;
        assert_eq!(ended, Ended::Done, "{answer}");
        answer
    }

    #[tokio::test]
    async fn a_client_at_any_version_is_what_her_events_come_to() {
        let folder = tempfile::tempdir().unwrap();
        let place = Place::Folder(folder.path().to_owned());
        let salon = Salon::begin(&place, None).await.unwrap().salon;
        let facts = json!({"client": {"name": "Wren Aldous"}, "colour": {"lab_d65": [41.300_000_000_000_004, 7.1, 0.1]}});
        let added = done(&salon, json!({"act": "client add", "on": "2026-03-02", "facts": facts})).await;
        let id: ClientId = added["client"].as_str().unwrap().parse().unwrap();
        for at in 0..EVERY + 9 {
            let wording = format!("contact-{at}");
            done(
                &salon,
                json!({"act": "consent give", "on": "2026-03-03", "client": id.to_string(), "purpose": "contact", "wording": wording}),
            )
            .await;
        }
        let kept = rows(&salon).await;
        assert_eq!(kept.len(), 1);
        let kept_book: ClientBook = unpacked(&kept[0].body, "a client's book").unwrap();
        assert_eq!(kept_book.version, EVERY);
        salon.close().await;

        // Opened anew, whatever version is asked for, and from wherever it is begun.
        let salon = Salon::open(&place, None).await.unwrap().salon;
        let (mut all, mut books) = (ClientBook::default(), Vec::new());
        for row in salon.book.read(stream_of(id), 0).await.unwrap() {
            let (event, stood) = opened::<ClientEvent>(&row).unwrap();
            all.apply(event, stood);
            books.push(all.clone());
        }
        assert_eq!(books[EVERY as usize - 1], kept_book);
        for version in [EVERY + 1, EVERY, EVERY - 1, 1, EVERY + 5] {
            assert_eq!(salon.client_book(id, Some(version)).await.unwrap(), books[version as usize - 1], "version {version}");
        }
        assert_eq!(salon.client_book(id, None).await.unwrap(), all);

        // Made anew, the view is what was kept; without it, she is found all the same.
        salon.rebuild_views().await.unwrap();
        assert_eq!(rows(&salon).await, kept);
        salon.book.drop_views().await.unwrap();
        salon.recent.forget(id);
        assert_eq!(salon.client_book(id, None).await.unwrap(), all);
        salon.rebuild_views().await.unwrap();

        // Erased, nothing of her is left in it.
        done(&salon, json!({"act": "client erase", "on": "2026-03-04", "client": id.to_string(), "reason": "she asked"})).await;
        assert_eq!(rows(&salon).await, []);
        assert!(matches!(salon.client_book(id, None).await, Err(DeskFault::Unknown(_))));
    }
}
