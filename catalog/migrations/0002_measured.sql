-- Pieces that went over the bench, what was read on them, and the instruments that read it.
-- Values are whole numbers of the base unit of their dimension, as in 0001.

CREATE TABLE instrument (
    number      INTEGER PRIMARY KEY,
    name        TEXT    NOT NULL UNIQUE CHECK (name <> ''),
    description TEXT    NOT NULL,
    resolution  INTEGER CHECK (resolution > 0),
    source      TEXT    NOT NULL
) STRICT;

CREATE TABLE instrument_limit (
    instrument INTEGER NOT NULL REFERENCES instrument (number) ON DELETE CASCADE,
    up_to      INTEGER NOT NULL CHECK (up_to > 0),
    error      INTEGER NOT NULL CHECK (error > 0),
    PRIMARY KEY (instrument, up_to)
) STRICT, WITHOUT ROWID;

-- A piece that was never measured goes with its part.
CREATE TABLE piece (
    number    INTEGER PRIMARY KEY,
    part      INTEGER NOT NULL REFERENCES part (number) ON DELETE CASCADE,
    label     TEXT    NOT NULL CHECK (label <> '' AND instr(label, '#') = 0),
    condition TEXT    NOT NULL,
    in_hand   INTEGER NOT NULL CHECK (in_hand IN (0, 1)),
    notes     TEXT    NOT NULL,
    UNIQUE (part, label)
) STRICT;

-- No cascade from the piece or the instrument: what was read is struck out, never deleted.
CREATE TABLE reading (
    number     INTEGER PRIMARY KEY,
    piece      INTEGER NOT NULL REFERENCES piece (number),
    dimension  TEXT    NOT NULL,
    instrument INTEGER REFERENCES instrument (number),
    taken_by   TEXT    NOT NULL,
    taken_on   TEXT    NOT NULL,
    struck     TEXT    CHECK (struck <> '')
) STRICT;

CREATE INDEX reading_by_piece ON reading (piece);

CREATE INDEX reading_by_instrument ON reading (instrument);

CREATE TABLE reading_value (
    reading  INTEGER NOT NULL REFERENCES reading (number),
    position INTEGER NOT NULL CHECK (position >= 0),
    value    INTEGER NOT NULL,
    PRIMARY KEY (reading, position)
) STRICT, WITHOUT ROWID;

-- A job may name one piece of a part; without it the job means any piece of the number.
ALTER TABLE job_part ADD COLUMN piece INTEGER REFERENCES piece (number);

CREATE INDEX job_part_by_piece ON job_part (piece);
