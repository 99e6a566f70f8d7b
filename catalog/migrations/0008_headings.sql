-- What the headings of the shop's own sheets mean, learned once and kept under a name. `holds` is what
-- such a sheet holds, blank where it says so itself.

CREATE TABLE headings (
    number INTEGER PRIMARY KEY,
    name   TEXT    NOT NULL UNIQUE CHECK (name <> ''),
    holds  TEXT    NOT NULL
) STRICT;

-- A heading is folded; a column that is passed over has no `means`.
CREATE TABLE heading (
    headings INTEGER NOT NULL REFERENCES headings (number) ON DELETE CASCADE,
    heading  TEXT    NOT NULL CHECK (heading <> ''),
    means    TEXT    CHECK (means <> ''),
    PRIMARY KEY (headings, heading)
) STRICT, WITHOUT ROWID;

-- The shop's own words for kinds of part.
CREATE TABLE kind_word (
    headings INTEGER NOT NULL REFERENCES headings (number) ON DELETE CASCADE,
    word     TEXT    NOT NULL CHECK (word <> ''),
    kind     TEXT    NOT NULL CHECK (kind <> ''),
    PRIMARY KEY (headings, word)
) STRICT, WITHOUT ROWID;
