-- The first catalog. A kind or a dimension is a word in a row, never a table or a column: a new
-- entry in the table of kinds needs no migration. Lengths are nanometres, ratios millionths,
-- torques millinewton metres, prices cents.
--
-- The child tables are clustered by part (or job), so that a whole library is read in a few
-- ordered scans.

CREATE TABLE part (
    number      INTEGER PRIMARY KEY,
    id          TEXT    NOT NULL UNIQUE CHECK (id <> ''),
    kind        TEXT    NOT NULL,
    maker       TEXT    NOT NULL,
    description TEXT    NOT NULL,
    price_cents INTEGER CHECK (price_cents >= 0),
    on_hand     INTEGER NOT NULL CHECK (on_hand >= 0),
    lead_days   INTEGER CHECK (lead_days >= 0),
    retired     INTEGER NOT NULL CHECK (retired IN (0, 1)),
    notes       TEXT    NOT NULL
) STRICT;

-- A search reads the parts in use of some kinds.
CREATE INDEX part_by_kind ON part (kind, retired);

CREATE TABLE dimension (
    part  INTEGER NOT NULL REFERENCES part (number) ON DELETE CASCADE,
    key   TEXT    NOT NULL,
    value INTEGER NOT NULL,
    tol   INTEGER CHECK (tol >= 0),
    PRIMARY KEY (part, key)
) STRICT, WITHOUT ROWID;

CREATE TABLE face (
    part  INTEGER NOT NULL REFERENCES part (number) ON DELETE CASCADE,
    key   TEXT    NOT NULL,
    names TEXT    NOT NULL CHECK (names <> ''),
    PRIMARY KEY (part, key)
) STRICT, WITHOUT ROWID;

-- The few patterns that there are under one face, without a pass over the parts.
CREATE INDEX face_by_key ON face (key, names);

CREATE TABLE fact (
    part INTEGER NOT NULL REFERENCES part (number) ON DELETE CASCADE,
    key  TEXT    NOT NULL,
    word TEXT    NOT NULL CHECK (word <> ''),
    PRIMARY KEY (part, key)
) STRICT, WITHOUT ROWID;

CREATE TABLE job (
    number           INTEGER PRIMARY KEY,
    id               TEXT    NOT NULL UNIQUE CHECK (id <> ''),
    description      TEXT    NOT NULL,
    torque           INTEGER CHECK (torque > 0),
    crank_over_plate INTEGER NOT NULL CHECK (crank_over_plate IN (0, 1)),
    depth_over_plate INTEGER NOT NULL CHECK (depth_over_plate IN (0, 1)),
    disc_state       TEXT    NOT NULL,
    crank_pushed     TEXT    NOT NULL,
    starter_on       TEXT    NOT NULL,
    preload_min      INTEGER,
    preload_max      INTEGER,
    reserve_min      INTEGER,
    reserve_max      INTEGER
) STRICT;

-- No cascade from the part: a part that a job names stays.
CREATE TABLE job_part (
    job      INTEGER NOT NULL REFERENCES job (number) ON DELETE CASCADE,
    slot     TEXT    NOT NULL,
    position INTEGER NOT NULL CHECK (position >= 0),
    part     INTEGER NOT NULL REFERENCES part (number),
    PRIMARY KEY (job, slot, position)
) STRICT, WITHOUT ROWID;

CREATE INDEX job_part_by_part ON job_part (part);

CREATE TABLE job_reading (
    job   INTEGER NOT NULL REFERENCES job (number) ON DELETE CASCADE,
    key   TEXT    NOT NULL,
    value INTEGER NOT NULL,
    tol   INTEGER CHECK (tol >= 0),
    PRIMARY KEY (job, key)
) STRICT, WITHOUT ROWID;

-- House numbers that the shop changed, as they are written.
CREATE TABLE setting (
    key   TEXT PRIMARY KEY,
    value TEXT NOT NULL
) STRICT, WITHOUT ROWID;
