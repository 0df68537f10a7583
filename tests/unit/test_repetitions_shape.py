"""The fitted shape of a repetition against curves whose ends are known, and the turning points before it."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cuebook.repetitions.shape import LONGEST_FIT, ExponentPrior, Shape, fit_shape
from cuebook.repetitions.turning import find_swings, turning_points

patient = settings(deadline=None, max_examples=60)
"""A busy machine is no defect."""

RATE_HZ = 30.0


def minimum_jerk(share: np.ndarray) -> np.ndarray:
    s = np.clip(share, 0.0, 1.0)
    return 10 * s**3 - 15 * s**4 + 6 * s**5


def constant(share: np.ndarray) -> np.ndarray:
    return np.clip(share, 0.0, 1.0)


def moving_part(step, start: float, length: float) -> tuple[float, float]:
    """Ends of the stretch above 5 % of the peak speed, by sampling the true curve at 10 kHz."""
    t = np.arange(start - 0.1, start + length + 0.1, 1e-4)
    speed = np.diff(step((t - start) / length))
    fast = np.flatnonzero(speed > 0.05 * speed.max())
    return float(t[fast[0]]), float(t[fast[-1] + 1])


def repetition(
    step, *, out_s: float, hold_s: float, back_s: float, noise: float = 0.0, seed: int = 0, swing: float = 100.0
):
    """A driver that waits 0.8 s, moves out, stays, comes back and waits 0.8 s; with the ends of its moving parts."""
    leave, back = 0.8, 0.8 + out_s + hold_s
    t = np.arange(0.0, back + back_s + 0.8, 1.0 / RATE_HZ)
    y = 5.0 + swing * (step((t - leave) / out_s) - step((t - back) / back_s))
    y = y + np.random.default_rng(seed).normal(0.0, noise, len(t)) if noise else y
    ends = (*moving_part(step, leave, out_s), *moving_part(step, back, back_s))
    return t, y, np.array(ends)


def fitted(t: np.ndarray, y: np.ndarray, *, noise: float = 0.5) -> Shape:
    swing = find_swings(t, y, reversal=20.0)
    assert len(swing) == 1
    shape = fit_shape(t, y, guess_s=swing[0].guess_s, noise=noise, correlation_s=1.0 / RATE_HZ)
    assert shape is not None
    return shape


@pytest.mark.parametrize("step", [minimum_jerk, constant], ids=["minimum jerk", "constant speed"])
@pytest.mark.parametrize(
    ("out_s", "hold_s", "back_s"), [(3.0, 1.0, 1.0), (1.0, 0.5, 1.0), (4.0, 0.0, 2.0), (0.7, 2.0, 0.7)]
)
def test_ends_of_moving_without_noise(step, out_s: float, hold_s: float, back_s: float) -> None:
    t, y, ends = repetition(step, out_s=out_s, hold_s=hold_s, back_s=back_s)
    shape = fitted(t, y)
    assert shape.edges_s == pytest.approx(ends, abs=0.05)
    assert shape.levels == pytest.approx([5.0, 105.0, 5.0], abs=1.0)


@pytest.mark.parametrize("seed", range(6))
def test_ends_of_moving_with_noise_stay_within_their_uncertainty(seed: int) -> None:
    t, y, ends = repetition(minimum_jerk, out_s=3.0, hold_s=1.0, back_s=1.5, noise=2.0, seed=seed)
    shape = fitted(t, y, noise=2.0)
    assert (shape.edges_u_s > 0).all()
    assert shape.edges_s == pytest.approx(ends, abs=0.25)
    assert (np.abs(shape.edges_s - ends) < 4.0 * np.hypot(shape.edges_u_s, 0.02)).all()
    averaged = np.ceil(len(t) / LONGEST_FIT)  # neighbours are averaged before the fit, which leaves less noise
    assert shape.residual == pytest.approx(2.0 / np.sqrt(averaged), rel=0.2)


def test_more_noise_makes_the_ends_less_sure() -> None:
    spread = []
    for noise in (0.5, 3.0):
        t, y, _ = repetition(minimum_jerk, out_s=3.0, hold_s=1.0, back_s=1.5, noise=noise, seed=1)
        spread.append(fitted(t, y, noise=noise).edges_u_s.mean())
    assert spread[1] > 2.0 * spread[0]


def test_a_stop_half_way_does_not_split_the_phase() -> None:
    t = np.arange(0.0, 6.4, 1.0 / RATE_HZ)
    out = 50 * minimum_jerk(t - 0.8) + 50 * minimum_jerk(t - 2.6)  # stays at 50 % from 1.8 to 2.6 s
    shape = fitted(t, 5.0 + out - 100 * minimum_jerk(t - 4.6))
    begin = moving_part(minimum_jerk, 0.8, 1.0)[0]
    end = moving_part(minimum_jerk, 2.6, 1.0)[1]
    assert shape.parts == 2
    assert shape.edges_s[:2] == pytest.approx([begin, end], abs=0.12)


def test_the_same_series_gives_the_same_shape() -> None:
    t, y, _ = repetition(minimum_jerk, out_s=2.0, hold_s=0.5, back_s=1.0, noise=1.0, seed=3)
    first, second = fitted(t, y), fitted(t, y)
    assert (first.edges_s == second.edges_s).all()
    assert (first.edges_u_s == second.edges_u_s).all()


def test_time_and_level_shift_with_the_series() -> None:
    t, y, _ = repetition(minimum_jerk, out_s=2.0, hold_s=0.5, back_s=1.0, noise=1.0, seed=3)
    here, there = fitted(t, y), fitted(t + 100.0, y + 30.0)
    assert there.edges_s - 100.0 == pytest.approx(here.edges_s, abs=0.02)
    assert there.levels - 30.0 == pytest.approx(here.levels, abs=0.5)


def test_too_few_samples_give_no_shape() -> None:
    t = np.arange(8) / RATE_HZ
    assert fit_shape(t, np.sin(t), guess_s=(0.0, 0.1, 0.15, 0.2), noise=1.0, correlation_s=0.1) is None


def test_what_other_repetitions_say_narrows_the_exponents() -> None:
    t, y, _ = repetition(minimum_jerk, out_s=2.0, hold_s=0.5, back_s=1.0, noise=4.0, seed=5)
    guess = find_swings(t, y, reversal=30.0)[0].guess_s
    prior = ExponentPrior(mean=np.full(4, np.log(3.0)), width=0.02)
    shape = fit_shape(t, y, guess_s=guess, noise=4.0, correlation_s=1.0 / RATE_HZ, prior=prior)
    assert shape is not None
    assert shape.exponents == pytest.approx([3.0] * 4, rel=0.1)


def test_levels_stay_where_the_series_was_seen() -> None:
    """Cut in the middle of the way back, the fit must not promise a return that nobody saw."""
    t, y, _ = repetition(minimum_jerk, out_s=1.5, hold_s=0.5, back_s=1.5)
    seen = t < 0.8 + 1.5 + 0.5 + 1.1
    swing = find_swings(t[seen], y[seen], reversal=20.0)[0]
    shape = fit_shape(t[seen], y[seen], guess_s=swing.guess_s, noise=0.5, correlation_s=1.0 / RATE_HZ)
    assert shape is not None
    assert shape.levels[2] >= y[seen].min() - 15.0
    assert shape.edges_s[3] <= t[seen][-1] + 0.35


values = st.lists(st.floats(-100, 100, allow_nan=False), min_size=1, max_size=60).map(np.array)


@patient
@given(values, st.floats(1, 50))
def test_turning_points_alternate_and_lie_apart(y: np.ndarray, reversal: float) -> None:
    points = turning_points(y, reversal)
    places = [p for p, _ in points]
    assert places == sorted(places)
    for (a, a_high), (b, b_high) in pairwise(points):
        assert a_high != b_high
        assert abs(y[b] - y[a]) >= reversal


@patient
@given(values, st.floats(1, 50))
def test_series_upside_down_turns_at_the_same_size(y: np.ndarray, reversal: float) -> None:
    up, down = turning_points(y, reversal), turning_points(-y, reversal)
    assert [(round(float(y[p]), 9), high) for p, high in up] == [(round(float(y[p]), 9), not high) for p, high in down]


def test_small_tremor_is_no_turn() -> None:
    t = np.arange(0.0, 8.0, 1.0 / RATE_HZ)
    y = 50 - 50 * np.cos(2 * np.pi * t / 4.0) + 3 * np.sin(2 * np.pi * 6 * t)
    assert len(find_swings(t, y, reversal=20.0)) == 2


def test_swings_cut_by_the_clip_say_so() -> None:
    t = np.arange(0.0, 10.0, 1.0 / RATE_HZ)
    y = 50 + 50 * np.cos(2 * np.pi * t / 4.0)  # begins and ends at the turn, one whole swing between
    swings = find_swings(t, y, reversal=20.0)
    assert [(s.opens, s.closes) for s in swings] == [(False, True), (True, True), (True, True)]
    late = find_swings(t[t < 8.1], y[t < 8.1], reversal=20.0)
    assert [(s.opens, s.closes) for s in late] == [(False, True), (True, True), (True, False)]
