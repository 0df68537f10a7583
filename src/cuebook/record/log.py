"""The log of one review's edits: a chain of corrections and the steps over it; undo and redo without limit."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Literal

from cuebook.model import DeskState

from .connect import Record

Action = Literal["do", "undo", "redo"]
_KNOWN = (
    "SELECT 1 FROM correction WHERE review_id = ? AND key = ? UNION ALL "
    "SELECT 1 FROM step WHERE review_id = ? AND key = ?"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One thing that was done, undone or done again: when in UTC, by whom, and which edit in words."""

    at: str
    who: str
    action: Action
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """One edit as it was kept: row number, row of the one it follows, who, when, what in words, and the edit."""

    id: int
    parent_id: int | None
    who: str
    at: str
    words: str
    edit: Mapping[str, Any]


class EditLog:
    """Edits of one measured review.

    Parameters
    ----------
    record : Record
        Where they are kept.
    review_id : int
        Row of the measured review.

    Notes
    -----
    Each edit knows the one that was in force before it, and the last step knows which edit is in force now: undo goes
    to the one before, redo to the latest one that follows. Nothing is ever taken out, so what was undone and then
    left aside for another edit stays readable.
    """

    def __init__(self, record: Record, review_id: int) -> None:
        self.record, self.review_id = record, review_id

    def head(self, db: sqlite3.Connection | None = None) -> int | None:
        """Return the row of the edit that is in force, None where none is."""
        asked = "SELECT head_id FROM step WHERE review_id = ? ORDER BY id DESC LIMIT 1"
        values = (self.review_id,)
        rows = self.record.rows(asked, values) if db is None else db.execute(asked, values).fetchall()
        return rows[0]["head_id"] if rows else None

    def last_step(self) -> int | None:
        """Return the row of the last thing that was done, undone or done again, None where nothing was."""
        return self.record.rows("SELECT max(id) AS id FROM step WHERE review_id = ?", (self.review_id,))[0]["id"]

    def identities(self) -> set[str]:
        """Return the identity of every note and mark that was ever made or carried over here."""
        rows = self.record.rows("SELECT body_json FROM correction WHERE review_id = ?", (self.review_id,))
        edits = [json.loads(r["body_json"]) for r in rows]
        carried = [e["state"] for e in edits if e["kind"] == "carry"]
        return {e["id"] for e in edits if "id" in e} | {x["id"] for s in carried for x in (*s["notes"], *s["marks"])}

    def get(self, correction_id: int) -> Correction:
        """Return one edit."""
        row = self.record.rows("SELECT * FROM correction WHERE id = ?", (correction_id,))[0]
        return Correction(id=row["id"], parent_id=row["parent_id"], who=row["author"], at=row["created_at"],
                          words=row["words"], edit=json.loads(row["body_json"]))  # fmt: skip

    def follower(self, head: int | None) -> Correction | None:
        """Return the edit that redo brings back, None where there is none."""
        rows = self.record.rows(
            "SELECT id FROM correction WHERE review_id = ? AND parent_id IS ? ORDER BY id DESC LIMIT 1",
            (self.review_id, head),
        )
        return self.get(rows[0]["id"]) if rows else None

    def knows(self, key: str) -> bool:
        """Return whether an edit, an undo or a redo with that key was made before."""
        return bool(self.record.rows(_KNOWN, (self.review_id, key, self.review_id, key)))

    def do(self, edit: Mapping[str, Any], *, words: str, who: str, at: str, key: str, head: int | None,
           state: DeskState, keep: Mapping[str, Any] | None = None) -> int | None:  # fmt: skip
        """Keep an edit and the state it leads to; the row of the edit, or None where another program was quicker.

        Parameters
        ----------
        edit : mapping
            The edit.
        words, who, at : str
            What it is called, who made it, and when in UTC.
        key : str
            Never used before in this review.
        head : int or None
            The edit it was made on.
        state : DeskState
            What is in force after it.
        keep : mapping, optional
            Plain values kept by name in the same transaction, see :func:`keep_values`.
        """
        with self.record.writing() as db:
            used = db.execute(_KNOWN, (self.review_id, key, self.review_id, key))
            if self.head(db) != head or used.fetchone() is not None:
                return None
            row = db.execute(
                "INSERT INTO correction (review_id, parent_id, key, kind, body_json, words, author, created_at) "
                "VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
                (self.review_id, head, key, edit["kind"], plain(edit), words, who, at),
            ).lastrowid
            self._step(db, "do", row, row, who=who, at=at, words=words, state=state)
            keep_values(db, self.review_id, keep or {})
        return row

    def go(self, action: Action, correction: Correction, *, who: str, head: int | None, to: int | None,
           state: DeskState, key: str | None = None) -> bool:  # fmt: skip
        """Undo an edit or do it again; False where another program was quicker."""
        with self.record.writing() as db:
            if self.head(db) != head:
                return False
            self._step(db, action, correction.id, to, who=who, at=now(), words=correction.words, state=state, key=key)
        return True

    def steps(self, key: str | None = None) -> tuple[Step, ...]:
        """Return everything that was done, undone and done again, oldest first; or the undo or redo with that key."""
        rows = self.record.rows(
            "SELECT s.created_at, s.author, s.action, c.words FROM step s JOIN correction c ON c.id = s.correction_id "
            "WHERE s.review_id = ? AND (? IS NULL OR s.key = ?) ORDER BY s.id",
            (self.review_id, key, key),
        )
        return tuple(Step(at=r[0], who=r[1], action=r[2], words=r[3]) for r in rows)

    def _step(self, db: sqlite3.Connection, action: Action, correction: int | None, head: int | None, *, who: str,
              at: str, words: str, state: DeskState, key: str | None = None) -> None:  # fmt: skip
        db.execute(
            "INSERT INTO step (review_id, action, correction_id, head_id, author, created_at, key) "
            "VALUES (?, ?, ?, ?, ?, ?, ?)",
            (self.review_id, action, correction, head, who, at, key),
        )
        show_state(db, self.review_id, state)
        told = {"do": words, "undo": f"undo: {words}", "redo": f"redo: {words}"}[action]
        add_event(db, who=who, what=told, subject=f"review {self.review_id}", at=at)


