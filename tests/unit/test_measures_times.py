"""Phase times, their ratio, and the holds after a push-up."""

from __future__ import annotations

from dataclasses import replace
from math import hypot

import pytest

from cuebook.errors import UnknownName
from cuebook.measures import Occasion, find_measure
from cuebook.measures.phase_times import SHARED_TIME_U_S
from cuebook.model import PHASES, Measurement, NotMeasurable
from tests.stick_samples import moved

TIMES = {"eccentric": 3.0, "long_hold": 1.0, "concentric": 1.5, "short_hold": None}


def asked(name: str = "squat", **changed) -> Occasion:
    movement, motion, reps = moved(name, 80.0)
    return Occasion(motion=motion, movement=movement, repetition=replace(reps[0], **changed), event="phase",
                    next_start_s=reps[1].start_s, side="both", refilm="Film it whole.")  # fmt: skip


def timed(**changed) -> Occasion:
    spread = {p: None if v is None else 0.1 for p, v in TIMES.items()}
    return asked(phases=TIMES, phases_u=spread, **changed)


@pytest.mark.parametrize("phase", PHASES)
def test_a_phase_is_read_as_it_is_or_missing(phase: str) -> None:
    result = find_measure(f"{phase}_s").take(timed())
    if TIMES[phase] is None:
        assert isinstance(result, NotMeasurable)
        assert result.reason == "that phase is not whole in the clip"
    else:
        assert (result.value, result.noise, result.shared, result.unit) == (TIMES[phase], 0.1, SHARED_TIME_U_S, "s")


def test_the_ratio_carries_both_uncertainties() -> None:
    result = find_measure("eccentric_concentric_ratio").take(timed())
    assert result.value == pytest.approx(2.0)
    assert result.noise == pytest.approx(2.0 * hypot(0.1 / 3.0, 0.1 / 1.5))  # first-order propagation of a quotient
    assert result.shared == pytest.approx(2.0 * SHARED_TIME_U_S * hypot(1 / 3.0, 1 / 1.5))


def test_a_lost_joint_leaves_times_unread() -> None:
    for name in ("eccentric_s", "eccentric_concentric_ratio"):
        result = find_measure(name).take(timed(doubtful=True))
        assert isinstance(result, NotMeasurable)
        assert "lost" in result.reason
    half = asked(phases=TIMES | {"concentric": None}, phases_u=dict.fromkeys(PHASES, 0.1))
    assert isinstance(find_measure("eccentric_concentric_ratio").take(half), NotMeasurable)


def test_the_v_and_the_plank_are_parts_of_the_stay() -> None:
    occasion = asked("push-up-to-inverted-v")
    v, plank = (find_measure(n).take(occasion) for n in ("inverted_v_hold_s", "plank_hold_s"))
    stay = occasion.next_start_s - occasion.repetition.edges[3]
    assert isinstance(v, Measurement)
    assert isinstance(plank, Measurement)
    assert 0.5 < v.value < stay
    assert v.value + plank.value < stay
    assert occasion.repetition.edges[3] < v.at_s < occasion.next_start_s


def test_a_push_up_without_a_v_has_none() -> None:
    movement = moved("push-up-to-inverted-v", 80.0)[0]
    result = find_measure("inverted_v_hold_s").take(replace(asked("push-up"), movement=movement))
    assert isinstance(result, NotMeasurable)
    assert result.reason == "the hips were not raised after the push-up"
    cut = find_measure("inverted_v_hold_s").take(asked("push-up-to-inverted-v", edges=()))
    assert cut.reason == "the part after the push-up is not in the clip"


def test_an_unknown_measure_lists_near_ones() -> None:
    with pytest.raises(UnknownName, match="knee_flexion"):
        find_measure("knee_flection")
