"""The whole chain on tracks without pictures: counts, warnings, mirrored clips, nobody found."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from cuebook.assess.analyse import FlippedFrames, judge_track
from cuebook.assess.corrected import Rejudge
from cuebook.model import Change, DeskState, Prescription, ReviewData, Settings, Tempo, Track
from cuebook.movements import load_movement
from cuebook.repetitions import proposed_spans
from cuebook.report.blocks import cue_blocks
from tests.stick_samples import FILMED, clip_of, stick


def judged(
    track: Track, name: str, *, slow_motion: bool = False, settings: Settings | None = None, **asked
) -> ReviewData:
    clip, movement = clip_of(track, slow_motion=slow_motion), load_movement(name)
    return judge_track(
        clip, track, movement=movement, prescription=Prescription(**asked), settings=settings or Settings()
    )


def nobody(track: Track, share: float) -> Track:
    gone = np.arange(len(track.times_s)) < share * len(track.times_s)
    parts = {n: np.array(getattr(track, n)) for n in ("xy_px", "world_m", "score")}
    for values in parts.values():
        values[gone] = np.nan
    return replace(track, **parts)


def test_counts_of_both_sided_and_one_sided_movements() -> None:
    squat = judged(stick("squat", 80.0)[0], "squat", repetitions=2)
    assert squat.counts == {"prescribed": 2, "left": None, "right": None, "both": 2, "incomplete": 0}
    lunge = judged(stick("lateral-lunge", 10.0)[0], "lateral-lunge")
    assert lunge.counts == {"prescribed": None, "left": 1, "right": 1, "both": None, "incomplete": 0}


def test_nobody_found_is_a_review_that_says_how_to_film() -> None:
    data = judged(nobody(stick("squat", 80.0)[0], 0.7), "squat", repetitions=2)
    assert data.repetitions == ()
    assert {v.outcome for v in data.verdicts} == {"not_measurable"}
    assert data.headline.next.startswith("Film again")
    assert any("not in the picture" in w for w in data.warnings)
    everybody_gone = judged(nobody(stick("squat", 80.0)[0], 1.0), "squat")
    assert everybody_gone.motion.view.name == "unknown"
    assert {v.outcome for v in everybody_gone.verdicts} == {"not_measurable"}


def test_slow_motion_of_unknown_rate_leaves_tempo_open_until_it_is_stated() -> None:
    track, _ = stick("squat", 80.0)
    tempo = Tempo(eccentric=2.0, long_hold=0.5, concentric=1.5, short_hold=0.5)
    data = judged(track, "squat", slow_motion=True, tempo=tempo)
    assert set(data.tempo.outcomes.values()) == {"not_measurable"}
    assert any("slow motion" in w for w in data.warnings)
    clip = replace(clip_of(track, slow_motion=True), capture_rate_hz=120.0)
    stated = judge_track(clip, track, movement=load_movement("squat"), prescription=Prescription(tempo=tempo),
                         settings=Settings())  # fmt: skip
    assert "not_measurable" not in stated.tempo.outcomes.values()
    assert not any("slow motion" in w for w in stated.warnings)


@pytest.mark.parametrize(("mirrored", "proven"), [("yes", True), ("no", True), ("unknown", False)])
def test_the_side_is_proven_by_a_statement(mirrored: str, proven: bool) -> None:
    data = judged(stick("split-squat", 80.0)[0], "split-squat", settings=Settings(mirrored=mirrored), side="left")
    assert data.side_proven is proven
    assert any("prove" in w and "left" in w for w in data.warnings) is not proven
    assert {r.side for r in data.repetitions} == {"right" if mirrored == "yes" else "left"}
    assert {r.counted for r in data.repetitions} == {mirrored != "yes"}


def test_a_mirrored_clip_is_drawn_turned_back() -> None:
    picture = np.arange(24, dtype=np.uint8).reshape(2, 4, 3)
    frames = FlippedFrames(lambda *_, **__: iter([(0.5, picture)]))
    ((time_s, turned),) = frames(640, 0, 1)
    assert time_s == 0.5
    np.testing.assert_array_equal(turned, picture[:, ::-1])
    assert turned.flags["C_CONTIGUOUS"]


def test_dark_pictures_and_a_second_person_are_said() -> None:
    track, _ = stick("squat", 80.0)
    dark = replace(track, light=np.full(len(track.times_s), 0.1), others_seen=True)
    warnings = " ".join(judged(dark, "squat").warnings)
    assert "dark" in warnings
    assert "second person" in warnings
    assert judged(track, "squat").warnings == ()


def test_verdicts_on_repetitions_come_before_those_on_the_set() -> None:
    data = judged(stick("squat", 80.0)[0], "squat", repetitions=2)
    numbers = [v.repetition for v in data.verdicts]
    first = numbers.index(None)
    assert set(numbers[first:]) == {None}
    assert numbers[:first] == sorted(numbers[:first])
    assert data.verdicts[-1].cue == "repetitions"
    assert data.headline.words <= 60


def test_the_wrong_movement_is_not_talked_into_repetitions() -> None:
    track, _ = stick("standing-trunk-rotation", FILMED["standing-trunk-rotation"][1])
    data = judged(track, "squat", repetitions=3)
    assert not any(r.counted for r in data.repetitions)
    assert not any(v.outcome == "met" for v in data.verdicts)


def test_a_clip_of_another_movement_is_not_praised() -> None:
    data = judged(stick("standing-knee-raise", FILMED["standing-knee-raise"][1], reps=3)[0], "squat")
    assert data.warnings[0].startswith("The clip looks like the standing knee raise (chance ")
    assert "judged as the squat" in data.headline.fix
    assert data.headline.praise == "Thank you for filming your set."
    assert {b["say"] for b in cue_blocks(data)} == {""}
    change = Change(at="2026-01-14T18:00:00.000Z", who="Orla Vennick", what="drop a repetition")
    corrected = Rejudge(data).judge(DeskState(spans=proposed_spans(data.repetitions)[1:]), (change,))
    assert corrected.headline == data.headline, "a correction brings no praise back"
    assert corrected.warnings[0] == data.warnings[0]
