//! House, shelf, money and diary as they are in force; the house and the shelf's lots
//! as they were at any version.
//!
//! Their streams grow with the salon's whole life, and what a page asks must not.
//! So the newest state is held in memory and goes on from there, and the state at
//! every version that is a multiple of [`State::EVERY`] is kept as a row of a view:
//! whoever asks of an earlier version, or has just started, reads that row and
//! the few events after it. Of shelf, money and diary as a whole nobody asks an earlier
//! version: one row each is kept, the newest over the one before.

use crate::known::{Known, State, key, row, view};
use crate::packed::unpacked;
use crate::written::{Act, opened};
use crate::{DeskFault, Salon};
use salon::book::Stood;
use serde::de::DeserializeOwned;
use std::sync::{Arc, PoisonError};
use store::book::{Stream, ViewWrite};

/// Events that are read at once where all are.
const AT_ONCE: u64 = 20_000;

impl Salon {
    /// A stream's state in force, or as it was at a version.
    pub(crate) async fn state<S: State>(&self, known: &Known<S>, at: Option<u64>) -> Result<Arc<S>, DeskFault> {
        let newest = known.newest.lock().unwrap_or_else(PoisonError::into_inner).clone();
        let wanted = match at {
            Some(version) => version,
            None => self.book.version(S::STREAM).await?,
        };
        if let Some(newest) = newest.clone().filter(|newest| newest.version() == wanted) {
            return Ok(newest);
        }
        let base = newest.filter(|newest| newest.version() < wanted);
        let mut state = match base {
            Some(newest) => Arc::unwrap_or_clone(newest),
            None => self.kept_state::<S>(wanted).await?,
        };
        for row in self.book.read_to(S::STREAM, state.version(), wanted).await? {
            let (event, stood) = opened::<S::Event>(&row)?;
            state.put(event, stood);
            let is_last = state.version() + S::EVERY > wanted;
            if at.is_none() && state.version() % S::EVERY == 0 && (S::STAYS || is_last) {
                let mut to_keep = known.to_keep.lock().unwrap_or_else(PoisonError::into_inner);
                if !S::STAYS {
                    to_keep.clear();
                }
                to_keep.insert(state.version(), Arc::new(state.clone()));
            }
        }
        let state = Arc::new(state);
        if at.is_none() {
            let mut newest = known.newest.lock().unwrap_or_else(PoisonError::into_inner);
            if newest.as_ref().is_none_or(|newest| newest.version() < state.version()) {
                *newest = Some(state.clone());
            }
        }
        Ok(state)
    }

    /// The newest kept state that is no newer than a version; the empty one where none is.
    async fn kept_state<S: State>(&self, most: u64) -> Result<S, DeskFault> {
        let mut version = most / S::EVERY * S::EVERY;
        while version > 0 {
            if let Some(row) = self.book.view_row(&view(), &key::<S>(version)).await?
                && let Ok(state) = unpacked::<S>(&row.body, "a state")
                && state.version() <= most
            {
                return Ok(state);
            }
            version = if S::STAYS { version - S::EVERY } else { 0 };
        }
        Ok(S::default())
    }

    /// All kept states of a stream up to a version, made anew.
    pub(crate) async fn states_anew<S: State>(&self, last: u64) -> Result<Vec<ViewWrite>, DeskFault> {
        let mut state = S::default();
        let mut rows = Vec::new();
        while state.version() + S::EVERY <= last {
            for row in self.book.read_to(S::STREAM, state.version(), state.version() + S::EVERY).await? {
                let (event, stood) = opened::<S::Event>(&row)?;
                state.put(event, stood);
            }
            if S::STAYS || state.version() + S::EVERY > last {
                rows.push(row(state.version(), &state));
            }
        }
        Ok(rows)
    }

    /// What all events of a stream come to, from the first on, in a state that lets
    /// nothing go: slower, and the answer where the state in force holds too little.
    pub(crate) async fn folded<S: State + Send>(&self, mut state: S) -> Result<S, DeskFault> {
        self.each(S::STREAM, |event, stood| state.put(event, stood)).await?;
        Ok(state)
    }

    /// Hands on every event of a stream, from the first on.
    pub(crate) async fn each<E: DeserializeOwned>(&self, stream: Stream, mut each: impl FnMut(E, Stood) + Send) -> Result<(), DeskFault> {
        let mut version = 0;
        loop {
            let rows = self.book.read_to(stream, version, version + AT_ONCE).await?;
            let Some(last) = rows.last() else { return Ok(()) };
            version = last.version;
            for row in &rows {
                let (event, stood) = opened::<E>(row)?;
                each(event, stood);
            }
        }
    }

    /// Adds to an act the states that came by since the last one; which they are.
    pub(crate) fn with_states(&self, act: &mut Act) -> [u64; 5] {
        let rows = [self.house.rows(), self.shelf.rows(), self.lots.rows(), self.money.rows(), self.diary.rows()];
        let kept = [0, 1, 2, 3, 4].map(|at: usize| rows[at].last().map_or(0, |(version, _)| *version));
        act.views.extend(rows.into_iter().flatten().map(|(_, row)| row));
        kept
    }

