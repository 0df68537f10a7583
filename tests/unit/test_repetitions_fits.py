"""What a fit looks at and what it leaves out: false starts in the stay, and starts that only one side could tell."""

from __future__ import annotations

import numpy as np
import pytest

from cuebook.movements import load_movement
from cuebook.repetitions import fits
from cuebook.repetitions.course import MOST_LOST, CourseRow, lost_s
from cuebook.repetitions.drivers import DriverSeries
from cuebook.repetitions.fits import Candidates, fit_swings
from cuebook.repetitions.turning import find_swings
from cuebook.synthetic.schedule import course
from tests.stick_samples import moved

RATE_HZ = 30.0


def smooth(times: np.ndarray, start: float, length: float) -> np.ndarray:
    return course("min_jerk", (times - start) / length)


def candidates(times: np.ndarray, values: np.ndarray) -> Candidates:
    """Return the swings of a driver that stands for itself; its name belongs to no signal that could be joined."""
    noise = np.full(len(times), 0.5)
    series = DriverSeries(side="both", values=values, noise=noise, signals=("left_knee_flexion",))
    swings = find_swings(times, values, reversal=20.0)
    return Candidates(series=series, known=np.ones(len(times), bool), times=times, values=values, swings=swings,
                      hidden=set())  # fmt: skip


@pytest.mark.parametrize("bump_deg", [0.0, 15.0])
def test_a_false_start_does_not_move_the_start(bump_deg: float) -> None:
    """Truth: a minimum-jerk way of 3 s from 2.6 s on is above 5 % of its peak speed from 2.6 + 0.061 x 3 s on."""
    times = np.arange(0.0, 9.0, 1 / RATE_HZ)
    false_start = smooth(times, 0.9, 0.5) - smooth(times, 1.45, 0.5)
    values = bump_deg * false_start + 90.0 * (smooth(times, 2.6, 3.0) - smooth(times, 6.2, 1.2))
    movement = load_movement("side-lying-thoracic-rotation")  # no other signal is joined to its driver
    _, motion, _ = moved("squat", 80.0)
    (shape, _), = fit_swings(motion, movement, candidates(times, values), [])  # fmt: skip
    assert shape is not None
    assert shape.edges_s[0] == pytest.approx(2.6 + 0.061 * 3.0, abs=0.1)


def test_what_a_slow_way_is_read_too_short_is_given_back(monkeypatch: pytest.MonkeyPatch) -> None:
    """A way of 3 s that loses 0.05 of 1.5 s at its start loses more than twice that, and the turn stays."""
    times = np.arange(0.0, 9.0, 1 / RATE_HZ)
    values = 90.0 * (smooth(times, 2.0, 3.0) - smooth(times, 6.2, 1.2))
    _, motion, _ = moved("squat", 80.0)
    found = []
    for inward in ((0.0, 0.0), (0.05, 0.0)):
        row = CourseRow(channels=(), weights=np.array([]), sizes=np.array([]), links=np.array([]), spread=(0.2, 0.1),
                        inward=inward, clips=5)  # fmt: skip
        monkeypatch.setattr(fits, "course_row", lambda *_, row=row: row)
        (shape, _), = fit_swings(motion, load_movement("squat"), candidates(times, values), [])  # fmt: skip
        assert shape is not None
        found.append(shape)
    plain, given = (s.edges_s for s in found)
    assert 0.1 < plain[0] - given[0] < 0.25
    assert 0.02 < given[3] - plain[3] < 0.1
    assert given[1:3] == pytest.approx(plain[1:3])
    assert found[0].edges_u_s[0] > 0.2 * 2.0, "the spread of the row is used, not that of a driver alone"


def test_no_more_than_a_quarter_of_a_way_is_given_back() -> None:
    assert lost_s((0.05, 0.02), 1.5) == pytest.approx((0.075, 0.03))
    assert lost_s((0.5, 0.02), 6.0) == pytest.approx((MOST_LOST * 6.0, 0.24))
