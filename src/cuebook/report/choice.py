"""Which cue, which repetition and which signal a picture shows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from cuebook.model import Cue, Repetition, ReviewData, Signal, Verdict

_URGENCY = {"not_met": 0, "near": 1, "met": 2, "not_measurable": 3}


def base_measure(name: str) -> str:
    """Return a measure without its event: ``knee_flexion_at_turn`` becomes ``knee_flexion``."""
    return name.split("_at_")[0]


def set_verdicts(data: ReviewData, cue: str) -> tuple[Verdict, ...]:
    """Return the verdicts of a cue on the whole set."""
    return tuple(v for v in data.verdicts if v.cue == cue and v.repetition is None)


def rep_verdict(data: ReviewData, cue: str, number: int) -> Verdict | None:
    """Return the verdict of a cue on one repetition; of two sides the better-seen one decides."""
    found = [v for v in data.verdicts if v.cue == cue and v.repetition == number]
    return min(found, key=_seen_worse) if found else None


def better_seen(verdicts: Sequence[Verdict]) -> Verdict | None:
    """Return the verdict with the smallest uncertainty, a measured one before one that is not."""
    return min(verdicts, key=_seen_worse) if verdicts else None


def _seen_worse(verdict: Verdict) -> float:
    return float("inf") if verdict.uncertainty is None else verdict.uncertainty


def set_outcome(data: ReviewData, cue: str) -> str:
    """Return the most urgent outcome of a cue on the set, or over its repetitions where the set has none."""
    found = set_verdicts(data, cue) or tuple(v for v in data.verdicts if v.cue == cue)
    return min((v.outcome for v in found), key=_URGENCY.__getitem__, default="not_measurable")


def is_angle(data: ReviewData, cue: Cue) -> bool:
    """Return whether a cue is judged on a signal that can be drawn in the picture."""
    name = base_measure(cue.measure)
    return any(f"{side}{name}" in data.motion.signals for side in ("", "left_", "right_"))


def shown_cues(data: ReviewData) -> tuple[Cue, ...]:
    """Return the cues that a still can show: judged on an angle in at least one repetition, by priority."""
    judged = {v.cue for v in data.verdicts if v.repetition is not None and v.value is not None}
    return tuple(
        sorted((c for c in data.movement.cues if c.name in judged and is_angle(data, c)), key=lambda c: c.priority)
    )


def main_cue(data: ReviewData) -> Cue | None:
    """Return the cue a picture shows: the first that is not met, safety before priority, else the first measured."""
    cues = shown_cues(data)
    failed = [c for c in cues if set_outcome(data, c.name) == "not_met"]
    if failed:
        return min(failed, key=lambda c: (not c.safety, c.priority))
    return cues[0] if cues else None


def deciding(data: ReviewData, cue: Cue) -> tuple[Repetition, Verdict] | None:
    """Return the repetition a still should show: the clearest not met, else one too close, else the best one."""
    pairs = []
    for rep in data.repetitions:
        verdict = rep_verdict(data, cue.name, rep.number)
        if verdict is not None and verdict.chance is not None:
            pairs.append((rep, verdict))
    if not pairs:
        return None
    urgent = min(_URGENCY[v.outcome] for _, v in pairs)
    best = urgent == _URGENCY["met"]
    return min(
        (p for p in pairs if _URGENCY[p[1].outcome] == urgent),
        key=lambda p: (-1 if best else 1) * (p[1].chance if p[1].chance is not None else 0.0),
    )


def signal_of(data: ReviewData, cue: Cue | None, side: str | None = None) -> Signal | None:
    """Return the signal that a cue is judged on, or the movement's driver for a cue that is a time.

    Of two sides the asked one is taken, else the side towards the camera, else whichever was measured.
    """
    names = [] if cue is None else [base_measure(cue.measure)]
    facing = data.motion.view.facing
    sides = [s for s in (side, facing, "left", "right") if s in ("left", "right")]
    for name in [*names, data.movement.driver.signal]:
        for key in [name, *(f"{s}_{name}" for s in sides)]:
            signal = data.motion.signals.get(key)
            if signal is not None and signal.why_not is None:
                return signal
    return None


def judged_signal(data: ReviewData, cue: Cue | None) -> Signal | None:
    """Return the signal to draw over the whole clip: where sides take turns, each repetition shows the judged one.

    The joined signal has the name of the angle without a side, and gaps between the pieces.
    """
    base = signal_of(data, cue)
    if base is None or cue is None:
        return base
    pieces = {}
    for rep in data.repetitions:
        verdict = rep_verdict(data, cue.name, rep.number)
        if verdict is not None and verdict.value is not None and rep.start_s is not None:
            pieces[rep.number] = (rep, signal_of(data, cue, verdict.side) or base)
    if len({s.name for _, s in pieces.values()}) < 2:
        return next((s for _, s in pieces.values()), base)
    values, noise, shared = (np.full(len(base.times_s), np.nan) for _ in range(3))
    doubtful = np.zeros(len(base.times_s), bool)
    for rep, signal in pieces.values():
        end = rep.end_s if rep.end_s is not None else base.times_s[-1]
        inside = np.flatnonzero((base.times_s >= rep.start_s) & (base.times_s < end))[:-1]
        for whole, part in ((values, signal.values), (noise, signal.noise), (shared, signal.shared)):
            whole[inside] = part[inside]
        doubtful[inside] = signal.doubtful[inside]
    name = base.name.removeprefix(f"{signal_side(base)}_")
    return replace(base, name=name, values=values, noise=noise, shared=shared, doubtful=doubtful)


def signal_side(signal: Signal) -> str:
    """Return ``left``, ``right`` or ``both`` from the name of a signal."""
    return next((s for s in ("left", "right") if signal.name.startswith(f"{s}_")), "both")
