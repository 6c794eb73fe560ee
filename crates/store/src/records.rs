//! Clients, plans, settings and the event log: rows in, rows out.

use crate::clock::now_ms;
use crate::{EarlierRecords, StoreFault};
use sqlx::sqlite::SqliteRow;
use sqlx::{Row, Sqlite, Transaction};
use std::str::FromStr;
use uuid::Uuid;

macro_rules! id_type {
    ($name:ident, $what:literal, $doc:literal) => {
        #[doc = $doc]
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(pub(crate) Uuid);

        impl $name {
            pub(crate) fn new() -> Self {
                Self(Uuid::now_v7())
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                self.0.hyphenated().fmt(f)
            }
        }

        impl FromStr for $name {
            type Err = StoreFault;

            fn from_str(text: &str) -> Result<Self, StoreFault> {
                Uuid::try_parse(text).map(Self).map_err(|_| StoreFault::Unknown($what))
            }
        }
    };
}

pub(crate) use id_type;

id_type!(ClientId, "client", "The client for life, whatever her name becomes.");
id_type!(PlanId, "plan", "One plan as it was made; a new computation is a new plan.");

/// A client as a line of the list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ClientLine {
    /// Who.
    pub id: ClientId,
    /// Her name, or what the technician calls her; may be empty.
    pub label: String,
    /// When her facts last changed, ms since 1970.
    pub changed_ms: i64,
    /// How many plans were made for her.
    pub plans: i64,
    /// Her newest plan.
    pub newest_plan: Option<PlanId>,
}

/// A client with the facts in force.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Client {
    /// Who.
    pub id: ClientId,
    /// Her name, or what the technician calls her; may be empty.
    pub label: String,
    /// The facts as a document; the store does not look inside.
    pub facts: String,
    /// Counts her changes from one.
    pub version: i64,
    /// When she was added, ms since 1970.
    pub added_ms: i64,
    /// When her facts last changed, ms since 1970.
    pub changed_ms: i64,
}

/// A plan to be kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewPlan {
    /// Whose.
    pub client: ClientId,
    /// The version of her facts it was made from.
    pub facts_version: i64,
    /// The seed of the search.
    pub seed: u64,
    /// The plan as a document.
    pub document: String,
    /// The fitted scalp, where there is one.
    pub scalp: Option<String>,
}

/// A plan as it was made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plan {
    /// Which.
    pub id: PlanId,
    /// Whose.
    pub client: ClientId,
    /// The version of her facts it was made from.
    pub facts_version: i64,
    /// The seed of the search.
    pub seed: u64,
    /// The plan as a document.
    pub document: String,
    /// The fitted scalp, where there is one.
    pub scalp: Option<String>,
    /// When it was made, ms since 1970.
    pub made_ms: i64,
    /// The day the set went in, `YYYY-MM-DD`, once it did.
    pub placed_on: Option<String>,
}

/// A plan as a line of a client's page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlanLine {
    /// Which.
    pub id: PlanId,
    /// The version of her facts it was made from.
    pub facts_version: i64,
    /// When it was made, ms since 1970.
    pub made_ms: i64,
    /// The day the set went in, once it did.
    pub placed_on: Option<String>,
}

/// The documents that belong to the salon, not to a client.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HouseDocument {
    /// Name, prices, the technician's pace.
    House,
    /// The shades on sale.
    Ring,
    /// What is on the shelf and what suppliers offer.
    Stock,
    /// What showed at the chair, and what is enough to hide a bond.
    Cover,
    /// What each phone has read: charts, and the ring.
    Phones,
}

impl HouseDocument {
    const fn name(self) -> &'static str {
        match self {
            Self::House => "house",
            Self::Ring => "ring",
            Self::Stock => "stock",
            Self::Cover => "cover",
            Self::Phones => "phones",
        }
    }
}

/// A document with the version it has.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kept {
    /// Counts its changes from one; zero when it was never kept.
    pub version: i64,
    /// The document.
    pub document: String,
}

/// One line of the event log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Event {
    /// Its place in the log, rising.
    pub seq: i64,
    /// When, ms since 1970.
    pub at_ms: i64,
    /// What was done: `client added`, `client changed`, `plan made`, `plan placed`, `setting changed`,
    /// `photo kept`, `photo marked`, `photo removed`, `colour read`.
    pub verb: String,
    /// The id of the record, or the setting's name.
    pub subject: String,
    /// The record's version after it.
    pub version: i64,
}

