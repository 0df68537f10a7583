"""Repetitions in marker-based motion capture of real exercise.

Data: CMU Graphics Lab Motion Capture Database (free for all uses; created with funding from NSF EIA-0196217), trials
13_29, 13_30 and 14_14 at 30 Hz with published action labels (Fox, Hughes, Sudderth and Jordan 2014, Ann Appl Stat
8:1281-1313). Peak times were found at 120 Hz and are good to 0.03 s. The skeleton's zero is not the anatomical one:
resting knees read 20 to 40 degrees, so nothing here tests an absolute straight knee.
"""

from __future__ import annotations

import csv
from dataclasses import replace

import numpy as np
import pytest

from cuebook.model import Motion, Movement, Prescription, Repetition, Signal, View
from cuebook.movements import load_movement
from cuebook.repetitions import find_repetitions
from tests.reference.published import data_file

NOISE_DEG = 1.0


def _recording(trial: str, action: str) -> dict[str, np.ndarray]:
    with data_file("cmu_exercises_30hz.csv").open(encoding="utf-8") as file:
        rows = [r for r in csv.DictReader(file) if r["trial"] == trial and r["action"] == action]
    names = ("t_s", "knee_r_deg", "knee_l_deg", "thorax_axial_deg")
    return {name: np.array([float(r[name]) for r in rows]) for name in names}


def _peaks(trial: str, action: str) -> tuple[np.ndarray, np.ndarray]:
    with data_file("cmu_exercises_reps.csv").open(encoding="utf-8") as file:
        row = next(r for r in csv.DictReader(file) if r["trial"] == trial and r["action"] == action)
    return tuple(np.array([float(v) for v in row[c].split(";")]) for c in ("peak_times_s", "peak_values"))


def _motion(times_s: np.ndarray, **angles_deg: np.ndarray) -> Motion:
    """Signals as if a camera had measured them with a noise of one degree; the athlete stays in place."""
    zero, small = np.zeros(len(times_s)), np.full(len(times_s), NOISE_DEG)
    help_signals = {"pelvis_across": zero, "pelvis_height": zero, "body_scale": zero + 1.0, "trunk_tilt": zero}
    signals = {
        name: Signal(name=name, times_s=times_s, values=values, noise=small, shared=zero, unit="deg", method="markers")
        for name, values in {**angles_deg, **help_signals}.items()
    }
    view = View(name="front", facing="none", azimuth_deg=0.0, off_axis_deg=0.0, uncertainty_deg=1.0)
    return Motion(times_s=times_s, signals=signals, view=view, doubts=(), found_fraction=1.0)


def _by_knees(trial: str, action: str, movement: Movement) -> tuple[Repetition, ...]:
    seen = _recording(trial, action)
    knees = {"right_knee_flexion": seen["knee_r_deg"], "left_knee_flexion": seen["knee_l_deg"]}
    return find_repetitions(_motion(seen["t_s"], **knees), movement, Prescription())


@pytest.mark.parametrize(
    ("trial", "apart_s"), [("13_29", 3.133), ("13_30", 2.334), ("14_14", 2.400)], ids=lambda v: str(v)
)
def test_squats_f2(trial: str, apart_s: float) -> None:
    repetitions = _by_knees(trial, "Squat", load_movement("squat"))
    times, values = _peaks(trial, "Squat")
    assert len(repetitions) == len(times) == 2
    turns = np.array([r.turn_s for r in repetitions])
    assert turns == pytest.approx(times, abs=0.15)
    assert turns[1] - turns[0] == pytest.approx(apart_s, abs=0.15)
    assert all(r.side == "both" for r in repetitions)
    assert all(50.0 < r.swing < v for r, v in zip(repetitions, values, strict=True))
    inner = repetitions[0]
    assert sum(inner.phases.values()) == pytest.approx(inner.end_s - inner.start_s, abs=1e-9)
    assert inner.end_s == pytest.approx(repetitions[1].start_s, abs=1e-9)


RAISES = {"13_29": "RLRLRL", "13_30": "LRLR", "14_14": "RLRLR"}


@pytest.mark.parametrize(("trial", "order"), RAISES.items(), ids=RAISES.keys())
def test_knee_raises_f4(trial: str, order: str) -> None:
    movement = load_movement("standing-knee-raise")
    movement = replace(movement, driver=replace(movement.driver, signal="knee_flexion"))
    # what is cut off at either end of the labelled stretch is listed, but does not count
    repetitions = [r for r in _by_knees(trial, "KneeRaise", movement) if r.counted]
    times, values = _peaks(trial, "KneeRaise")
    assert [r.side[0].upper() for r in repetitions] == list(order)
    seen = _recording(trial, "KneeRaise")
    for repetition, at_s, value in zip(repetitions, times, values, strict=True):
        # a raised knee stays up for up to half a second: the turn is the middle of that stay
        assert repetition.turn_s == pytest.approx(at_s, abs=0.25)
        knee = seen["knee_r_deg" if repetition.side == "right" else "knee_l_deg"]
        assert np.interp(repetition.turn_s, seen["t_s"], knee) > 0.9 * value


@pytest.mark.parametrize("trial", ["13_29", "13_30", "14_14"])
def test_twists_f4(trial: str) -> None:
    seen = _recording(trial, "Twist")
    motion = _motion(seen["t_s"], trunk_rotation=seen["thorax_axial_deg"])
    repetitions = find_repetitions(motion, load_movement("standing-trunk-rotation"), Prescription())
    times, values = _peaks(trial, "Twist")
    whole = [r for r in repetitions if r.counted]
    assert [r.side for r in whole] == ["left" if v > 0 else "right" for v in values]
    assert [r.swing for r in whole] == pytest.approx(np.abs(values), abs=5.0)
    for repetition, at_s, value in zip(whole, times, values, strict=True):
        # where the trunk stays turned for a second or more, the turn is the middle of that stay and not the extreme
        assert repetition.start_s < at_s < repetition.end_s
        at_turn = np.interp(repetition.turn_s, seen["t_s"], seen["thorax_axial_deg"])
        assert at_turn / value > 0.55
