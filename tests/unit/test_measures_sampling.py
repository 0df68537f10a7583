"""When an event happens and what is read there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from cuebook.measures import Occasion
from cuebook.measures.sampling import best_side, event_time, read_angle, why_lost
from cuebook.model import Doubt, Measurement, Motion, NotMeasurable, Signal
from tests.stick_samples import moved

KNEE = "left_knee_flexion"


def asked(event: str = "turn", *, motion: Motion | None = None, name: str = "squat", **changed) -> Occasion:
    movement, own, reps = moved(name, 80.0)
    return Occasion(motion=motion or own, movement=movement, repetition=replace(reps[0], **changed),
                    next_start_s=reps[1].start_s, event=event, side="left", refilm="Film from the side.")  # fmt: skip


def with_signal(**changed) -> Motion:
    motion = moved("squat", 80.0)[1]
    return replace(motion, signals={**motion.signals, KNEE: replace(motion.signals[KNEE], **changed)})


def test_events_lie_where_the_repetition_says() -> None:
    rep = moved("squat", 80.0)[2][0]
    assert event_time(asked("turn")) == rep.turn_s
    assert event_time(asked("start")) == pytest.approx(rep.start_s - 0.1)
    assert event_time(asked("start", start_s=0.02)) == 0.0
    assert event_time(asked("end")) == pytest.approx(rep.edges[3] + 0.05)
    assert event_time(asked("start", start_s=None)) is None
    assert event_time(asked("end", edges=())) is None
    assert event_time(asked("second_turn")) is None


def test_the_second_turn_follows_the_repetition() -> None:
    movement, motion, reps = moved("push-up-to-inverted-v", 80.0)
    at = event_time(asked("second_turn", name="push-up-to-inverted-v"))
    assert reps[0].edges[3] < at < reps[1].start_s
    hip = best_side(motion, movement.driver.second_signal)
    assert np.interp(at, hip.times_s, hip.values) == pytest.approx(np.nanmax(hip.values), abs=5.0)


def test_the_middle_value_about_the_instant_is_read() -> None:
    result = read_angle(asked(), KNEE, name="knee_flexion")
    assert isinstance(result, Measurement)
    signal = moved("squat", 80.0)[1].signals[KNEE]
    near = np.abs(signal.times_s - result.at_s) <= 0.09
    assert result.value == np.median(signal.values[near])
    assert result.measure == "knee_flexion_at_turn"
    assert read_angle(asked(), KNEE, name="knee_flexion", sign=-1.0).value == -result.value
    outlier = np.array(signal.values)
    outlier[int(np.argmin(np.abs(signal.times_s - result.at_s)))] += 60.0
    spoilt = read_angle(asked(motion=with_signal(values=outlier)), KNEE, name="knee_flexion")
    assert spoilt.value == pytest.approx(result.value, abs=2.0)


@pytest.mark.parametrize(
    ("changed", "words"),
    [({"why_not": "the camera looks from above"}, "the camera looks from above"),
     ({"largest_u": 0.1}, "from this view the angle is too unsure to be stated")],
)  # fmt: skip
def test_a_signal_that_cannot_be_read_says_why(changed: dict, words: str) -> None:
    result = read_angle(asked(motion=with_signal(**changed)), KNEE, name="knee_flexion")
    assert isinstance(result, NotMeasurable)
    assert result.reason == words
    assert (result.measure, result.side) == ("knee_flexion_at_turn", "left")
    assert result.refilm


def test_a_joint_lost_at_the_turn_is_not_read_from_its_neighbours() -> None:
    signal: Signal = moved("squat", 80.0)[1].signals[KNEE]
    turn = asked().repetition.turn_s
    values = np.where(np.abs(signal.times_s - turn) < 0.3, np.nan, signal.values)
    result = read_angle(asked(motion=with_signal(values=values)), KNEE, name="knee_flexion")
    assert isinstance(result, NotMeasurable)
    assert result.reason == "the joint is hidden or out of the picture there"


def test_the_doubt_that_lies_there_is_named_unless_it_is_the_other_leg() -> None:
    motion = moved("squat", 80.0)[1]
    signal, turn = motion.signals[KNEE], asked().repetition.turn_s

    def doubted(what: str, at_s: float) -> Motion:
        there = Doubt(start_s=at_s, end_s=at_s + 0.2, what=what, reason="it jumped", landmarks=())
        return replace(motion, doubts=(there,))

    assert why_lost(doubted("left leg", turn), signal, turn) == "the left leg cannot be trusted there (it jumped)"
    assert why_lost(doubted("whole body", turn), signal, turn).startswith("the whole body")
    for other in (doubted("right leg", turn), doubted("left leg", turn + 2.0)):
        assert why_lost(other, signal, turn) == "the joint is hidden or out of the picture there"


def test_the_surer_side_is_the_better_one() -> None:
    motion = with_signal(shared=np.full(len(moved("squat", 80.0)[1].times_s), 40.0))
    assert best_side(motion, "knee_flexion").name == "right_knee_flexion"
    empty = with_signal(noise=np.full(len(motion.times_s), np.nan))
    assert best_side(empty, "knee_flexion").name == "right_knee_flexion"
