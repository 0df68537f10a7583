-- Version 1: clips, reviews with their corrections, notes, marks, drafts, reference clips, events.
-- Times of day are UTC in ISO 8601; times in a clip are seconds. What hangs on a clip goes with it.

CREATE TABLE clip (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    sha256 TEXT NOT NULL UNIQUE CHECK (length(sha256) = 64),
    original_name TEXT NOT NULL,
    path TEXT NOT NULL,
    size_bytes INTEGER,
    duration_s REAL NOT NULL,
    frames INTEGER NOT NULL,
    width_px INTEGER NOT NULL,
    height_px INTEGER NOT NULL,
    rotation_deg INTEGER NOT NULL,
    nominal_rate_hz REAL,
    capture_rate_hz REAL,
    added_at TEXT NOT NULL
) STRICT;

CREATE TABLE review (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    clip_id INTEGER NOT NULL REFERENCES clip (id) ON DELETE CASCADE,
    movement TEXT NOT NULL,
    version INTEGER NOT NULL CHECK (version >= 1),
    parent_id INTEGER REFERENCES review (id) ON DELETE SET NULL,
    kind TEXT NOT NULL CHECK (kind IN ('measured', 'corrected')),
    author TEXT NOT NULL,
    created_at TEXT NOT NULL,
    cuebook_version TEXT NOT NULL,
    settings_json TEXT NOT NULL CHECK (json_valid(settings_json)),
    body_json TEXT NOT NULL CHECK (json_valid(body_json)),
    UNIQUE (clip_id, movement, version)
) STRICT;
CREATE INDEX review_parent ON review (parent_id);

CREATE TRIGGER review_stays BEFORE UPDATE OF clip_id, movement, version, kind, author, created_at, cuebook_version,
    settings_json, body_json ON review
BEGIN
    SELECT RAISE(ABORT, 'a review is never changed: add a version');
END;

-- Edits of a measured review. A chain by parent_id: what is in force are the ancestors of the head of the last step.
CREATE TABLE correction (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    review_id INTEGER NOT NULL REFERENCES review (id) ON DELETE CASCADE,
    parent_id INTEGER REFERENCES correction (id) ON DELETE CASCADE,
    key TEXT NOT NULL,
    kind TEXT NOT NULL,
    body_json TEXT NOT NULL CHECK (json_valid(body_json)),
    words TEXT NOT NULL,
    author TEXT NOT NULL,
    created_at TEXT NOT NULL,
    UNIQUE (review_id, key)
) STRICT;
CREATE INDEX correction_parent ON correction (parent_id);

CREATE TRIGGER correction_stays BEFORE UPDATE ON correction
BEGIN
    SELECT RAISE(ABORT, 'a correction is never changed: undo it or add another one');
END;

-- What was done, undone and done again; the head of the last row is where the review stands.
CREATE TABLE step (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    review_id INTEGER NOT NULL REFERENCES review (id) ON DELETE CASCADE,
    action TEXT NOT NULL CHECK (action IN ('do', 'undo', 'redo')),
    correction_id INTEGER NOT NULL REFERENCES correction (id) ON DELETE CASCADE,
    head_id INTEGER REFERENCES correction (id) ON DELETE CASCADE,
    author TEXT NOT NULL,
    created_at TEXT NOT NULL
) STRICT;
CREATE INDEX step_review ON step (review_id, id);
CREATE INDEX step_correction ON step (correction_id);
CREATE INDEX step_head ON step (head_id);

CREATE TRIGGER step_stays BEFORE UPDATE ON step
BEGIN
    SELECT RAISE(ABORT, 'a step is never changed');
END;

-- The three tables below show what is in force, for queries; they follow the steps in the same transaction.
CREATE TABLE note (
    review_id INTEGER NOT NULL REFERENCES review (id) ON DELETE CASCADE,
    id TEXT NOT NULL,
    at_s REAL,
    repetition TEXT,
    joint TEXT,
    cue TEXT,
    severity TEXT NOT NULL CHECK (severity IN ('stop', 'change', 'praise', 'remark')),
    text TEXT NOT NULL,
    author TEXT NOT NULL,
    changed_at TEXT NOT NULL,
    PRIMARY KEY (review_id, id)
) STRICT, WITHOUT ROWID;

CREATE TABLE mark (
    review_id INTEGER NOT NULL REFERENCES review (id) ON DELETE CASCADE,
    id TEXT NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('line', 'plumb', 'angle', 'arrow', 'circle', 'text')),
    at_s REAL NOT NULL,
    joints_json TEXT NOT NULL CHECK (json_valid(joints_json)),
    to_x REAL,
    to_y REAL,
    size REAL,
    text TEXT,
    author TEXT NOT NULL,
    changed_at TEXT NOT NULL,
    PRIMARY KEY (review_id, id)
) STRICT, WITHOUT ROWID;

CREATE TABLE overruled (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    review_id INTEGER NOT NULL REFERENCES review (id) ON DELETE CASCADE,
    cue TEXT NOT NULL,
    repetition TEXT,
    side TEXT CHECK (side IN ('left', 'right', 'both')),
    outcome TEXT NOT NULL CHECK (outcome IN ('met', 'near', 'not_met', 'not_measurable')),
    reason TEXT NOT NULL,
    author TEXT NOT NULL,
    changed_at TEXT NOT NULL
) STRICT;
CREATE INDEX overruled_review ON overruled (review_id);

CREATE TABLE draft (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    review_id INTEGER NOT NULL REFERENCES review (id) ON DELETE CASCADE,
    version INTEGER NOT NULL CHECK (version >= 1),
    body_json TEXT NOT NULL CHECK (json_valid(body_json)),
    author TEXT NOT NULL,
    created_at TEXT NOT NULL,
    UNIQUE (review_id, version)
) STRICT;

-- Half-written notes and the place in the clip: only the last value of each name.
CREATE TABLE unfinished (
    review_id INTEGER NOT NULL REFERENCES review (id) ON DELETE CASCADE,
    name TEXT NOT NULL,
    value_json TEXT NOT NULL CHECK (json_valid(value_json)),
    changed_at TEXT NOT NULL,
    PRIMARY KEY (review_id, name)
) STRICT, WITHOUT ROWID;

CREATE TABLE reference_clip (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    review_id INTEGER NOT NULL REFERENCES review (id) ON DELETE CASCADE,
    folder TEXT NOT NULL,
    body_json TEXT NOT NULL CHECK (json_valid(body_json)),
    author TEXT NOT NULL,
    created_at TEXT NOT NULL
) STRICT;
CREATE INDEX reference_clip_review ON reference_clip (review_id);

-- Who did what, when. A subject is a table and a row number, never a name, so that it may outlive what it speaks of.
CREATE TABLE event (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    at TEXT NOT NULL,
    who TEXT NOT NULL,
    what TEXT NOT NULL,
    subject TEXT NOT NULL
) STRICT;

CREATE TRIGGER event_stays_as_it_is BEFORE UPDATE ON event
BEGIN
    SELECT RAISE(ABORT, 'events are only ever added');
END;

CREATE TRIGGER event_stays BEFORE DELETE ON event
BEGIN
    SELECT RAISE(ABORT, 'events are only ever added');
END;
