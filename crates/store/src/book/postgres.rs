//! The engine of a database: one salon of PostgreSQL.
//!
//! Every connection works in the salon's own role (`SET ROLE` where the address
//! names another one), which row security lets see this salon's rows only. The
//! chain grows under an advisory lock that ends with its transaction, so that
//! any number of processes keep one chain.

use super::engine::{Change, Engine, Later, Line, Value, with};
use super::seal::Sealed;
use crate::StoreFault;
use sqlx::postgres::{PgArguments, PgConnectOptions, PgConnection, PgPool, PgPoolOptions, PgRow};
use sqlx::{AssertSqlSafe, Column, ConnectOptions, Connection, Executor, Postgres, Row, Transaction, TypeInfo, ValueRef};
use std::future::Future;
use std::pin::Pin;
use std::str::FromStr;
use std::time::Duration;
use uuid::Uuid;

const CONNECTIONS: u32 = 6;
const NEWEST: i64 = 1;
/// The lock under which tables and roles are made; any number that nobody else uses.
const MAKING: i64 = 0x5374_7261_6e64;

/// The salon's role.
pub(crate) fn role(salon: Uuid) -> String {
    format!("salon_{}", salon.simple())
}

/// A database in which the salon's role works.
pub(crate) struct PostgresEngine {
    pool: PgPool,
    /// As the address says, in its own role: for housekeeping.
    plain: PgConnectOptions,
    salon: Uuid,
}

/// Makes the tables where they are missing, and the salon's role.
///
/// *Errors*: the address's role may not, and it has not been done by one that may.
pub(crate) async fn prepare(url: &str, salon: Uuid) -> Result<(), StoreFault> {
    let mut connection = options(url)?.connect().await.map_err(fault)?;
    let mut change = connection.begin().await.map_err(fault)?;
    sqlx::query("SELECT pg_advisory_xact_lock($1)").bind(MAKING).execute(&mut *change).await.map_err(fault)?;
    let there: bool = scalar(&mut change, "SELECT EXISTS (SELECT FROM pg_namespace WHERE nspname = 'strandwright')").await?;
    if !there {
        let made = sqlx::raw_sql(include_str!("../../migrations/book/0001_postgres.sql")).execute(&mut *change).await;
        made.map_err(|error| may_not("make the tables for salons", error))?;
    }
    let role = role(salon);
    let known: bool = sqlx::query_scalar("SELECT EXISTS (SELECT FROM pg_roles WHERE rolname = $1)")
        .bind(&role)
        .fetch_one(&mut *change)
        .await
        .map_err(fault)?;
    if !known {
        // The name is ours: letters and hexadecimal digits.
        let sql = format!(
            "CREATE ROLE {role} LOGIN NOCREATEDB NOCREATEROLE NOSUPERUSER NOBYPASSRLS IN ROLE strandwright_salon; GRANT {role} TO CURRENT_USER"
        );
        let made = sqlx::raw_sql(AssertSqlSafe(sql)).execute(&mut *change).await;
        made.map_err(|error| may_not("make the salon's role", error))?;
    }
    change.commit().await.map_err(fault)?;
    connection.close().await.map_err(fault)
}

fn may_not(what: &str, error: sqlx::Error) -> StoreFault {
    match code_of(&error).as_deref() {
        Some("42501") => StoreFault::NoPlace {
            what: format!("the database's role in the address may not {what}"),
            cure: "begin the salon once with the role that owns the database and may make roles; afterwards the salon's own role suffices"
                .to_owned(),
        },
        _ => fault(error),
    }
}

async fn scalar(connection: &mut PgConnection, sql: &'static str) -> Result<bool, StoreFault> {
    sqlx::query_scalar(sql).fetch_one(connection).await.map_err(fault)
}

fn options(url: &str) -> Result<PgConnectOptions, StoreFault> {
    // A role without a host means this machine, as the database's own programs read it.
    let url = url.replacen("@/", "@localhost/", 1);
    let options = PgConnectOptions::from_str(&url).map_err(|_| StoreFault::NoPlace {
        what: "the database's address cannot be read".to_owned(),
        cure: "write postgres://ROLE@HOST:PORT/NAME?salon=ID, or postgres://ROLE@/NAME?host=FOLDER&salon=ID for a socket".to_owned(),
    })?;
    Ok(options.application_name("strandwright").disable_statement_logging())
}

