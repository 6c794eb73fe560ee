//! The layout of the records and how an older one is brought up to date.

use crate::StoreFault;
use sqlx::{Row, SqliteConnection};

/// Every layout change, in order; the number of a migration is its place here,
/// counted from one. Released migrations are never edited.
const MIGRATIONS: &[&str] =
    &[include_str!("../migrations/0001_first_records.sql"), include_str!("../migrations/0002_photos_and_readings.sql")];

/// The newest layout this program knows.
pub(crate) const NEWEST: i64 = MIGRATIONS.len() as i64;

/// Brings the records to the newest layout, one transaction for each step, so
/// that an interruption leaves the old layout or the new one.
pub(crate) async fn bring_up_to_date(connection: &mut SqliteConnection) -> Result<(), StoreFault> {
    let found = layout(connection).await?;
    if found > NEWEST {
        return Err(StoreFault::Newer { found, known: NEWEST });
    }
    for (number, sql) in (1_i64..).zip(MIGRATIONS).filter(|(number, _)| *number > found) {
        let mut step = sqlx::Connection::begin_with(&mut *connection, "BEGIN IMMEDIATE").await?;
        sqlx::raw_sql("CREATE TABLE IF NOT EXISTS layout (number INTEGER PRIMARY KEY, since_ms INTEGER NOT NULL) STRICT")
            .execute(&mut *step)
            .await?;
        sqlx::raw_sql(*sql).execute(&mut *step).await?;
        sqlx::query("INSERT INTO layout (number, since_ms) VALUES ($1, $2)")
            .bind(number)
            .bind(crate::clock::now_ms())
            .execute(&mut *step)
            .await?;
        step.commit().await?;
    }
    Ok(())
}

async fn layout(connection: &mut SqliteConnection) -> Result<i64, StoreFault> {
    let known: i64 = sqlx::query("SELECT count(*) FROM sqlite_schema WHERE type = 'table' AND name = 'layout'")
        .fetch_one(&mut *connection)
        .await?
        .try_get(0)?;
    if known == 0 {
        return Ok(0);
    }
    let newest: Option<i64> = sqlx::query("SELECT max(number) FROM layout").fetch_one(&mut *connection).await?.try_get(0)?;
    Ok(newest.unwrap_or(0))
}
