-- A checksum for each thing over all that its rows say, written with it: a value that changed on the
-- disk or by another hand, and a row that is gone, are told. `of` is the table of the thing's own row
-- and `number` its number there; the house numbers are one thing, with the number 0.

CREATE TABLE seal (
    of     TEXT    NOT NULL,
    number INTEGER NOT NULL,
    sum    INTEGER NOT NULL,
    PRIMARY KEY (of, number)
) STRICT, WITHOUT ROWID;
