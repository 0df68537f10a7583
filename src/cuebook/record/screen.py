"""What a screen shows of a desk, as plain values."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from cuebook.assess.mark_angle import is_from_straight, mark_angle
from cuebook.model import Mark, ReviewData
from cuebook.report.tables import review_json
from cuebook.report.words import angle_words

if TYPE_CHECKING:
    from .desk import Desk


def desk_form(desk: Desk) -> dict[str, Any]:
    """Return a desk as plain values: repetitions with their identity, verdicts with what was overruled, notes, marks.

    Parameters
    ----------
    desk : Desk
        The desk.
    """
    state, data = desk.state, desk.data
    review = review_json(data)
    spans = {k + 1: span for k, span in enumerate(state.spans)}
    return {
        "clip": {
            "sha256": data.clip.sha256,
            "file": data.clip.path.name,
            "duration_s": review["clip"]["duration_s"],
        },
        "movement": data.movement.name,
        "author": desk.author,
        "repetitions": [
            {**rep, "id": spans[rep["number"]].id, "origin": spans[rep["number"]].origin,
             "corrected": list(spans[rep["number"]].pinned)}
            for rep in review["repetitions"]
        ],
        "verdicts": [_verdict(v, data, spans) for v in review["verdicts"]],
        "tempo": review["tempo"],
        "counts": review["counts"],
        "headline": review["headline"],
        "warnings": review["warnings"],
        "notes": [asdict(n) for n in state.notes],
        "marks": [_mark(m, data) for m in state.marks],
        "kept": desk.kept,
        "can_undo": desk.can_undo,
        "can_redo": desk.can_redo,
        "undo_words": desk.undo_words,
        "redo_words": desk.redo_words,
        "message": desk.message,
    }  # fmt: skip


def _verdict(form: dict[str, Any], data: ReviewData, spans: dict[int, Any]) -> dict[str, Any]:
    number = form["repetition"]
    said = None
    if data.corrections is not None:
        said = data.corrections.overruled_at(form["cue"], number, form["side"])
    told = None if said is None else {"outcome": said.outcome, "reason": said.reason, "who": said.who, "at": said.at}
    return {**form, "repetition_id": None if number is None else spans[number].id, "overruled": told}


def _mark(mark: Mark, data: ReviewData) -> dict[str, Any]:
    form = asdict(mark)
    form["joints"], form["to"] = list(mark.joints), None if mark.to is None else list(mark.to)
    angle = mark_angle(data, mark)
    form["angle"] = None if angle is None else {
        "value": round(angle.value, 1),
        "uncertainty": None if angle.uncertainty is None else round(angle.uncertainty, 1),
        "words": angle_words(angle.value, angle.uncertainty),
        "method": angle.method,
    }  # fmt: skip
    form["from_straight"] = is_from_straight(mark)
    return form
