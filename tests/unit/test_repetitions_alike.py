"""What the repetitions of a set say about each other: order, and lengths that are drawn together."""

from __future__ import annotations

import numpy as np
import pytest

from cuebook.repetitions.alike import in_order, made_alike
from cuebook.repetitions.edges import Found
from cuebook.repetitions.shape import Shape
from cuebook.repetitions.turning import Swing

SMALLEST = 40.0


def swing(edges: tuple[float, ...], edges_u: tuple[float, ...] = (0.1,) * 4, *, size: float = 80.0,
          side: str = "both") -> Found:  # fmt: skip
    shape = Shape(edges_s=np.array(edges), edges_u_s=np.array(edges_u), levels=np.array([0.0, size, 0.0]),
                  levels_u=np.ones(3), exponents=np.full(4, 2.4), residual=1.0, parts=1,
                  params=np.zeros(11))  # fmt: skip
    found = Swing(before=0, turn=1, after=2, guess_s=edges, opens=True, closes=True)
    return Found(side=side, swing=found, shape=shape, edges=edges, edges_u=edges_u, size=size, size_u=1.0, level_u=1.0,
                 back=size, doubtful=False)  # fmt: skip


def lengths(found: list[Found]) -> list[float]:
    return [f.edges[1] - f.edges[0] for f in found]


def test_a_repetition_leaves_no_sooner_than_the_one_before_is_back() -> None:
    one = swing((0.0, 1.0, 1.5, 2.5), (0.1, 0.1, 0.1, 0.1))
    other = swing((1.5, 4.0, 4.5, 5.5), (0.7, 0.1, 0.1, 0.1))
    first, second = in_order([one, other], SMALLEST)
    assert first.edges[3] == second.edges[0] == pytest.approx(2.5 - 1.0 / 50.0)
    assert second.edges[1:] == other.edges[1:]
    assert second.edges_u[0] < 0.1


def test_equally_unsure_ends_meet_midway() -> None:
    first, second = in_order([swing((0.0, 1.0, 1.5, 2.6)), swing((2.4, 3.4, 3.9, 4.9))], SMALLEST)
    assert first.edges[3] == second.edges[0] == pytest.approx(2.5)


def test_what_does_not_overlap_stays_and_a_limb_that_moves_along_limits_nobody() -> None:
    apart = [swing((0.0, 1.0, 1.5, 2.5)), swing((2.6, 3.6, 4.0, 5.0))]
    assert in_order(apart, SMALLEST) == apart
    small = swing((1.0, 2.0, 2.5, 4.0), size=15.0, side="right")
    assert in_order([small, apart[1]], SMALLEST) == [small, apart[1]]


def test_an_unsure_length_comes_near_the_others_and_a_sure_one_stays() -> None:
    alike = [swing((k, k + 2.0, k + 2.5, k + 3.5), (0.1, 0.05, 0.05, 0.1)) for k in (0.0, 5.0, 10.0)]
    unsure = swing((15.8, 17.0, 17.5, 18.5), (0.6, 0.05, 0.05, 0.1))
    drawn = made_alike([*alike, unsure])
    assert lengths(drawn)[:3] == pytest.approx([2.0] * 3)
    assert lengths(drawn)[3] == pytest.approx(2.0, abs=0.15)
    assert drawn[3].edges[1] == pytest.approx(17.0, abs=0.02)
    assert drawn[3].edges_u == unsure.edges_u
    dropped = swing((15.8, 16.5, 17.5, 18.5), (0.05, 0.05, 0.05, 0.1))
    assert lengths(made_alike([*alike, dropped]))[3] == pytest.approx(0.7, abs=0.02)


def test_lengths_that_vary_in_the_set_keep_varying() -> None:
    varied = [swing((4.0 * k, 4.0 * k + length, 4.0 * k + 2.5, 4.0 * k + 3.5), (0.1, 0.05, 0.05, 0.1))
              for k, length in enumerate((0.8, 1.5, 2.2, 1.1, 1.9))]  # fmt: skip
    assert lengths(made_alike(varied)) == pytest.approx(lengths(varied), abs=0.06)


def test_too_few_or_too_small_ones_are_left_as_they_are() -> None:
    two = [swing((0.0, 1.0, 1.5, 2.5)), swing((5.0, 8.0, 8.5, 9.5))]
    assert made_alike(two) == two
    half = swing((10.0, 10.5, 10.8, 11.3), (0.5, 0.1, 0.1, 0.5), size=30.0)
    assert made_alike([*two, swing((15.0, 16.0, 16.5, 17.5)), half])[3] == half
