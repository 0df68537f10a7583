"""The function that a notebook starts with: what it hands on, and where it looks for settings and landmarks."""

from __future__ import annotations

from pathlib import Path

import pytest

import cuebook
from cuebook import api
from cuebook.errors import ClipError, ModelError, TempoError
from cuebook.model import ReviewData, Settings, Tempo
from cuebook.movements import TempoMargins
from tests.report_samples import make_review


@pytest.fixture
def handed(monkeypatch: pytest.MonkeyPatch) -> dict:
    """Catch what is handed on; the chain itself has tests of its own."""
    seen: dict = {}

    def chain(clip: Path, **options) -> ReviewData:
        seen.update(options, clip=clip)
        return make_review()

    monkeypatch.setattr(api, "review_clip", chain)
    return seen


@pytest.fixture
def workspace(tmp_path: Path) -> Path:
    (tmp_path / "clips").mkdir()
    (tmp_path / "cuebook.toml").write_text("[outcome]\nmet_at = 0.95\nnot_met_at = 0.05\n\n[tempo]\n", encoding="utf-8")
    return tmp_path


def test_a_review_is_made_of_what_the_chain_found(handed: dict, tmp_path: Path) -> None:
    result = cuebook.review(tmp_path / "squat.mp4", movement="squat")
    assert isinstance(result, cuebook.Review)
    assert isinstance(result.data, ReviewData)
    assert handed["movement"].name == "squat"
    assert handed["clip"] == tmp_path / "squat.mp4"
    assert handed["settings"] == Settings()
    assert handed["margins"] == TempoMargins()
    assert handed["cache_dir"] is None
    assert handed["prescription"] == cuebook.Prescription()


def test_tempo_number_side_and_rate_are_handed_on(handed: dict, tmp_path: Path) -> None:
    options = {"tempo": "3-1-X-0", "repetitions": 8, "side": "left", "mirrored": "no", "capture_rate_hz": 240.0}
    cuebook.review(tmp_path / "a.mp4", movement="split-squat", **options)
    asked = handed["prescription"]
    assert asked.tempo == Tempo(eccentric=3.0, long_hold=1.0, concentric="X", short_hold=0.0)
    assert (asked.repetitions, asked.side) == (8, "left")
    assert handed["settings"].mirrored == "no"
    assert handed["capture_rate_hz"] == 240.0


def test_a_movement_can_be_given_as_one(handed: dict, tmp_path: Path) -> None:
    squat = cuebook.load_movement("squat")
    cuebook.review(tmp_path / "a.mp4", movement=squat)
    assert handed["movement"] is squat


def test_in_a_workspace_its_settings_and_its_cache_are_used(handed: dict, workspace: Path) -> None:
    cuebook.review(workspace / "clips" / "a.mp4", movement="squat")
    assert (handed["settings"].met_at, handed["settings"].not_met_at) == (0.95, 0.05)
    assert Path(handed["cache_dir"]) == workspace / "cache"


def test_settings_and_cache_that_are_given_win(handed: dict, workspace: Path, tmp_path: Path) -> None:
    cuebook.review(workspace / "clips" / "a.mp4", movement="squat", settings=Settings(met_at=0.8), mirrored="yes",
                   cache_dir=tmp_path / "own")  # fmt: skip
    assert handed["settings"] == Settings(met_at=0.8, mirrored="yes")
    assert handed["cache_dir"] == tmp_path / "own"


@pytest.mark.parametrize(
    ("options", "error"),
    [({"movement": "squat", "side": "left"}, ModelError), ({"movement": "squat", "tempo": "3-1-1"}, TempoError),
     ({"movement": "squat", "repetitions": 0}, ModelError), ({"movement": "sqat"}, cuebook.UnknownName)],
)  # fmt: skip
def test_what_does_not_fit_is_refused_before_the_clip_is_touched(handed: dict, tmp_path: Path, options, error) -> None:
    with pytest.raises(error):
        cuebook.review(tmp_path / "a.mp4", **options)
    assert handed == {}


def test_a_clip_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ClipError, match=r"gone\.mp4"):
        cuebook.review(tmp_path / "gone.mp4", movement="squat")
