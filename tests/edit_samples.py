"""Edits without a clip: a review of four squats in a record, and the book of its edits."""

from __future__ import annotations

from cuebook.model import DeskState, Span
from cuebook.movements import load_movement
from cuebook.record import Record
from cuebook.record.book import EditBook

CLIP_S = 20.0
START = DeskState(
    spans=tuple(
        Span(id=f"r{k + 1}", origin="proposed", side="both", start_s=1.0 + 4 * k, turn_s=3.0 + 4 * k, end_s=5.0 + 4 * k)
        for k in range(4)
    )
)


def book_of(record: Record, review: int, *, author: str = "Orla Vennick") -> EditBook:
    """Return the edits of a review."""
    return EditBook(record, review, author=author, start=START, movement=load_movement("squat"), clip_s=CLIP_S)


def new_review(record: Record) -> int:
    """Write a clip and its review down, and return the row of the review."""
    with record.writing() as db:
        db.execute(
            "INSERT INTO clip (sha256, original_name, path, duration_s, frames, width_px, height_px, rotation_deg, "
            "added_at) VALUES (?, 'a.mp4', 'a.mp4', 20, 600, 540, 960, 0, '')",
            ("0" * 64,),
        )
        return db.execute(
            "INSERT INTO review (clip_id, movement, version, kind, author, created_at, cuebook_version, settings_json, "
            "body_json) VALUES (1, 'squat', 1, 'measured', '', '', '', '{}', '{}')"
        ).lastrowid
