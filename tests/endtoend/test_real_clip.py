"""A clip of a real adult: two squats and a third that is cut off, seen obliquely from the front at 5 frames a second.

Truth by eye, from the note beside the clip: lowest at 2.0, 6.8 and 11.8 s, to about 0.2 s.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

import cuebook
from cuebook.assess.analyse import review_clip
from cuebook.model import Prescription, ReviewData

REFERENCE = os.environ.get("CUEBOOK_REFERENCE_DATA")
pytestmark = [
    pytest.mark.slow,
    pytest.mark.backend,
    pytest.mark.skipif(REFERENCE is None, reason="CUEBOOK_REFERENCE_DATA is not set"),
]


@pytest.fixture(scope="module")
def squats() -> ReviewData:
    """Review the clip with three repetitions asked for."""
    path = Path(str(REFERENCE)) / "data" / "real" / "pose_squats.mp4"
    return review_clip(path, movement="squat", prescription=Prescription(repetitions=3))


def test_two_squats_count_and_the_third_is_incomplete(squats: ReviewData) -> None:
    assert [r.counted for r in squats.repetitions] == [True, True, False]
    assert [r.complete for r in squats.repetitions] == [True, True, False]
    assert squats.counts["both"] == 2
    assert squats.counts["incomplete"] == 1


def test_what_the_clip_does_not_show_of_the_third_is_missing(squats: ReviewData) -> None:
    assert squats.repetitions[2].end_s is None
    assert squats.repetitions[2].phases["concentric"] is None


def test_they_turn_when_the_eye_says_so(squats: ReviewData) -> None:
    assert [r.turn_s for r in squats.repetitions] == pytest.approx([2.0, 6.8, 11.8], abs=0.2)


def test_a_third_that_the_clip_cuts_off_is_neither_counted_nor_called_missing(squats: ReviewData) -> None:
    verdict = next(v for v in squats.verdicts if v.cue == "repetitions")
    assert sum(r.counted for r in squats.repetitions) == 2
    assert verdict.outcome == "not_measurable"
    assert verdict.reason == "the clip begins or ends within a repetition"


def test_depth_cannot_be_told_from_there_and_the_athlete_hears_where_to_put_the_phone(squats: ReviewData) -> None:
    assert squats.motion.view.name in ("front", "oblique-front")
    depth = [v for v in squats.verdicts if v.cue == "depth"]
    assert len(depth) >= 3
    for verdict in depth:
        assert verdict.outcome == "not_measurable"
        assert "side" in str(verdict.reason)
        assert len(str(verdict.refilm).split()) >= 4
    assert squats.motion.found_fraction > 0.95


def test_the_person_is_not_said_to_be_proven_left_or_right(squats: ReviewData) -> None:
    assert not squats.side_proven
    assert all(isinstance(w, str) for w in squats.warnings)
    assert squats.cuebook_version == cuebook.__version__
