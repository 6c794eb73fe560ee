//! Making every view anew from the events.

use crate::clients::{LINES, line_of, views_are_made};
use crate::photos::{WHERE, wheres_of, wheres_of_house};
use crate::{DeskFault, Salon, states};
use salon::book::{ClientId, HouseBook, ShelfBook};
use std::collections::{BTreeMap, HashSet};
use std::sync::PoisonError;
use store::StoreFault;
use store::book::{Batch, Stream, ViewWrite, Write};
use uuid::Uuid;

/// What each stream's events come to in the views, and the version it was read at.
type Made = BTreeMap<Stream, (u64, Vec<ViewWrite>)>;

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
        let mut made = Made::new();
        for stream in self.book.versions().await?.into_keys() {
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
