//! Photos that colours were read from, and the readings.

use crate::clock::now_ms;
use crate::records::{ClientId, id_type, log};
use crate::{EarlierRecords, StoreFault};
use sqlx::Row;
use sqlx::sqlite::SqliteRow;
use std::str::FromStr;
use uuid::Uuid;

id_type!(PhotoId, "photo", "One photo as it was taken in.");
id_type!(ReadingId, "reading", "One reading of a client's ends; read again is a new reading.");

/// A photo to be kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewPhoto {
    /// Whose ends; nobody's when it shows the salon's own swatches.
    pub client: Option<ClientId>,
    /// The picture's bytes, without metadata; the store does not look inside.
    pub picture: Vec<u8>,
    /// Where things lie in it, as a document.
    pub note: String,
}

/// A photo without its picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PhotoNote {
    /// Which.
    pub id: PhotoId,
    /// Whose ends; nobody's when it shows the salon's own swatches.
    pub client: Option<ClientId>,
    /// Where things lie in it, as a document.
    pub note: String,
    /// Counts the note's changes from one.
    pub version: i64,
    /// When it was taken in, ms since 1970.
    pub kept_ms: i64,
}

/// A reading to be kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewReading {
    /// Whose.
    pub client: ClientId,
    /// The photo it was read from, where there is one.
    pub photo: Option<PhotoId>,
    /// What was read, as a document.
    pub document: String,
}

/// A reading as it was made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoredReading {
    /// Which.
    pub id: ReadingId,
    /// Whose.
    pub client: ClientId,
    /// The photo it was read from, where there is one.
    pub photo: Option<PhotoId>,
    /// What was read, as a document.
    pub document: String,
    /// When the hair was seen, ms since 1970: when its photo was taken in, or
    /// when it was read.
    pub seen_ms: i64,
    /// Whether the same photo was read again later.
    pub superseded: bool,
}

/// A reading with the moment of its photo, and whether a later one stands in its place.
const READING: &str = "SELECT r.id, r.client, r.photo, r.document, coalesce(p.kept_ms, r.read_ms) AS seen_ms,
        EXISTS (SELECT 1 FROM reading l WHERE l.photo = r.photo AND (l.read_ms, l.id) > (r.read_ms, r.id)) AS superseded
     FROM reading r LEFT JOIN photo p ON p.id = r.photo";

impl EarlierRecords {
    /// Keeps a photo.
    pub async fn keep_photo(&self, photo: &NewPhoto) -> Result<PhotoId, StoreFault> {
        self.may_write()?;
        let outcome = self.write_photo(photo).await;
        self.after_write(outcome)
    }

    async fn write_photo(&self, photo: &NewPhoto) -> Result<PhotoId, StoreFault> {
        let id = PhotoId::new();
        let now = now_ms();
        let mut change = self.writer.begin_with("BEGIN IMMEDIATE").await?;
        if let Some(client) = photo.client {
            let known = sqlx::query("SELECT 1 FROM client WHERE id = $1").bind(client.0).fetch_optional(&mut *change).await?;
            if known.is_none() {
                return Err(StoreFault::Unknown("client"));
            }
        }
        sqlx::query("INSERT INTO photo (id, client, picture, note, version, kept_ms) VALUES ($1, $2, $3, $4, 1, $5)")
            .bind(id.0)
            .bind(photo.client.map(|client| client.0))
            .bind(&photo.picture)
            .bind(&photo.note)
            .bind(now)
            .execute(&mut *change)
            .await?;
        log(&mut change, now, "photo kept", &id.to_string(), 1).await?;
        change.commit().await?;
        Ok(id)
    }

    /// One photo without its picture.
    pub async fn photo(&self, id: PhotoId) -> Result<PhotoNote, StoreFault> {
        let row = sqlx::query("SELECT id, client, note, version, kept_ms FROM photo WHERE id = $1")
            .bind(id.0)
            .fetch_optional(&self.readers)
            .await?
            .ok_or(StoreFault::Unknown("photo"))?;
        photo_note(&row)
    }

    /// A photo's picture.
    pub async fn picture(&self, id: PhotoId) -> Result<Vec<u8>, StoreFault> {
        let row = sqlx::query("SELECT picture FROM photo WHERE id = $1")
            .bind(id.0)
            .fetch_optional(&self.readers)
            .await?
            .ok_or(StoreFault::Unknown("photo"))?;
        Ok(row.try_get(0)?)
    }

    /// A client's photos, newest first; the salon's own when there is no client.
    pub async fn photos_of(&self, client: Option<ClientId>) -> Result<Vec<PhotoNote>, StoreFault> {
        let rows = sqlx::query("SELECT id, client, note, version, kept_ms FROM photo WHERE client IS $1 ORDER BY kept_ms DESC, id DESC")
            .bind(client.map(|client| client.0))
            .fetch_all(&self.readers)
            .await?;
        rows.iter().map(photo_note).collect()
    }

    /// Changes what is noted of a photo, when `seen` is still the note's version.
    ///
    /// *Errors*: somebody changed it in the meantime; nothing is written then.
    pub async fn note_photo(&self, id: PhotoId, seen: i64, note: &str) -> Result<i64, StoreFault> {
        self.may_write()?;
        let outcome = self.write_note(id, seen, note).await;
        self.after_write(outcome)
    }