impl EarlierRecords {
    /// Clients whose name holds `search`, by name; all of them when it is empty.
    /// At most `most`, and how many there are in all.
    pub async fn clients(&self, search: &str, most: u32) -> Result<(Vec<ClientLine>, u64), StoreFault> {
        let wanted = search_key(search);
        let rows = sqlx::query(
            "SELECT c.id, c.label, c.changed_ms,
                    (SELECT count(*) FROM plan p WHERE p.client = c.id) AS plans,
                    (SELECT p.id FROM plan p WHERE p.client = c.id ORDER BY p.made_ms DESC, p.id DESC LIMIT 1) AS newest
             FROM client c WHERE instr(c.search_key, $1) > 0 OR $1 = ''
             ORDER BY c.search_key, c.id LIMIT $2",
        )
        .bind(&wanted)
        .bind(i64::from(most))
        .fetch_all(&self.readers)
        .await?;
        let lines = rows.iter().map(client_line).collect::<Result<Vec<_>, _>>()?;
        let count: i64 = sqlx::query("SELECT count(*) FROM client WHERE instr(search_key, $1) > 0 OR $1 = ''")
            .bind(&wanted)
            .fetch_one(&self.readers)
            .await?
            .try_get(0)?;
        Ok((lines, count.unsigned_abs()))
    }

    /// One client with the facts in force.
    pub async fn client(&self, id: ClientId) -> Result<Client, StoreFault> {
        let row = sqlx::query(
            "SELECT c.label, f.facts, c.version, c.added_ms, c.changed_ms
             FROM client c JOIN client_facts f ON f.client = c.id AND f.version = c.version WHERE c.id = $1",
        )
        .bind(id.0)
        .fetch_optional(&self.readers)
        .await?
        .ok_or(StoreFault::Unknown("client"))?;
        Ok(Client {
            id,
            label: row.try_get("label")?,
            facts: row.try_get("facts")?,
            version: row.try_get("version")?,
            added_ms: row.try_get("added_ms")?,
            changed_ms: row.try_get("changed_ms")?,
        })
    }

    /// A client's facts as they were at one version.
    pub async fn facts_at(&self, id: ClientId, version: i64) -> Result<String, StoreFault> {
        let row = sqlx::query("SELECT facts FROM client_facts WHERE client = $1 AND version = $2")
            .bind(id.0)
            .bind(version)
            .fetch_optional(&self.readers)
            .await?
            .ok_or(StoreFault::Unknown("client"))?;
        Ok(row.try_get(0)?)
    }

    /// Adds a client.
    pub async fn add_client(&self, label: &str, facts: &str) -> Result<ClientId, StoreFault> {
        self.may_write()?;
        let outcome = self.write_new_client(label, facts).await;
        self.after_write(outcome)
    }

    async fn write_new_client(&self, label: &str, facts: &str) -> Result<ClientId, StoreFault> {
        let id = ClientId::new();
        let now = now_ms();
        let mut change = self.writer.begin_with("BEGIN IMMEDIATE").await?;
        sqlx::query("INSERT INTO client (id, label, search_key, version, added_ms, changed_ms) VALUES ($1, $2, $3, 1, $4, $4)")
            .bind(id.0)
            .bind(label)
            .bind(search_key(label))
            .bind(now)
            .execute(&mut *change)
            .await?;
        keep_facts(&mut change, id, 1, facts, now).await?;
        log(&mut change, now, "client added", &id.to_string(), 1).await?;
        change.commit().await?;
        Ok(id)
    }

    /// Changes a client's name and facts, when `seen` is still her newest version.
    ///
    /// *Errors*: somebody changed her in the meantime; nothing is written then.
    pub async fn change_client(&self, id: ClientId, seen: i64, label: &str, facts: &str) -> Result<i64, StoreFault> {
        self.may_write()?;
        let outcome = self.write_changed_client(id, seen, label, facts).await;
        self.after_write(outcome)
    }

