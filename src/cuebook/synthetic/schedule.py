"""When the athlete moves how far: a spec becomes control values over time."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from .catalogue import Plan, plan_of
from .figures.drive import Drive
from .scenario import Change, ClipSpec

_LEAD_S = {"stand": 0.9, "walk": 2.6, "floor": 2.8}
_REST_S = 0.7
_RAISED_S = 1.6
_V_S = (0.35, 1.1, 0.9, 1.0, 0.35)
"""Seconds of the parts between two push-ups with an inverted V: plank, up, hold, down, plank."""


@dataclass(frozen=True, slots=True)
class Move:
    """One stretch in which a control value changes from one value to another, staying there afterwards."""

    start_s: float
    end_s: float
    before: float
    after: float
    profile: str = "min_jerk"
    stop_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Planned:
    """One repetition as planned: when it is under way, and how it is done."""

    number: int
    side: str
    start_s: float
    end_s: float
    leave_s: float
    kind: str = "repetition"
    faults: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Schedule:
    """The plan of a clip.

    Attributes
    ----------
    depth, second : tuple of Move
        Share of the movement, and of its second part.
    planned : tuple of Planned
        Repetitions, false starts and halves in order of time.
    set_start_s, set_end_s : float
        From being in place to the end of the set.
    duration_s : float
    raised_s : tuple of float
        When a hand is raised; both equal when it is not.
    """

    depth: tuple[Move, ...]
    second: tuple[Move, ...]
    planned: tuple[Planned, ...]
    set_start_s: float
    set_end_s: float
    duration_s: float
    raised_s: tuple[float, float]


@dataclass(slots=True)
class _Writer:
    """Writes moves one after the other."""

    spec: ClipSpec
    plan: Plan
    now_s: float = 0.0
    depth: list[Move] = field(default_factory=list)
    second: list[Move] = field(default_factory=list)
    planned: list[Planned] = field(default_factory=list)

    def go(self, target: float, seconds: float, *, profile: str, before: float, stop_s: float = 0.0) -> None:
        self.depth.append(Move(self.now_s, self.now_s + seconds + stop_s, before, target, profile, stop_s))
        self.now_s += seconds + stop_s

    def go_second(self, target: float, seconds: float, *, before: float) -> None:
        self.second.append(Move(self.now_s, self.now_s + seconds, before, target))
        self.now_s += seconds


def make_schedule(spec: ClipSpec) -> Schedule:
    """Lay out a clip in time."""
    writer = _Writer(spec, plan_of(spec.movement))
    writer.now_s = _LEAD_S[spec.lead_in]
    set_start = writer.now_s
    raised = (0.0, 0.0)
    if spec.raised_hand:
        raised = (writer.now_s + 0.2, writer.now_s + _RAISED_S)
        writer.now_s += _RAISED_S
    writer.now_s += _REST_S if spec.lead_in != "stand" else 0.0
    if spec.false_start:
        _attempt(writer, share=0.17, kind="false start", seconds=0.55)
        writer.now_s += 0.9
    for number in range(1, spec.reps + 1):
        _repetition(writer, number, last=number == spec.reps)
        if number == spec.half_after:
            _attempt(writer, share=0.45, kind="half", seconds=1.0)
            writer.now_s += 0.8
    set_end = writer.now_s + 0.6
    return Schedule(
        tuple(writer.depth),
        tuple(writer.second),
        tuple(writer.planned),
        set_start,
        set_end,
        set_end + _LEAD_S[spec.lead_out],
        raised,
    )


def side_of(spec: ClipSpec, number: int) -> str:
    """Return the side of a repetition."""
    if spec.side == "alternating":
        return "left" if number % 2 else "right"
    return spec.side


def _attempt(writer: _Writer, *, share: float, kind: str, seconds: float) -> None:
    """Write a movement that is given up on the way."""
    start = writer.now_s
    side = side_of(writer.spec, len([p for p in writer.planned if p.kind == "repetition"]) + 1)
    writer.go(share, seconds, profile="min_jerk", before=0.0)
    writer.now_s += 0.15
    writer.go(0.0, seconds, profile="min_jerk", before=share)
    writer.planned.append(Planned(0, side, start, writer.now_s, writer.now_s, kind))


def _timing(spec: ClipSpec, change: Change, faults: tuple[str, ...]) -> tuple[float, float, float, float]:
    """Return eccentric, long hold, concentric, short hold of one repetition with its faults."""
    tempo = list(change.tempo or spec.tempo)
    if "dropped_fast" in faults:
        tempo[0] = min(tempo[0], 0.65)
    if "skipped_hold" in faults:
        tempo[1 if plan_of(spec.movement).first == "eccentric" else 3] = 0.0
    return tempo[0], tempo[1], tempo[2], tempo[3]


def _share(spec: ClipSpec, change: Change, faults: tuple[str, ...], side: str) -> float:
    """Return how deep one repetition goes with its faults."""
    depth = change.depth if change.depth is not None else spec.depth
    if "shallow" in faults or ("one_side_short" in faults and side == "right"):
        depth *= 0.62
    return depth


def _repetition(writer: _Writer, number: int, *, last: bool) -> None:
    spec, plan = writer.spec, writer.plan
    change = spec.change(number)
    faults = spec.faults + change.faults
    side = side_of(spec, number)
    eccentric, long_hold, concentric, short_hold = _timing(spec, change, faults)
    down_first = plan.first == "eccentric"
    away, back = (eccentric, concentric) if down_first else (concentric, eccentric)
    at_turn, at_start = (long_hold, short_hold) if down_first else (short_hold, long_hold)
    depth = _share(spec, change, faults, side)
    start = writer.now_s
    writer.go(depth, away, profile=spec.profile, before=0.0, stop_s=change.stop_s)
    _turn(writer, at_turn, twist="rotation" in spec.movement and plan.driver == "knee_flexion", faults=faults)
    writer.go(0.0, back, profile="bounce_back" if spec.profile == "bounce" else spec.profile, before=depth)
    end = writer.now_s
    if spec.movement == "push-up-to-inverted-v":
        _inverted_v(writer)
    elif not last:
        writer.now_s += at_start
    writer.planned.append(Planned(number, side, start, end, writer.now_s, faults=faults))


def _turn(writer: _Writer, hold_s: float, *, twist: bool, faults: tuple[str, ...]) -> None:
    """Write the stay at the turn, with the turn of the trunk inside it where the movement has one."""
    if not twist or "no_rotation" in faults:
        writer.now_s += hold_s
        return
    each = max(0.5, 0.38 * hold_s)
    start = writer.now_s
    writer.go_second(1.0, each, before=0.0)
    writer.now_s = max(start + hold_s - each, writer.now_s + 0.2)
    writer.go_second(0.0, each, before=1.0)


def _inverted_v(writer: _Writer) -> None:
    plank, up, hold, down, again = _V_S
    writer.now_s += plank
    writer.go_second(1.0, up, before=0.0)
    writer.now_s += hold
    writer.go_second(0.0, down, before=1.0)
    writer.now_s += again


def course(profile: str, share: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return how far a movement has come (0 to 1) after a share of its time (0 to 1).

    `min_jerk` is the quintic of least jerk; `constant` runs at one speed with short ends; `sticking` slows down in the
    middle; `bounce` is fastest at its end, `bounce_back` at its beginning.
    """
    u = np.clip(share, 0.0, 1.0)
    if profile == "constant":
        ends = 0.12
        full = 1.0 / (1.0 - ends)
        rising = 0.5 * full * np.minimum(u, ends) ** 2 / ends
        falling = 0.5 * full * np.maximum(u - (1.0 - ends), 0.0) ** 2 / ends
        return rising + full * np.maximum(u - ends, 0.0) - falling
    if profile == "sticking":
        grid = np.linspace(0.0, 1.0, 801)
        speed = (grid * (1.0 - grid)) ** 2 * (1.0 - 0.78 * np.exp(-(((grid - 0.48) / 0.11) ** 2)))
        way = np.concatenate([[0.0], np.cumsum(0.5 * (speed[1:] + speed[:-1]))])
        return np.interp(u, grid, way / way[-1])
    if profile == "bounce":
        return 1.0 - np.cos(0.5 * np.pi * u)
    if profile == "bounce_back":
        return np.sin(0.5 * np.pi * u)
    return u**3 * (10.0 - 15.0 * u + 6.0 * u * u)


