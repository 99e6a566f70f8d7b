-- The least number of a part that is to lie on the shelf. What is set aside for a job stands among the
-- parts that it names, in `job_part`, under the slot `set_aside`: one row a piece of metal.

ALTER TABLE part ADD COLUMN least_on_hand INTEGER CHECK (least_on_hand > 0);
