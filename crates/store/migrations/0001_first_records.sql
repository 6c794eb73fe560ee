-- Clients, what is known of each, the plans made from it, and every change.
-- Never edit a migration once it has been released: add the next one.

CREATE TABLE setting (
    name     TEXT PRIMARY KEY,
    version  INTEGER NOT NULL CHECK (version >= 1),
    document TEXT NOT NULL
) STRICT;

CREATE TABLE client (
    id         BLOB PRIMARY KEY CHECK (length(id) = 16),
    label      TEXT NOT NULL,
    search_key TEXT NOT NULL,
    version    INTEGER NOT NULL CHECK (version >= 1),
    added_ms   INTEGER NOT NULL,
    changed_ms INTEGER NOT NULL
) STRICT;

CREATE INDEX client_by_name ON client (search_key, id);

-- Every version of her facts is kept, so that a plan can always be read beside
-- the facts it was made from.
CREATE TABLE client_facts (
    client  BLOB NOT NULL REFERENCES client (id) DEFERRABLE INITIALLY DEFERRED,
    version INTEGER NOT NULL CHECK (version >= 1),
    facts   TEXT NOT NULL,
    at_ms   INTEGER NOT NULL,
    PRIMARY KEY (client, version)
) STRICT;

CREATE TABLE plan (
    id            BLOB PRIMARY KEY CHECK (length(id) = 16),
    client        BLOB NOT NULL,
    facts_version INTEGER NOT NULL,
    seed          INTEGER NOT NULL,
    document      TEXT NOT NULL,
    scalp         TEXT,
    made_ms       INTEGER NOT NULL,
    placed_on     TEXT,
    FOREIGN KEY (client, facts_version) REFERENCES client_facts (client, version)
) STRICT;

CREATE INDEX plan_by_client ON plan (client, made_ms);

-- What was done, to which record, when. Ids and verbs only: no name, no answer.
CREATE TABLE event (
    seq     INTEGER PRIMARY KEY AUTOINCREMENT,
    at_ms   INTEGER NOT NULL,
    verb    TEXT NOT NULL,
    subject TEXT NOT NULL,
    version INTEGER NOT NULL
) STRICT;

CREATE TRIGGER event_is_never_changed BEFORE UPDATE ON event
BEGIN SELECT RAISE(ABORT, 'the event log is only ever added to'); END;

CREATE TRIGGER event_is_never_removed BEFORE DELETE ON event
BEGIN SELECT RAISE(ABORT, 'the event log is only ever added to'); END;
