-- Version 2: an undo or redo that is sent again, because its answer was not heard, is made once, like an edit.

ALTER TABLE step ADD COLUMN key TEXT;
CREATE UNIQUE INDEX step_key ON step (review_id, key) WHERE key IS NOT NULL;
