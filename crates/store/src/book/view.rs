//! Rows of views: derived from events, kept for speed, thrown away at will.

use super::core::{Core, Writing, altered};
use super::engine::{Column, Line, Wide, with};
use super::seal::Sum;
use super::{Access, Book, Stream};
use crate::StoreFault;
use crate::book::ViewWrite;
use uuid::Uuid;
use zeroize::Zeroizing;

/// One row of a view.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ViewRow {
    /// The row's key.
    pub key: Vec<u8>,
    /// Under whose key it is sealed.
    pub owner: Stream,
    /// The row.
    pub body: Vec<u8>,
}

/// All rows of a view, each with the wrapped key of its owner.
static ROWS: Wide = Wide::new(
    &[Column::Bytes("v.place"), Column::Bytes("v.owner"), Column::Bytes("v.sealed"), Column::Bytes("k.wrapped")],
    "FROM view_row v JOIN stream_key k ON k.salon = v.salon AND k.owner = v.owner WHERE v.salon = $1 AND v.view = $2",
);

impl Book {
    /// A view's rows, by key.
    ///
    /// *Errors*: the view cannot be read, or a row is not as it was written; one
    /// that holds a row of a health document (`HealthIsApart`).
    pub async fn view(&self, view: &str) -> Result<Vec<ViewRow>, StoreFault> {
        let core = self.core();
        let name = core.view_name(view);
        let lines = core.engine.gather(&ROWS, with![core.salon, name]).await?;
        let mut rows = core.view_lines(&name, &lines)?;
        if rows.iter().any(|row| matches!(row.owner, Stream::Health(_))) {
            return Err(StoreFault::HealthIsApart);
        }
        rows.sort_by(|a, b| a.key.cmp(&b.key));
        Ok(rows)
    }

    /// One row of a view.
    ///
    /// *Errors*: the view cannot be read, or a row is not as it was written; a
    /// health document's (`HealthIsApart`: use [`Book::health_row`]).
    pub async fn view_row(&self, view: &str, key: &[u8]) -> Result<Option<ViewRow>, StoreFault> {
        match self.row_of(view, key).await? {
            Some(row) if matches!(row.owner, Stream::Health(_)) => Err(StoreFault::HealthIsApart),
            row => Ok(row),
        }
    }

    /// One row of a health document. The access is recorded first, durably; when
    /// that fails, nothing is handed out.
    ///
    /// *Errors*: the access cannot be recorded; as [`Book::view_row`].
    pub async fn health_row(&self, view: &str, key: &[u8], document: Uuid, access: &Access) -> Result<Option<ViewRow>, StoreFault> {
        self.note_access(Some(Stream::Health(document)), access).await?;
        Ok(self.row_of(view, key).await?.filter(|row| row.owner == Stream::Health(document)))
    }

    async fn row_of(&self, view: &str, key: &[u8]) -> Result<Option<ViewRow>, StoreFault> {
        let core = self.core();
        let name = core.view_name(view);
        let sql = "SELECT v.place, v.owner, v.sealed, k.wrapped FROM view_row v
                   JOIN stream_key k ON k.salon = v.salon AND k.owner = v.owner WHERE v.salon = $1 AND v.view = $2 AND v.place = $3";
        let lines = core.engine.look(sql, with![core.salon, name, core.view_place(view, key)]).await?;
        lines.first().map(|line| core.view_line(&name, line)).transpose()
    }

    /// The number of the code that made the view, where it was set.
    ///
    /// *Errors*: the view cannot be read, or a row is not as it was written.
    pub async fn view_number(&self, view: &str) -> Result<Option<u64>, StoreFault> {
        let core = self.core();
        let sql = "SELECT number FROM view_number WHERE salon = $1 AND view = $2";
        let lines = core.engine.look(sql, with![core.salon, core.view_name(view)]).await?;
        lines.first().map(|line| line.count(0)).transpose()
    }

    /// Throws all views away; events are not touched.
    ///
    /// *Errors*: the book cannot be written to.
    pub async fn drop_views(&self) -> Result<(), StoreFault> {
        let core = self.core();
        core.may_write()?;
        let outcome = async {
            let mut change = core.engine.change().await?;
            change.run("DELETE FROM view_row WHERE salon = $1", with![core.salon]).await?;
            change.run("DELETE FROM view_number WHERE salon = $1", with![core.salon]).await?;
            change.commit().await
        };
        core.after_write(outcome.await)
    }
}

