"""When a clip was filmed, and how that is known."""

from __future__ import annotations

import os
from datetime import UTC, datetime
from pathlib import Path

import pytest

from cuebook.inbox.dates import captured, date_in_name
from tests.inbox_samples import take, write_take

NOW = datetime(2026, 1, 20, 12, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def pictures() -> list:
    return take(1, frames=12)


def test_the_camera_is_believed_first(tmp_path: Path, pictures: list) -> None:
    clip = write_take(
        tmp_path / "VID_20251201_100000.mp4", pictures, metadata={"creation_time": "2026-01-14T18:30:00Z"}
    )
    found = captured(clip, now=NOW)
    assert (found.value[:16], found.by) == ("2026-01-14T18:30", "camera")


@pytest.mark.parametrize("lost", ["1904-01-01T00:00:00Z", "1970-01-01T00:00:00Z", "2031-05-05T00:00:00Z", "yesterday"])
def test_a_clock_that_was_never_set_is_not_believed(tmp_path: Path, pictures: list, lost: str) -> None:
    clip = write_take(tmp_path / "VID_20260113_091500.mp4", pictures, metadata={"creation_time": lost})
    found = captured(clip, now=NOW)
    assert (found.value, found.by) == ("2026-01-13T09:15", "file name")


def test_without_anything_else_it_is_the_time_of_the_file(tmp_path: Path, pictures: list) -> None:
    clip = write_take(tmp_path / "IMG_0042.mp4", pictures)
    os.utime(clip, (NOW.timestamp(), NOW.timestamp()))
    found = captured(clip, now=NOW)
    assert found.by == "file time"
    assert datetime.fromisoformat(found.value) == NOW


@pytest.mark.parametrize(
    ("stem", "date"),
    [
        ("VID-20260114-WA0003", "2026-01-14"),
        ("2026-01-14 18.30.12", "2026-01-14T18:30"),
        ("clip 2026_01_14", "2026-01-14"),
        ("IMG_0042", None),
        ("20261399_120000", None),
        ("1202601145", None),
    ],
)
def test_dates_in_names(stem: str, date: str | None) -> None:
    assert date_in_name(stem) == date