    async fn write_changed_client(&self, id: ClientId, seen: i64, label: &str, facts: &str) -> Result<i64, StoreFault> {
        let now = now_ms();
        let mut change = self.writer.begin_with("BEGIN IMMEDIATE").await?;
        let row = sqlx::query("SELECT version FROM client WHERE id = $1")
            .bind(id.0)
            .fetch_optional(&mut *change)
            .await?
            .ok_or(StoreFault::Unknown("client"))?;
        let version: i64 = row.try_get(0)?;
        if version != seen {
            return Err(StoreFault::Changed { seen, now: version });
        }
        sqlx::query("UPDATE client SET label = $2, search_key = $3, version = $4, changed_ms = $5 WHERE id = $1")
            .bind(id.0)
            .bind(label)
            .bind(search_key(label))
            .bind(version + 1)
            .bind(now)
            .execute(&mut *change)
            .await?;
        keep_facts(&mut change, id, version + 1, facts, now).await?;
        log(&mut change, now, "client changed", &id.to_string(), version + 1).await?;
        change.commit().await?;
        Ok(version + 1)
    }

    /// Keeps a plan.
    pub async fn keep_plan(&self, plan: &NewPlan) -> Result<PlanId, StoreFault> {
        self.may_write()?;
        let outcome = self.write_plan(plan).await;
        self.after_write(outcome)
    }

    async fn write_plan(&self, plan: &NewPlan) -> Result<PlanId, StoreFault> {
        let id = PlanId::new();
        let now = now_ms();
        let mut change = self.writer.begin_with("BEGIN IMMEDIATE").await?;
        let known = sqlx::query("SELECT 1 FROM client_facts WHERE client = $1 AND version = $2")
            .bind(plan.client.0)
            .bind(plan.facts_version)
            .fetch_optional(&mut *change)
            .await?;
        if known.is_none() {
            return Err(StoreFault::Unknown("client"));
        }
        sqlx::query("INSERT INTO plan (id, client, facts_version, seed, document, scalp, made_ms) VALUES ($1, $2, $3, $4, $5, $6, $7)")
            .bind(id.0)
            .bind(plan.client.0)
            .bind(plan.facts_version)
            .bind(plan.seed.cast_signed())
            .bind(&plan.document)
            .bind(&plan.scalp)
            .bind(now)
            .execute(&mut *change)
            .await?;
        log(&mut change, now, "plan made", &id.to_string(), 1).await?;
        change.commit().await?;
        Ok(id)
    }

    /// One plan.
    pub async fn plan(&self, id: PlanId) -> Result<Plan, StoreFault> {
        let row = sqlx::query("SELECT client, facts_version, seed, document, scalp, made_ms, placed_on FROM plan WHERE id = $1")
            .bind(id.0)
            .fetch_optional(&self.readers)
            .await?
            .ok_or(StoreFault::Unknown("plan"))?;
        let seed: i64 = row.try_get("seed")?;
        Ok(Plan {
            id,
            client: ClientId(row.try_get("client")?),
            facts_version: row.try_get("facts_version")?,
            seed: seed.cast_unsigned(),
            document: row.try_get("document")?,
            scalp: row.try_get("scalp")?,
            made_ms: row.try_get("made_ms")?,
            placed_on: row.try_get("placed_on")?,
        })
    }

    /// A client's plans, newest first.
    pub async fn plans_of(&self, client: ClientId) -> Result<Vec<PlanLine>, StoreFault> {
        let rows = sqlx::query("SELECT id, facts_version, made_ms, placed_on FROM plan WHERE client = $1 ORDER BY made_ms DESC, id DESC")
            .bind(client.0)
            .fetch_all(&self.readers)
            .await?;
        rows.iter()
            .map(|row| {
                Ok(PlanLine {
                    id: PlanId(row.try_get("id")?),
                    facts_version: row.try_get("facts_version")?,
                    made_ms: row.try_get("made_ms")?,
                    placed_on: row.try_get("placed_on")?,
                })
            })
            .collect()
    }

    /// Notes the day a plan's set went in (`YYYY-MM-DD`), or takes the note away.
    pub async fn place_plan(&self, id: PlanId, day: Option<&str>) -> Result<(), StoreFault> {
        self.may_write()?;
        let outcome = self.write_placed(id, day).await;
        self.after_write(outcome)
    }

    async fn write_placed(&self, id: PlanId, day: Option<&str>) -> Result<(), StoreFault> {
        let mut change = self.writer.begin_with("BEGIN IMMEDIATE").await?;
        let done = sqlx::query("UPDATE plan SET placed_on = $2 WHERE id = $1").bind(id.0).bind(day).execute(&mut *change).await?;
        if done.rows_affected() == 0 {
            return Err(StoreFault::Unknown("plan"));
        }
        log(&mut change, now_ms(), "plan placed", &id.to_string(), 1).await?;
        change.commit().await?;
        Ok(())
    }

