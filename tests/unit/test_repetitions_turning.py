"""Turning points, wobbles at the turn, and getting into place."""

from __future__ import annotations

import itertools

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from cuebook.repetitions.turning import Swing, find_swings, turning_points, within_place, without_wobbles

TIMES = np.arange(0.0, 20.0, 1 / 30)


def wave(periods: int, *, low: float = 0.0, high: float = 100.0) -> np.ndarray:
    return low + (high - low) * (1 - np.cos(2 * np.pi * periods * TIMES / TIMES[-1])) / 2


def test_a_wave_turns_at_its_highs_and_lows() -> None:
    points = turning_points(wave(3), 20.0)
    assert [high for _, high in points] == [False, True, False, True, False, True, False]
    expected = np.arange(7) * TIMES[-1] / 6
    np.testing.assert_allclose(TIMES[[p for p, _ in points]], expected, atol=1 / 30)


@given(st.lists(st.floats(-50, 50), min_size=2, max_size=60), st.floats(1, 40))
def test_turns_alternate_rise_in_time_and_are_far_enough_apart(values: list[float], reversal: float) -> None:
    series = np.array(values)
    points = turning_points(series, reversal)
    places, highs = [p for p, _ in points], [h for _, h in points]
    assert places == sorted(places)
    assert all(a != b for a, b in itertools.pairwise(highs))
    steps = np.diff(series[places]) if points else np.zeros(0)
    assert (np.abs(steps) >= reversal - 1e-9).all()
    assert bool(points) == (np.max(np.maximum.accumulate(series) - series) >= reversal
                            or np.max(series - np.minimum.accumulate(series)) >= reversal)  # fmt: skip


def test_tremor_below_the_reversal_makes_no_turn() -> None:
    noise = 5.0 * np.sin(2 * np.pi * 6.0 * TIMES)
    assert len(turning_points(wave(2) + noise, 20.0)) == len(turning_points(wave(2), 20.0)) == 5
    assert turning_points(noise, 20.0) == []


def test_a_bounce_at_the_bottom_is_one_repetition() -> None:
    values = np.array([0, 50, 100, 70, 95, 50, 0], float)
    points = turning_points(values, 20.0)
    assert [p for p, high in points if high] == [2, 4]
    assert without_wobbles(points, values) == [(0, False), (2, True), (6, False)]


def test_the_higher_of_two_joined_turns_stays() -> None:
    values = np.array([0, 90, 65, 100, 0], float)
    assert without_wobbles(turning_points(values, 20.0), values) == [(0, False), (3, True), (4, False)]


def test_a_return_of_more_than_half_the_way_stays_a_repetition() -> None:
    values = np.array([0, 100, 40, 100, 0], float)
    points = turning_points(values, 20.0)
    assert without_wobbles(points, values) == points
    assert len(points) == 5


def test_swings_know_whether_the_clip_shows_both_ways() -> None:
    whole = find_swings(TIMES, wave(3), reversal=20.0)
    assert [(s.opens, s.closes) for s in whole] == [(True, True)] * 3
    cut = slice(60, -60)  # begins and ends on the way
    part = find_swings(TIMES[cut], wave(3)[cut], reversal=20.0)
    assert len(part) == 3
    early = slice(120, None)  # begins past the first turn's way out
    assert [s.opens for s in find_swings(TIMES[early], wave(3)[early], reversal=20.0)] == [False, True, True]
    late = slice(None, -130)
    assert [s.closes for s in find_swings(TIMES[late], wave(3)[late], reversal=20.0)] == [True, True, False]


def test_rough_ends_lie_in_order_within_the_swing() -> None:
    for swing in find_swings(TIMES, wave(4), reversal=20.0):
        a, b, c, d = swing.guess_s
        assert TIMES[swing.before] <= a < b <= c < d <= TIMES[swing.after]
        assert b <= TIMES[swing.turn] <= c


def standing_up_first() -> np.ndarray:
    """From a chair (low) to standing level 60, three swings to 160 from there."""
    values = 60.0 + wave(3)
    values[:30] = np.linspace(0.0, 60.0, 30)
    return values


def test_getting_into_place_is_cut_off_the_first_swing() -> None:
    values = standing_up_first()
    swings = find_swings(TIMES, values, reversal=20.0)
    assert swings[0].before == 0
    cut = within_place(TIMES, values, swings)
    assert values[cut[0].before] > 30.0
    assert cut[0].turn == swings[0].turn
    assert cut[0].guess_s[0] > swings[0].guess_s[0]
    assert cut[1:] == swings[1:]


def test_an_even_set_and_a_single_swing_are_left_alone() -> None:
    swings = find_swings(TIMES, wave(3), reversal=20.0)
    assert within_place(TIMES, wave(3), swings) == swings
    one: list[Swing] = find_swings(TIMES, wave(1), reversal=20.0)
    assert within_place(TIMES, wave(1), one) == one