def keep_values(db: sqlite3.Connection, review_id: int, values: Mapping[str, Any]) -> None:
    """Keep plain values by name, None forgets one, inside a running transaction: a half-written note, the place."""
    for name, value in values.items():
        if value is None:
            db.execute("DELETE FROM unfinished WHERE review_id = ? AND name = ?", (review_id, name))
        else:
            db.execute(
                "INSERT INTO unfinished (review_id, name, value_json, changed_at) VALUES (?, ?, ?, ?) "
                "ON CONFLICT (review_id, name) DO UPDATE SET value_json = excluded.value_json, "
                "changed_at = excluded.changed_at",
                (review_id, name, plain(value), now()),
            )


def show_state(db: sqlite3.Connection, review_id: int, state: DeskState) -> None:
    """Make the tables of notes, marks and overruled outcomes show a state; rows that stay the same are left alone."""
    notes = [(review_id, n.id, n.at_s, n.repetition, n.joint, n.cue, n.severity, n.text, n.who, n.at)
             for n in state.notes]  # fmt: skip
    marks = [(review_id, m.id, m.kind, m.at_s, plain(m.joints), *(m.to or (None, None)), m.size, m.text, m.who, m.at)
             for m in state.marks]  # fmt: skip
    overruled = [(review_id, o.cue, o.repetition, o.side, o.outcome, o.reason, o.who, o.at) for o in state.overruled]
    _show(db, "note", "review_id, id, at_s, repetition, joint, cue, severity, text, author, changed_at", notes)
    _show(db, "mark", "review_id, id, kind, at_s, joints_json, to_x, to_y, size, text, author, changed_at", marks)
    _show(db, "overruled", "review_id, cue, repetition, side, outcome, reason, author, changed_at", overruled)
    for table, wanted in (("note", notes), ("mark", marks), ("overruled", overruled)):
        if not wanted:
            db.execute(f"DELETE FROM {table} WHERE review_id = ?", (review_id,))


def _show(db: sqlite3.Connection, table: str, columns: str, wanted: list[tuple]) -> None:
    if not wanted:
        return
    now_there = [tuple(r) for r in db.execute(f"SELECT {columns} FROM {table} WHERE review_id = ?", wanted[0][:1])]
    if sorted(map(repr, now_there)) == sorted(map(repr, wanted)):
        return
    db.execute(f"DELETE FROM {table} WHERE review_id = ?", wanted[0][:1])
    marks = ", ".join("?" * len(wanted[0]))
    db.executemany(f"INSERT INTO {table} ({columns}) VALUES ({marks})", wanted)


def add_event(db: sqlite3.Connection, *, who: str, what: str, subject: str, at: str | None = None) -> None:
    """Write down that somebody did something, inside a running transaction."""
    db.execute("INSERT INTO event (at, who, what, subject) VALUES (?, ?, ?, ?)", (at or now(), who, what, subject))


def now() -> str:
    """Return the time of day in UTC, ISO 8601 with milliseconds."""
    return datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def plain(value: Any) -> str:
    """Return a value as JSON text, never with a NaN in it."""
    return json.dumps(value, ensure_ascii=False, allow_nan=False, sort_keys=True, separators=(",", ":"))
