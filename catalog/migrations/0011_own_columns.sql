-- Columns of the shop's own: words about a part that the program keeps and shows, and never computes with.

CREATE TABLE own_column (
    part INTEGER NOT NULL REFERENCES part (number) ON DELETE CASCADE,
    key  TEXT    NOT NULL CHECK (key <> ''),
    text TEXT    NOT NULL CHECK (text <> ''),
    PRIMARY KEY (part, key)
) STRICT, WITHOUT ROWID;
