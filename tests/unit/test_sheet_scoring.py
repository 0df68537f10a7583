"""What is handed to the batch, and the strips of stills."""

from __future__ import annotations

import csv
from pathlib import Path

import cv2
import numpy as np
import pytest

from cuebook.errors import ClipError, InboxError
from cuebook.sheet.scoring import MANIFEST, start, to_score, unseen_words
from cuebook.sheet.stills import HEIGHT_PX, STILLS, WIDTH_PX, kept_strip, strip_of
from tests.sheet_samples import entry, inbox

DEMO = Path(__file__).parents[2] / "clips_demo"


def test_only_usable_clips_with_a_movement_are_scored_and_a_decision_counts(tmp_path: Path) -> None:
    entries = inbox().entries
    assert [r["received_as"] for r in to_score(entries, {}, clips=tmp_path)] == [
        "IMG_0001.mp4", "IMG_0002.mp4", "IMG_0004.mp4",
    ]  # fmt: skip
    states = {entries[0].clip: "damaged", entries[2].clip: "partly", entries[4].clip: "usable"}
    assert [r["received_as"] for r in to_score(entries, states, clips=tmp_path)] == [
        "IMG_0002.mp4", "IMG_0003.mp4", "IMG_0004.mp4",
    ], "a clip without a movement cannot be scored"  # fmt: skip


def test_the_list_for_the_batch_is_a_manifest(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    given = {}
    monkeypatch.setattr("cuebook.sheet.scoring.start_scoring", lambda source, **more: given.update(more, source=source))
    rows = to_score(inbox().entries, {}, clips=tmp_path)
    start(rows, tmp_path / "sorted", heard=lambda _: None, ended=lambda *_: None, tempo="3-1-1-0", video=False)
    assert given["source"] == tmp_path / "sorted" / MANIFEST
    assert (given["tempo"], given["video"]) == ("3-1-1-0", False)
    with given["source"].open(encoding="utf-8", newline="") as file:
        written = list(csv.DictReader(file))
    assert [w["movement"] for w in written] == ["squat"] * 3
    assert Path(written[0]["clip"]).is_absolute()


def test_clips_nobody_looked_at_are_counted_before_they_are_scored(tmp_path: Path) -> None:
    entries = [entry(1, looked="quick"), entry(2), entry(3, looked="quick"), entry(4, looked="quick", state="refilm")]
    rows = to_score(entries, {}, clips=tmp_path)
    assert unseen_words(entries, rows).startswith("2 of 3 clips were not looked at yet: whether a second person")
    assert unseen_words(entries[1:2], rows) == ""
    again = unseen_words(entries, rows, scored={"IMG_0001.mp4"})
    assert again.startswith("1 of 2 clips was not looked at yet"), "a scored clip was looked at"


def test_nothing_to_score_is_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(InboxError, match="No clip can be scored yet"):
        start([], tmp_path, heard=lambda _: None, ended=lambda *_: None)


def test_a_strip_is_five_different_stills_of_the_clip() -> None:
    coded = strip_of(DEMO / "squat.mp4")
    strip = cv2.imdecode(np.frombuffer(coded, np.uint8), cv2.IMREAD_COLOR)
    assert strip.shape == (HEIGHT_PX, STILLS * WIDTH_PX, 3)
    stills = [strip[:, k * WIDTH_PX : (k + 1) * WIDTH_PX].astype(float) for k in range(STILLS)]
    assert all(s.std() > 20 for s in stills), "no still is empty"
    assert max(np.abs(stills[0] - s).mean() for s in stills[1:]) > 5
    assert len(coded) < 20_000


def test_a_strip_is_made_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = kept_strip(DEMO / "squat.mp4", tmp_path / "strips", "abc")
    monkeypatch.setattr("cuebook.sheet.stills.strip_of", lambda _: pytest.fail("made again"))
    assert kept_strip(DEMO / "squat.mp4", tmp_path / "strips", "abc") == first
    assert [p.name for p in (tmp_path / "strips").iterdir()] == ["abc.jpg"]


def test_a_file_that_is_no_clip_has_no_strip(tmp_path: Path) -> None:
    (tmp_path / "notes.mp4").write_text("hello")
    with pytest.raises(ClipError):
        strip_of(tmp_path / "notes.mp4")
