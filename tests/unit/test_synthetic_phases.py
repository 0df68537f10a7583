"""Phases of a known driver against cases worked out by hand."""

import numpy as np
import pytest

from cuebook.synthetic.catalogue import plan_of
from cuebook.synthetic.phases import is_hold, measure_excursion, moving_stretch, phases_of
from cuebook.synthetic.schedule import course

_SQUAT = plan_of("squat")


def _ramp(*corners, rate_hz=1000):
    """Sample a driver that runs straight between corners (time, angle)."""
    times = np.arange(corners[0][0], corners[-1][0], 1.0 / rate_hz)
    return times, np.interp(times, [c[0] for c in corners], [c[1] for c in corners])


def _excursion(start, away, hold, back, *, top=100.0):
    corners = ((start, 0), (start + 0.2, 0), (start + 0.2 + away, top), (start + 0.2 + away + hold, top))
    end = corners[-1][0] + back
    return measure_excursion(*_ramp(*corners, (end, 0), (end + 0.2, 0)))


def test_a_straight_ramp_moves_from_corner_to_corner():
    begin, end = moving_stretch(*_ramp((0, 0), (1, 0), (3, 90), (4, 90)))
    assert (begin, end) == (pytest.approx(1.0, abs=0.003), pytest.approx(3.0, abs=0.003))


def test_soft_ends_of_a_smooth_phase_count_as_hold():
    """A least-jerk lowering of 4 s reads 3.5 s: its speed 30 u^2 (1 - u)^2 passes 5 % of the peak at u = 0.0594."""
    times = np.linspace(0.0, 4.0, 8001)
    begin, end = moving_stretch(times, 100.0 * course("min_jerk", times / 4.0))
    root = 0.5 * (1.0 - np.sqrt(1.0 - np.sqrt(0.05)))
    assert begin == pytest.approx(4.0 * root, abs=0.003)
    assert end - begin == pytest.approx(4.0 * (1.0 - 2.0 * root), abs=0.003)
    assert end - begin == pytest.approx(3.525, abs=0.01)


def test_a_stop_half_way_does_not_split():
    begin, end = moving_stretch(*_ramp((0, 0), (1, 0), (2, 50), (3, 50), (4, 100), (5, 100)))
    assert end - begin == pytest.approx(3.0, abs=0.006)


def test_a_stop_near_the_end_splits():
    begin, end = moving_stretch(*_ramp((0, 0), (1, 0), (2, 88), (3, 88), (3.2, 100), (4, 100)))
    assert end - begin == pytest.approx(1.0, abs=0.006)


@pytest.mark.parametrize(
    ("gap", "beside", "hold"),
    [
        (0.29, 2.0, False),
        (0.30, 2.0, True),
        (0.40, 6.0, False),
        (0.48, 6.0, True),
        (0.31, 3.8, True),
        (0.31, 3.9, False),
    ],
)
def test_a_gap_is_a_hold_from_0_3_s_and_8_percent(gap, beside, hold):
    assert is_hold(gap, beside) is hold


def test_four_phases_add_up_to_the_repetition():
    first, second = _excursion(0.0, 2.0, 1.0, 1.0), _excursion(5.0, 2.0, 1.0, 1.0)
    rows = phases_of(_SQUAT, [first, second])
    assert rows[0]["start_s"] == pytest.approx(0.2, abs=0.003)
    assert rows[0]["turn_s"] == pytest.approx(2.7, abs=0.003)
    assert rows[0]["end_s"] == pytest.approx(5.2, abs=0.003)
    expected = {"eccentric_s": 2.0, "long_hold_s": 1.0, "concentric_s": 1.0, "short_hold_s": 1.0}
    assert rows[0]["phases"] == pytest.approx(expected, abs=0.006)
    assert sum(rows[0]["phases"].values()) == pytest.approx(rows[0]["end_s"] - rows[0]["start_s"])


def test_the_stay_after_the_last_repetition_has_no_end():
    (row,) = phases_of(_SQUAT, [_excursion(0.0, 2.0, 1.0, 1.0)])
    assert row["phases"]["short_hold_s"] is None
    assert row["gaps"]["short_hold_s"] is None
    assert row["end_s"] == pytest.approx(4.2, abs=0.003)


def test_a_short_gap_is_shared_and_the_hold_is_zero():
    (row,) = phases_of(_SQUAT, [_excursion(0.0, 2.0, 0.2, 1.0)])
    assert row["phases"]["long_hold_s"] == 0.0
    assert row["gaps"]["long_hold_s"] == pytest.approx(0.2, abs=0.004)
    assert row["phases"]["eccentric_s"] == pytest.approx(2.1, abs=0.004)
    assert row["phases"]["concentric_s"] == pytest.approx(1.1, abs=0.004)


def test_touching_repetitions_share_their_border():
    rows = phases_of(_SQUAT, [_excursion(0.0, 2.0, 0.5, 1.0), _excursion(3.5, 2.0, 0.5, 1.0)])
    assert rows[0]["phases"]["short_hold_s"] == pytest.approx(0.0, abs=1e-9)
    assert rows[0]["end_s"] == rows[1]["start_s"]


def test_a_movement_that_starts_with_the_concentric_holds_at_the_short_end():
    (row,) = phases_of(plan_of("standing-knee-raise"), [_excursion(0.0, 1.0, 0.8, 2.0)])
    assert row["phases"]["concentric_s"] == pytest.approx(1.0, abs=0.004)
    assert row["phases"]["short_hold_s"] == pytest.approx(0.8, abs=0.004)
    assert row["phases"]["eccentric_s"] == pytest.approx(2.0, abs=0.004)
    assert row["phases"]["long_hold_s"] is None


def test_too_small_or_given_up_is_not_complete():
    (small,) = phases_of(_SQUAT, [_excursion(0.0, 1.0, 0.5, 1.0, top=49.0)])
    (enough,) = phases_of(_SQUAT, [_excursion(0.0, 1.0, 0.5, 1.0, top=51.0)])
    stuck = measure_excursion(*_ramp((0, 0), (0.2, 0), (2, 100), (3, 100), (4, 40), (5, 40)))
    (given_up,) = phases_of(_SQUAT, [stuck])
    assert (small["complete"], enough["complete"], given_up["complete"]) == (False, True, False)


@pytest.mark.parametrize("profile", ["min_jerk", "constant", "sticking", "bounce", "bounce_back"])
def test_every_profile_runs_from_0_to_1_without_turning_back(profile):
    way = course(profile, np.linspace(-0.5, 1.5, 4001))
    assert way[0] == pytest.approx(0.0, abs=1e-9)
    assert way[-1] == pytest.approx(1.0, abs=1e-9)
    assert (np.diff(way) >= -1e-12).all()


def test_sticking_is_slow_in_the_middle_but_never_stops():
    u = np.linspace(0.0, 1.0, 2001)
    speed = np.gradient(course("sticking", u), u)
    assert 0.05 * speed.max() < speed[900:1020].min() < 0.45 * speed.max()
