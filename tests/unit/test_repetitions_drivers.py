"""Which signal drives which side, and when the athlete is in place."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from cuebook.model import Motion, Movement, Prescription
from cuebook.motion import measure_motion
from cuebook.movements import load_movement
from cuebook.repetitions import driver_doubted, driver_series, find_repetitions, in_place
from cuebook.repetitions.drivers import DriverSeries
from cuebook.synthetic import Camera, ClipSpec, Picture, landmarks
from tests.stick_samples import FILMED, moved, stick


def series(name: str, azimuth: float | None = None) -> tuple[Movement, Motion, list[DriverSeries]]:
    movement, motion, _ = moved(name, FILMED[name][1] if azimuth is None else azimuth)
    return movement, motion, driver_series(motion, movement, in_place(motion, movement))


def test_both_limbs_make_one_driver() -> None:
    _, motion, found = series("squat")
    assert [d.side for d in found] == ["both"]
    assert set(found[0].signals) <= {"left_knee_flexion", "right_knee_flexion"}
    assert found[0].neutral is None
    assert found[0].values.shape == motion.times_s.shape


def test_an_unsure_limb_leaves_the_other_alone() -> None:
    movement, motion, _ = series("squat")
    far = motion.signals["right_knee_flexion"]
    unsure = replace(motion, signals={**motion.signals, far.name: replace(far, shared=far.shared + 30.0)})
    found = driver_series(unsure, movement, in_place(unsure, movement))
    assert found[0].signals == ("left_knee_flexion",)


def test_a_driver_that_turns_low_is_turned_over() -> None:
    movement, motion, found = series("glute-bridge")
    assert movement.driver.turn == "low"
    known = np.isfinite(found[0].values)
    name = found[0].signals[0]
    assert np.corrcoef(found[0].values[known], motion.signals[name].values[known])[0, 1] < -0.9


@pytest.mark.parametrize("side", ["left", "right"])
def test_the_leg_in_front_drives_a_split_squat(side: str) -> None:
    track, _ = stick("split-squat", 80.0, side=side)
    movement = load_movement("split-squat")
    motion = measure_motion(track, movement)
    found = driver_series(motion, movement, in_place(motion, movement))
    assert [d.side for d in found] == [side]
    assert found[0].signals == (f"{side}_knee_flexion",)


def test_a_signed_driver_is_split_at_neutral() -> None:
    _, motion, (left, right) = series("standing-trunk-rotation")
    assert (left.side, right.side) == ("left", "right")
    known = np.isfinite(left.values)
    assert (np.minimum(left.values, right.values)[known] == 0.0).all()
    np.testing.assert_allclose((left.values - right.values)[known], motion.signals["trunk_rotation"].values[known])
    assert left.neutral == right.neutral == 0.0


def test_where_the_driver_hides_the_course_of_the_body_counts_and_is_named() -> None:
    _, _, found = series("side-lying-thoracic-rotation")
    assert found[0].signals == ("body_motion",)
    movement, _, found = series("standing-trunk-rotation", 90.0)
    assert found[0].signals == ("body_motion",)
    assert np.nanmax(found[0].values) == pytest.approx(2.0 * movement.driver.min_swing, rel=0.2)


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize("azimuth", [-90.0, 0.0, 90.0])
def test_lying_on_one_side_the_upper_arm_works(side: str, azimuth: float) -> None:
    track, _ = stick("side-lying-thoracic-rotation", azimuth, side=side)
    movement = load_movement("side-lying-thoracic-rotation")
    motion = measure_motion(track, movement)
    assert [d.side for d in driver_series(motion, movement, in_place(motion, movement))] == [side]


def test_a_working_side_that_cannot_be_told_is_not_guessed() -> None:
    movement, motion, _ = series("side-lying-thoracic-rotation")
    level = motion.signals["upper_side"]
    turns = replace(level, values=np.where(np.arange(len(level.values)) % 2, 0.1, -0.1))
    unsure = replace(motion, signals={**motion.signals, level.name: turns})
    assert [d.side for d in driver_series(unsure, movement, in_place(unsure, movement))] == ["both"]


def test_walking_in_is_not_in_place() -> None:
    spec = ClipSpec(name="stick", body="ash", movement="squat", side="both", reps=2, seed=4, lead_in="walk",
                    camera=Camera(azimuth_deg=85.0), picture=Picture(rate_hz=15.0))  # fmt: skip
    track, truth = landmarks(spec)
    movement = load_movement("squat")
    place = in_place(measure_motion(track, movement), movement)
    during = (track.times_s >= truth.repetitions[0]["start_s"]) & (track.times_s <= truth.repetitions[-1]["edges_s"][3])
    assert place[during].all()
    assert not place[track.times_s < 0.3].any()
    assert track.times_s[place][0] == pytest.approx(truth.times_s[truth.in_set][0], abs=0.3)


def test_standing_is_not_in_place_for_floor_work() -> None:
    _, motion, _ = moved("squat", 80.0)
    bridge = load_movement("glute-bridge")
    assert not in_place(motion, bridge).any()
    assert in_place(motion, load_movement("squat")).mean() > 0.95


def test_a_motion_without_landmarks_has_no_place_and_no_driver() -> None:
    movement, motion, _ = series("squat")
    nothing = {k: replace(s, values=np.full(len(s.values), np.nan)) for k, s in motion.signals.items()}
    empty = replace(motion, signals=nothing)
    place = in_place(empty, movement)
    assert not place.any()
    assert driver_series(empty, movement, place) == []


def doubted(motion: Motion, names: tuple[str, ...], share: float) -> Motion:
    """Return a motion in which the first part of some signals lies in a doubtful stretch."""
    flags = np.arange(len(motion.times_s)) < share * len(motion.times_s)
    signals = {n: replace(motion.signals[n], doubtful=flags) for n in names}
    return replace(motion, signals={**motion.signals, **signals})


KNEES = ("left_knee_flexion", "right_knee_flexion")


@pytest.mark.parametrize(("names", "share", "expected"), [(KNEES, 0.3, True), (KNEES, 0.1, False),
                                                          (KNEES[:1], 0.3, False)])  # fmt: skip
def test_a_driver_is_doubted_where_neither_limb_is_trusted_for_long(names, share: float, expected: bool) -> None:
    movement, motion, _ = series("squat")
    assert not driver_doubted(motion, movement)
    assert driver_doubted(doubted(motion, names, share), movement) == expected


def test_of_the_leg_in_front_alone_it_is_asked_whether_it_is_trusted() -> None:
    track, _ = stick("split-squat", 80.0, side="left")
    movement = load_movement("split-squat")
    motion = measure_motion(track, movement)
    assert driver_doubted(doubted(motion, ("left_knee_flexion",), 0.3), movement)
    assert not driver_doubted(doubted(motion, ("right_knee_flexion",), 0.3), movement)


def test_of_alternating_limbs_each_is_doubted_by_itself() -> None:
    movement, motion, _ = series("lateral-lunge")
    assert not driver_doubted(doubted(motion, KNEES, 0.3), movement)


def unsure(motion: Motion, spread: float, gain: float = 1.0) -> Motion:
    """Return a motion whose trunk rotation is read `gain` times as large, and as unsure as that."""
    turn = motion.signals["trunk_rotation"]
    read = replace(turn, values=gain * turn.values, shared=np.full(len(turn.values), spread))
    return replace(motion, signals={**motion.signals, turn.name: read})


def test_an_unsure_turn_is_timed_by_the_body_and_only_its_side_is_read() -> None:
    movement, motion, _ = series("standing-trunk-rotation")
    _, truth = stick("standing-trunk-rotation", FILMED["standing-trunk-rotation"][1])
    shrunk = unsure(motion, spread=movement.driver.min_swing, gain=0.3)
    found = driver_series(shrunk, movement, in_place(shrunk, movement))
    assert [(d.side, d.signals) for d in found] == [("left", ("body_motion",)), ("right", ("body_motion",))]
    for own, other in (found, found[::-1]):
        turns = [r["turn_s"] for r in truth.repetitions if r["side"] == own.side]
        high = np.interp(turns, motion.times_s, own.values)
        assert (high > movement.driver.min_swing).all()
        assert (np.interp(turns, motion.times_s, other.values) <= 0.25 * other.scale + 1e-9).all()
    reps = find_repetitions(shrunk, movement, Prescription())
    assert [(r.side, r.counted) for r in reps] == [(r["side"], True) for r in truth.repetitions]


def test_a_turn_that_is_sure_enough_drives_by_itself() -> None:
    movement, motion, _ = series("standing-trunk-rotation")
    sure = unsure(motion, spread=0.3 * movement.driver.min_swing)
    assert {d.signals for d in driver_series(sure, movement, in_place(sure, movement))} == {("trunk_rotation",)}
