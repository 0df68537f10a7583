"""The decision rule against the worked examples of JCGM 106:2012 and the coaching cases that follow from it.

The document's own figures are quoted from memory, their arithmetic is checked here. The coaching cases are the same
formula with the limits of our cues.
"""

from __future__ import annotations

import numpy as np
import pytest

from cuebook.assess.judge import chance_within, count_chance, normal_share, outcome_of
from cuebook.model import Limit, Settings


@pytest.mark.parametrize(
    ("z", "chance"), [(0.84, 0.80), (1.28, 0.90), (1.64, 0.95), (2.33, 0.99), (3.09, 0.999)], ids=lambda v: str(v)
)
def test_table_of_one_sided_limits_g7(z: float, chance: float) -> None:
    # z is printed to two places, so the chance may differ by what half a unit there is worth
    slope = np.exp(-0.5 * z * z) / np.sqrt(2 * np.pi)
    assert normal_share(z) == pytest.approx(chance, abs=0.005 * slope + 1e-4)


CASES = {
    "G8 diode": (Limit(low=None, high=-5.40), -5.47, 0.05, 0.9192),
    "G9 container": (Limit(low=490.0, high=None), 509.7, 8.6, 0.9890),
    "G10 oil": (Limit(low=12.5, high=16.3), 13.6, 1.8, 0.6626),
    "G11 speed": (Limit(low=100.0, high=None), 107.0, 0.02 * 107.0, 0.99946),
    "G14 turn read 32": (Limit(low=25.0, high=35.0), 32.0, 5.0, 0.6450),
    "G15 turn read 30": (Limit(low=25.0, high=35.0), 30.0, 5.0, 0.6827),
    "G15 finer": (Limit(low=25.0, high=35.0), 30.0, 2.5, 0.9545),
    "G16 hip past 90": (Limit(low=90.0, high=None), 97.0, 5.0, 0.9192),
    "G17 hip for 95 %": (Limit(low=90.0, high=None), 98.22, 5.0, 0.95),
    "G18 four seconds": (Limit(low=3.5, high=4.5), 4.2, 0.2, 0.9330),
    "style page": (Limit(low=90.0, high=None), 92.0, 4.0, 0.6915),
}


@pytest.mark.parametrize(("limit", "value", "uncertainty", "chance"), CASES.values(), ids=CASES.keys())
def test_chance_that_a_limit_holds(limit: Limit, value: float, uncertainty: float, chance: float) -> None:
    # G17 prints the reading to 0.01 degrees, which is worth 1e-4 of the chance
    places = {0.99946: 5e-6, 0.95: 1.1e-4}.get(chance, 5e-5)
    assert chance_within(limit, value, uncertainty) == pytest.approx(chance, abs=places)


def test_speed_from_which_the_offence_is_certain_g11() -> None:
    limit = Limit(low=100.0, high=None)
    reading = next(v for v in np.arange(100.0, 110.0, 0.01) if chance_within(limit, v, 0.02 * v) >= 0.999)
    assert reading == pytest.approx(106.59, abs=0.015)


@pytest.mark.parametrize(("ratio", "best"), [(0.25, 0.9999), (0.5, 0.9545), (1.0, 0.6827), (2.0, 0.3829)])
def test_best_reading_of_a_band_g19(ratio: float, best: float) -> None:
    band = Limit(low=-1.0, high=1.0)
    assert chance_within(band, 0.0, ratio) == pytest.approx(best, abs=5e-5)
    assert max(chance_within(band, v, ratio) for v in np.linspace(-1.5, 1.5, 301)) <= best + 5e-5


def test_a_band_cannot_be_met_beyond_its_widest_uncertainty() -> None:
    settings, band = Settings(), Limit(low=20.0, high=40.0)  # half width 10: u <= 10 / 1.645 = 6.08
    assert outcome_of(chance_within(band, 30.0, 6.07), settings) == "met"
    assert outcome_of(chance_within(band, 30.0, 6.09), settings) == "near"


def test_two_guard_bands_g20() -> None:
    limit = Limit(low=90.0, high=None)
    strict = Settings(met_at=0.95, not_met_at=0.05)
    outcomes = {v: outcome_of(chance_within(limit, v, 5.0), strict) for v in (98.2, 98.3, 90.0, 81.8, 81.7)}
    assert outcomes == {98.2: "near", 98.3: "met", 90.0: "near", 81.8: "near", 81.7: "not_met"}
    normal = {v: outcome_of(chance_within(limit, v, 5.0), Settings()) for v in (96.39, 96.42, 83.61, 83.58)}
    assert normal == {96.39: "near", 96.42: "met", 83.61: "near", 83.58: "not_met"}  # 1.2816 u either way


def _risks(guard: float) -> tuple[float, float, float]:
    """Shares of a process that do not conform, are accepted although they do not, are refused although they do."""
    true = np.linspace(-1.2, 1.2, 48_001)
    weight = np.exp(-0.5 * (true / 0.12) ** 2)
    weight /= weight.sum()
    tolerance, accepting = Limit(low=-0.2, high=0.2), Limit(low=-0.2 + guard, high=0.2 - guard)
    good = np.abs(true) <= 0.2
    some = slice(None, None, 20)
    accepted = np.interp(true, true[some], [chance_within(accepting, v, 0.04) for v in true[some]])
    outside = 1.0 - chance_within(tolerance, 0.0, 0.12)
    return outside, float((weight * accepted)[~good].sum()), float((weight * (1.0 - accepted))[good].sum())


def test_risks_of_a_process_g12_g13() -> None:
    outside, consumer, producer = _risks(0.0)
    assert outside == pytest.approx(0.0956, abs=5e-5)
    assert consumer == pytest.approx(0.01894, abs=3e-5)
    assert producer == pytest.approx(0.03721, abs=3e-5)
    _, consumer, producer = _risks(0.08)
    assert consumer == pytest.approx(0.00047, abs=1e-5)
    assert producer == pytest.approx(0.24767, abs=3e-5)


def test_no_uncertainty_leaves_no_doubt() -> None:
    band = Limit(low=1.0, high=2.0)
    assert [chance_within(band, v, 0.0) for v in (0.9, 1.0, 1.5, 2.0, 2.1)] == [0.0, 1.0, 1.0, 1.0, 0.0]


def test_doubtful_repetitions_count_as_a_poisson_binomial() -> None:
    # equal chances give the binomial: at least 8 of 10 at 0.9 is 0.9298 (any table of the binomial)
    assert count_chance([0.9] * 10, 8) == pytest.approx(0.9298, abs=5e-5)
    # unequal ones by hand: 1 - 0.5 * 0.2 and 0.5 * 0.8
    assert count_chance([0.5, 0.8], 1) == pytest.approx(0.9, abs=1e-12)
    assert count_chance([0.5, 0.8], 2) == pytest.approx(0.4, abs=1e-12)
    assert count_chance([0.5, 0.8], 3) == 0.0
    assert count_chance([], 1) == 0.0
    assert count_chance([0.3], 0) == pytest.approx(1.0)
