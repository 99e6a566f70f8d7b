-- The gauge bar that a length was read over, in nanometres. The length beside it is without the bar.

ALTER TABLE dimension ADD COLUMN bar INTEGER CHECK (bar > 0);

ALTER TABLE job_reading ADD COLUMN bar INTEGER CHECK (bar > 0);

ALTER TABLE reading ADD COLUMN bar INTEGER CHECK (bar > 0);
