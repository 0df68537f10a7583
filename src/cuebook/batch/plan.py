"""What is to be reviewed: every clip of a folder or a manifest, with what was asked of it, checked before any work."""

from __future__ import annotations

import hashlib
import os
from collections import Counter
from dataclasses import dataclass, field, replace
from math import isfinite
from pathlib import Path
from typing import Literal

from cuebook.errors import BatchError, CuebookError, TempoError
from cuebook.model import Movement, Prescription, Settings
from cuebook.movements import TempoMargins, parse_tempo, prescribe
from cuebook.pose import Pointed, parse_pointed, points_of_clips

from .folder import rows_of_folder
from .manifest import Row, read_manifest, refuse_lines
from .shelf import Shelf


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedClip:
    """One clip and what was asked of it.

    Attributes
    ----------
    number : int
        Place in the plan, from 0.
    name : str
        The clip as the folder or the manifest names it.
    clip : Path
        The file.
    athlete : str
        Who it is, empty if not told.
    movement, prescription, settings, margins
        As for `review_clip`.
    tempo : str
        The prescribed tempo as text, empty without one.
    capture_rate_hz : float or None
        Rate of a slow-motion clip.
    cache_dir : Path or None
        Folder for landmarks: that of the workspace, else the one that was asked for.
    person : Pointed or None
        A point on the athlete, where two people are in the picture.
    folder : str
        Name of the folder of its review.
    extra : dict
        Columns of the manifest that are only copied.
    """

    number: int
    name: str
    clip: Path
    athlete: str
    movement: Movement
    prescription: Prescription
    settings: Settings
    margins: TempoMargins
    tempo: str
    capture_rate_hz: float | None
    cache_dir: Path | None
    person: Pointed | None = None
    folder: str = ""
    extra: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """All clips of a batch in their order, and sentences for the reader."""

    source: Path
    clips: tuple[PlannedClip, ...]
    notes: tuple[str, ...]
    columns: tuple[str, ...] = ()
    """Columns of the manifest that are only copied."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Default:
    """What is asked of clips that do not say it themselves."""

    movement: str | None = None
    tempo: str | None = None
    repetitions: int | None = None
    persons: tuple[str, ...] = ()
    tracks: Path | None = None


def make_plan(source: str | Path, *, default: Default | None = None, leave_out: Path | None = None) -> Plan:
    """Return the clips of a folder or a manifest.

    Parameters
    ----------
    source : str or Path
        A folder, looked through with all folders in it, or a CSV file.
    default : Default, optional
        Movement, tempo and repetitions of clips whose row or folder does not name them; points on the athlete, as
        ``X,Y@T`` or ``CLIP=X,Y@T``; and the folder for landmarks of clips that lie in no workspace.
    leave_out : Path, optional
        Folder of results, which may lie in the folder of clips.

    Raises
    ------
    BatchError
        If it cannot be read, holds no clip, or asks for something that is not there; all at once, with the lines.
    PoseError
        If a point on an athlete cannot be read, or belongs to no clip.
    """
    source, default, shelf = Path(source), default or Default(), Shelf()
    if source.is_dir():
        (rows, notes), columns = rows_of_folder(source, shelf, leave_out=leave_out), ()
    else:
        rows, columns = read_manifest(source)
        notes = _about_columns(source, columns)
    if not rows:
        raise BatchError(f"{source} holds no clip: name a folder with videos in it, or a CSV file that lists clips.")
    if problem := _wrong_option(rows, default, shelf):
        raise BatchError(problem)
    points = points_of_clips(default.persons, [row.name for row in rows])
    clips, problems = [], []
    for row in rows:
        try:
            clips.append(_planned(len(clips), row, default, shelf, point=points.get(row.name)))
        except CuebookError as refused:
            problems.append(f"{row.where}: {str(refused).rstrip('.')}")
    if problems:
        refuse_lines(source, problems)
    return Plan(source=source, clips=_with_folders(clips), notes=notes, columns=columns)


def _wrong_option(rows: list[Row], default: Default, shelf: Shelf) -> str:
    """Return one sentence about a movement or tempo asked of all clips that cannot be used, empty if they can.

    A movement that some workspace knows is not refused here: then the clips that lie elsewhere are named one by one.
    """
    if default.tempo is not None:
        try:
            parse_tempo(default.tempo)
        except TempoError as refused:
            return f"The option --tempo cannot be used: {refused}"
    problem = ""
    if default.movement is not None:
        asked = (row.clip.parent for row in rows if row.name and not row.values.get("movement"))
        for workspace in dict.fromkeys(shelf.workspace(Path(os.path.abspath(folder))) for folder in asked):
            try:
                shelf.movement(default.movement, workspace)
            except CuebookError as refused:
                problem = problem or f"The option --movement cannot be used: {refused}"
            else:
                return ""
    return problem


def _about_columns(source: Path, columns: tuple[str, ...]) -> tuple[str, ...]:
    if not columns:
        return ()
    named = ", ".join(f"'{c}'" for c in columns)
    return (f"{source.name} has columns that are not known here, {named}: they are copied into clips.csv as they are.",)


def _planned(number: int, row: Row, default: Default, shelf: Shelf, *, point: str | None) -> PlannedClip:
    if not row.name:
        raise BatchError("the column 'clip' is empty")
    clip = Path(os.path.abspath(row.clip))
    workspace = shelf.workspace(clip.parent)
    wanted = row.values.get("movement") or default.movement
    if wanted is None:
        raise BatchError("no movement is named: name it in the row, by the folder, or with --movement")
    movement = shelf.movement(wanted, workspace)
    tempo = row.values.get("tempo") or default.tempo
    prescription = prescribe(movement, tempo=tempo, repetitions=_count(row, default), side=_side(row))
    settings, margins = shelf.settings(workspace)
    point = point or row.values.get("person")
    return PlannedClip(
        number=number,
        name=row.name,
        clip=clip,
        athlete=row.values.get("athlete", ""),
        movement=movement,
        prescription=prescription,
        settings=replace(settings, mirrored=_mirrored(row)),
        margins=margins,
        tempo="" if prescription.tempo is None else str(prescription.tempo),
        capture_rate_hz=_rate(row),
        cache_dir=default.tracks if workspace is None else workspace / "cache",
        person=None if point is None else parse_pointed(point),
        extra=row.extra,
    )


def _side(row: Row) -> Literal["left", "right"] | None:
    text = row.values.get("side", "").lower()
    if text not in ("", "both", "left", "right"):
        raise BatchError(f"the side is left or right or left empty, but '{text}' stands there")
    return None if text in ("", "both") else text  # type: ignore[return-value]


def _mirrored(row: Row) -> Literal["yes", "no", "unknown"]:
    text = row.values.get("mirrored", "unknown").lower()
    if text not in ("yes", "no", "unknown"):
        raise BatchError(f"'mirrored' is yes, no or left empty, but '{text}' stands there")
    return text  # type: ignore[return-value]


def _count(row: Row, default: Default) -> int | None:
    if "repetitions" not in row.values:
        return default.repetitions
    number = _number(row, "repetitions", "a whole number from 1")
    if number < 1 or number != int(number):
        raise BatchError(f"'repetitions' must be a whole number from 1, but '{row.values['repetitions']}' stands there")
    return int(number)


def _rate(row: Row) -> float | None:
    if "capture_rate" not in row.values:
        return None
    rate = _number(row, "capture_rate", "frames per second, such as 240")
    if rate < 1:
        raise BatchError(f"'capture_rate' is frames per second, such as 240, but '{rate:g}' stands there")
    return rate


def _number(row: Row, column: str, wanted: str) -> float:
    text = row.values[column]
    try:
        number = float(text.replace(",", "."))
    except ValueError:
        number = float("nan")
    if not isfinite(number):
        raise BatchError(f"'{column}' must be {wanted}, but '{text}' stands there")
    return number


def _with_folders(clips: list[PlannedClip]) -> tuple[PlannedClip, ...]:
    """Give each clip the name of its review's folder: its own, or one that tells clips of the same name apart."""
    uses = Counter(clip.clip.stem.casefold() for clip in clips)
    named: list[PlannedClip] = []
    taken: Counter[str] = Counter()
    for clip in clips:
        name = clip.clip.stem
        if uses[name.casefold()] > 1:
            asked = [clip.name, clip.movement.name, str(clip.prescription), clip.settings.mirrored, clip.athlete]
            asked += [] if clip.person is None else [str(clip.person)]
            name = f"{name}-{hashlib.sha256(repr(asked).encode()).hexdigest()[:6]}"
        taken[name.casefold()] += 1
        if taken[name.casefold()] > 1:
            name = f"{name}-{taken[name.casefold()]}"
        named.append(replace(clip, folder=f"{name}.review"))
    return tuple(named)
