"""What a second model may settle, and what it may not."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from cuebook.model import Track, landmark_index
from cuebook.pose import find_doubts, second_opinion
from cuebook.pose.seen import Seen
from tests.stick_samples import stick

KNEE, ANKLE = landmark_index("left_knee"), landmark_index("left_ankle")
SPOILT = slice(120, 130)


@dataclass(frozen=True)
class Second:
    """A stand-in for the heavier model that sees a given track."""

    track: Track
    name: str = "second"
    version: str = "1"
    missing: str | None = None

    def why_missing(self) -> str | None:
        return self.missing

    def open(self, *, alone: bool = False):
        return Session(self.track)


class Session:
    """Reads the frame's number from the picture itself."""

    def __init__(self, track: Track) -> None:
        self.track = track

    def landmarks(self, picture: np.ndarray) -> Seen:
        k = int(picture[0, 0, 0]) + 256 * int(picture[0, 0, 1])
        size = np.array([self.track.width_px, self.track.height_px], float)
        return Seen(xy=self.track.xy_px[k] / size, world_m=self.track.world_m[k], score=self.track.score[k])

    def people(self, picture: np.ndarray) -> np.ndarray:
        return np.zeros((0, 2, 2))

    def close(self) -> None:
        return None


def numbered_frames(track: Track):
    def frames(long_side_px=None, start=0, stop=None, **_):
        for k in range(start, len(track.times_s) if stop is None else stop):
            picture = np.zeros((4, 4, 3), np.uint8)
            picture[..., 0], picture[..., 1] = k % 256, k // 256
            yield float(track.times_s[k]), picture

    return frames


@pytest.fixture
def stuck() -> tuple[Track, Track, SimpleNamespace]:
    """A right track, the same with a leg that jumps away and back, and the clip they belong to."""
    right = stick("squat", 85.0)[0]
    xy = right.xy_px.copy()
    xy[SPOILT, KNEE] += 140.0
    xy[SPOILT, ANKLE] += 140.0
    wrong = replace(right, xy_px=xy)
    frames = numbered_frames(right)
    clip = SimpleNamespace(times_s=right.times_s, frames=frames, path=Path("squat.mp4"), sha256="0" * 64)
    return right, wrong, clip


def ask(monkeypatch: pytest.MonkeyPatch, clip, track: Track, second: Second) -> Track:
    monkeypatch.setattr(second_opinion, "find_backend", lambda name: second)
    return second_opinion.with_second_opinion(clip, track)


def test_a_leg_that_the_second_model_places_well_is_taken_from_it(monkeypatch, stuck) -> None:
    right, wrong, clip = stuck
    assert any(d.what == "left leg" for d in find_doubts(wrong))
    settled = ask(monkeypatch, clip, wrong, Second(right))
    assert settled.backend == f"{wrong.backend} + second"
    assert not any(d.what == "left leg" for d in find_doubts(settled))
    np.testing.assert_allclose(settled.xy_px[SPOILT, KNEE], right.xy_px[SPOILT, KNEE], atol=0.05)


def test_a_second_model_that_errs_alike_changes_nothing(monkeypatch, stuck) -> None:
    _, wrong, clip = stuck
    assert ask(monkeypatch, clip, wrong, Second(wrong)) is wrong


def test_without_the_model_or_a_doubt_the_track_stays(monkeypatch, stuck) -> None:
    right, wrong, clip = stuck
    assert ask(monkeypatch, clip, wrong, Second(right, missing="it was not added")) is wrong
    assert find_doubts(right) == ()
    assert ask(monkeypatch, clip, right, Second(wrong)) is right
