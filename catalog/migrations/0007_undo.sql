-- Which command took back which. A command that was taken back may be done again by taking that back,
-- and then be taken back once more: then it stands here twice.

CREATE TABLE undone (
    command INTEGER PRIMARY KEY REFERENCES command (number),
    undoes  INTEGER NOT NULL REFERENCES command (number)
) STRICT;

CREATE TRIGGER undone_stays_as_it_is BEFORE UPDATE ON undone
BEGIN SELECT RAISE (ABORT, 'history is never changed'); END;

CREATE TRIGGER undone_stays BEFORE DELETE ON undone
BEGIN SELECT RAISE (ABORT, 'history is never changed'); END;

CREATE TRIGGER undone_is_not_replaced BEFORE INSERT ON undone
WHEN EXISTS (SELECT 1 FROM undone WHERE command = NEW.command)
BEGIN SELECT RAISE (ABORT, 'history is never changed'); END;

-- The events of one command are looked up when it is taken back.
CREATE INDEX event_by_command ON event (command);