def value_at(moves: tuple[Move, ...], times_s: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the control value (T,) that a sequence of moves gives at some times."""
    out = np.zeros_like(times_s)
    for move in moves:
        seconds = move.end_s - move.start_s - move.stop_s
        half = move.start_s + 0.5 * seconds
        passed = np.where(times_s < half, times_s, np.maximum(times_s - move.stop_s, half)) - move.start_s
        share = passed / seconds
        if move.stop_s:
            share = _with_stop(share)
        now = move.before + (move.after - move.before) * course(move.profile, share)
        out = np.where(times_s >= move.start_s, now, out)
    return out


def _with_stop(share: NDArray[np.float64]) -> NDArray[np.float64]:
    """Bend the time so that the movement comes to rest at its middle."""
    u = np.clip(share, 0.0, 1.0)
    v = 2.0 * u - 1.0
    return np.where((u > 0) & (u < 1), 0.5 + 0.5 * np.sign(v) * v * v, u)


def tremble(spec: ClipSpec, times_s: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the tremor of the control angle, degrees, (T,)."""
    if spec.tremor_deg <= 0:
        return np.zeros_like(times_s)
    random = np.random.default_rng(spec.seed + 7)
    rates = spec.tremor_hz * random.uniform(0.7, 1.3, 5)
    starts = random.uniform(0.0, 2.0 * np.pi, 5)
    waves = np.sin(2.0 * np.pi * rates * times_s[:, None] + starts)
    return spec.tremor_deg * np.sqrt(2.0 / 5.0) * waves.sum(1)


def drive_at(spec: ClipSpec, schedule: Schedule, times_s: NDArray[np.float64], *, with_tremor: bool = True) -> Drive:
    """Return the control values at some times, seconds."""
    plan = plan_of(spec.movement)
    depth = value_at(schedule.depth, times_s)
    swing = plan.turn_deg - plan.start_deg
    tremor = tremble(spec, times_s) if with_tremor else np.zeros_like(times_s)
    in_set = (times_s >= schedule.set_start_s) & (times_s <= schedule.set_end_s)
    if plan.driver == "hip_flexion" and plan.limb == "both":
        depth = depth - np.where(in_set, tremor / 45.0, 0.0)
        angle = plan.start_deg + swing * depth
    else:
        angle = plan.start_deg + swing * depth + np.where(in_set, tremor, 0.0)
    side = np.full_like(times_s, -1.0 if schedule.planned[0].side == "right" else 1.0)
    other = np.full_like(times_s, 5.0)
    lean = np.zeros_like(times_s)
    for rep in schedule.planned:
        here = times_s >= rep.start_s
        side[here] = -1.0 if rep.side == "right" else 1.0
        during = here & (times_s <= rep.leave_s)
        if "bent_straight_leg" in rep.faults:
            other[during] += 30.0 * np.clip(depth[during] / 0.5, 0.0, 1.0)
        if "lean" in rep.faults:
            lean[during] = 18.0 * np.clip(depth[during], 0.0, 1.0)
        if "sag" in rep.faults:
            lean[during] = 16.0 * np.clip(depth[during] / 0.5, 0.0, 1.0)
    if "bent_arms" in spec.faults and plan.driver == "elbow_flexion":
        angle = np.maximum(angle, 32.0 + 0.66 * (angle - plan.start_deg))
    return Drive(
        angle_deg=angle,
        depth=depth,
        second=value_at(schedule.second, times_s),
        side=side,
        other_deg=other,
        lean_deg=lean,
        arms=spec.arms or usual_arms(spec.movement),
    )


def usual_arms(movement: str) -> str:
    """Return how the arms are usually held in a movement."""
    return {
        "squat": "reach",
        "standing-trunk-rotation": "crossed",
        "standing-knee-raise": "hips",
        "split-squat": "hips",
    }.get(movement, "clasped")
