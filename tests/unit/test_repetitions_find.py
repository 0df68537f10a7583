"""Repetitions of stick clips against their truth: phases, half ones, sides, and what the clip does not show."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest

from cuebook.model import PHASES, Motion, Prescription, Repetition, Signal, Tempo, Track
from cuebook.motion import measure_motion
from cuebook.movements import load_movement
from cuebook.repetitions import driver_series, find_repetitions, in_place
from cuebook.repetitions.find import with_second_driver
from cuebook.synthetic import Camera, Change, ClipSpec, Picture, landmarks
from tests.stick_samples import moved, stick

SQUAT = load_movement("squat")


def found(track: Track, name: str = "squat", asked: Prescription | None = None) -> tuple[Repetition, ...]:
    movement = load_movement(name)
    return find_repetitions(measure_motion(track, movement), movement, asked or Prescription())


def cut(track: Track, start_s: float, end_s: float) -> Track:
    keep = (track.times_s >= start_s) & (track.times_s <= end_s)
    return replace(track, times_s=track.times_s[keep] - track.times_s[keep][0], xy_px=track.xy_px[keep],
                   world_m=track.world_m[keep], score=track.score[keep], light=track.light[keep])  # fmt: skip


def drawn(**options):
    spec = {"name": "stick", "body": "ash", "movement": "squat", "side": "both", "reps": 3, "seed": 5,
            "camera": Camera(azimuth_deg=85.0), "picture": Picture(rate_hz=30.0)} | options  # fmt: skip
    return landmarks(ClipSpec(**spec))


def test_phases_are_those_of_the_truth() -> None:
    track, truth = drawn(tempo=(3.0, 1.0, 1.2, 1.0))
    reps = found(track)
    assert len(reps) == 3
    for rep, true in zip(reps, truth.repetitions, strict=True):
        assert rep.turn_s == pytest.approx(true["turn_s"], abs=0.1)
        for phase in PHASES:
            expected = true["phases"][f"{phase}_s"]
            if expected is None:
                assert rep.phases[phase] is None
            else:
                assert rep.phases[phase] == pytest.approx(expected, abs=0.2), phase
                assert 0 < rep.phases_u[phase] < 0.5


def test_the_four_phases_add_up_and_repetitions_follow_each_other() -> None:
    reps = found(drawn(tempo=(2.0, 0.0, 1.0, 0.0))[0])
    assert [r.number for r in reps] == [1, 2, 3]
    for one, following in itertools.pairwise(reps):
        assert one.end_s == pytest.approx(following.start_s)
        assert sum(one.phases.values()) == pytest.approx(one.end_s - one.start_s)
        assert one.phases["long_hold"] == 0.0
    assert reps[-1].phases["short_hold"] is None


def test_a_movement_given_up_half_way_is_kept_and_not_counted() -> None:
    reps = found(drawn(half_after=1)[0])
    assert [r.counted for r in reps] == [True, False, True, True]
    assert not reps[1].complete
    assert reps[1].chance < 0.5 < min(r.chance for r in reps if r.counted)


def test_a_shallow_one_of_a_set_is_smaller() -> None:
    reps = found(drawn(changes=(Change(number=2, depth=0.75),))[0])
    assert len(reps) == 3
    assert reps[1].swing < 0.9 * min(reps[0].swing, reps[2].swing)


def test_what_lies_outside_the_clip_is_missing() -> None:
    track, truth = stick("squat", 80.0)
    first, last = truth.repetitions[0], truth.repetitions[-1]
    late = found(cut(track, first["turn_s"], 1e9))
    assert late[0].start_s is None
    assert not late[0].complete
    assert late[0].phases["eccentric"] is None
    early = found(cut(track, 0.0, last["turn_s"] + 0.1))
    assert early[-1].end_s is None
    assert early[-1].phases["concentric"] is None
    assert not early[-1].counted
    assert early[0].counted


def test_the_side_that_was_asked_for_is_counted_the_other_is_kept() -> None:
    track, truth = stick("lateral-lunge", 10.0)
    reps = found(track, "lateral-lunge", Prescription(side="left"))
    assert [r.side for r in reps] == [r["side"] for r in truth.repetitions]
    assert [r.counted for r in reps] == [r.side == "left" for r in reps]
    assert all(r.complete for r in reps)


def test_a_turn_of_the_trunk_has_a_side_for_each_way() -> None:
    track, truth = stick("standing-trunk-rotation", -45.0)
    reps = found(track, "standing-trunk-rotation")
    assert [r.side for r in reps] == [r["side"] for r in truth.repetitions] == ["left", "right"]


def test_without_the_inverted_v_a_push_up_is_incomplete_there() -> None:
    track, _ = stick("push-up", 80.0)
    assert [r.counted for r in found(track, "push-up")] == [True, True]
    asked = load_movement("push-up-to-inverted-v")
    reps = find_repetitions(measure_motion(track, asked), asked, Prescription())
    assert reps
    assert not any(r.counted for r in reps)


def test_a_bend_on_the_way_back_from_the_second_part_ends_no_wait() -> None:
    """A second swing of the elbow that nothing follows, found where the pike comes down, leaves the first its own."""
    movement = load_movement("push-up-to-inverted-v")
    track, truth = stick("push-up-to-inverted-v", 80.0)
    motion = measure_motion(track, movement)
    reps = find_repetitions(motion, movement, Prescription())
    assert [r.counted for r in reps] == [True] * len(truth.repetitions)
    first, last = reps[0], reps[-1]
    after = float(motion.times_s[-1])
    bend = replace(last, number=last.number + 1, start_s=last.turn_s + 0.2, turn_s=after - 0.5, end_s=after)
    judged = with_second_driver(motion, movement, (*reps, bend))
    assert [r.counted for r in judged] == [True] * len(reps) + [False]
    assert judged[0] == first


def test_a_prescribed_hold_does_not_change_what_is_found() -> None:
    movement, motion, reps = moved("squat", 80.0)
    asked = Prescription(tempo=Tempo(eccentric=9.0, long_hold=3.0, concentric="X", short_hold=0.0))
    assert find_repetitions(motion, movement, asked) == reps


def lost(motion: Motion) -> Motion:
    """Return a motion in which no joint angle is known."""

    def empty(signal: Signal) -> Signal:
        return replace(signal, values=np.full(len(signal.values), np.nan)) if signal.unit == "deg" else signal

    return replace(motion, signals={k: s if k == "trunk_tilt" else empty(s) for k, s in motion.signals.items()})


def test_a_driver_that_cannot_be_seen_makes_no_repetition() -> None:
    movement, motion, reps = moved("squat", 80.0)
    assert len(reps) == 2
    assert find_repetitions(lost(motion), movement, Prescription()) == ()


def test_standing_still_is_no_repetition() -> None:
    track, truth = stick("squat", 80.0)
    still = cut(track, 0.0, truth.repetitions[0]["edges_s"][0] - 0.1)
    assert found(still) == ()
    assert len(driver_series(moved("squat", 80.0)[1], SQUAT, in_place(moved("squat", 80.0)[1], SQUAT))) == 1
