"""What goes out of a review: versions of the feedback, and reference clips."""

from __future__ import annotations

import json
from pathlib import Path

from cuebook.model import Draft

from .connect import Record
from .forms import draft_form, draft_of
from .log import add_event, now, plain


def keep_draft(record: Record, review_id: int, draft: Draft, *, who: str) -> Draft:
    """Append a version of the feedback and return it; the same as the last one adds nothing.

    Parameters
    ----------
    record : Record
        Where to keep it.
    review_id : int
        Row of the measured review.
    draft : Draft
        What is said.
    who : str
        Author.

    Raises
    ------
    ModelError
        If it has more than 60 words, or none.
    """
    body, at = plain(draft_form(draft.checked())), now()
    with record.writing() as db:
        rows = db.execute(
            "SELECT * FROM draft WHERE review_id = ? ORDER BY version DESC LIMIT 1", (review_id,)
        ).fetchall()
        if rows and rows[0]["body_json"] == body:
            return draft_of(json.loads(body), version=rows[0]["version"], who=rows[0]["author"],
                            at=rows[0]["created_at"])  # fmt: skip
        version = rows[0]["version"] + 1 if rows else 1
        made = db.execute(
            "INSERT INTO draft (review_id, version, body_json, author, created_at) VALUES (?, ?, ?, ?, ?)",
            (review_id, version, body, who, at),
        ).lastrowid
        add_event(db, who=who, what=f"keep version {version} of the feedback", subject=f"draft {made}", at=at)
    return draft_of(json.loads(body), version=version, who=who, at=at)


def drafts_of(record: Record, review_id: int) -> tuple[Draft, ...]:
    """Return every version of the feedback on a review, oldest first."""
    rows = record.rows("SELECT * FROM draft WHERE review_id = ? ORDER BY version", (review_id,))
    return tuple(
        draft_of(json.loads(r["body_json"]), version=r["version"], who=r["author"], at=r["created_at"]) for r in rows
    )


def keep_reference(record: Record, review_id: int, folder: Path, *, who: str) -> int:
    """Note that a reference clip was written into a folder, with what its ``reference.json`` says; return the row."""
    body, at = json.loads((folder / "reference.json").read_text(encoding="utf-8")), now()
    with record.writing() as db:
        made = db.execute(
            "INSERT INTO reference_clip (review_id, folder, body_json, author, created_at) VALUES (?, ?, ?, ?, ?)",
            (review_id, str(folder), plain(body), who, at),
        ).lastrowid
        add_event(db, who=who, what="write a reference clip", subject=f"reference_clip {made}", at=at)
    return int(made)
