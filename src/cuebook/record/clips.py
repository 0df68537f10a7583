"""Clips and the versions of their reviews in the record."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

from cuebook.model import Clip, ReviewData
from cuebook.movements import find_workspace
from cuebook.report.tables import review_json

from .connect import Record
from .log import add_event, now, plain

FILE = "record.sqlite"


def record_path(clip: str | Path) -> Path:
    """Return where the record of a clip is kept.

    That is ``record.sqlite`` of the workspace the clip lies in. Without a workspace it is a file beside the clip, not
    inside its review's folder, because that folder is replaced whole whenever a review is written.

    Parameters
    ----------
    clip : str or Path
        The clip.
    """
    clip = Path(clip).resolve()
    workspace = find_workspace(clip.parent)
    return clip.with_name(f"{clip.stem}.desk.sqlite") if workspace is None else workspace / FILE


def keep_clip(record: Record, clip: Clip, *, who: str) -> int:
    """Return the row of a clip, known by its hash; a new one is written down."""
    with record.writing() as db:
        row = db.execute("SELECT id FROM clip WHERE sha256 = ?", (clip.sha256,)).fetchone()
        if row is not None:
            return row["id"]
        size = clip.path.stat().st_size if clip.path.is_file() else None
        made = db.execute(
            "INSERT INTO clip (sha256, original_name, path, size_bytes, duration_s, frames, width_px, height_px, "
            "rotation_deg, nominal_rate_hz, capture_rate_hz, added_at) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (clip.sha256, clip.path.name, str(clip.path.absolute()), size, clip.duration_s, len(clip.times_s),
             clip.width_px, clip.height_px, clip.rotation_deg, float(clip.nominal_rate_hz), clip.capture_rate_hz,
             now()),
        ).lastrowid  # fmt: skip
        add_event(db, who=who, what="add a clip", subject=f"clip {made}")
        return int(made)


def settings_form(data: ReviewData) -> dict[str, Any]:
    """Return everything that was asked for and set when a review was made."""
    tempo = data.prescription.tempo
    return {
        **asdict(data.settings),
        "tempo": None if tempo is None else str(tempo),
        "repetitions": data.prescription.repetitions,
        "side": data.prescription.side,
        "person": data.person,
        "capture_rate_hz": data.clip.capture_rate_hz,
    }


def person_before(path: Path, sha256: str, movement: str) -> str | None:
    """Return the point on the athlete that the last review of a clip was made with, None without one.

    Parameters
    ----------
    path : Path
        The record; one that is not there yet is not made.
    sha256 : str
        Hash of the clip.
    movement : str
        Name of the movement.
    """
    if not path.is_file():
        return None
    with Record(path) as record:
        rows = record.rows(
            "SELECT r.settings_json FROM review r JOIN clip c ON c.id = r.clip_id "
            "WHERE c.sha256 = ? AND r.movement = ? AND r.kind = 'measured' ORDER BY r.version DESC LIMIT 1",
            (sha256, movement),
        )
    return json.loads(rows[0]["settings_json"]).get("person") if rows else None


def last_seen(path: Path, clip: Path) -> str | None:
    """Return when a clip was last in view on a desk, in UTC; None where it never was.

    Parameters
    ----------
    path : Path
        The record; one that is not there yet is not made.
    clip : Path
        The clip.
    """
    if not path.is_file():
        return None
    with Record(path) as record:
        rows = record.rows(
            "SELECT max(u.changed_at) AS at FROM unfinished u JOIN review r ON r.id = u.review_id "
            "JOIN clip c ON c.id = r.clip_id WHERE c.path = ? AND u.name = 'position_s'",
            (str(clip.absolute()),),
        )
    return rows[0]["at"]


def found_form(body: Mapping[str, Any]) -> list[list[Any]]:
    """Return where a review's repetitions were found; corrections made on the same ones still fit."""
    return [[r[name] for name in ("side", "start_s", "turn_s", "end_s", "complete")] for r in body["repetitions"]]


def keep_review(record: Record, clip_id: int, data: ReviewData, *, kind: str, who: str) -> tuple[int, int]:
    """Append a version of a review and return its row and version; the very same body again adds nothing.

    Parameters
    ----------
    record : Record
        Where to keep it.
    clip_id : int
        Row of the clip.
    data : ReviewData
        The review.
    kind : {"measured", "corrected"}
        Whether a coach's corrections are in it.
    who : str
        Author.
    """
    body, settings = plain(review_json(data)), plain(settings_form(data))
    movement = data.movement.name
    with record.writing() as db:
        rows = db.execute(
            "SELECT id, version, kind, body_json, settings_json FROM review WHERE clip_id = ? AND movement = ? "
            "ORDER BY version DESC",
            (clip_id, movement),
        ).fetchall()
        same = [r for r in rows if r["kind"] == kind]
        if same and (same[0]["body_json"], same[0]["settings_json"]) == (body, settings):
            return same[0]["id"], same[0]["version"]
        version = rows[0]["version"] + 1 if rows else 1
        parent = rows[0]["id"] if rows else None
        made = db.execute(
            "INSERT INTO review (clip_id, movement, version, parent_id, kind, author, created_at, cuebook_version, "
            "settings_json, body_json) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (clip_id, movement, version, parent, kind, who, now(), data.cuebook_version, settings, body),
        ).lastrowid
        add_event(db, who=who, what=f"keep version {version} of a review ({kind})", subject=f"review {made}")
        return int(made), version


def reviews(record: Record, clip_id: int, movement: str) -> list[dict[str, Any]]:
    """Return the versions of a clip's review for one movement, oldest first, bodies read."""
    rows = record.rows("SELECT * FROM review WHERE clip_id = ? AND movement = ? ORDER BY version", (clip_id, movement))
    return [{**dict(r), "body": json.loads(r["body_json"]), "settings": json.loads(r["settings_json"])} for r in rows]
