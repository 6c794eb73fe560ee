-- Photos that colours were read from, and what was read.

-- A photo of a client's ends beside the chart; without a client, of the salon's
-- own swatches. The picture carries no metadata. The note says where chart, hair
-- and swatches lie; it changes while the marks are being set.
CREATE TABLE photo (
    id      BLOB PRIMARY KEY CHECK (length(id) = 16),
    client  BLOB REFERENCES client (id) DEFERRABLE INITIALLY DEFERRED,
    picture BLOB NOT NULL,
    note    TEXT NOT NULL,
    version INTEGER NOT NULL CHECK (version >= 1),
    kept_ms INTEGER NOT NULL
) STRICT;

CREATE INDEX photo_by_client ON photo (client, kept_ms);

-- Every time the colour of her ends was read. A photo read again with better
-- marks is a later line; the earlier one stays for the plans that used it.
CREATE TABLE reading (
    id       BLOB PRIMARY KEY CHECK (length(id) = 16),
    client   BLOB NOT NULL REFERENCES client (id) DEFERRABLE INITIALLY DEFERRED,
    photo    BLOB REFERENCES photo (id) DEFERRABLE INITIALLY DEFERRED,
    document TEXT NOT NULL,
    read_ms  INTEGER NOT NULL
) STRICT;

CREATE INDEX reading_by_client ON reading (client, read_ms);
CREATE INDEX reading_by_photo ON reading (photo, read_ms);
