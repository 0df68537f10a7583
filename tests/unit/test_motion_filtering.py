"""The filter on series as phones give them: uneven, broken, short, slow."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.signal import butter, filtfilt

from cuebook.motion.filtering import (
    HIGHEST_CUTOFF_HZ,
    LOWEST_CUTOFF_HZ,
    design_cutoff_hz,
    lowpass,
    residual_cutoff_hz,
    runs,
    second_order_lowpass,
)

patient = settings(deadline=None, max_examples=60)
"""A busy machine is no defect."""


@patient
@given(st.floats(0.5, 10), st.floats(24, 240))
def test_coefficients_agree_with_the_library_at_the_design_cutoff(cutoff: float, rate: float) -> None:
    if cutoff > 0.4 * rate / 2:
        cutoff = 0.4 * rate / 2
    expected = butter(2, design_cutoff_hz(cutoff, rate), fs=rate)
    for ours, theirs in zip(second_order_lowpass(cutoff, rate), expected, strict=True):
        assert ours == pytest.approx(theirs, abs=1e-10)


def test_even_series_equals_the_library_forward_and_backward() -> None:
    times = np.arange(200) / 30.0
    values = np.random.default_rng(1).normal(size=200).cumsum()
    b, a = butter(2, design_cutoff_hz(4.0, 30.0), fs=30.0)
    assert lowpass(times, values, 4.0) == pytest.approx(filtfilt(b, a, values, padlen=18), abs=1e-9)


@patient
@given(st.floats(-100, 100), st.floats(-5, 5))
def test_level_and_steady_drift_pass_unchanged(level: float, slope: float) -> None:
    times = np.arange(90) / 30.0
    values = level + slope * times
    assert lowpass(times, values, 4.0) == pytest.approx(values, abs=1e-6)


def test_filtering_is_linear_and_column_by_column() -> None:
    rng = np.random.default_rng(2)
    times, pair = np.arange(120) / 30.0, rng.normal(size=(120, 2))
    both = lowpass(times, pair, 4.0)
    for k in range(2):
        assert both[:, k] == pytest.approx(lowpass(times, pair[:, k], 4.0), abs=1e-12)
    assert lowpass(times, 2 * pair[:, 0] - pair[:, 1], 4.0) == pytest.approx(2 * both[:, 0] - both[:, 1], abs=1e-9)


def test_no_delay_on_a_symmetric_bump() -> None:
    times = np.arange(181) / 30.0
    bump = np.exp(-(((times - 3.0) / 0.4) ** 2))
    smooth = lowpass(times, bump, 4.0)
    assert times[np.argmax(smooth)] == pytest.approx(3.0)
    assert smooth == pytest.approx(smooth[::-1], abs=1e-3)


def test_uneven_stamps_are_filtered_in_true_time() -> None:
    rng = np.random.default_rng(4)
    times = np.cumsum(rng.uniform(0.02, 0.047, 300))
    slow = 40 * np.sin(2 * np.pi * 0.4 * times)
    noisy = slow + rng.normal(0, 2.0, 300)
    inner = slice(30, -30)
    assert np.std(lowpass(times, noisy, 4.0)[inner] - slow[inner]) < 0.65 * 2.0
    assert lowpass(times, slow, 4.0)[inner] == pytest.approx(slow[inner], abs=1.0)


def test_gaps_stay_gaps_and_do_not_spread() -> None:
    times = np.arange(150) / 30.0
    values = np.sin(times)
    values[60:70] = np.nan
    smooth = lowpass(times, values, 4.0)
    assert np.isnan(smooth[60:70]).all()
    assert np.isfinite(np.delete(smooth, np.s_[60:70])).all()
    assert smooth[:60] == pytest.approx(lowpass(times[:60], values[:60], 4.0), abs=1e-9)


def test_short_runs_are_left_alone() -> None:
    times = np.arange(100) / 30.0
    values = np.full(100, np.nan)
    values[10:22] = np.random.default_rng(0).normal(size=12)
    assert lowpass(times, values, 4.0)[10:22] == pytest.approx(values[10:22])
    few = np.array([1.0, 5.0, 2.0])
    assert lowpass([0.0, 0.03, 0.07], few, 4.0) == pytest.approx(few)


def test_the_input_is_not_changed() -> None:
    times, values = np.arange(90) / 30.0, np.random.default_rng(5).normal(size=90)
    before = values.copy()
    lowpass(times, values, 4.0)
    assert (values == before).all()


def test_slow_cameras_lower_the_cutoff_instead_of_failing() -> None:
    times = np.arange(60) / 5.0
    values = np.random.default_rng(6).normal(size=60)
    smooth = lowpass(times, values, 6.0)
    assert np.isfinite(smooth).all()
    assert smooth == pytest.approx(lowpass(times, values, 60.0))
    assert lowpass(times, values, 0.5).std() < smooth.std() < values.std()


@patient
@given(st.lists(st.booleans(), max_size=40))
def test_runs_cover_exactly_the_true_places(flags: list[bool]) -> None:
    found = np.zeros(len(flags), dtype=bool)
    previous_stop = -1
    for start, stop in runs(flags):
        assert previous_stop < start < stop
        found[start:stop] = True
        previous_stop = stop
    assert found.tolist() == flags


def test_residual_analysis_follows_the_movement() -> None:
    rng = np.random.default_rng(8)
    times = np.arange(300) / 30.0
    slow = np.stack([100 * np.sin(2 * np.pi * 0.25 * times + k) for k in range(4)], axis=1)
    fast = np.stack([100 * np.sin(2 * np.pi * 1.6 * times + k) for k in range(4)], axis=1)
    noise = rng.normal(0, 1.0, slow.shape)
    low, high = residual_cutoff_hz(times, slow + noise), residual_cutoff_hz(times, fast + noise)
    assert LOWEST_CUTOFF_HZ <= low < high <= HIGHEST_CUTOFF_HZ


def test_residual_analysis_with_too_little_to_go_by() -> None:
    times = np.arange(20) / 30.0
    assert residual_cutoff_hz(times, np.zeros((20, 2))) == HIGHEST_CUTOFF_HZ
    longer = np.arange(90) / 30.0
    assert residual_cutoff_hz(longer, np.full((90, 2), np.nan)) == HIGHEST_CUTOFF_HZ
    slow = np.arange(90) / 6.0
    assert residual_cutoff_hz(slow, np.random.default_rng(0).normal(size=(90, 2))) <= 0.45 * 3.0 + 1e-9