/// Connects in the salon's role.
///
/// *Errors*: no tables or no such salon (`NoBook`); the database cannot be reached.
pub(crate) async fn connect(url: &str, salon: Uuid) -> Result<PostgresEngine, StoreFault> {
    let plain = options(url)?;
    let role = role(salon);
    // The pool would try again and again what cannot be; so ask first.
    let mut connection = plain.connect().await.map_err(fault)?;
    let there: bool = sqlx::query_scalar(
        "SELECT EXISTS (SELECT FROM pg_namespace WHERE nspname = 'strandwright')
         AND EXISTS (SELECT FROM pg_roles WHERE rolname = $1 AND pg_has_role(oid, 'MEMBER'))",
    )
    .bind(&role)
    .fetch_one(&mut connection)
    .await
    .map_err(fault)?;
    connection.close().await.map_err(fault)?;
    if !there {
        return Err(no_book(url, salon));
    }
    let pool = PgPoolOptions::new()
        .max_connections(CONNECTIONS)
        .acquire_timeout(Duration::from_secs(10))
        .after_connect(move |connection, _| {
            let sql = format!(
                "SET ROLE {role}; SET search_path TO strandwright, pg_temp; SET lock_timeout = '10s'; \
                 SET idle_in_transaction_session_timeout = '10min'; SET client_min_messages = 'warning'; \
                 SELECT set_config('synchronous_commit', 'on', false) WHERE current_setting('synchronous_commit') = 'off'"
            );
            Box::pin(async move { connection.execute(AssertSqlSafe(sql)).await.map(|_| ()) })
        })
        .connect_with(plain.clone())
        .await
        .map_err(fault)?;
    let found: i64 = sqlx::query_scalar("SELECT max(number) FROM layout").fetch_one(&pool).await.map_err(fault)?;
    if found > NEWEST {
        return Err(StoreFault::Newer { found, known: NEWEST });
    }
    Ok(PostgresEngine { pool, plain, salon })
}

fn no_book(url: &str, salon: Uuid) -> StoreFault {
    StoreFault::NoBook(super::Place::Postgres { url: url.to_owned(), salon }.to_string())
}

impl PostgresEngine {
    /// The document with the wrapped data key, where the book is there.
    pub(crate) async fn key_document(&self) -> Result<Option<String>, StoreFault> {
        let lines = self.look("SELECT document FROM key_document WHERE salon = $1", with![self.salon]).await?;
        lines.first().map(|line| line.text(0).map(str::to_owned)).transpose()
    }
}

