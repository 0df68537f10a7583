"""What corrections change on the desk, as JSON with the words that people read."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from cuebook.assess.words import is_rest, phase_words
from cuebook.model import ReviewData, Verdict
from cuebook.report.moment import phase_order
from cuebook.report.words import (
    OUTCOME_CELLS,
    OUTCOME_LONG,
    OUTCOME_MARKS,
    OUTCOME_WORDS,
    REST,
    cue_title,
    limit_words,
    prescribed_text,
    steady_words,
    with_uncertainty,
)


def live_values(data: ReviewData, kept: Mapping[str, Any]) -> dict[str, Any]:
    """Return the changing part of the desk for the browser.

    Parameters
    ----------
    data : ReviewData
        The review as corrected.
    kept : mapping
        The record's own JSON of the same review: repetitions with their ids, verdicts, notes, marks.
    """
    verdicts = [_worded(v, d) for v, d in zip(data.verdicts, kept["verdicts"], strict=True)]
    names = ("repetitions", "notes", "marks", "kept", "can_undo", "can_redo", "message")
    return {name: kept[name] for name in names} | {
        "verdicts": verdicts,
        "lines": _set_lines(data),
        "headline": kept["headline"],
    }


def _worded(verdict: Verdict, values: Mapping[str, Any]) -> dict[str, Any]:
    measured = ""
    if verdict.value is not None and verdict.uncertainty is not None:
        measured = with_uncertainty(verdict.value, verdict.uncertainty, verdict.unit)
    return {
        "repetition": verdict.repetition,
        "cue": verdict.cue,
        "side": verdict.side,
        "outcome": verdict.outcome,
        "mark": OUTCOME_MARKS[verdict.outcome],
        "short": OUTCOME_CELLS[verdict.outcome],
        "words": OUTCOME_LONG[verdict.outcome],
        "value": verdict.value,
        "uncertainty": verdict.uncertainty,
        "measured": measured,
        "chance_words": "" if verdict.chance is None else f"chance {100 * verdict.chance:.0f} %",
        "at_s": verdict.at_s,
        "method": verdict.method,
        "reason": verdict.reason,
        "refilm": verdict.refilm,
        "overruled": _by_eye(values["overruled"]),
    }


def _by_eye(overruled: Mapping[str, Any] | None) -> dict[str, Any] | None:
    """Return an outcome that a coach decided, with its words."""
    if overruled is None:
        return None
    outcome = overruled["outcome"]
    words = {"mark": OUTCOME_MARKS[outcome], "short": OUTCOME_CELLS[outcome], "words": OUTCOME_WORDS[outcome]}
    return {**overruled, **words}


def _set_lines(data: ReviewData) -> list[dict[str, str]]:
    """Return what is said of the set beyond the movement's own cues: number of repetitions, tempo, steadiness."""
    own = {c.name for c in data.movement.cues}
    lines = [
        {
            "mark": OUTCOME_MARKS[v.outcome],
            "title": cue_title(v.cue, data.movement) + ("" if v.side == "both" else f", {v.side}"),
            "words": OUTCOME_LONG[v.outcome],
            "value": "" if v.value is None else f"{v.value:.0f}, asked {limit_words(v.limit, v.unit)}",
        }
        for v in data.verdicts
        if v.repetition is None and v.cue not in own
    ]
    return lines + _tempo_lines(data)


def _tempo_lines(data: ReviewData) -> list[dict[str, str]]:
    tempo, words = data.tempo, phase_words(data.movement)
    lines = []
    for phase in phase_order(data.movement):
        word = words[phase]
        value, spread = (m.get(phase, m.get(f"{phase}_s")) for m in (tempo.median, tempo.median_u))
        outcome = tempo.outcomes.get(phase, tempo.outcomes.get(f"{phase}_s"))
        asked = prescribed_text(data.prescription, phase)
        measured = "not measured" if value is None else with_uncertainty(value, spread or 0.0, "s")
        rest = is_rest(data.movement, data.prescription, phase)
        lines.append({
            "mark": "" if outcome is None or rest else OUTCOME_MARKS[outcome],
            "title": word.capitalize(),
            "words": REST if rest else "" if outcome is None else OUTCOME_LONG[outcome],
            "value": f"{measured}, asked {asked}" if asked else measured,
        })  # fmt: skip
    if tempo.drift_outcome is not None:
        mark, said = OUTCOME_MARKS[tempo.drift_outcome], steady_words(data.movement, tempo.drift_outcome)
        lines.append({"mark": mark, "title": "Steadiness", "words": said, "value": ""})
    return lines
