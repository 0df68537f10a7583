"""The rows of the tables of a batch: one per clip, per repetition, and per repetition and cue."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Literal

from cuebook.assess.words import CUT_OFF
from cuebook.model import PHASES

from .job import ClipResult
from .plan import PlannedClip

Kind = Literal["text", "number", "whole", "flag"]
Row = dict[str, Any]

_WHO: dict[str, Kind] = {"clip": "text", "athlete": "text", "movement": "text"}
_TIMES: dict[str, Kind] = {f"{phase}_s": "number" for phase in PHASES}
_TIMES_U: dict[str, Kind] = {f"{phase}_u_s": "number" for phase in PHASES}

CLIP_COLUMNS: dict[str, Kind] = {
    "clip": "text",
    "state": "text",
    "reason": "text",
    "athlete": "text",
    "movement": "text",
    "side": "text",
    "tempo": "text",
    "repetitions": "whole",
    "mirrored": "text",
    "capture_rate": "number",
    "person": "text",
    "review": "text",
    "sha256": "text",
    "duration_s": "number",
    "frames": "whole",
    "view": "text",
    "off_axis_deg": "number",
    "found_fraction": "number",
    "side_proven": "flag",
    "counted": "whole",
    "counted_left": "whole",
    "counted_right": "whole",
    "incomplete": "whole",
    **{f"{phase}_median_s": "number" for phase in PHASES},
    **{f"{phase}_median_u_s": "number" for phase in PHASES},
    **{f"{phase}_outcome": "text" for phase in PHASES},
    "eccentric_drift": "number",
    "drift_outcome": "text",
    "praise": "text",
    "fix": "text",
    "next": "text",
    "warnings": "text",
    "cuebook_version": "text",
    "took_s": "number",
}
"""Columns of clips.csv and what is in them; columns of a manifest that are not known follow."""

REPETITION_COLUMNS: dict[str, Kind] = {
    **_WHO,
    "number": "whole",
    "side": "text",
    "start_s": "number",
    "turn_s": "number",
    "end_s": "number",
    "complete": "flag",
    "counted": "flag",
    "doubtful": "flag",
    "chance": "number",
    **_TIMES,
    **_TIMES_U,
}
"""Columns of repetitions.csv."""

CUE_COLUMNS: dict[str, Kind] = {
    **_WHO,
    "repetition": "whole",
    "cue": "text",
    "side": "text",
    "outcome": "text",
    "chance": "number",
    "value": "number",
    "uncertainty": "number",
    "unit": "text",
    "limit_low": "number",
    "limit_high": "number",
    "repetitions_met": "whole",
    "repetitions_judged": "whole",
    "reason": "text",
    "refilm": "text",
    "source_kind": "text",
}
"""Columns of cues.csv; an empty repetition speaks of the whole set."""


def clip_row(clip: PlannedClip, result: ClipResult, review: Mapping[str, Any] | None, *, folder: str | None) -> Row:
    """Return the row of a clip, with what its review says of the set.

    Parameters
    ----------
    clip : PlannedClip
        What was asked.
    result : ClipResult
        How it ended.
    review : mapping or None
        Content of its ``review.json``.
    folder : str or None
        Name of its review's folder.
    """
    row = _asked(clip) | {"state": result.state, "reason": result.reason, "took_s": round(result.took_s, 1)}
    if review is None:
        return row
    of_clip, tempo, counts = review["clip"], review["tempo"], review["counts"]
    row |= {"review": folder, "sha256": of_clip["sha256"], "cuebook_version": review["cuebook_version"]}
    row |= {"duration_s": of_clip["duration_s"], "frames": of_clip["frames"]}
    row |= {"capture_rate": of_clip["capture_rate_hz"], "mirrored": of_clip["mirrored"]}
    row |= {"view": review["view"]["name"], "off_axis_deg": review["view"]["off_axis_deg"]}
    row |= {name: review["person"][name] for name in ("found_fraction", "side_proven")}
    row |= {"counted": _together(counts), "counted_left": counts["left"], "counted_right": counts["right"]}
    row["incomplete"] = counts["incomplete"]
    for phase in PHASES:
        row[f"{phase}_median_s"] = tempo["median"][f"{phase}_s"]
        row[f"{phase}_median_u_s"] = tempo["median_u"][f"{phase}_s"]
        row[f"{phase}_outcome"] = tempo["outcomes"][f"{phase}_s"]
    row |= {"eccentric_drift": tempo["drift"]["eccentric_ratio"], "drift_outcome": tempo["drift"]["outcome"]}
    row |= {name: review["headline"][name] for name in ("praise", "fix", "next")}
    if not row["counted"]:
        row["reason"] = why_none(review, clip.movement.title)
    row["warnings"] = " ".join(review["warnings"]) or None
    return row


def why_none(review: Mapping[str, Any], title: str) -> str:
    """Return why a review may hold no whole repetition, and what to do.

    Parameters
    ----------
    review : mapping
        Content of its ``review.json``.
    title : str
        What people call the movement.
    """
    headline = review["headline"]
    if headline["fix"] == CUT_OFF:
        return f"{headline['fix']} {headline['next']}"
    return f"{headline['fix']} Check that the clip shows this movement: {title}."


def repetition_rows(clip: PlannedClip, review: Mapping[str, Any]) -> Iterator[Row]:
    """Yield a row per repetition of a review."""
    for rep in review["repetitions"]:
        row = _who(clip) | {name: rep.get(name) for name in REPETITION_COLUMNS if name in rep}
        row |= {f"{phase}_s": rep["phases"][f"{phase}_s"] for phase in PHASES}
        row |= {f"{phase}_u_s": rep["phases_u"][f"{phase}_s"] for phase in PHASES}
        yield row


def cue_rows(clip: PlannedClip, review: Mapping[str, Any]) -> Iterator[Row]:
    """Yield a row per verdict of a review: per repetition and cue, then per cue of the whole set."""
    for verdict in review["verdicts"]:
        row = _who(clip) | {name: verdict.get(name) for name in CUE_COLUMNS if name in verdict}
        row |= {f"limit_{end}": verdict["limit"][end] for end in ("low", "high")}
        row["source_kind"] = verdict["source"]["kind"]
        yield row


def _who(clip: PlannedClip) -> Row:
    return {"clip": clip.name, "athlete": clip.athlete or None, "movement": clip.movement.name}


def _asked(clip: PlannedClip) -> Row:
    return _who(clip) | {
        "side": clip.prescription.side,
        "tempo": clip.tempo or None,
        "repetitions": clip.prescription.repetitions,
        "mirrored": clip.settings.mirrored,
        "capture_rate": clip.capture_rate_hz,
        "person": None if clip.person is None else str(clip.person),
    }


def _together(counts: Mapping[str, Any]) -> int | None:
    told = [counts[side] for side in ("both", "left", "right") if counts[side] is not None]
    return sum(told) if told else None
