"""What the desk draws, as plain values and packed arrays: the part of a review that corrections do not change."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cuebook.assess.words import is_rest, phase_words
from cuebook.model import LANDMARKS, Cue, ReviewData, Signal
from cuebook.movements import CAUTION
from cuebook.report.angle_mark import angle_mark
from cuebook.report.choice import base_measure
from cuebook.report.moment import phase_order
from cuebook.report.overlay import near_side
from cuebook.report.skeleton import landmarks_at
from cuebook.report.words import (
    VIEW_WORDS,
    limit_words,
    measure_words,
    number,
    prescribed_text,
    source_words,
)

DRAWN: tuple[str, ...] = (
    "nose",
    *(f"{side}_{part}" for part in ("shoulder", "elbow", "wrist", "hip", "knee", "ankle", "heel", "foot_index")
      for side in ("left", "right")),
)  # fmt: skip
"""Landmarks that the browser gets."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Scene:
    """The fixed part of a desk.

    Attributes
    ----------
    facts : dict
        JSON values: the clip, the phases, the cues, the doubtful stretches.
    arrays : dict of str to ndarray
        Numbers per frame, little endian: ``times`` (F,) float64, ``body`` (F, N, 2) float32 in pixels of the playback
        copy, per signal ``value:NAME`` and ``sigma:NAME`` (F,) float32 and ``rays:NAME`` (F, 3, 2) float32, and
        ``state:NAME`` (F,) uint8: 0 not measured, 1 measured, 2 in doubt.
    """

    facts: dict[str, Any]
    arrays: dict[str, NDArray]


def make_scene(data: ReviewData, *, size_px: tuple[int, int]) -> Scene:
    """Return what the desk draws of a review.

    Parameters
    ----------
    data : ReviewData
        The judged clip.
    size_px : tuple of int
        Width and height of the playback copy.
    """
    times = data.clip.times_s
    marks = landmarks_at(data.track, times, size_px)
    near = near_side(data)
    arrays: dict[str, NDArray] = {
        "times": times.astype("<f8"),
        "body": marks[:, [LANDMARKS.index(n) for n in DRAWN]].astype("<f4"),
    }
    signals = {}
    for signal in _signals(data):
        mark = angle_mark(signal, marks, near=near, frame_px=size_px)
        on_clip = np.clip(np.searchsorted(signal.times_s, times - 1e-6), 0, len(signal.times_s) - 1)
        state = np.where(signal.doubtful, 2, np.where(signal.written, 1, 0))
        arrays[f"value:{signal.name}"] = np.where(signal.written, signal.values, np.nan)[on_clip].astype("<f4")
        arrays[f"sigma:{signal.name}"] = signal.sigma[on_clip].astype("<f4")
        arrays[f"state:{signal.name}"] = np.where(np.isfinite(signal.values), state, 0)[on_clip].astype("u1")
        arrays[f"rays:{signal.name}"] = mark.rays.astype("<f4")
        signals[signal.name] = {"words": measure_words(signal.name), "unit": signal.unit, "toward": list(mark.toward)}
    return Scene(facts=_facts(data, size_px, near, signals), arrays=arrays)


def _signals(data: ReviewData) -> list[Signal]:
    """Return the driver and every signal a cue is judged on, each side that was measured."""
    names = [data.movement.driver.signal, *(base_measure(c.measure) for c in data.movement.cues)]
    found = {}
    for name in names:
        for key in (name, f"left_{name}", f"right_{name}"):
            signal = data.motion.signals.get(key)
            if signal is not None and signal.why_not is None:
                found[key] = signal
    return list(found.values())


def _facts(data: ReviewData, size_px: tuple[int, int], near: str | None, signals: dict) -> dict[str, Any]:
    clip, movement = data.clip, data.movement
    words, order = phase_words(movement), phase_order(movement)
    alert = None
    if data.looks_like is not None:
        alert = next((w for w in data.warnings if w.startswith(f"The clip looks like the {data.looks_like}")), None)
    tempo = data.prescription.tempo
    return {
        "title": movement.title,
        "movement": movement.name,
        "file": clip.path.name,
        "width": size_px[0],
        "height": size_px[1],
        "frames": len(clip.times_s),
        "duration_s": clip.duration_s,
        "flipped": data.settings.mirrored == "yes",
        "facing": near,
        "view": VIEW_WORDS[data.motion.view.name],
        "side_proven": data.side_proven,
        "person": data.person,
        "sides": movement.sides,
        "phases": [
            {
                "name": p,
                "word": words[p],
                "asked": _asked(data, p),
                "slot": None if tempo is None else tempo.slot(p),
            }
            for p in order
        ],
        "tempo": None if tempo is None else str(tempo),
        "driver": movement.driver.signal,
        "landmarks": list(DRAWN),
        "signals": signals,
        "cues": [_cue(c, data) for c in sorted(movement.cues, key=lambda c: c.priority)],
        "doubts": [
            {"start_s": d.start_s, "end_s": d.end_s, "what": d.what, "reason": d.reason,
             "landmarks": [DRAWN.index(n) for n in d.landmarks if n in DRAWN]}
            for d in data.motion.doubts
        ],
        "alert": alert,
        "warnings": [w for w in dict.fromkeys((*clip.warnings, *data.warnings)) if w != alert],
        "cautions": [*movement.cautions, CAUTION],
    }  # fmt: skip


def _asked(data: ReviewData, phase: str) -> str:
    """Return what was asked of a phase; no time between repetitions is rest."""
    rest = is_rest(data.movement, data.prescription, phase)
    return "rest" if rest else prescribed_text(data.prescription, phase)


def _cue(cue: Cue, data: ReviewData) -> dict[str, Any]:
    name = base_measure(cue.measure)
    keys = [k for k in (name, f"left_{name}", f"right_{name}") if k in data.motion.signals]
    unit = data.motion.signals[keys[0]].unit if keys else _unit(cue, data)
    return {
        "name": cue.name,
        "title": cue.heading,
        "signal": name if keys else None,
        "what": measure_words(cue.measure, data.movement),
        "event": cue.event,
        "low": cue.limit.low,
        "high": cue.limit.high,
        "asked": limit_words(cue.limit, unit),
        "granted": number(cue.margin, unit) if cue.margin else "",
        "target": cue.target,
        "say": cue.say,
        "why": cue.why,
        "refilm": cue.refilm,
        "source": f"{source_words(cue.source)}: {cue.source.text}",
        "safety": cue.safety,
    }


def _unit(cue: Cue, data: ReviewData) -> str:
    return next((v.unit for v in data.verdicts if v.cue == cue.name), "deg")
