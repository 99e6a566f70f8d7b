-- The numbers that a part had before it was renamed, or that it has taken the place of. One leads to one
-- part, and is no number of another one.

CREATE TABLE former_number (
    key  TEXT    PRIMARY KEY CHECK (key <> ''),
    part INTEGER NOT NULL REFERENCES part (number) ON DELETE CASCADE
) STRICT, WITHOUT ROWID;

CREATE INDEX former_number_by_part ON former_number (part, key);
