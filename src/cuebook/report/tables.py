"""The data files of a review: review.json, angles.csv, repetitions.csv."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Mapping
from math import isfinite
from typing import Any

import numpy as np

from cuebook.model import PHASES, Measurement, Repetition, ReviewData, Tempo, Verdict

from .choice import rep_verdict
from .corrected import corrections_form
from .words import measure_name

SCHEMA = 1
"""Version of the layout of review.json."""

_FLEXIONS = (f"{side}_{joint}_flexion" for joint in ("knee", "hip", "elbow", "shoulder") for side in ("left", "right"))

FIRST_SIGNALS: tuple[str, ...] = (*_FLEXIONS, "trunk_rotation")
"""Signals whose columns come first in angles.csv, measured or not."""

_PLACES = {"deg": 1, "s": 3, "1": 2, "ratio": 3}


def _round(value: float | None, places: int) -> float | None:
    """Return a rounded number, None for what is missing or not finite."""
    return None if value is None or not isfinite(value) else round(float(value), places) + 0.0


def review_json(data: ReviewData) -> dict[str, Any]:
    """Return the content of review.json: the fixed keys of the output contract, missing values as None."""
    view, clip = data.motion.view, data.clip
    corrections = {} if data.corrections is None else {"corrections": corrections_form(data, data.corrections)}
    return {
        "schema": SCHEMA,
        "cuebook_version": data.cuebook_version,
        "clip": _clip(data),
        "movement": data.movement.name,
        "settings": {
            "met_at": data.settings.met_at,
            "not_met_at": data.settings.not_met_at,
            "backend": data.settings.backend,
            "x_seconds": data.settings.x_seconds,
        },
        "view": {
            "name": view.name,
            "facing": view.facing,
            "off_axis_deg": _round(view.off_axis_deg, 1),
            "uncertainty_deg": _round(view.uncertainty_deg, 1),
        },
        "person": {
            "found_fraction": _round(data.motion.found_fraction, 3),
            "others_seen": data.track.others_seen,
            "side_proven": data.side_proven,
            "pointed_at": data.person,
        },
        "doubtful": [
            {"start_s": _round(d.start_s, 3), "end_s": _round(d.end_s, 3), "what": d.what, "reason": d.reason}
            for d in data.motion.doubts
        ],
        "repetitions": _repetitions(data),
        "measurements": [_measurement(number, m) for number, m in data.measurements],
        "verdicts": [_verdict(v) for v in data.verdicts],
        "tempo": _tempo(data),
        "counts": dict(data.counts),
        "headline": {"praise": data.headline.praise, "fix": data.headline.fix, "next": data.headline.next},
        "warnings": list(dict.fromkeys((*clip.warnings, *data.warnings))),
        **corrections,
    }


def _clip(data: ReviewData) -> dict[str, Any]:
    clip = data.clip
    return {
        "file": clip.path.name,
        "sha256": clip.sha256,
        "duration_s": _round(clip.duration_s, 3),
        "frames": len(clip.times_s),
        "width_px": clip.width_px,
        "height_px": clip.height_px,
        "rotation_deg": clip.rotation_deg,
        "nominal_rate_hz": _round(clip.nominal_rate_hz, 3),
        "variable_rate": bool(clip.variable_rate),
        "capture_rate_hz": _round(clip.capture_rate_hz, 3),
        "mirrored": data.settings.mirrored,
    }


def _by_phase(values: Mapping[str, Any], places: int | None = 3) -> dict[str, Any]:
    """Return values by phase under the keys of the contract, whether they came as ``eccentric`` or ``eccentric_s``."""
    found = {p: values.get(p, values.get(f"{p}_s")) for p in PHASES}
    return {f"{p}_s": v if places is None else _round(v, places) for p, v in found.items()}


def _repetitions(data: ReviewData) -> list[dict[str, Any]]:
    return [
        {
            "number": r.number,
            "side": r.side,
            "start_s": _round(r.start_s, 3),
            "turn_s": _round(r.turn_s, 3),
            "end_s": _round(r.end_s, 3),
            "complete": bool(r.complete),
            "counted": bool(r.counted),
            "phases": _by_phase(r.phases),
            "phases_u": _by_phase(r.phases_u),
            "chance": _round(r.chance, 3),
            "doubtful": bool(r.doubtful),
        }
        for r in data.repetitions
    ]


def _measurement(number: int, m: Measurement) -> dict[str, Any]:
    places = _PLACES[m.unit]
    return {
        "repetition": number,
        "measure": m.measure,
        "side": m.side,
        "value": _round(m.value, places),
        "uncertainty": _round(m.uncertainty, places),
        "unit": m.unit,
        "at_s": _round(m.at_s, 3),
        "method": m.method,
    }


def _verdict(v: Verdict) -> dict[str, Any]:
    places = _PLACES[v.unit]
    record = {
        "repetition": v.repetition,
        "cue": v.cue,
        "side": v.side,
        "outcome": v.outcome,
        "chance": _round(v.chance, 3),
        "value": _round(v.value, places),
        "uncertainty": _round(v.uncertainty, places),
        "unit": v.unit,
        "limit": {"low": v.limit.low, "high": v.limit.high},
        "reason": v.reason,
        "refilm": v.refilm,
        "source": {"kind": v.source.kind, "text": v.source.text},
    }
    if v.repetition is None:
        record |= {"repetitions_met": v.repetitions_met, "repetitions_judged": v.repetitions_judged}
    return record


def _tempo(data: ReviewData) -> dict[str, Any]:
    tempo, asked = data.tempo, data.prescription.tempo
    return {
        "prescribed": None if asked is None else _prescribed(asked),
        "median": _by_phase(tempo.median),
        "median_u": _by_phase(tempo.median_u),
        "outside": _by_phase(tempo.outside),
        "drift": {
            "eccentric_ratio": _round(tempo.drift_ratio, 3),
            "eccentric_ratio_u": _round(tempo.drift_ratio_u, 3),
            "outcome": tempo.drift_outcome,
        },
        "outcomes": _by_phase(tempo.outcomes, places=None),
        "reasons": {
            (k if k.endswith("_s") or k not in PHASES else f"{k}_s"): reason for k, reason in tempo.reasons.items()
        },
    }


def _prescribed(tempo: Tempo) -> dict[str, Any]:
    return {f"{p}_s": tempo.slot(p) for p in PHASES}


def json_text(data: ReviewData) -> str:
    """Return review.json as text; never a NaN, which other programs refuse."""
    return json.dumps(review_json(data), ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def signal_order(data: ReviewData) -> list[str]:
    """Return the names of the angle signals in the order of the columns of angles.csv."""
    others = sorted(n for n, s in data.motion.signals.items() if n not in FIRST_SIGNALS and s.unit == "deg")
    return [*FIRST_SIGNALS, *others]


def angle_columns(data: ReviewData) -> dict[str, np.ndarray]:
    """Return the columns of angles.csv, each of shape (F,); NaN where not measured."""
    times = data.motion.times_s
    blank = np.full(len(times), np.nan)
    columns = {"time_s": times}
    for name in signal_order(data):
        signal = data.motion.signals.get(name)
        written = None if signal is None else signal.written
        columns[f"{name}_deg"] = blank if signal is None else np.where(written, signal.values, np.nan)
        columns[f"{name}_u_deg"] = blank if signal is None else np.where(written, signal.sigma, np.nan)
    return columns


def angles_csv(data: ReviewData) -> str:
    """Return angles.csv as text: one row per analysed frame, an empty cell where nothing was measured."""
    columns = angle_columns(data)
    cells = []
    for name, values in columns.items():
        form = "%.4f" if name == "time_s" else "%.2f"
        cells.append(["" if v != v else form % v for v in values.tolist()])
    lines = [",".join(columns), *map(",".join, zip(*cells, strict=True))]
    return "\n".join(lines) + "\n"


_FIXED_COLUMNS = ("number", "side", "start_s", "turn_s", "end_s", "complete", "counted", *(f"{p}_s" for p in PHASES))


def repetition_columns(data: ReviewData) -> list[str]:
    """Return the columns of repetitions.csv, the same whether or not there are repetitions."""
    extra = [f"{name}{end}" for name in _measures(data) for end in ("", "_u", "_side")]
    outcomes = [f"{cue.name}_outcome" for cue in data.movement.cues]
    return list(dict.fromkeys([*_FIXED_COLUMNS, *extra, *outcomes]))


def _measures(data: ReviewData) -> list[str]:
    """Return the measures the cues ask for, then the others that were taken."""
    return list(dict.fromkeys([*map(measure_name, data.movement.cues), *(m.measure for _, m in data.measurements)]))


def repetition_rows(data: ReviewData) -> list[dict[str, Any]]:
    """Return the rows of repetitions.csv; every row has the same keys, missing values are None."""
    columns = repetition_columns(data)
    return [dict.fromkeys(columns) | _repetition_row(data, rep) for rep in data.repetitions]


def _repetition_row(data: ReviewData, rep: Repetition) -> dict[str, Any]:
    row: dict[str, Any] = {
        "number": rep.number,
        "side": rep.side,
        "start_s": _round(rep.start_s, 3),
        "turn_s": _round(rep.turn_s, 3),
        "end_s": _round(rep.end_s, 3),
        "complete": bool(rep.complete),
        "counted": bool(rep.counted),
    }
    for name in _measures(data):
        found = [m for number, m in data.measurements if number == rep.number and m.measure == name]
        if found:
            best = min(found, key=lambda m: m.uncertainty)
            places = _PLACES[best.unit]
            row[name] = _round(best.value, places)
            row |= {f"{name}_u": _round(best.uncertainty, places), f"{name}_side": best.side}
    row |= _by_phase(rep.phases)
    for cue in data.movement.cues:
        verdict = rep_verdict(data, cue.name, rep.number)
        row[f"{cue.name}_outcome"] = None if verdict is None else verdict.outcome
    return row


def repetitions_csv(data: ReviewData) -> str:
    """Return repetitions.csv as text: one row per repetition, an empty cell where nothing was measured."""
    text = io.StringIO()
    writer = csv.DictWriter(text, repetition_columns(data), lineterminator="\n")
    writer.writeheader()
    for row in repetition_rows(data):
        writer.writerow({k: str(v).lower() if isinstance(v, bool) else v for k, v in row.items()})
    return text.getvalue()
