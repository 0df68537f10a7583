"""Gathering the reviews of a batch into tables, one review at a time."""

from __future__ import annotations

import json
from collections.abc import Mapping
from contextlib import ExitStack
from pathlib import Path
from typing import Any

from .job import ClipResult
from .plan import Plan
from .rows import CLIP_COLUMNS, CUE_COLUMNS, REPETITION_COLUMNS, Kind, clip_row, cue_rows, repetition_rows
from .sheets import Sheet, parquet_missing

TABLES = ("clips", "repetitions", "cues")
"""Names of the tables, without ending."""

NAMED = 5
"""Clips without a whole repetition that are named to the reader, each with the reason."""


def write_tables(
    out: Path, plan: Plan, results: Mapping[int, ClipResult], folders: Mapping[int, str]
) -> tuple[str, ...]:
    """Write the three tables and return sentences for the reader.

    Parameters
    ----------
    out : Path
        Folder of the results.
    plan : Plan
        The clips, in the order of the rows.
    results : mapping of int to ClipResult
        How each ended; a clip without a result was not done.
    folders : mapping of int to str
        Name of the folder of each review.

    Raises
    ------
    OutputError
        If a table cannot be written.
    """
    missing = parquet_missing()
    without: list[str] = []
    columns: tuple[dict[str, Kind], ...] = (_clip_columns(plan), REPETITION_COLUMNS, CUE_COLUMNS)
    with ExitStack() as stack:
        sheets = [
            stack.enter_context(Sheet(out, name, kinds, parquet=missing is None))
            for name, kinds in zip(TABLES, columns, strict=True)
        ]
        for clip in plan.clips:
            result = results.get(clip.number) or not_done(clip.number)
            folder = folders.get(clip.number) if result.state == "scored" else None
            review = None if folder is None else _read(out / folder)
            copied = {own_name(column): cell or None for column, cell in clip.extra.items()}
            row = clip_row(clip, result, review, folder=folder)
            sheets[0].write(row | copied)
            if review is not None and not row["counted"]:
                without.append(f"{clip.name} ({row['reason']})")
            if review is not None:
                for sheet, rows in ((sheets[1], repetition_rows), (sheets[2], cue_rows)):
                    for one in rows(clip, review):
                        sheet.write(one)
    notes = [] if missing is None else [missing]
    if without:
        some = "1 clip holds" if len(without) == 1 else f"{len(without)} clips hold"
        more = "" if len(without) <= NAMED else f" and {len(without) - NAMED} more, see clips.csv"
        notes.append(f"{some} no whole repetition: {'; '.join(without[:NAMED])}{more}.")
    return tuple(notes)


def not_done(number: int) -> ClipResult:
    """Return the result of a clip that a stopped batch did not come to."""
    return ClipResult(number=number, state="not_done", reason="The batch was stopped before this clip was done.")


def _clip_columns(plan: Plan) -> dict[str, Kind]:
    return CLIP_COLUMNS | dict.fromkeys((own_name(column) for column in plan.columns), "text")  # type: ignore[return-value]


def own_name(column: str) -> str:
    """Return the name of a column that is only copied, told apart from one of ours."""
    return f"manifest_{column}" if column in CLIP_COLUMNS else column


def _read(folder: Path) -> dict[str, Any]:
    return json.loads((folder / "review.json").read_text(encoding="utf-8"))
