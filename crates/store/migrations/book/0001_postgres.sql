-- The books of many salons in one database.
-- Never edit a migration once it has been released: add the next one.
--
-- Each salon has a role of its own, salon_<its id in hexadecimal>, a member of
-- strandwright_salon. Row security lets a role see and write its own salon's
-- rows, the tables' owner included; grants leave out what is never done.

CREATE SCHEMA strandwright;
SET LOCAL search_path TO strandwright;

CREATE TABLE layout (number BIGINT PRIMARY KEY);
INSERT INTO layout (number) VALUES (1);

-- The salon that the role in force may see; nothing for any other role.
CREATE FUNCTION salon_in_force() RETURNS bytea LANGUAGE sql STABLE AS $$
    SELECT CASE WHEN current_user::text ~ '^salon_[0-9a-f]{32}$' THEN decode(substr(current_user::text, 7), 'hex') END
$$;

CREATE TABLE event (
    salon   BYTEA NOT NULL CHECK (length(salon) = 16),
    seq     BIGINT NOT NULL CHECK (seq >= 1),
    stream  BYTEA NOT NULL,
    version BIGINT NOT NULL CHECK (version >= 1),
    at      BIGINT NOT NULL,
    actor   BYTEA NOT NULL CHECK (length(actor) = 16),
    sort    TEXT NOT NULL,
    format  BIGINT NOT NULL CHECK (format >= 0),
    body    BYTEA NOT NULL,
    hash    BYTEA NOT NULL CHECK (length(hash) = 32),
    PRIMARY KEY (salon, seq),
    UNIQUE (salon, stream, version)
);
-- Sealed bytes do not get smaller.
ALTER TABLE event ALTER COLUMN body SET STORAGE EXTERNAL;

CREATE TABLE head (
    salon       BYTEA PRIMARY KEY CHECK (length(salon) = 16),
    seq         BIGINT NOT NULL CHECK (seq >= 0),
    hash        BYTEA NOT NULL CHECK (length(hash) = 32),
    erased      BIGINT NOT NULL CHECK (erased >= 0),
    erased_code BYTEA NOT NULL CHECK (length(erased_code) = 32),
    code        BYTEA NOT NULL CHECK (length(code) = 32)
);

-- The document with the wrapped data key, as the file book.key holds it elsewhere.
CREATE TABLE key_document (
    salon    BYTEA PRIMARY KEY CHECK (length(salon) = 16),
    document TEXT NOT NULL
);

CREATE TABLE stream (
    salon   BYTEA NOT NULL,
    stream  BYTEA NOT NULL,
    version BIGINT NOT NULL CHECK (version >= 1),
    PRIMARY KEY (salon, stream)
);

CREATE TABLE stream_key (
    salon   BYTEA NOT NULL,
    owner   BYTEA NOT NULL,
    wrapped BYTEA NOT NULL,
    PRIMARY KEY (salon, owner)
);

CREATE TABLE erased (
    salon  BYTEA NOT NULL,
    number BIGINT NOT NULL CHECK (number >= 1),
    owner  BYTEA NOT NULL,
    at     BIGINT NOT NULL,
    code   BYTEA NOT NULL CHECK (length(code) = 32),
    PRIMARY KEY (salon, number),
    UNIQUE (salon, owner)
);

CREATE TABLE blob (
    salon  BYTEA NOT NULL,
    id     BYTEA NOT NULL CHECK (length(id) = 16),
    owner  BYTEA NOT NULL,
    size   BIGINT NOT NULL,
    digest BYTEA NOT NULL CHECK (length(digest) = 32),
    PRIMARY KEY (salon, id)
);
CREATE INDEX blob_by_owner ON blob (salon, owner);

CREATE TABLE blob_bytes (
    salon  BYTEA NOT NULL,
    id     BYTEA NOT NULL,
    sealed BYTEA NOT NULL,
    PRIMARY KEY (salon, id)
);
ALTER TABLE blob_bytes ALTER COLUMN sealed SET STORAGE EXTERNAL;