struct PostgresChange(Transaction<'static, Postgres>);

impl Change for PostgresChange {
    fn rows<'a>(&'a mut self, sql: &'static str, with: Vec<Value>) -> Later<'a, Vec<Line>> {
        Box::pin(async move {
            let rows = bound(sql, with).fetch_all(&mut *self.0).await.map_err(fault)?;
            rows.iter().map(line).collect()
        })
    }

    fn run<'a>(&'a mut self, sql: &'static str, with: Vec<Value>) -> Later<'a, u64> {
        Box::pin(async move { Ok(bound(sql, with).execute(&mut *self.0).await.map_err(fault)?.rows_affected()) })
    }

    fn insert_events(&mut self, salon: Uuid, rows: Vec<Sealed>) -> Later<'_, ()> {
        Box::pin(async move {
            if rows.is_empty() {
                return Ok(());
            }
            // One statement however many rows: each round trip costs more than a row.
            let sql = "INSERT INTO event (salon, seq, stream, version, at, actor, sort, format, body, hash)
                       SELECT $1, * FROM unnest($2::bigint[], $3::bytea[], $4::bigint[], $5::bigint[], $6::bytea[], $7::text[], $8::bigint[], $9::bytea[], $10::bytea[])";
            let of = |number: fn(&Sealed) -> i64| rows.iter().map(number).collect::<Vec<i64>>();
            sqlx::query(sql)
                .bind(salon.as_bytes().to_vec())
                .bind(of(|row| row.seq.cast_signed()))
                .bind(rows.iter().map(|row| row.stream.as_slice()).collect::<Vec<_>>())
                .bind(of(|row| row.version.cast_signed()))
                .bind(of(|row| row.at_ms))
                .bind(rows.iter().map(|row| row.actor.as_bytes().as_slice()).collect::<Vec<_>>())
                .bind(rows.iter().map(|row| row.sort.as_str()).collect::<Vec<_>>())
                .bind(of(|row| i64::from(row.format)))
                .bind(rows.iter().map(|row| row.body.as_slice()).collect::<Vec<_>>())
                .bind(rows.iter().map(|row| row.hash.as_slice()).collect::<Vec<_>>())
                .execute(&mut *self.0)
                .await
                .map_err(fault)?;
            Ok(())
        })
    }

    fn know(&mut self, salon: Uuid, streams: Vec<Vec<u8>>) -> Later<'_, Vec<Line>> {
        Box::pin(async move {
            let sql = "SELECT s, COALESCE((SELECT t.version FROM stream t WHERE t.salon = $1 AND t.stream = s), 0),
                              COALESCE((SELECT k.wrapped FROM stream_key k WHERE k.salon = $1 AND k.owner = s), ''::bytea),
                              COALESCE((SELECT e.number FROM erased e WHERE e.salon = $1 AND e.owner = s), 0)
                       FROM unnest($2::bytea[]) s";
            let rows = sqlx::query(sql).bind(salon.as_bytes().to_vec()).bind(streams).fetch_all(&mut *self.0).await.map_err(fault)?;
            rows.iter().map(line).collect()
        })
    }

    fn move_streams(&mut self, salon: Uuid, streams: Vec<(Vec<u8>, u64)>) -> Later<'_, ()> {
        Box::pin(async move {
            let sql = "INSERT INTO stream (salon, stream, version) SELECT $1, * FROM unnest($2::bytea[], $3::bigint[])
                       ON CONFLICT (salon, stream) DO UPDATE SET version = excluded.version";
            let (names, versions): (Vec<Vec<u8>>, Vec<i64>) =
                streams.into_iter().map(|(stream, version)| (stream, version.cast_signed())).unzip();
            let query = sqlx::query(sql).bind(salon.as_bytes().to_vec()).bind(names).bind(versions);
            query.execute(&mut *self.0).await.map_err(fault)?;
            Ok(())
        })
    }

    fn commit(self: Box<Self>) -> Later<'static, ()> {
        Box::pin(async move {
            self.0.commit().await.map_err(|error| match fault(error) {
                StoreFault::NotSaved(cause) => StoreFault::Unsure(cause),
                other => other,
            })
        })
    }
}

