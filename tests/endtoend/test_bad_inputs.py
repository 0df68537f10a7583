"""Files that are no clip: exit code 2, one sentence on standard error, nothing written."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np
import pytest

from cuebook.cli import main
from tests.clip_samples import picture, write_clip


def _nothing(path: Path) -> None:
    """Leave the file missing."""


def _folder(path: Path) -> None:
    path.mkdir()


def _empty(path: Path) -> None:
    path.touch()


def _text(path: Path) -> None:
    path.write_text("Eight each side, slow on the way down.\n")


def _still(path: Path) -> None:
    path.write_bytes(cv2.imencode(".jpg", picture(1))[1].tobytes())


def _noise(path: Path) -> None:
    path.write_bytes(np.random.default_rng(3).bytes(9000))


def _headless(path: Path) -> None:
    whole = write_clip(path).read_bytes()
    path.write_bytes(whole[: whole.index(b"moov") - 4])


def _short(path: Path) -> None:
    write_clip(path, frames=12)


@pytest.mark.parametrize("make", [_nothing, _folder, _empty, _text, _still, _noise, _headless, _short])
def test_no_clip_no_review(make: Callable[[Path], None], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    clip = tmp_path / "set.mp4"
    make(clip)
    before = sorted(tmp_path.rglob("*"))
    assert main(["review", str(clip), "--movement", "squat"]) == 2
    caught = capsys.readouterr()
    assert caught.out == ""
    assert "set.mp4" in caught.err
    assert caught.err.count("\n") == 1
    assert "Traceback" not in caught.err
    assert sorted(tmp_path.rglob("*")) == before
