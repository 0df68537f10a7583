"""What a coach changed, as data beside what was measured and in words for the page."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from cuebook.assess.corrected import overruled_words
from cuebook.model import Corrections, Overruled, ReviewData

from .words import OUTCOME_WORDS, cue_title


def corrections_form(data: ReviewData, corrections: Corrections) -> dict[str, Any]:
    """Return the key ``corrections`` of review.json: who changed what and when, and what was measured instead.

    Parameters
    ----------
    data : ReviewData
        The corrected review.
    corrections : Corrections
        What was changed in it.
    """
    numbers, state = corrections.numbers, corrections.state
    return {
        "changes": [asdict(c) for c in corrections.changes],
        "proposed_repetitions": [
            {"number": r.number, "side": r.side, "start_s": _time(r.start_s), "turn_s": _time(r.turn_s),
             "end_s": _time(r.end_s), "complete": bool(r.complete), "counted": bool(r.counted)}
            for r in corrections.proposed
        ],
        "identities": {identity: number for identity, number in numbers.items()},
        "overruled": [_overruled(data, corrections, o) for o in state.overruled],
        "notes": [{**asdict(n), "repetition": numbers.get(n.repetition or "")} for n in state.notes],
        "marks": [{**asdict(m), "joints": list(m.joints), "to": None if m.to is None else list(m.to)}
                  for m in state.marks],
    }  # fmt: skip


def _time(seconds: float | None) -> float | None:
    return None if seconds is None else round(float(seconds), 3)


def _overruled(data: ReviewData, corrections: Corrections, o: Overruled) -> dict[str, Any]:
    return {
        "cue": o.cue,
        "repetition": None if o.repetition is None else corrections.numbers.get(o.repetition),
        "side": o.side,
        "outcome": o.outcome,
        "measured": measured_beside(data, corrections, o),
        "reason": o.reason,
        "who": o.who,
        "at": o.at,
    }


def measured_beside(data: ReviewData, corrections: Corrections, o: Overruled) -> list[dict[str, Any]]:
    """Return what was measured where a coach sees it otherwise: outcome per side."""
    number = None if o.repetition is None else corrections.numbers.get(o.repetition, -1)
    return [
        {"side": v.side, "outcome": v.outcome}
        for v in data.verdicts
        if v.repetition == number and o.concerns(v.cue, v.side)
    ]


def correction_lines(data: ReviewData) -> list[str]:
    """Return what a reader of the page must know of the corrections, one sentence each; none without corrections."""
    made = data.corrections
    if made is None:
        return []
    lines = []
    moved = {r.number for r in made.proposed} != set(made.numbers.values()) or any(
        i != f"r{n}" for i, n in made.numbers.items()
    )
    if moved or data.repetitions != made.proposed:
        who = " and ".join(dict.fromkeys(c.who for c in made.changes))
        lines.append(f"The repetitions were corrected by {who}; all figures follow the corrected ones.")
    for o in made.state.overruled:
        measured = ", ".join(dict.fromkeys(OUTCOME_WORDS[m["outcome"]] for m in measured_beside(data, made, o)))
        place = overruled_words(made.numbers, o.repetition)
        if measured and (o.repetition is None or o.repetition in made.numbers):
            lines.append(
                f"{cue_title(o.cue)}, {place}: measured {measured}; {o.who} sees {OUTCOME_WORDS[o.outcome]} "
                f"({o.reason.rstrip('.')})."
            )
    return lines
