"""Tempo of a set: medians, repetitions outside, holds judged on the gap, drift, and what cannot be judged."""

from __future__ import annotations

from dataclasses import replace

import pytest

from cuebook.assess.tempo import judge_tempo
from cuebook.model import PHASES, Prescription, Repetition, Settings, Tempo, TempoResult
from cuebook.movements import TempoMargins

THREE_ONE_ONE = Prescription(tempo=Tempo(eccentric=3.0, long_hold=1.0, concentric=1.0, short_hold=0.0))


def rep(number: int, eccentric: float, *, hold: float = 1.0, gap: float | None = None, u: float = 0.05,
        counted: bool = True, doubtful: bool = False) -> Repetition:  # fmt: skip
    return Repetition(number=number, side="both", start_s=10.0 * number, turn_s=10.0 * number + eccentric,
                      end_s=10.0 * number + 6.0, complete=counted, counted=counted, chance=1.0,
                      phases=dict(zip(PHASES, (eccentric, hold, 1.0, 0.0), strict=True)),
                      phases_u=dict.fromkeys(PHASES, u), gaps={"long_hold": hold if gap is None else gap},
                      doubtful=doubtful)  # fmt: skip


def judged(reps: list[Repetition], asked: Prescription = THREE_ONE_ONE, **options) -> TempoResult:
    return judge_tempo(tuple(reps), asked, Settings(), TempoMargins(), **options)


def test_kept_to_the_count_every_phase_is_met_and_nothing_is_outside() -> None:
    result = judged([rep(k, 3.0) for k in (1, 2, 3, 4)])
    assert result.outcomes == dict.fromkeys(PHASES, "met")
    assert result.outside == dict.fromkeys(PHASES, 0.0)
    assert result.median["eccentric"] == 3.0
    assert result.reasons == {}


def test_a_lowering_of_one_second_is_not_three() -> None:
    result = judged([rep(k, 1.0) for k in (1, 2, 3)])
    assert result.outcomes["eccentric"] == "not_met"
    assert result.outside["eccentric"] == 1.0
    assert result.outcomes["concentric"] == "met"


def test_half_of_the_repetitions_dropped_is_half_outside() -> None:
    result = judged([rep(1, 3.0), rep(2, 3.0), rep(3, 0.6), rep(4, 0.6)])
    assert result.outside["eccentric"] == 0.5
    assert result.outcomes["eccentric"] != "met"


def test_drift_is_the_last_third_over_the_first() -> None:
    result = judged([rep(k, e) for k, e in enumerate((3.0, 3.2, 2.8, 2.0, 1.5, 1.7), start=1)])
    assert result.drift_ratio == pytest.approx(1.6 / 3.1)  # medians of two at either end
    assert result.drift_outcome == "not_met"
    assert judged([rep(k, 3.0) for k in (1, 2, 3, 4)]).drift_outcome == "met"


def test_thirds_are_rounded_up() -> None:
    result = judged([rep(k, e) for k, e in enumerate((4.0, 2.0, 3.0, 1.0), start=1)])
    assert result.drift_ratio == pytest.approx(2.0 / 3.0)  # ceil(4 / 3) = 2 at either end: (3 + 1) / 2 over (4 + 2) / 2


def test_below_four_repetitions_there_is_no_drift() -> None:
    result = judged([rep(k, 3.0) for k in (1, 2, 3)])
    assert (result.drift_ratio, result.drift_ratio_u, result.drift_outcome) == (None, None, None)


def test_a_prescribed_hold_is_judged_on_the_gap_itself() -> None:
    short = [rep(k, 3.0, hold=0.0, gap=0.25) for k in (1, 2, 3)]
    assert judged(short).median["long_hold"] == pytest.approx(0.25)
    unasked = Prescription(tempo=Tempo(eccentric=3.0, long_hold=0.0, concentric=1.0, short_hold=0.0))
    assert judged(short, unasked).median["long_hold"] == 0.0


def test_slow_motion_in_doubt_leaves_every_time_unjudged() -> None:
    result = judged([rep(k, 3.0) for k in (1, 2, 3, 4)], time_in_doubt=True)
    assert set(result.outcomes.values()) == {"not_measurable"}
    assert set(result.median.values()) == {None}
    assert result.drift_outcome is None
    assert all("slow motion" in reason for reason in result.reasons.values())
    assert set(result.reasons) == set(PHASES)


def test_without_a_prescription_phases_are_measured_and_nothing_is_judged() -> None:
    result = judged([rep(k, 3.0) for k in (1, 2)], Prescription())
    assert result.outcomes == {}
    assert set(result.outside.values()) == {None}
    assert result.median["eccentric"] == 3.0


def test_uncounted_and_doubtful_repetitions_are_left_out() -> None:
    result = judged([rep(1, 3.0), rep(2, 3.0), rep(3, 0.5, counted=False), rep(4, 0.5, doubtful=True)])
    assert result.median["eccentric"] == 3.0
    none = judged([rep(1, 3.0, counted=False)])
    assert set(none.reasons.values()) == {"no repetition was counted"}


def test_spread_between_repetitions_makes_the_median_less_sure_and_many_make_it_surer() -> None:
    even = judged([rep(k, 3.0) for k in range(1, 5)]).median_u["eccentric"]
    uneven = judged([rep(k, e) for k, e in enumerate((2.0, 4.0, 2.0, 4.0), start=1)]).median_u["eccentric"]
    many = judged([rep(k, 3.0, u=0.3) for k in range(1, 10)]).median_u["eccentric"]
    few = judged([rep(k, 3.0, u=0.3) for k in range(1, 3)]).median_u["eccentric"]
    assert uneven > 5 * even
    assert many < few


def test_what_repetitions_have_in_common_does_not_shrink_with_their_number() -> None:
    """All read alike: with ever more of them the shared part of each stays."""
    one, many = (judged([rep(k, 3.0, u=0.2) for k in range(1, n + 1)]).median_u["eccentric"] for n in (1, 64))
    assert 0.2 < one < 0.21
    assert 0.2 / 8.0 * 3.0 < many < one


def test_a_prescribed_hold_is_judged_on_the_gap_whose_ends_are_sure() -> None:
    """The doubt whether a gap is long enough for a hold is none about how long it is."""
    unsure = [replace(rep(k, 3.0, gap=0.7, hold=0.7, u=0.4), edges=(0.0, 3.0, 3.7, 4.7), edges_u=(0.03,) * 4)
              for k in (1, 2, 3)]  # fmt: skip
    result = judged(unsure)
    assert result.median["long_hold"] == pytest.approx(0.7)
    assert result.median_u["long_hold"] < 0.06