impl Core {
    fn view_name(&self, view: &str) -> Sum {
        self.keys.names.code(&[b"view", view.as_bytes()])
    }

    fn view_place(&self, view: &str, key: &[u8]) -> Sum {
        self.keys.names.code(&[b"row", view.as_bytes(), key])
    }

    /// Opens rows; many of them on all of the machine's cores, since whoever waits
    /// for a list waits for every seal of it.
    fn view_lines(&self, name: &Sum, lines: &[Line]) -> Result<Vec<ViewRow>, StoreFault> {
        const ALONE: usize = 1000;
        let opened = |lines: &[Line]| lines.iter().map(|line| self.view_line(name, line)).collect::<Result<Vec<_>, _>>();
        let cores = std::thread::available_parallelism().map_or(1, usize::from).min(lines.len() / ALONE + 1);
        std::thread::scope(|scope| {
            let mut shares = lines.chunks(lines.len().div_ceil(cores).max(1));
            let own = shares.next().unwrap_or_default();
            let others: Vec<_> = shares.map(|share| scope.spawn(move || opened(share))).collect();
            let mut rows = opened(own)?;
            for other in others {
                rows.extend(other.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic))?);
            }
            Ok(rows)
        })
    }

    /// Opens `place, owner, sealed, wrapped`.
    fn view_line(&self, name: &Sum, line: &Line) -> Result<ViewRow, StoreFault> {
        let does_not_open = || altered(0, "a row of a view does not open; throw the views away and build them anew");
        let owner = Stream::from_bytes(line.bytes(1)?).ok_or_else(does_not_open)?;
        let wrapped = line.bytes(3)?;
        let key = if owner == Stream::House { self.keys.house.clone() } else { self.unwrap(owner, wrapped)? };
        let bound = [b"view".as_slice(), self.salon.as_bytes(), name, line.bytes(0)?];
        let plain = key.open(&bound, line.bytes(2)?).ok_or_else(does_not_open)?;
        let (length, rest) = plain.split_first_chunk::<4>().ok_or_else(does_not_open)?;
        let (key, body) = rest.split_at_checked(u32::from_be_bytes(*length) as usize).ok_or_else(does_not_open)?;
        Ok(ViewRow { key: key.to_vec(), owner, body: body.to_vec() })
    }
}

impl Writing<'_> {
    /// Changes a view in the transaction.
    pub(crate) async fn view(&mut self, write: ViewWrite) -> Result<(), StoreFault> {
        let (core, salon) = (self.core, self.core.salon);
        match write {
            ViewWrite::Put { view, key, owner, body } => {
                let owner = owner.key_owner();
                let (name, place) = (core.view_name(&view), core.view_place(&view, &key));
                let length = u32::try_from(key.len()).map_err(|_| StoreFault::Damaged("a view's key of 4 GB".to_owned()))?;
                let plain = Zeroizing::new([&length.to_be_bytes()[..], &key, &body].concat());
                let sealed = self.key(owner).await?.seal(&[b"view", salon.as_bytes(), &name, &place], &plain)?;
                let sql = "INSERT INTO view_row (salon, view, place, owner, sealed) VALUES ($1, $2, $3, $4, $5)
                           ON CONFLICT (salon, view, place) DO UPDATE SET owner = excluded.owner, sealed = excluded.sealed";
                self.change.run(sql, with![salon, name, place, owner.bytes(), sealed]).await?;
            }
            ViewWrite::Take { view, key } => {
                let sql = "DELETE FROM view_row WHERE salon = $1 AND view = $2 AND place = $3";
                self.change.run(sql, with![salon, core.view_name(&view), core.view_place(&view, &key)]).await?;
            }
            ViewWrite::Clear { view } => {
                let name = core.view_name(&view);
                self.change.run("DELETE FROM view_row WHERE salon = $1 AND view = $2", with![salon, name]).await?;
                self.change.run("DELETE FROM view_number WHERE salon = $1 AND view = $2", with![salon, name]).await?;
            }
            ViewWrite::Number { view, number } => {
                let sql = "INSERT INTO view_number (salon, view, number) VALUES ($1, $2, $3)
                           ON CONFLICT (salon, view) DO UPDATE SET number = excluded.number";
                self.change.run(sql, with![salon, core.view_name(&view), number]).await?;
            }
        }
        Ok(())
    }
}
