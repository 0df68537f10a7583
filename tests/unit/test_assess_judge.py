"""Pooling over repetitions and the chance of a count; the decision rule's published cases are under reference."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom, norm

from cuebook.assess.judge import chance_within, count_chance, normal_share, outcome_of, pooled
from cuebook.model import Limit, Measurement, Settings


def taken(value: float, *, noise: float = 2.0, shared: float = 3.0) -> Measurement:
    return Measurement(measure="knee_flexion_at_turn", value=value, noise=noise, shared=shared, unit="deg", side="left",
                       at_s=1.0, method="image plane")  # fmt: skip


@given(st.floats(-8, 8))
def test_normal_share_is_the_normal_distribution(z: float) -> None:
    assert normal_share(z) == pytest.approx(norm.cdf(z), abs=1e-12)


@given(st.floats(-200, 200), st.floats(0.01, 50), st.floats(-100, 100), st.floats(0.1, 100))
def test_the_three_ways_to_lie_add_up(value: float, u: float, low: float, width: float) -> None:
    below = chance_within(Limit(low=None, high=low), value, u)
    inside = chance_within(Limit(low=low, high=low + width), value, u)
    above = chance_within(Limit(low=low + width, high=None), value, u)
    assert below + inside + above == pytest.approx(1.0, abs=1e-9)
    assert -1e-12 <= inside <= 1.0


@given(st.floats(0, 1))
def test_outcomes_split_at_the_two_chances(chance: float) -> None:
    settings = Settings()
    expected = "met" if chance >= 0.90 else "not_met" if chance <= 0.10 else "near"
    assert outcome_of(chance, settings) == expected


def test_the_median_of_equal_readings_loses_noise_and_keeps_what_is_shared() -> None:
    value, u = pooled([taken(100.0)] * 4)
    assert value == 100.0
    assert u == pytest.approx(np.hypot(2.0 / 2.0, 3.0))


def test_the_spread_between_repetitions_is_added() -> None:
    value, u = pooled([taken(v, noise=0.0, shared=0.0) for v in (90.0, 100.0, 110.0)])
    assert value == 100.0
    assert u == pytest.approx(10.0 / np.sqrt(3.0))


def test_one_reading_keeps_its_own_uncertainty() -> None:
    one = taken(97.0)
    assert pooled([one]) == (97.0, pytest.approx(one.uncertainty))


@given(st.lists(st.floats(0, 150), min_size=1, max_size=12), st.floats(0, 5), st.floats(0, 8))
def test_pooling_never_goes_below_what_is_shared(values: list[float], noise: float, shared: float) -> None:
    value, u = pooled([taken(v, noise=noise, shared=shared) for v in values])
    assert min(values) <= value <= max(values)
    assert u >= shared - 1e-9


@given(st.integers(0, 12), st.floats(0, 1), st.integers(0, 14))
def test_equal_chances_make_the_binomial_tail(n: int, p: float, wanted: int) -> None:
    assert count_chance([p] * n, wanted) == pytest.approx(binom.sf(wanted - 1, n, p), abs=1e-9)


@given(st.lists(st.floats(0, 1), min_size=1, max_size=9), st.integers(1, 9))
def test_more_wanted_is_never_likelier_and_order_does_not_matter(chances: list[float], wanted: int) -> None:
    assert count_chance(chances, wanted + 1) <= count_chance(chances, wanted) + 1e-12
    assert count_chance(chances[::-1], wanted) == pytest.approx(count_chance(chances, wanted), abs=1e-12)
