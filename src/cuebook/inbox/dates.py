"""When a clip was filmed, and how that is known."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from pathlib import Path

from cuebook.clip.container import opened

from .entries import Known

CAMERA_KEYS = ("com.apple.quicktime.creationdate", "creation_time", "date", "date-eng")
"""Metadata keys in the order in which they are believed: the first carries the local time zone."""

EARLIEST_YEAR = 2005
"""Cameras that lost their clock write 1904 or 1970; no phone filmed before this (common practice, no source)."""

_DAY = r"(?<!\d)(20\d\d)[-_.]?([01]\d)[-_.]?([0-3]\d)"
_TIME = r"(?:[-_ T.]*(?:at[-_ ]*)?([0-2]\d)[-_.:h]?([0-5]\d)(?:[-_.:]?[0-5]\d(?:\d{3})?)?)?"
_IN_NAME = re.compile(_DAY + _TIME + r"(?!\d)")


def captured(file: Path, *, now: datetime | None = None) -> Known:
    """Return when a clip was filmed: from the camera's own note, else the file's name, else the file's time.

    Parameters
    ----------
    file : Path
        A clip that can be opened.
    now : datetime or None
        Nothing later than a day after this is believed; default: the present.

    Returns
    -------
    Known
        ISO 8601 date, with the time where it is known; `by` is ``camera``, ``file name`` or ``file time``.
    """
    latest = now or datetime.now(UTC)
    with opened(file) as (container, stream):
        notes = {key.lower(): text for table in (stream.metadata, container.metadata) for key, text in table.items()}
    for key in CAMERA_KEYS:
        if (moment := _read(notes.get(key, ""), latest)) is not None:
            return Known(value=moment.isoformat(timespec="seconds"), by="camera")
    if (named := date_in_name(file.stem)) is not None and _plausible(datetime.fromisoformat(named), latest):
        return Known(value=named, by="file name")
    return Known(value=received(file), by="file time")


def received(file: Path) -> str:
    """Return the time of a file on disk, ISO 8601 in the zone of this machine."""
    return datetime.fromtimestamp(file.stat().st_mtime).astimezone().isoformat(timespec="seconds")


def date_in_name(stem: str) -> str | None:
    """Return the date (and time) that stands in a file name such as ``VID_20260114_183000``, None if there is none.

    Parameters
    ----------
    stem : str
        Name without its ending.
    """
    for match in _IN_NAME.finditer(stem):
        year, month, day, hour, minute = (None if g is None else int(g) for g in match.groups())
        try:
            if hour is not None and minute is not None:
                return datetime(year, month, day, hour, minute).isoformat(timespec="minutes")  # type: ignore[arg-type]
            return datetime(year, month, day).date().isoformat()  # type: ignore[arg-type]
        except ValueError:
            continue
    return None


def _read(text: str, latest: datetime) -> datetime | None:
    try:
        moment = datetime.fromisoformat(text.strip())
    except ValueError:
        return None
    return moment if _plausible(moment, latest) else None


def _plausible(moment: datetime, latest: datetime) -> bool:
    zoned = moment if moment.tzinfo is not None else moment.replace(tzinfo=UTC)
    return moment.year >= EARLIEST_YEAR and (zoned - latest).total_seconds() < 86_400
