-- Who changed what and when, and the answers that were kept. What stands here is never changed:
-- triggers refuse it, also under another program's hands.

-- One row a command that changed something.
CREATE TABLE command (
    number INTEGER PRIMARY KEY,
    at     TEXT NOT NULL CHECK (at <> ''),
    by     TEXT NOT NULL,
    line   TEXT NOT NULL
) STRICT;

-- One row a thing that it changed. What it says stands by itself: no reference, since the part or
-- job may be gone. `part` is the part number that a piece or a reading belongs to, or the part
-- itself; `changes` is an array of [field, from, to], a length as a number of nanometres.
CREATE TABLE event (
    number  INTEGER PRIMARY KEY,
    command INTEGER NOT NULL REFERENCES command (number),
    subject TEXT    NOT NULL,
    name    TEXT    NOT NULL,
    part    TEXT,
    deed    TEXT    NOT NULL,
    changes TEXT    NOT NULL
) STRICT;

-- An answer with what it was an answer to: the words that asked, and the job and the house numbers
-- as arrays of [key, value].
CREATE TABLE answer (
    number     INTEGER PRIMARY KEY,
    name       TEXT    NOT NULL UNIQUE CHECK (name <> ''),
    job        TEXT    NOT NULL,
    at         TEXT    NOT NULL CHECK (at <> ''),
    by         TEXT    NOT NULL,
    line       TEXT    NOT NULL,
    asked      TEXT    NOT NULL,
    job_then   TEXT    NOT NULL,
    house_then TEXT    NOT NULL,
    last_event INTEGER NOT NULL,
    answer     TEXT    NOT NULL
) STRICT;

CREATE TRIGGER command_stays_as_it_is BEFORE UPDATE ON command
BEGIN SELECT RAISE (ABORT, 'history is never changed'); END;

CREATE TRIGGER command_stays BEFORE DELETE ON command
BEGIN SELECT RAISE (ABORT, 'history is never changed'); END;

-- `INSERT OR REPLACE` deletes without asking the trigger above.
CREATE TRIGGER command_is_not_replaced BEFORE INSERT ON command
WHEN EXISTS (SELECT 1 FROM command WHERE number = NEW.number)
BEGIN SELECT RAISE (ABORT, 'history is never changed'); END;

CREATE TRIGGER event_stays_as_it_is BEFORE UPDATE ON event
BEGIN SELECT RAISE (ABORT, 'history is never changed'); END;

CREATE TRIGGER event_stays BEFORE DELETE ON event
BEGIN SELECT RAISE (ABORT, 'history is never changed'); END;

CREATE TRIGGER event_is_not_replaced BEFORE INSERT ON event
WHEN EXISTS (SELECT 1 FROM event WHERE number = NEW.number)
BEGIN SELECT RAISE (ABORT, 'history is never changed'); END;

CREATE TRIGGER answer_stays_as_it_is BEFORE UPDATE ON answer
BEGIN SELECT RAISE (ABORT, 'a kept answer is never changed'); END;

CREATE TRIGGER answer_stays BEFORE DELETE ON answer
BEGIN SELECT RAISE (ABORT, 'a kept answer is never changed'); END;

CREATE TRIGGER answer_is_not_replaced BEFORE INSERT ON answer
WHEN EXISTS (SELECT 1 FROM answer WHERE number = NEW.number OR name = NEW.name)
BEGIN SELECT RAISE (ABORT, 'a kept answer is never changed'); END;
