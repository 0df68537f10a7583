"""A whole clip as postures over time: into place, the set, out of place."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .bodies import Body, load_body
from .catalogue import plan_of
from .figures import FIGURES, Drive
from .figures.places import eased, on_all_fours, sitting, sitting_sideways, walking, with_raised_hand
from .posture import Poses, mixed, picked
from .scenario import ClipSpec
from .schedule import Schedule, drive_at, make_schedule
from .skeleton import joints

_WALK_M = 1.7
_TURN_S = 0.8


@dataclass(frozen=True, slots=True, eq=False)
class Performance:
    """What the body does at the times of the frames.

    Attributes
    ----------
    body : Body
    schedule : Schedule
    times_s : ndarray, shape (T,)
    poses : Poses
    joints_m : ndarray, shape (T, 24, 3)
    in_set : ndarray of bool, shape (T,)
        Whether the athlete is in place for the set.
    """

    body: Body
    schedule: Schedule
    times_s: NDArray[np.float64]
    poses: Poses
    joints_m: NDArray[np.float64]
    in_set: NDArray[np.bool_]


def frame_times(spec: ClipSpec, duration_s: float) -> NDArray[np.float64]:
    """Return the time stamps of the frames, seconds, (F,); irregular where the spec asks for it."""
    count = int(duration_s * spec.picture.rate_hz)
    times = np.arange(count) / spec.picture.rate_hz
    if not spec.picture.variable:
        return times
    random = np.random.default_rng(spec.seed + 3)
    kept = random.random(count) > 0.06
    kept[0] = True
    times = times + random.uniform(0.0, 0.32, count) / spec.picture.rate_hz
    return (times - times[0])[kept]


def perform(spec: ClipSpec, times_s: NDArray[np.float64] | None = None) -> Performance:
    """Act out a spec.

    Parameters
    ----------
    spec : ClipSpec
    times_s : ndarray, shape (T,), optional
        Instants wanted; the time stamps of the frames without it.
    """
    body = load_body(spec.body)
    schedule = make_schedule(spec)
    times = frame_times(spec, schedule.duration_s) if times_s is None else times_s
    drive = drive_at(spec, schedule, times)
    poses = FIGURES[spec.movement](body.rig, drive)
    if schedule.raised_s[1] > schedule.raised_s[0] and not plan_of(spec.movement).lying:
        begin, end = schedule.raised_s
        share = eased(times, begin, begin + 0.5) * (1.0 - eased(times, end - 0.5, end))
        poses = with_raised_hand(body.rig, poses, share, "right")
    poses = _into_place(spec, body, schedule, times, poses, drive)
    placed = joints(body.rig, poses.rotations, poses.root_m)
    in_set = (times >= schedule.set_start_s) & (times <= schedule.set_end_s)
    return Performance(body, schedule, times, poses, placed, in_set)


def driver_samples(spec: ClipSpec, schedule: Schedule, times_s: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the joints (T, 24, 3) of the set without tremor, for the truth about phases."""
    body = load_body(spec.body)
    drive = drive_at(spec, schedule, times_s, with_tremor=False)
    poses = FIGURES[spec.movement](body.rig, drive)
    return joints(body.rig, poses.rotations, poses.root_m)


def _into_place(spec: ClipSpec, body: Body, schedule: Schedule, times_s: NDArray, poses: Poses, drive: Drive) -> Poses:
    """Replace what happens before and after the set."""
    rotations, root = poses.rotations.copy(), poses.root_m.copy()
    for kind, rows, leaving in (
        (spec.lead_in, np.flatnonzero(times_s < schedule.set_start_s), False),
        (spec.lead_out, np.flatnonzero(times_s > schedule.set_end_s), True),
    ):
        if kind == "stand" or not len(rows):
            continue
        away = times_s[rows] - schedule.set_end_s if leaving else schedule.set_start_s - times_s[rows]
        now = picked(poses, rows)
        other = _walk(spec, body, away, leaving) if kind == "walk" else _down(spec, body, len(rows), drive)
        share = eased(away, 0.0, _TURN_S if kind == "walk" else 2.0)
        between = mixed(now, other, share)
        between = between.moved(_above_floor(body, between))
        rotations[rows], root[rows] = between.rotations, between.root_m
    return Poses(rotations, root)


def _walk(spec: ClipSpec, body: Body, away_s: NDArray, leaving: bool) -> Poses:
    """Walk into the picture from the side, or out of it; `away_s` counts from the set."""
    to_right = 1.0 if spec.seed % 2 else -1.0
    across = spec.camera.azimuth_deg + to_right * 90.0
    way = _WALK_M * np.clip(away_s - 0.35 * _TURN_S, 0.0, None) / 1.7
    if leaving:
        return walking(body.rig, way, across)
    return walking(body.rig, -way, across + 180.0)


def _down(spec: ClipSpec, body: Body, count: int, drive: Drive) -> Poses:
    """Return the posture from which floor work begins, `count` times."""
    if spec.movement == "side-lying-thoracic-rotation":
        start = sitting_sideways(body.rig, float(drive.side[0]))
    elif spec.movement == "glute-bridge":
        start = sitting(body.rig)
    else:
        start = on_all_fours(body.rig)
    return picked(start, np.zeros(count, dtype=int))


def _above_floor(body: Body, poses: Poses) -> NDArray[np.float64]:
    """Return the lift (T, 3) that keeps every joint at least 4 cm above the floor."""
    lowest = joints(body.rig, poses.rotations, poses.root_m)[..., 2].min(1)
    lift = np.zeros((len(lowest), 3))
    lift[:, 2] = np.maximum(0.025 - lowest, 0.0)
    return lift