    /// Forgets the states that an act kept.
    pub(crate) fn states_kept(&self, [house, shelf, lots, money, diary]: [u64; 5]) {
        self.house.kept(house);
        self.shelf.kept(shelf);
        self.lots.kept(lots);
        self.money.kept(money);
        self.diary.kept(diary);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::known::EVERY;
    use crate::short::short;
    use salon::book::Happened;
    use salon::book::{AppointmentId, DiaryBook, DiaryEvent, ShelfBook, ShelfEvent};
    use salon::stock::{OnHand, StockLength};
    use store::book::{Batch, NewEvent, Place, ViewRow, Write};

    fn counted(at: u64) -> NewEvent {
        let there =
            OnHand { lot: format!("L{}", at % 7), shade: "S01".into(), length_mm: StockLength::mm(450.0).unwrap(), pieces: at as u32 };
        let what = ShelfEvent::Counted { there, reason: "counted".into() };
        let body = serde_json::to_vec(&Happened { on: "2026-03-02".parse().unwrap(), at: None, what }).unwrap();
        short(body)
    }

    async fn rows(salon: &Salon) -> Vec<ViewRow> {
        salon.book.view(&view()).await.unwrap()
    }

    #[tokio::test]
    async fn the_shelf_at_any_version_is_what_its_events_come_to() {
        let folder = tempfile::tempdir().unwrap();
        let place = Place::Folder(folder.path().to_owned());
        let salon = Salon::begin(&place, None).await.unwrap().salon;
        let last = 2 * ShelfBook::EVERY + 70;
        for from in (0..last).step_by(97) {
            let events = (from..last.min(from + 97)).map(counted).collect();
            let writes = vec![Write { stream: Stream::Shelf, seen: None, events }];
            salon.book.append(Batch { writes, ..Batch::default() }).await.unwrap();
        }
        // The next act keeps the states that came by.
        let line = r#"{"act":"shelf count","on":"2026-03-03","shade":"S01","length_mm":450,"lot":"L0","pieces":4,"reason":"r"}"#;
        assert_eq!(salon.act(line).await.1, crate::acts::Ended::Done);
        let kept = rows(&salon).await;
        assert_eq!(kept.len() as u64, last / EVERY + 1);
        salon.close().await;

        // Opened anew, each version is reached from the state before it alone.
        let salon = Salon::open(&place, None).await.unwrap().salon;
        let mut all = ShelfBook::default();
        let events = salon.book.read(Stream::Shelf, 0).await.unwrap();
        for row in &events {
            let (event, stood) = opened::<ShelfEvent>(row).unwrap();
            all.apply(event, stood);
            if [1, EVERY - 1, EVERY, EVERY + 1, 2 * EVERY, last].contains(&row.version) {
                let lots = salon.lots_at(row.version).await.unwrap();
                assert_eq!((lots.version, &lots.on_hand), (row.version, &all.on_hand));
            }
        }
        assert_eq!(*salon.shelf_book().await.unwrap(), all);
        assert_eq!(salon.lots_at(0).await.unwrap().on_hand, []);

        // Made anew, the view is what was kept; without it, everything is found all the same.
        salon.rebuild_views().await.unwrap();
        assert_eq!(rows(&salon).await, kept);
        salon.book.drop_views().await.unwrap();
        assert_eq!(salon.lots_at(EVERY + 5).await.unwrap().version, EVERY + 5);
        assert_eq!(salon.shelf_book().await.unwrap().on_hand, all.on_hand);
    }

    fn cancelled(at: u64) -> NewEvent {
        let (appointment, reason) = (AppointmentId(u128::from(at)), Some(format!("no {at}")));
        let what = DiaryEvent::AppointmentCancelled { appointment, reason };
        let body = serde_json::to_vec(&Happened { on: "2026-03-02".parse().unwrap(), at: None, what }).unwrap();
        short(body)
    }

    #[tokio::test]
    async fn of_the_diary_one_row_is_kept_however_long_it_gets() {
        let folder = tempfile::tempdir().unwrap();
        let place = Place::Folder(folder.path().to_owned());
        let salon = Salon::begin(&place, None).await.unwrap().salon;
        let client = salon.act(r#"{"act":"client add","on":"2026-03-02","facts":{}}"#).await.0["client"].as_str().unwrap().to_owned();
        let book = |at: &str| {
            format!(r#"{{"act":"appointment book","on":"2026-03-02","client":"{client}","kind":"check","day":"2026-03-04","at":"{at}"}}"#)
        };
        let every = DiaryBook::EVERY;
        let mut kept = Vec::new();
        for at in ["10:00", "11:00", "12:00"] {
            let writes = vec![Write { stream: Stream::Diary, seen: None, events: (0..every).map(cancelled).collect() }];
            salon.book.append(Batch { writes, ..Batch::default() }).await.unwrap();
            assert_eq!(salon.act(&book(at)).await.1, crate::acts::Ended::Done);
            kept = rows(&salon).await;
            assert_eq!(kept.len(), 1);
        }
        let state: DiaryBook = unpacked(&kept[0].body, "a state").unwrap();
        assert_eq!((state.version, state.appointments.len()), (3 * every, 2));
        salon.close().await;

        // Opened anew it goes on from that row; made anew it is the same row.
        let salon = Salon::open(&place, None).await.unwrap().salon;
        let now = salon.diary_book().await.unwrap();
        assert_eq!((now.version, now.appointments.len()), (3 * every + 3, 3));
        assert_eq!(salon.folded(DiaryBook::whole()).await.unwrap().appointments, now.appointments);
        salon.rebuild_views().await.unwrap();
        let is_state = |row: &ViewRow| unpacked::<DiaryBook>(&row.body, "a state").is_ok_and(|state| state.version > 0);
        assert_eq!(rows(&salon).await.into_iter().filter(is_state).collect::<Vec<_>>(), kept);
        salon.book.drop_views().await.unwrap();
        assert_eq!(salon.diary_book().await.unwrap(), now);
    }
}
