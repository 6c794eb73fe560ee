-- The book of one salon in a file of its own.
-- Never edit a migration once it has been released: add the next one.

CREATE TABLE layout (number INTEGER PRIMARY KEY) STRICT;
INSERT INTO layout (number) VALUES (1);

-- What happened. Bodies are sealed; the hash covers the row before and all that is here.
CREATE TABLE event (
    salon   BLOB NOT NULL CHECK (length(salon) = 16),
    seq     INTEGER NOT NULL CHECK (seq >= 1),
    stream  BLOB NOT NULL,
    version INTEGER NOT NULL CHECK (version >= 1),
    at      INTEGER NOT NULL,
    actor   BLOB NOT NULL CHECK (length(actor) = 16),
    sort    TEXT NOT NULL,
    format  INTEGER NOT NULL CHECK (format >= 0),
    body    BLOB NOT NULL,
    hash    BLOB NOT NULL CHECK (length(hash) = 32),
    PRIMARY KEY (salon, seq),
    UNIQUE (salon, stream, version)
) STRICT, WITHOUT ROWID;

CREATE TRIGGER event_is_never_changed BEFORE UPDATE ON event
BEGIN SELECT RAISE(ABORT, 'the book is only ever added to'); END;
CREATE TRIGGER event_is_never_removed BEFORE DELETE ON event
BEGIN SELECT RAISE(ABORT, 'the book is only ever added to'); END;

-- The end of the chain and of the list of erasures, under a code of the house key.
CREATE TABLE head (
    salon       BLOB PRIMARY KEY CHECK (length(salon) = 16),
    seq         INTEGER NOT NULL CHECK (seq >= 0),
    hash        BLOB NOT NULL CHECK (length(hash) = 32),
    erased      INTEGER NOT NULL CHECK (erased >= 0),
    erased_code BLOB NOT NULL CHECK (length(erased_code) = 32),
    code        BLOB NOT NULL CHECK (length(code) = 32)
) STRICT;

-- Each stream's version now, so that it need not be searched for.
CREATE TABLE stream (
    salon   BLOB NOT NULL,
    stream  BLOB NOT NULL,
    version INTEGER NOT NULL CHECK (version >= 1),
    PRIMARY KEY (salon, stream)
) STRICT, WITHOUT ROWID;

-- The streams' keys, wrapped under the data key. Deleting a row erases what it sealed.
CREATE TABLE stream_key (
    salon   BLOB NOT NULL,
    owner   BLOB NOT NULL,
    wrapped BLOB NOT NULL,
    PRIMARY KEY (salon, owner)
) STRICT, WITHOUT ROWID;

-- Streams whose keys were destroyed; each code covers the line before.
CREATE TABLE erased (
    salon  BLOB NOT NULL,
    number INTEGER NOT NULL CHECK (number >= 1),
    owner  BLOB NOT NULL,
    at     INTEGER NOT NULL,
    code   BLOB NOT NULL CHECK (length(code) = 32),
    PRIMARY KEY (salon, number),
    UNIQUE (salon, owner)
) STRICT, WITHOUT ROWID;

CREATE TRIGGER erased_is_never_changed BEFORE UPDATE ON erased
BEGIN SELECT RAISE(ABORT, 'an erasure is never undone'); END;
CREATE TRIGGER erased_is_never_removed BEFORE DELETE ON erased
BEGIN SELECT RAISE(ABORT, 'an erasure is never undone'); END;

-- Blobs lie beside the file, sealed; here stands whose they are and what they must sum up to.
CREATE TABLE blob (
    salon  BLOB NOT NULL,
    id     BLOB NOT NULL CHECK (length(id) = 16),
    owner  BLOB NOT NULL,
    size   INTEGER NOT NULL,
    digest BLOB NOT NULL CHECK (length(digest) = 32),
    PRIMARY KEY (salon, id)
) STRICT, WITHOUT ROWID;
CREATE INDEX blob_by_owner ON blob (salon, owner);

-- Blobs whose rows are gone and whose bytes are being deleted.
CREATE TABLE leaving (
    salon BLOB NOT NULL,
    id    BLOB NOT NULL,
    PRIMARY KEY (salon, id)
) STRICT, WITHOUT ROWID;

-- Derived rows, thrown away at will. View and place are keyed sums.
CREATE TABLE view_row (
    salon  BLOB NOT NULL,
    view   BLOB NOT NULL,
    place  BLOB NOT NULL,
    owner  BLOB NOT NULL,
    sealed BLOB NOT NULL,
    PRIMARY KEY (salon, view, place)
) STRICT, WITHOUT ROWID;
CREATE INDEX view_row_by_owner ON view_row (salon, owner);
CREATE TABLE view_number (
    salon  BLOB NOT NULL,
    view   BLOB NOT NULL,
    number INTEGER NOT NULL,
    PRIMARY KEY (salon, view)
) STRICT, WITHOUT ROWID;

-- Answers to acts that are safe to repeat. The key is a keyed sum.
CREATE TABLE answer (
    salon     BLOB NOT NULL,
    once      BLOB NOT NULL,
    owner     BLOB NOT NULL,
    line_hash BLOB NOT NULL CHECK (length(line_hash) = 32),
    sealed    BLOB NOT NULL,
    PRIMARY KEY (salon, once)
) STRICT, WITHOUT ROWID;
CREATE INDEX answer_by_owner ON answer (salon, owner);

-- Who read health answers; restores.
CREATE TABLE trail (
    salon  BLOB NOT NULL,
    number INTEGER NOT NULL CHECK (number >= 1),
    sealed BLOB NOT NULL,
    PRIMARY KEY (salon, number)
) STRICT, WITHOUT ROWID;

CREATE TRIGGER trail_is_never_changed BEFORE UPDATE ON trail
BEGIN SELECT RAISE(ABORT, 'the trail is only ever added to'); END;
CREATE TRIGGER trail_is_never_removed BEFORE DELETE ON trail
BEGIN SELECT RAISE(ABORT, 'the trail is only ever added to'); END;
