"""The joined course of a repetition and its link to the driver, the ends read through it, and how sure they are."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from cuebook.model import Prescription, View
from cuebook.motion import measure_motion
from cuebook.movements import load_movement
from cuebook.repetitions import find_repetitions
from cuebook.repetitions.course import (
    CourseRow,
    course_row,
    course_sizes,
    ends_levels,
    joined_course,
    shares_of_best,
    signal_name,
    view_class,
)
from cuebook.repetitions.curve import Link
from cuebook.repetitions.edges import Found, phases_of
from cuebook.repetitions.shape import fit_shape
from cuebook.repetitions.turning import Swing
from cuebook.synthetic import Camera, Change, ClipSpec, Picture, landmarks
from cuebook.synthetic.schedule import course

FLAT = Link(np.array([0.0, 0.01, 0.02, 0.06, 0.17, 0.32, 0.51, 0.72, 0.86, 0.93, 1.0]))
"""Flat where it starts, as the travel of the hips is in a lunge to the side."""
RATE_HZ = 30.0
MOVEMENTS = ("squat", "split-squat", "lateral-lunge", "push-up", "glute-bridge", "standing-trunk-rotation")


def view(azimuth_deg: float, facing: str = "left") -> View:
    return View(name="side", facing=facing, azimuth_deg=azimuth_deg, off_axis_deg=0.0, uncertainty_deg=5.0)


def test_a_link_runs_from_nothing_to_all_and_never_back() -> None:
    share = np.linspace(0.0, 1.0, 201)
    shown = FLAT(share)
    assert shown[[0, -1]] == pytest.approx([0.0, 1.0])
    assert (np.diff(shown) >= 0).all()
    assert FLAT(Link.knots) == pytest.approx(FLAT.values)
    assert FLAT(np.array([-1.0, 2.0])) == pytest.approx([0.0, 1.0])
    middle = (share[1:] + share[:-1]) / 2
    assert FLAT.slope(middle) == pytest.approx(np.diff(shown) / np.diff(share), abs=0.05)


@pytest.mark.parametrize("profile", ["min_jerk", "constant", "bounce", "sticking"])
def test_ends_are_read_back_through_a_flat_link(profile: str) -> None:
    """Truth: the 5 % rule on the drawn course itself, sampled at 10 kHz."""
    out_s, hold_s, back_s = 2.5, 0.8, 1.2
    t = np.arange(0.0, 6.0, 1.0 / RATE_HZ)

    def way(at: np.ndarray, kind: str, start: float, length: float) -> np.ndarray:
        return course(kind, (at - start) / length)

    back = "bounce_back" if profile == "bounce" else profile
    leave, come = 0.7, 0.7 + out_s + hold_s
    driver = way(t, profile, leave, out_s) - way(t, back, come, back_s)
    edges = []
    for kind, start, length in ((profile, leave, out_s), (back, come, back_s)):
        fine = np.arange(start - 0.1, start + length + 0.1, 1e-4)
        speed = np.diff(way(fine, kind, start, length))
        fast = np.flatnonzero(speed > 0.05 * speed.max())
        edges += [fine[fast[0]], fine[fast[-1] + 1]]
    seen = FLAT(driver)
    rough = tuple(e + shift for e, shift in zip(edges, (0.3, -0.05, 0.05, -0.2), strict=True))
    through = fit_shape(t, seen, guess_s=rough, noise=0.01, correlation_s=1 / RATE_HZ, link=FLAT)
    plain = fit_shape(t, seen, guess_s=rough, noise=0.01, correlation_s=1 / RATE_HZ)
    assert through is not None
    assert plain is not None
    errors = np.abs(through.edges_s - edges)
    assert errors.max() < 0.16
    assert errors.sum() < np.abs(plain.edges_s - edges).sum()


def test_classes_of_views() -> None:
    lunge, turn = load_movement("lateral-lunge"), load_movement("standing-trunk-rotation")
    assert [view_class(lunge, view(a), "left") for a in (90.0, -75.0, 45.0, 0.0, 180.0)] == [
        "side", "side", "slant", "across", "across"]  # fmt: skip
    assert [view_class(turn, view(a), s) for a, s in ((5.0, "left"), (40.0, "left"), (40.0, "right"), (-40.0, "right"))
            ] == ["front", "near", "far", "near"]  # fmt: skip


def test_channels_stand_for_signals_of_a_side() -> None:
    assert signal_name("W_knee_flexion", view(90.0), "right") == "right_knee_flexion"
    assert signal_name("O_knee_flexion", view(90.0), "right") == "left_knee_flexion"
    assert signal_name("W_knee_flexion", view(-90.0, "right"), "both") == "right_knee_flexion"
    assert signal_name("pelvis_across", view(90.0), "both") == "pelvis_across"


@pytest.mark.parametrize("name", MOVEMENTS)
def test_every_learnt_row_can_be_used(name: str) -> None:
    movement = load_movement(name)
    azimuth = {"lateral-lunge": 0.0, "standing-trunk-rotation": 42.0}.get(name, 90.0)
    row = course_row(movement, view(azimuth), "both" if movement.sides == "both" else "left")
    assert row is not None
    assert row.weights.sum() == pytest.approx(1.0, abs=0.01)
    assert (np.diff(row.links, axis=1) >= 0).all()
    assert row.links[:, [0, -1]] == pytest.approx(np.tile([0.0, 1.0], (len(row.channels), 1)))
    assert all(0.0 < s < 0.3 for s in row.spread)


def test_a_view_without_examples_has_no_row() -> None:
    assert course_row(load_movement("glute-bridge"), view(0.0), "both") is None


def test_levels_are_medians_of_the_stays() -> None:
    t = np.arange(0.0, 4.0, 0.1)
    y = np.where((t > 1.0) & (t < 3.0), 7.0, 2.0)
    assert ends_levels(t, y, (1.0, 1.2, 2.8, 3.0)) == (2.0, 7.0)
    assert ends_levels(t, y, (-1.0, 1.2, 2.8, 9.0)) is None


def lunge():
    """Return motion, row, instants and driver of a drawn lunge to the side."""
    spec = ClipSpec(name="stick", body="ash", movement="lateral-lunge", side="left", reps=2, seed=4,
                    camera=Camera(azimuth_deg=5.0), picture=Picture(rate_hz=RATE_HZ))  # fmt: skip
    track, truth = landmarks(spec)
    motion = measure_motion(track, load_movement("lateral-lunge"))
    edges = truth.repetitions[0]["edges_s"]
    times = motion.times_s[(motion.times_s > edges[0] - 0.5) & (motion.times_s < edges[3] + 0.5)]
    driver = np.interp(times, motion.times_s, motion.signals["left_knee_flexion"].values)
    row = CourseRow(channels=("W_knee_flexion", "pelvis_across"), weights=np.array([0.4, 0.6]),
                    sizes=np.array([70.0, 0.3]), links=np.array([Link.knots, FLAT.values]), spread=(0.05, 0.03),
                    inward=(0.0, 0.0), clips=9)  # fmt: skip
    return motion, row, times, driver, edges


def test_signals_that_keep_time_are_joined() -> None:
    motion, row, times, driver, edges = lunge()
    found = joined_course(motion, row, "left", times=times, known_s=times, driver=driver, edges_s=edges)
    assert found is not None
    joined, link = found
    assert joined[0] == pytest.approx(0.0, abs=0.05)
    assert joined.max() == pytest.approx(1.0, abs=0.1)
    assert link.values == pytest.approx(0.4 * Link.knots + 0.6 * FLAT.values)


def test_a_signal_that_does_not_move_along_is_left_out() -> None:
    motion, row, times, driver, edges = lunge()
    still = replace(motion.signals["pelvis_across"], values=np.full(len(motion.times_s), 1.0))
    found = joined_course(replace(motion, signals=dict(motion.signals) | {"pelvis_across": still}), row, "left",
                          times=times, known_s=times, driver=driver, edges_s=edges)  # fmt: skip
    assert found is not None
    assert found[1].values == pytest.approx(Link.knots)


def test_too_few_signals_make_no_course() -> None:
    motion, row, times, driver, edges = lunge()
    few = replace(row, weights=np.array([0.1, 0.9]))
    none = {k: s for k, s in motion.signals.items() if k != "pelvis_across"}
    assert joined_course(replace(motion, signals=none), few, "left", times=times, known_s=times, driver=driver,
                         edges_s=edges) is None  # fmt: skip


def found(edges: tuple[float, float, float, float], u: float) -> Found:
    swing = Swing(before=0, turn=1, after=2, guess_s=edges, opens=True, closes=True)
    return Found(side="both", swing=swing, shape=None, edges=edges, edges_u=(u,) * 4, size=90.0, size_u=1.0,
                 level_u=3.0, back=90.0, doubtful=False)  # fmt: skip


@pytest.mark.parametrize("gap", [0.2, 0.27, 0.33, 0.4])
def test_near_the_threshold_the_interval_of_a_hold_reaches_the_other_value(gap: float) -> None:
    phases, u, *_ = phases_of(load_movement("squat"), found((1.0, 2.0, 2.0 + gap, 3.0 + gap), 0.06), None, None)
    hold = phases["long_hold"]
    other = 0.0 if hold else max(gap, 0.3)
    assert abs(other - hold) <= 1.96 * u["long_hold"]
    assert u["eccentric"] > 0.06 * np.sqrt(2.0)


def test_far_from_the_threshold_only_the_ends_make_a_hold_unsure() -> None:
    _, u, *_ = phases_of(load_movement("squat"), found((1.0, 2.0, 3.0, 4.0), 0.05), None, None)
    assert u["long_hold"] == pytest.approx(0.05 * np.sqrt(2.0), rel=0.01)


@pytest.mark.parametrize("profile", ["min_jerk", "constant", "sticking", "bounce"])
@pytest.mark.parametrize(("movement", "azimuth"), [("squat", 85.0), ("lateral-lunge", 8.0), ("glute-bridge", 85.0)])
def test_slow_phases_of_every_profile_lie_within_their_intervals(movement: str, azimuth: float, profile: str) -> None:
    side = "left" if movement == "lateral-lunge" else "both"
    spec = ClipSpec(name="stick", body="ash", movement=movement, side=side, reps=3, seed=6, profile=profile,
                    tempo=(3.2, 1.0, 1.3, 0.9), tremor_deg=0.5, changes=(Change(number=2, depth=0.92),),
                    camera=Camera(azimuth_deg=azimuth), picture=Picture(rate_hz=RATE_HZ))  # fmt: skip
    track, truth = landmarks(spec)
    shaken = track.xy_px + np.random.default_rng(5).normal(0.0, 0.8, track.xy_px.shape)
    known = load_movement(movement)
    reps = find_repetitions(measure_motion(replace(track, xy_px=shaken), known), known, Prescription())
    assert len(reps) == 3
    errors, inside = [], []
    for rep, true in zip(reps, truth.repetitions, strict=True):
        for phase, value in rep.phases.items():
            expected = true["phases"][f"{phase}_s"]
            if value is None or expected is None:
                continue
            errors.append(abs(value - expected))
            inside.append(abs(value - expected) <= 1.96 * np.hypot(rep.phases_u[phase], 0.03))
    assert np.median(errors) < 0.2
    assert np.mean(inside) >= 0.8


def test_a_signal_that_is_flat_at_rest_is_read_back_to_the_share_of_the_driver() -> None:
    assert FLAT.driver_share(float(FLAT(np.array([0.6]))[0])) == pytest.approx(0.6, abs=0.01)
    full, half = ({"pelvis_across": (1.0, size, FLAT)} for size in (1.2, 1.2 * float(FLAT(np.array([0.6]))[0])))
    assert shares_of_best([full, full, full, half, {}]) == pytest.approx([1.0, 1.0, 1.0, 0.6, None], abs=0.02)


def test_a_shallow_repetition_is_told_by_what_moves_along() -> None:
    """Truth: depth 0.62 of the others, as it was drawn."""
    track, truth = landmarks(ClipSpec(name="stick", body="ash", movement="lateral-lunge", side="left", reps=3, seed=5,
                                      changes=(Change(number=2, depth=0.62),), camera=Camera(azimuth_deg=5.0),
                                      picture=Picture(rate_hz=15.0)))  # fmt: skip
    movement = load_movement("lateral-lunge")
    motion = measure_motion(track, movement)
    row = course_row(movement, motion.view, "left")
    assert row is not None
    sizes = [course_sizes(motion, row, "left", rep["edges_s"]) for rep in truth.repetitions]
    swings = np.array([rep["swing_deg"] for rep in truth.repetitions])
    assert shares_of_best(sizes) == pytest.approx(list(swings / swings.max()), abs=0.1)