    async fn write_note(&self, id: PhotoId, seen: i64, note: &str) -> Result<i64, StoreFault> {
        let mut change = self.writer.begin_with("BEGIN IMMEDIATE").await?;
        let row = sqlx::query("SELECT version FROM photo WHERE id = $1")
            .bind(id.0)
            .fetch_optional(&mut *change)
            .await?
            .ok_or(StoreFault::Unknown("photo"))?;
        let now: i64 = row.try_get(0)?;
        if now != seen {
            return Err(StoreFault::Changed { seen, now });
        }
        sqlx::query("UPDATE photo SET note = $2, version = $3 WHERE id = $1")
            .bind(id.0)
            .bind(note)
            .bind(seen + 1)
            .execute(&mut *change)
            .await?;
        log(&mut change, now_ms(), "photo marked", &id.to_string(), seen + 1).await?;
        change.commit().await?;
        Ok(seen + 1)
    }

    /// Removes a photo and all that was read from it.
    pub async fn remove_photo(&self, id: PhotoId) -> Result<(), StoreFault> {
        self.may_write()?;
        let outcome = self.write_removed(id).await;
        self.after_write(outcome)
    }

    async fn write_removed(&self, id: PhotoId) -> Result<(), StoreFault> {
        let mut change = self.writer.begin_with("BEGIN IMMEDIATE").await?;
        sqlx::query("DELETE FROM reading WHERE photo = $1").bind(id.0).execute(&mut *change).await?;
        let done = sqlx::query("DELETE FROM photo WHERE id = $1").bind(id.0).execute(&mut *change).await?;
        if done.rows_affected() == 0 {
            return Err(StoreFault::Unknown("photo"));
        }
        log(&mut change, now_ms(), "photo removed", &id.to_string(), 1).await?;
        change.commit().await?;
        Ok(())
    }

    /// Keeps a reading.
    ///
    /// *Errors*: a client or a photo that is not there, or a photo of somebody else.
    pub async fn keep_reading(&self, reading: &NewReading) -> Result<ReadingId, StoreFault> {
        self.may_write()?;
        let outcome = self.write_reading(reading).await;
        self.after_write(outcome)
    }

    async fn write_reading(&self, reading: &NewReading) -> Result<ReadingId, StoreFault> {
        let id = ReadingId::new();
        let now = now_ms();
        let mut change = self.writer.begin_with("BEGIN IMMEDIATE").await?;
        let known = match reading.photo {
            Some(photo) => sqlx::query("SELECT 1 FROM photo WHERE id = $1 AND client = $2").bind(photo.0).bind(reading.client.0),
            None => sqlx::query("SELECT 1 FROM client WHERE id = $1").bind(reading.client.0),
        };
        if known.fetch_optional(&mut *change).await?.is_none() {
            return Err(StoreFault::Unknown(if reading.photo.is_some() { "photo" } else { "client" }));
        }
        sqlx::query("INSERT INTO reading (id, client, photo, document, read_ms) VALUES ($1, $2, $3, $4, $5)")
            .bind(id.0)
            .bind(reading.client.0)
            .bind(reading.photo.map(|photo| photo.0))
            .bind(&reading.document)
            .bind(now)
            .execute(&mut *change)
            .await?;
        log(&mut change, now, "colour read", &id.to_string(), 1).await?;
        change.commit().await?;
        Ok(id)
    }

    /// One reading.
    pub async fn reading(&self, id: ReadingId) -> Result<StoredReading, StoreFault> {
        let row = sqlx::query(sqlx::AssertSqlSafe(format!("{READING} WHERE r.id = $1")))
            .bind(id.0)
            .fetch_optional(&self.readers)
            .await?
            .ok_or(StoreFault::Unknown("reading"))?;
        reading(&row)
    }

    /// A client's readings, oldest first; of each photo only the last.
    pub async fn readings_of(&self, client: ClientId) -> Result<Vec<StoredReading>, StoreFault> {
        let rows = sqlx::query(sqlx::AssertSqlSafe(format!("{READING} WHERE r.client = $1 ORDER BY seen_ms, r.id")))
            .bind(client.0)
            .fetch_all(&self.readers)
            .await?;
        let all = rows.iter().map(reading).collect::<Result<Vec<_>, _>>()?;
        Ok(all.into_iter().filter(|reading| !reading.superseded).collect())
    }
}

fn photo_note(row: &SqliteRow) -> Result<PhotoNote, StoreFault> {
    let client: Option<Uuid> = row.try_get("client")?;
    Ok(PhotoNote {
        id: PhotoId(row.try_get("id")?),
        client: client.map(ClientId),
        note: row.try_get("note")?,
        version: row.try_get("version")?,
        kept_ms: row.try_get("kept_ms")?,
    })
}

fn reading(row: &SqliteRow) -> Result<StoredReading, StoreFault> {
    let photo: Option<Uuid> = row.try_get("photo")?;
    Ok(StoredReading {
        id: ReadingId(row.try_get("id")?),
        client: ClientId(row.try_get("client")?),
        photo: photo.map(PhotoId),
        document: row.try_get("document")?,
        seen_ms: row.try_get("seen_ms")?,
        superseded: row.try_get("superseded")?,
    })
}
