"""What every measure and every movement must keep to, on landmarks of a perfect pose model."""

from __future__ import annotations

import numpy as np
import pytest

from cuebook.assess.analyse import judge_track
from cuebook.measures import Occasion, find_measure, full_name, measures
from cuebook.model import Measurement, NotMeasurable, Prescription, Settings
from cuebook.movements import list_movements, load_movement
from tests.stick_samples import FILMED, clip_of, moved, stick

REFILM = "Put the phone at hip height, level with your side."
EVENTS = {"start", "turn", "second_turn", "end", "phase"}
NAMES = sorted(measures())
BY_MEASURE = {
    "body_line": "push-up",
    "elbow_flexion": "push-up",
    "inverted_v_hold_s": "push-up-to-inverted-v",
    "plank_hold_s": "push-up-to-inverted-v",
    "trunk_rotation": "standing-trunk-rotation",
}
"""Movements on which a measure has something to see; the squat for all others."""


def occasion(name: str, movement: str, azimuth: float, event: str, side: str) -> Occasion:
    known, motion, repetitions = moved(movement, azimuth)
    assert repetitions, "nothing to measure on"
    following = repetitions[1].start_s if len(repetitions) > 1 else None
    return Occasion(motion=motion, movement=known, repetition=repetitions[0], next_start_s=following, event=event,
                    side=side, refilm=REFILM)  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
def test_a_measure_names_itself_its_unit_and_its_events(name: str) -> None:
    measure = measures()[name]
    assert measure.name == name == name.lower()
    assert measure.unit in ("deg", "s", "1", "ratio")
    assert measure.events
    assert set(measure.events) <= EVENTS
    assert name.endswith("_s") == (measure.unit == "s")
    assert find_measure(name) is measure
    assert all(full_name(measure, e) == (name if e == "phase" else f"{name}_at_{e}") for e in measure.events)


@pytest.mark.parametrize("name", NAMES)
def test_in_the_right_view_it_gives_the_same_finite_value_twice(name: str) -> None:
    movement = BY_MEASURE.get(name, "squat")
    measure = measures()[name]
    event = "turn" if "turn" in measure.events else measure.events[0]
    asked = occasion(name, movement, FILMED[movement][1], event, "left")
    signals = {k: s.values.copy() for k, s in asked.motion.signals.items()}
    first, second = measure.take(asked), measure.take(asked)
    assert isinstance(first, Measurement), first
    assert first == second
    assert first.measure == full_name(measure, event)
    assert first.unit == measure.unit
    assert np.isfinite(first.value)
    assert first.uncertainty > 0
    for k, before in signals.items():
        np.testing.assert_array_equal(before, asked.motion.signals[k].values)


@pytest.mark.parametrize("name", NAMES)
def test_at_every_event_the_result_is_a_value_or_a_reason_with_a_place_for_the_phone(name: str) -> None:
    measure = measures()[name]
    for azimuth in (80.0, 0.0):
        for event in measure.events:
            result = measure.take(occasion(name, "squat", azimuth, event, "left"))
            assert result.measure == full_name(measure, event)
            assert result.unit == measure.unit
            if isinstance(result, NotMeasurable):
                assert result.reason
                assert len(result.refilm.split()) >= 4
                assert result.reason[-1] != "."
            else:
                assert np.isfinite(result.value)


def test_the_turn_of_the_trunk_cannot_be_seen_from_the_side() -> None:
    result = measures()["trunk_rotation"].take(occasion("trunk_rotation", "squat", 90.0, "turn", "both"))
    assert isinstance(result, NotMeasurable)
    assert "cannot be seen turning" in result.reason


def test_a_squat_has_no_inverted_v_and_no_second_turn() -> None:
    for name in ("inverted_v_hold_s", "plank_hold_s"):
        assert isinstance(measures()[name].take(occasion(name, "squat", 80.0, "phase", "both")), NotMeasurable)
    result = measures()["hip_flexion"].take(occasion("hip_flexion", "squat", 80.0, "second_turn", "left"))
    assert isinstance(result, NotMeasurable)
    assert result.reason == "that moment is not in the clip"


def test_every_library_movement_is_tried_here() -> None:
    assert set(FILMED) == set(list_movements())


@pytest.mark.parametrize("movement", sorted(FILMED))
def test_a_movement_is_counted_and_timed_in_its_filmed_view(movement: str) -> None:
    track, truth = stick(movement, FILMED[movement][1])
    asked = Prescription(repetitions=1)
    data = judge_track(clip_of(track), track, movement=load_movement(movement), prescription=asked, settings=Settings())
    true = [r for r in truth.repetitions if r["counted"]]
    assert [r.side for r in data.repetitions if r.counted] == [r["side"] for r in true]
    assert [r.turn_s for r in data.repetitions if r.counted] == pytest.approx([r["turn_s"] for r in true], abs=0.15)
    cues = {v.cue for v in data.verdicts}
    assert cues == {c.name for c in data.movement.cues} | {"repetitions"}
    for v in data.verdicts:
        assert (v.outcome == "not_measurable") == (v.value is None) == bool(v.reason) == bool(v.refilm)


@pytest.mark.parametrize("movement", sorted(FILMED))
def test_cues_are_only_judged_from_their_own_views(movement: str) -> None:
    """From 180 degrees away from the usual place nothing but what names that view may have a value."""
    track, _ = stick(movement, 180.0)
    data = judge_track(clip_of(track), track, movement=load_movement(movement), prescription=Prescription(),
                       settings=Settings())  # fmt: skip
    for v in data.verdicts:
        cue = data.movement.cue(v.cue)
        assert cue is not None
        if not {"back", "oblique-back", "foot-end", "head-end"} & set(cue.views):
            assert v.outcome == "not_measurable", v
