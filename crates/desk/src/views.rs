//! Making every view anew from the events.

use crate::clients::{LINES, line_of, views_are_made};
use crate::photos::{WHERE, wheres_of, wheres_of_house};
use crate::salon_book::opened;
use crate::{DeskFault, Salon, states};
use salon::book::{ClientBook, ClientEvent, ClientId, HouseBook, ShelfBook};
use std::collections::{BTreeMap, HashSet};
use std::sync::PoisonError;
use store::StoreFault;
use store::book::{Batch, Row, Stream, ViewWrite, Write};
use uuid::Uuid;

/// What each stream's events come to in the views, and the version it was read at.
type Made = BTreeMap<Stream, (u64, Vec<ViewWrite>)>;

/// Clients' books while they are read; nothing for one who was erased.
type Books = BTreeMap<ClientId, Option<ClientBook>>;

/// Events that are read at once.
const AT_ONCE: u32 = 20_000;

/// What more events make of the clients' books.
fn applied(mut books: Books, rows: &[Row]) -> Result<Books, DeskFault> {
    for row in rows {
        let Stream::Client(id) = row.stream else { continue };
        let book = books.entry(ClientId(id.as_u128())).or_insert_with(|| Some(ClientBook::default()));
        if row.opened().is_none() {
            *book = None;
        }
        if let Some(book) = book {
            let (event, stood) = opened::<ClientEvent>(row)?;
            book.apply(event, stood);
        }
    }
    Ok(books)
}

impl Salon {
    /// Makes every view anew from the events; how many rows they have. Others may
    /// write meanwhile: nothing is kept that was made of what is no longer in force.
    ///
    /// *Errors*: the records.
    pub async fn rebuild_views(&self) -> Result<usize, DeskFault> {
        let (mut before, mut cleared) = (Vec::new(), false);
        // Before the streams: a client who comes meanwhile is in neither, and her rows stay.
        for view in [LINES, WHERE, &states::view()] {
            match self.book.view(view).await {
                Ok(rows) => before.extend(rows.into_iter().map(|row| ViewWrite::Take { view: view.to_owned(), key: row.key })),
                // A row that does not open: then all of them go.
                Err(StoreFault::Altered(_)) => {
                    cleared = true;
                    before.push(ViewWrite::Clear { view: view.to_owned() });
                }
                Err(fault) => return Err(fault.into()),
            }
        }
        let rows = self.made_anew(&before).await?;
        // What others wrote between reading and clearing is made a second time.
        if cleared { self.made_anew(&[]).await } else { Ok(rows) }
    }

    async fn made_anew(&self, before: &[ViewWrite]) -> Result<usize, DeskFault> {
        let mut made = self.clients_anew().await?;
        for stream in [Stream::House, Stream::Shelf] {
            self.make(stream, &mut made).await?;
        }
        loop {
            match self.book.append(batch_of(&made, before)).await {
                // Somebody wrote while the others were read: this one is read again.
                Err(StoreFault::Stale { stream, .. } | StoreFault::Erased(stream)) => self.make(stream, &mut made).await?,
                outcome => {
                    outcome?;
                    break;
                }
            }
        }
        *self.lines.lock().unwrap_or_else(PoisonError::into_inner) = None;
        Ok(made.values().map(|(_, rows)| rows.len()).sum())
    }

    /// Every client's rows, from one walk through the book: stream by stream each
    /// event would be looked up by itself. What is read and what is made of it go
    /// side by side.
    async fn clients_anew(&self) -> Result<Made, DeskFault> {
        let mut books = Books::new();
        let mut rows = self.book.read_all(0, AT_ONCE, None).await?;
        while let Some(last) = rows.last().map(|row| row.seq) {
            let applying = tokio::task::spawn_blocking(move || applied(books, &rows));
            let (done, next) = tokio::join!(applying, self.book.read_all(last, AT_ONCE, None));
            books = done.map_err(|cause| DeskFault::damaged("the views could not be made", &cause))??;
            rows = next?;
        }
        let rows_of = |(id, book): (ClientId, Option<ClientBook>)| {
            let book = book?;
            let rows = std::iter::once(line_of(id, &book)).chain(wheres_of(id, &book)).collect();
            Some((crate::salon_book::stream_of(id), (book.version, rows)))
        };
        Ok(books.into_iter().filter_map(rows_of).collect())
    }

    async fn make(&self, stream: Stream, made: &mut Made) -> Result<(), DeskFault> {
        let (version, rows) = match stream {
            Stream::Client(id) => {
                let id = ClientId(id.as_u128());
                match self.client_book(id, None).await {
                    Ok(book) => (book.version, std::iter::once(line_of(id, &book)).chain(wheres_of(id, &book)).collect()),
                    Err(DeskFault::Unknown(_)) => {
                        made.remove(&stream);
                        return Ok(());
                    }
                    Err(fault) => return Err(fault),
                }
            }
            Stream::House => {
                let house = self.house_book().await?;
                let mut rows = wheres_of_house(&house);
                rows.extend(self.states_anew::<HouseBook>(house.version).await?);
                (house.version, rows)
            }
            Stream::Shelf => {
                let version = self.book.version(stream).await?;
                (version, self.states_anew::<ShelfBook>(version).await?)
            }
            _ => return Ok(()),
        };
        made.insert(stream, (version, rows));
        Ok(())
    }
}

/// All rows over what was there before; of that, what no event bears out is taken away.
fn batch_of(made: &Made, before: &[ViewWrite]) -> Batch {
    let rows = || made.values().flat_map(|(_, rows)| rows);
    let keys: HashSet<(&str, &[u8])> = rows().filter_map(key_of).collect();
    let over = before.iter().filter(|row| key_of(row).is_none_or(|key| !keys.contains(&key)));
    let views = over.chain(rows()).cloned().chain([views_are_made()]).collect();
    let writes = made.iter().map(|(stream, (version, _))| Write { stream: *stream, seen: Some(*version), events: Vec::new() }).collect();
    Batch { at_ms: crate::salon_book::now_ms(), actor: Uuid::nil(), writes, once: None, views }
}

fn key_of(row: &ViewWrite) -> Option<(&str, &[u8])> {
    match row {
        ViewWrite::Put { view, key, .. } | ViewWrite::Take { view, key } => Some((view, key)),
        _ => None,
    }
}
