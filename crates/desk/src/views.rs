//! Making every view anew from the events.

use crate::client_line::{LINES, VIEWS, views_are_made};
use crate::clients::line_of;
use crate::photos::{WHERE, wheres_of, wheres_of_house};
use crate::written::{opened, stream_of};
use crate::{DeskFault, Salon, client_books, known};
use salon::book::{ClientBook, ClientEvent, ClientId, DiaryBook, HouseBook, LotsBook, MoneyBook, ShelfBook};
use std::collections::{BTreeMap, HashSet};
use std::sync::{Arc, PoisonError};
use store::StoreFault;
use store::book::{Batch, Row, Stream, ViewWrite, Write};
use uuid::Uuid;

/// What each stream's events come to in the views, and the version it was read at.
type ViewRows = BTreeMap<Stream, (u64, Vec<ViewWrite>)>;

/// Clients' books while they are read, each with the last row of it that is kept;
/// nothing for one who was erased.
type Books = BTreeMap<ClientId, Option<(ClientBook, Option<ViewWrite>)>>;

/// Events that are read at once.
const AT_ONCE: u32 = 20_000;

/// What more events make of the clients' books.
///
/// *Meaning*: `last` is how far each stream goes: only the last book that is kept is written.
fn applied(mut books: Books, rows: &[Row], last: &BTreeMap<Stream, u64>) -> Result<Books, DeskFault> {
    for row in rows {
        let Stream::Client(id) = row.stream else { continue };
        let id = ClientId(id.as_u128());
        let hers = books.entry(id).or_insert_with(|| Some((ClientBook::default(), None)));
        if row.opened().is_none() {
            *hers = None;
        }
        if let Some((book, kept)) = hers {
            let (event, stood) = opened::<ClientEvent>(row)?;
            book.apply(event, stood);
            let to_come = last.get(&row.stream).map_or(0, |last| last.saturating_sub(book.version));
            if book.version.is_multiple_of(client_books::EVERY) && to_come < client_books::EVERY {
                *kept = Some(client_books::row(id, book));
            }
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
        // Rows that code of an earlier number left are of no more use.
        let earlier = (1..VIEWS).flat_map(|number| [format!("states {number}"), format!("books {number}")]);
        let (mut before, mut cleared) = (earlier.map(|view| ViewWrite::Clear { view }).collect::<Vec<_>>(), false);
        // Before the streams: a client who comes meanwhile is in neither, and her rows stay.
        for view in [LINES, WHERE, &known::view(), &client_books::view()] {
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
        for stream in [Stream::House, Stream::Shelf, Stream::Money, Stream::Diary] {
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
    async fn clients_anew(&self) -> Result<ViewRows, DeskFault> {
        let mut books = Books::new();
        let ends = Arc::new(self.book.versions().await?);
        let mut rows = self.book.read_all(0, AT_ONCE, None).await?;
        while let Some(last) = rows.last().map(|row| row.seq) {
            let ends = Arc::clone(&ends);
            let applying = tokio::task::spawn_blocking(move || applied(books, &rows, &ends));
            let (done, next) = tokio::join!(applying, self.book.read_all(last, AT_ONCE, None));
            books = done.map_err(|cause| DeskFault::damaged("the views could not be made", &cause))??;
            rows = next?;
        }
        let rows_of = |(id, hers): (ClientId, Option<(ClientBook, Option<ViewWrite>)>)| {
            let (book, kept) = hers?;
            Some((stream_of(id), (book.version, rows_of(id, &book, kept))))
        };
        Ok(books.into_iter().filter_map(rows_of).collect())
    }

    /// A client's book from her events alone, and the row of it that is kept.
    async fn client_anew(&self, id: ClientId) -> Result<(ClientBook, Option<ViewWrite>), DeskFault> {
        let (mut book, mut kept) = (ClientBook::default(), None);
        let rows = self.book.read(stream_of(id), 0).await.map_err(|fault| match fault {
            StoreFault::Erased(_) => DeskFault::Unknown("client"),
            fault => fault.into(),
        })?;
        for row in rows {
            let (event, stood) = opened::<ClientEvent>(&row)?;
            kept = client_books::applied(id, &mut book, event, stood).or(kept);
        }
        if book.version == 0 { Err(DeskFault::Unknown("client")) } else { Ok((book, kept)) }
    }

    async fn make(&self, stream: Stream, made: &mut ViewRows) -> Result<(), DeskFault> {
        let (version, rows) = match stream {
            Stream::Client(id) => {
                let id = ClientId(id.as_u128());
                match self.client_anew(id).await {
                    Ok((book, kept)) => (book.version, rows_of(id, &book, kept)),
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
                let mut rows = self.states_anew::<LotsBook>(version).await?;
                rows.extend(self.states_anew::<ShelfBook>(version).await?);
                (version, rows)
            }
            Stream::Money => {
                let version = self.book.version(stream).await?;
                (version, self.states_anew::<MoneyBook>(version).await?)
            }
            Stream::Diary => {
                let version = self.book.version(stream).await?;
                (version, self.states_anew::<DiaryBook>(version).await?)
            }
            _ => return Ok(()),
        };
        made.insert(stream, (version, rows));
        Ok(())
    }
}

/// A client's rows.
fn rows_of(id: ClientId, book: &ClientBook, kept: Option<ViewWrite>) -> Vec<ViewWrite> {
    std::iter::once(line_of(id, book)).chain(wheres_of(id, book)).chain(kept).collect()
}

/// All rows over what was there before; of that, what no event bears out is taken away.
fn batch_of(made: &ViewRows, before: &[ViewWrite]) -> Batch {
    let rows = || made.values().flat_map(|(_, rows)| rows);
    let keys: HashSet<(&str, &[u8])> = rows().filter_map(key_of).collect();
    let over = before.iter().filter(|row| key_of(row).is_none_or(|key| !keys.contains(&key)));
    let views = over.chain(rows()).cloned().chain([views_are_made()]).collect();
    let writes = made.iter().map(|(stream, (version, _))| Write { stream: *stream, seen: Some(*version), events: Vec::new() }).collect();
    Batch { at_ms: crate::written::now_ms(), actor: Uuid::nil(), writes, once: None, views }
}

fn key_of(row: &ViewWrite) -> Option<(&str, &[u8])> {
    match row {
        ViewWrite::Put { view, key, .. } | ViewWrite::Take { view, key } => Some((view, key)),
        _ => None,
    }
}