CREATE TABLE leaving (
    salon BYTEA NOT NULL,
    id    BYTEA NOT NULL,
    PRIMARY KEY (salon, id)
);

CREATE TABLE view_row (
    salon  BYTEA NOT NULL,
    view   BYTEA NOT NULL,
    place  BYTEA NOT NULL,
    owner  BYTEA NOT NULL,
    sealed BYTEA NOT NULL,
    PRIMARY KEY (salon, view, place)
);
CREATE INDEX view_row_by_owner ON view_row (salon, owner);

CREATE TABLE view_number (
    salon  BYTEA NOT NULL,
    view   BYTEA NOT NULL,
    number BIGINT NOT NULL,
    PRIMARY KEY (salon, view)
);

CREATE TABLE answer (
    salon     BYTEA NOT NULL,
    once      BYTEA NOT NULL,
    owner     BYTEA NOT NULL,
    line_hash BYTEA NOT NULL CHECK (length(line_hash) = 32),
    sealed    BYTEA NOT NULL,
    PRIMARY KEY (salon, once)
);
CREATE INDEX answer_by_owner ON answer (salon, owner);

CREATE TABLE trail (
    salon  BYTEA NOT NULL,
    number BIGINT NOT NULL CHECK (number >= 1),
    sealed BYTEA NOT NULL,
    PRIMARY KEY (salon, number)
);

CREATE FUNCTION only_ever_added_to() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN RAISE EXCEPTION 'the book is only ever added to'; END
$$;
DO $$
DECLARE name text;
BEGIN
    FOREACH name IN ARRAY ARRAY['event', 'erased', 'trail'] LOOP
        EXECUTE format('CREATE TRIGGER never_changed BEFORE UPDATE OR DELETE ON strandwright.%I FOR EACH ROW EXECUTE FUNCTION strandwright.only_ever_added_to()', name);
        EXECUTE format('CREATE TRIGGER never_emptied BEFORE TRUNCATE ON strandwright.%I FOR EACH STATEMENT EXECUTE FUNCTION strandwright.only_ever_added_to()', name);
    END LOOP;
    FOREACH name IN ARRAY ARRAY['event', 'head', 'key_document', 'stream', 'stream_key', 'erased', 'blob', 'blob_bytes', 'leaving', 'view_row', 'view_number', 'answer', 'trail'] LOOP
        EXECUTE format('ALTER TABLE strandwright.%I ENABLE ROW LEVEL SECURITY', name);
        EXECUTE format('ALTER TABLE strandwright.%I FORCE ROW LEVEL SECURITY', name);
        EXECUTE format('CREATE POLICY own_salon ON strandwright.%I USING (salon = strandwright.salon_in_force()) WITH CHECK (salon = strandwright.salon_in_force())', name);
    END LOOP;
    -- Where keys stood is swept soon even when nobody asks for it.
    FOREACH name IN ARRAY ARRAY['stream_key', 'key_document', 'blob_bytes', 'view_row', 'answer'] LOOP
        EXECUTE format('ALTER TABLE strandwright.%I SET (autovacuum_vacuum_scale_factor = 0, autovacuum_vacuum_threshold = 50)', name);
    END LOOP;
    IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = 'strandwright_salon') THEN
        CREATE ROLE strandwright_salon NOLOGIN;
    END IF;
END
$$;

GRANT USAGE ON SCHEMA strandwright TO strandwright_salon;
GRANT SELECT ON layout TO strandwright_salon;
GRANT SELECT, INSERT ON event, erased, trail TO strandwright_salon;
GRANT SELECT, INSERT, UPDATE ON head, key_document, stream TO strandwright_salon;
GRANT SELECT, INSERT, DELETE ON stream_key, blob, blob_bytes, leaving, answer TO strandwright_salon;
GRANT SELECT, INSERT, UPDATE, DELETE ON view_row, view_number TO strandwright_salon;
