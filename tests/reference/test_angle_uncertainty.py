"""Uncertainty of an angle from three noisy points: JCGM 100:2008 (GUM), 5.1.2, first order, and Monte Carlo."""

from __future__ import annotations

import numpy as np
import pytest

from cuebook.motion.geometry import angle_sigma_deg, bend_deg, included_deg

G1 = zip((30, 60, 90, 120, 150, 180), (1.7257, 1.9848, 2.2918, 2.5623, 2.7435, 2.8069), strict=True)
G2 = zip((60, 90, 120, 180), (4.6713, 5.3937, 6.0301, 6.6056), strict=True)
CASES = [
    *((100, 100, 2, angle, u) for angle, u in G1),
    *((0.42, 0.43, 0.02, angle, u) for angle, u in G2),
    (100, 60, 2, 90, 3.1498),
    (100, 60, 2, 120, 3.4799),
    (0.50, 0.42, 0.02, 90, 5.0391),
    (0.50, 0.42, 0.03, 90, 7.5587),
]


@pytest.mark.parametrize(("near", "far", "sigma", "angle", "u"), CASES)
def test_first_order_g1_to_g4(near: float, far: float, sigma: float, angle: float, u: float) -> None:
    assert angle_sigma_deg(near, far, angle, sigma) == pytest.approx(u, abs=5e-5)


def _corner(angle: float, *, axes: int, count: int, seed: int) -> list[np.ndarray]:
    rng = np.random.default_rng(seed)
    a, c = np.zeros(axes), np.zeros(axes)
    a[0] = 100.0
    c[0], c[1] = 100.0 * np.cos(np.radians(angle)), 100.0 * np.sin(np.radians(angle))
    return [point + rng.normal(0.0, 2.0, (count, axes)) for point in (a, np.zeros(axes), c)]


@pytest.mark.parametrize(("angle", "printed"), [(60, 1.985), (90, 2.297), (120, 2.556)])
@pytest.mark.parametrize("axes", [2, 3], ids=["picture", "space"])
def test_monte_carlo_agrees_with_the_formula_g5(angle: float, printed: float, axes: int) -> None:
    seen = included_deg(*_corner(angle, axes=axes, count=60_000, seed=angle))
    assert seen.std() == pytest.approx(printed, rel=0.01)
    assert angle_sigma_deg(100, 100, angle, 2) == pytest.approx(seen.std(), rel=0.015)


@pytest.mark.parametrize(("axes", "mean", "factor"), [(2, 177.76, 0.798), (3, 176.48, 1.253)])
def test_an_unsigned_angle_folds_at_straight_g6(axes: int, mean: float, factor: float) -> None:
    seen = included_deg(*_corner(180, axes=axes, count=60_000, seed=9))
    assert seen.mean() == pytest.approx(mean, abs=0.03)
    assert 180.0 - seen.mean() == pytest.approx(factor * angle_sigma_deg(100, 100, 180, 2), rel=0.02)


def test_the_signed_angle_does_not_fold() -> None:
    seen = bend_deg(*_corner(180, axes=2, count=60_000, seed=9))
    assert abs(seen.mean()) < 0.05
    assert seen.std() == pytest.approx(2.8069, rel=0.015)