impl Engine for PostgresEngine {
    fn change(&self) -> Later<'_, Box<dyn Change>> {
        Box::pin(async move {
            let mut change = self.pool.begin().await.map_err(fault)?;
            let mut lock = [0_u8; 8];
            lock.copy_from_slice(&self.salon.as_bytes()[8..]);
            sqlx::query("SELECT pg_advisory_xact_lock($1)").bind(i64::from_be_bytes(lock)).execute(&mut *change).await.map_err(fault)?;
            Ok(Box::new(PostgresChange(change)) as Box<dyn Change>)
        })
    }

    fn snapshot(&self) -> Later<'_, Box<dyn Change>> {
        Box::pin(async move {
            let change = self.pool.begin_with("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY").await.map_err(fault)?;
            Ok(Box::new(PostgresChange(change)) as Box<dyn Change>)
        })
    }

    fn look(&self, sql: &'static str, with: Vec<Value>) -> Later<'_, Vec<Line>> {
        Box::pin(async move {
            let rows = bound(sql, with).fetch_all(&self.pool).await.map_err(fault)?;
            rows.iter().map(line).collect()
        })
    }

    fn put_bytes<'a>(&'a self, change: &'a mut dyn Change, id: Uuid, sealed: &'a [u8]) -> Later<'a, ()> {
        Box::pin(async move {
            let values = with![self.salon, id, sealed];
            change.run("INSERT INTO blob_bytes (salon, id, sealed) VALUES ($1, $2, $3)", values).await?;
            Ok(())
        })
    }

    fn bytes(&self, id: Uuid) -> Later<'_, Option<Vec<u8>>> {
        Box::pin(async move {
            let mut lines = self.look("SELECT sealed FROM blob_bytes WHERE salon = $1 AND id = $2", with![self.salon, id]).await?;
            lines.first_mut().map(|line| line.take_bytes(0)).transpose()
        })
    }

    fn drop_bytes(&self, ids: Vec<Uuid>) -> Later<'_, ()> {
        Box::pin(async move {
            for id in ids {
                let mut change = self.pool.begin().await.map_err(fault)?;
                bound("DELETE FROM blob_bytes WHERE salon = $1 AND id = $2", with![self.salon, id])
                    .execute(&mut *change)
                    .await
                    .map_err(fault)?;
                change.commit().await.map_err(fault)?;
            }
            Ok(())
        })
    }

    fn keep_key_document(&self, mut change: Box<dyn Change>, text: String) -> Later<'_, ()> {
        Box::pin(async move {
            let sql = "INSERT INTO key_document (salon, document) VALUES ($1, $2)
                       ON CONFLICT (salon) DO UPDATE SET document = excluded.document";
            change.run(sql, with![self.salon, text.as_str()]).await?;
            change.commit().await
        })
    }

    fn let_go(&self) -> Later<'_, bool> {
        Box::pin(async move {
            // Only the tables' owner may; any other role gets a warning and nothing is done.
            let mut connection = self.plain.connect().await.map_err(fault)?;
            let owner: bool = scalar(
                &mut connection,
                "SELECT pg_has_role(relowner, 'USAGE') FROM pg_class WHERE oid = to_regclass('strandwright.stream_key')",
            )
            .await?;
            if owner {
                let sql = "VACUUM strandwright.stream_key, strandwright.blob, strandwright.blob_bytes, strandwright.view_row, strandwright.answer";
                connection.execute(sql).await.map_err(fault)?;
            }
            connection.close().await.map_err(fault)?;
            Ok(owner)
        })
    }

    fn durability(&self) -> Later<'_, String> {
        Box::pin(async move {
            let lines =
                self.look("SELECT current_setting('fsync'), current_setting('synchronous_commit'), current_user::text", Vec::new()).await?;
            let Some(line) = lines.first() else { return Ok(String::new()) };
            Ok(format!("fsync={} synchronous_commit={} role={}", line.text(0)?, line.text(1)?, line.text(2)?))
        })
    }

    fn close(&self) -> Pin<Box<dyn Future<Output = ()> + Send + '_>> {
        Box::pin(self.pool.close())
    }
}

fn bound(sql: &'static str, with: Vec<Value>) -> sqlx::query::Query<'static, Postgres, PgArguments> {
    with.into_iter().fold(sqlx::query(sql), |query, value| match value {
        Value::Int(value) => query.bind(value),
        Value::Bytes(value) => query.bind(value),
        Value::Text(value) => query.bind(value),
    })
}

fn line(row: &PgRow) -> Result<Line, StoreFault> {
    let value = |at: usize| -> Result<Value, sqlx::Error> {
        let raw = row.try_get_raw(at)?;
        let kind = raw.type_info();
        Ok(match kind.name() {
            "INT8" => Value::Int(row.try_get(at)?),
            "BYTEA" => Value::Bytes(row.try_get(at)?),
            _ => Value::Text(row.try_get(at)?),
        })
    };
    row.columns().iter().map(|column| value(column.ordinal()).map_err(fault)).collect::<Result<_, _>>().map(Line)
}

fn code_of(error: &sqlx::Error) -> Option<String> {
    error.as_database_error().and_then(|database| database.code()).map(|code| code.into_owned())
}

/// What PostgreSQL's refusal means.
///
/// *Source*: key `postgresdocs`, appendix A, "PostgreSQL Error Codes".
fn fault(error: sqlx::Error) -> StoreFault {
    let says = error.to_string();
    match code_of(&error).as_deref() {
        // Serialisation, deadlock, lock not available, unique violation by a neighbour.
        Some("40001" | "40P01" | "55P03" | "23505") => StoreFault::TryAgain(says),
        Some("XX001" | "XX002") => StoreFault::Damaged(says),
        Some(_) => StoreFault::NotSaved(says),
        None => StoreFault::NotSaved(says),
    }
}