    /// A document of the salon, where it was ever kept.
    pub async fn setting(&self, setting: HouseDocument) -> Result<Option<Kept>, StoreFault> {
        let row =
            sqlx::query("SELECT version, document FROM setting WHERE name = $1").bind(setting.name()).fetch_optional(&self.readers).await?;
        row.map(|row| Ok(Kept { version: row.try_get(0)?, document: row.try_get(1)? })).transpose()
    }

    /// Keeps a document of the salon, when `seen` is still its version (zero: never kept).
    ///
    /// *Errors*: somebody changed it in the meantime; nothing is written then.
    pub async fn keep_setting(&self, setting: HouseDocument, seen: i64, document: &str) -> Result<i64, StoreFault> {
        self.may_write()?;
        let outcome = self.write_setting(setting, seen, document).await;
        self.after_write(outcome)
    }

    async fn write_setting(&self, setting: HouseDocument, seen: i64, document: &str) -> Result<i64, StoreFault> {
        let mut change = self.writer.begin_with("BEGIN IMMEDIATE").await?;
        let row = sqlx::query("SELECT version FROM setting WHERE name = $1").bind(setting.name()).fetch_optional(&mut *change).await?;
        let now: i64 = row.map_or(Ok(0), |row| row.try_get(0))?;
        if now != seen {
            return Err(StoreFault::Changed { seen, now });
        }
        sqlx::query(
            "INSERT INTO setting (name, version, document) VALUES ($1, $2, $3)
             ON CONFLICT (name) DO UPDATE SET version = excluded.version, document = excluded.document",
        )
        .bind(setting.name())
        .bind(seen + 1)
        .bind(document)
        .execute(&mut *change)
        .await?;
        log(&mut change, now_ms(), "setting changed", setting.name(), seen + 1).await?;
        change.commit().await?;
        Ok(seen + 1)
    }

    /// The event log after a place in it, oldest first.
    pub async fn events_after(&self, seq: i64, most: u32) -> Result<Vec<Event>, StoreFault> {
        let rows = sqlx::query("SELECT seq, at_ms, verb, subject, version FROM event WHERE seq > $1 ORDER BY seq LIMIT $2")
            .bind(seq)
            .bind(i64::from(most))
            .fetch_all(&self.readers)
            .await?;
        rows.iter()
            .map(|row| {
                Ok(Event {
                    seq: row.try_get("seq")?,
                    at_ms: row.try_get("at_ms")?,
                    verb: row.try_get("verb")?,
                    subject: row.try_get("subject")?,
                    version: row.try_get("version")?,
                })
            })
            .collect()
    }
}

fn client_line(row: &SqliteRow) -> Result<ClientLine, StoreFault> {
    let newest: Option<Uuid> = row.try_get("newest")?;
    Ok(ClientLine {
        id: ClientId(row.try_get("id")?),
        label: row.try_get("label")?,
        changed_ms: row.try_get("changed_ms")?,
        plans: row.try_get("plans")?,
        newest_plan: newest.map(PlanId),
    })
}

async fn keep_facts(change: &mut Transaction<'_, Sqlite>, client: ClientId, version: i64, facts: &str, now: i64) -> Result<(), StoreFault> {
    sqlx::query("INSERT INTO client_facts (client, version, facts, at_ms) VALUES ($1, $2, $3, $4)")
        .bind(client.0)
        .bind(version)
        .bind(facts)
        .bind(now)
        .execute(&mut **change)
        .await?;
    Ok(())
}

pub(crate) async fn log(change: &mut Transaction<'_, Sqlite>, now: i64, verb: &str, subject: &str, version: i64) -> Result<(), StoreFault> {
    sqlx::query("INSERT INTO event (at_ms, verb, subject, version) VALUES ($1, $2, $3, $4)")
        .bind(now)
        .bind(verb)
        .bind(subject)
        .bind(version)
        .execute(&mut **change)
        .await?;
    Ok(())
}

/// A name as it is searched and sorted: without capitals.
fn search_key(text: &str) -> String {
    text.trim().to_lowercase()
}
