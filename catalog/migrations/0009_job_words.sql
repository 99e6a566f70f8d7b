-- What a shop tells of a job beside its parts and readings. A day is written as in 2026-03-31, and blank
-- where nobody told.

ALTER TABLE job ADD COLUMN state TEXT NOT NULL DEFAULT 'open';

ALTER TABLE job ADD COLUMN date TEXT NOT NULL DEFAULT '';

ALTER TABLE job ADD COLUMN customer TEXT NOT NULL DEFAULT '';

ALTER TABLE job ADD COLUMN contact TEXT NOT NULL DEFAULT '';

ALTER TABLE job ADD COLUMN vehicle TEXT NOT NULL DEFAULT '';

ALTER TABLE job ADD COLUMN notes TEXT NOT NULL DEFAULT '';
