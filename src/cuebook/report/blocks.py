"""What the feedback page says, as plain values: outcomes, tempo, what is missing, filming cards."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from cuebook.assess.words import advice, phase_words, spoken_phases
from cuebook.model import Cue, Repetition, ReviewData, Verdict

from .choice import better_seen, rep_verdict, set_outcome, set_verdicts
from .moment import phase_order
from .plan import plan_svg
from .words import (
    OUTCOME_CELLS,
    OUTCOME_LONG,
    OUTCOME_MARKS,
    VIEW_WORDS,
    cue_title,
    limit_words,
    measure_words,
    phase_outcome,
    prescribed_text,
    rest_note,
    seconds_text,
    source_words,
    steady_words,
    with_uncertainty,
)


def _by_priority(data: ReviewData) -> list[Cue]:
    return sorted(data.movement.cues, key=lambda c: c.priority)


def cue_blocks(data: ReviewData) -> list[dict[str, Any]]:
    """Return what is said of each cue that was measured, one block per side, by priority."""
    blocks = []
    for cue in _by_priority(data):
        found = [v for v in set_verdicts(data, cue.name) if v.value is not None] or _best_repetition(data, cue)
        named = data.movement.sides != "both" or len(found) > 1
        blocks += [_cue_block(data, cue, v, named=named) for v in found]
    known = {c.name for c in data.movement.cues}
    others = [v for v in data.verdicts if v.repetition is None and v.cue not in known and v.value is not None]
    return blocks + [_block(v, title=cue_title(v.cue), say="", what="", named=True) for v in others]


def _best_repetition(data: ReviewData, cue: Cue) -> list[Verdict]:
    """Return the best-seen verdict of each working side of a cue that the set as a whole has no value for."""
    found = []
    for side in ("left", "right", "both"):
        of_side = {r.number for r in data.repetitions if r.side == side}
        seen = [v for v in data.verdicts if v.cue == cue.name and v.repetition in of_side and v.value is not None]
        best = better_seen(seen)
        found += [] if best is None else [best]
    return found


def _cue_block(data: ReviewData, cue: Cue, verdict: Verdict, *, named: bool) -> dict[str, Any]:
    say = cue.praise if verdict.outcome == "met" else advice(cue, verdict)
    if data.looks_like is not None:
        say = ""
    what = measure_words(cue.measure, data.movement)
    return _block(verdict, title=cue.heading, say=say, what=what, named=named)


def _count_words(verdict: Verdict) -> str:
    """Say in how many repetitions a cue was met, or that none could be told."""
    met, judged = verdict.repetitions_met, verdict.repetitions_judged
    if verdict.outcome == "near" and not met:
        return f"too close to call over {judged} reps"
    return f"met in {met} of {judged} reps"


def _block(verdict: Verdict, *, title: str, say: str, what: str, named: bool) -> dict[str, Any]:
    """Return one outcome as a block of the page; `what` is the name of the measured quantity."""
    measured = with_uncertainty(verdict.value or 0.0, verdict.uncertainty or 0.0, verdict.unit)
    side = f", {verdict.side}" if named and verdict.side != "both" else ""
    count = None
    if verdict.repetitions_judged:
        count = _count_words(verdict)
    elif verdict.repetition is not None:
        count = f"rep {verdict.repetition} only"
    return {
        "title": title + side,
        "mark": OUTCOME_MARKS[verdict.outcome],
        "outcome": OUTCOME_LONG[verdict.outcome],
        "say": say,
        "measured": f"{what} {measured}".strip(),
        "asked": limit_words(verdict.limit, verdict.unit),
        "count": count,
        "source": source_words(verdict.source),
        "source_text": verdict.source.text,
    }


def phase_table(data: ReviewData) -> dict[str, Any] | None:
    """Return the phases of every repetition against the prescription, None without repetitions."""
    if not data.repetitions:
        return None
    order = phase_order(data.movement)
    tempo, sided = data.tempo, data.movement.sides != "both"
    median = [_phase_of(tempo.median, tempo.median_u, p) for p in order]
    outcomes = {p: tempo.outcomes.get(p, tempo.outcomes.get(f"{p}_s")) for p in order}
    asked = data.prescription.tempo is not None
    return {
        "words": [phase_words(data.movement)[p] for p in order],
        "sided": sided,
        "asked": [prescribed_text(data.prescription, p) for p in order] if asked else None,
        "rows": [_phase_row(r, order) for r in data.repetitions],
        "median": median,
        "outcomes": [phase_outcome(data.movement, data.prescription, p, outcomes[p]) for p in order]
        if asked and any(outcomes.values())
        else None,
        "rest": rest_note(data.movement, data.prescription),
        "drift": _drift(data),
        "reasons": [f"{spoken_phases(data.movement)[p]}: {r}" for p in order if (r := _reason(data, p))],
    }


def _reason(data: ReviewData, phase: str) -> str | None:
    return data.tempo.reasons.get(phase, data.tempo.reasons.get(f"{phase}_s"))


def _phase_of(values: Any, spreads: Any, phase: str) -> tuple[str, str]:
    value, spread = (m.get(phase, m.get(f"{phase}_s")) for m in (values, spreads))
    return seconds_text(value, spread)


def _phase_row(rep: Repetition, order: Sequence[str]) -> dict[str, Any]:
    note = "" if rep.counted else "not counted" if rep.complete else "not complete"
    cells = [seconds_text(rep.phases[p], rep.phases_u[p]) for p in order]
    return {"number": rep.number, "side": rep.side, "note": note, "cells": cells}


def _drift(data: ReviewData) -> str | None:
    tempo = data.tempo
    if tempo.drift_ratio is None:
        return None
    word = spoken_phases(data.movement)["eccentric"]
    spread = 100 * (tempo.drift_ratio_u or 0.0)
    told = "" if tempo.drift_outcome is None else f" {steady_words(data.movement, tempo.drift_outcome)}"
    return (
        f"At the end of the set the {word} took {100 * tempo.drift_ratio:.0f} ± {max(1.0, spread):.0f} % of the time "
        f"it took at the beginning.{told}"
    )


def outcome_table(data: ReviewData) -> dict[str, Any] | None:
    """Return every measured cue of every repetition, None where nothing was measured."""
    measured = {v.cue for v in data.verdicts if v.repetition is not None and v.value is not None}
    cues = [c for c in _by_priority(data) if c.name in measured]
    if not cues:
        return None
    rows = [
        {"number": r.number, "cells": [_cell(rep_verdict(data, c.name, r.number)) for c in cues]}
        for r in data.repetitions
    ]
    return {"titles": [c.heading for c in cues], "rows": rows}


def _cell(verdict: Verdict | None) -> dict[str, str]:
    if verdict is None:
        return {"mark": "", "word": "–", "value": ""}
    value = ""
    if verdict.value is not None and verdict.uncertainty is not None:
        value = with_uncertainty(verdict.value, verdict.uncertainty, verdict.unit)
    return {"mark": OUTCOME_MARKS[verdict.outcome], "word": OUTCOME_CELLS[verdict.outcome], "value": value}


def missing_blocks(data: ReviewData) -> list[dict[str, str]]:
    """Return what could not be measured over the set, why, and how to film it; cues with the same answer share a block.

    A cue that could be read in a repetition and not over the set stands here too. One side of it is named where the
    other could be measured.
    """
    found: dict[tuple[str, str], list[str]] = {}
    for name in _missing_order(data):
        mine = [v for v in data.verdicts if v.cue == name]
        whole = [v for v in mine if v.repetition is None] or mine
        lost = [v for v in whole if v.outcome == "not_measurable"]
        for verdict in lost:
            one_of_two = len(lost) < len(whole) and verdict.side != "both"
            title = cue_title(name, data.movement) + (f", {verdict.side}" if one_of_two else "")
            titles = found.setdefault((verdict.reason or "", verdict.refilm or ""), [])
            if title not in titles:
                titles.append(title)
    return [{"title": "; ".join(t), "reason": reason, "refilm": refilm} for (reason, refilm), t in found.items()]


def _missing_order(data: ReviewData) -> list[str]:
    """Return the names of all judged cues, those of the movement first by priority."""
    return list(dict.fromkeys([*(c.name for c in _by_priority(data)), *(v.cue for v in data.verdicts)]))


_ORIENTATIONS = {"either": "upright or on its side", "portrait": "upright", "landscape": "on its side"}


def filming_cards(data: ReviewData) -> list[dict[str, str]]:
    """Return the movement's filming cards, the views that a missing cue needs first."""
    lost = {c.name for c in data.movement.cues if set_outcome(data, c.name) == "not_measurable"}
    needed = {v for c in data.movement.cues if c.name in lost for v in c.views}
    cards = sorted(data.movement.filming, key=lambda c: c.view not in needed)
    lying = data.movement.family != "standing"
    return [
        {
            "view": VIEW_WORDS.get(c.view, c.view),
            "place": c.place,
            "height": c.height,
            "distance": c.distance,
            "orientation": _ORIENTATIONS.get(c.orientation, c.orientation),
            "check": c.check,
            "plan": plan_svg(c.view, lying=lying),
        }
        for c in cards
    ]
