"""Corrections of an earlier reading of a clip, taken over to a new one that found other repetitions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

from cuebook.errors import CuebookError
from cuebook.model import DeskState, Span

from .edits import Occasion, applied
from .forms import state_form
from .log import Correction, EditLog

LEAST_OVERLAP = 0.5
"""A note stays with a repetition that covers this share of the time (house choice)."""


def carried(
    log: EditLog, body: Mapping[str, Any], fresh: DeskState, on: Occasion, *, keep_spans: bool = False
) -> dict[str, Any]:
    """Return the state that a new reading begins with, as plain values.

    Parameters
    ----------
    log : EditLog
        Edits of the earlier reading.
    body : mapping
        The earlier review, as it was kept.
    fresh : DeskState
        The new reading without any correction.
    on : Occasion
        Clip and movement.
    keep_spans : bool
        Whether the repetitions of `fresh` stay, even where the coach corrected those of the other reading.

    Returns
    -------
    dict
        The coach's repetitions where they were corrected, else the new ones; notes and marks always; what was said of
        a repetition stays with the one that lies in its place.
    """
    start = DeskState(spans=tuple(_span(r) for r in body["repetitions"]))
    state = start
    for edit in _chain(log):
        try:
            state = applied(state, edit.edit, replace(on, who=edit.who, at=edit.at))
        except CuebookError:
            continue
    spans = fresh.spans if keep_spans or state.spans == start.spans else tuple(_own(s) for s in state.spans)
    place = {s.id: _nearest(s, spans) for s in state.spans}
    overruled = tuple(
        replace(o, repetition=None if o.repetition is None else place.get(o.repetition))
        for o in state.overruled
        if o.repetition is None or place.get(o.repetition) is not None
    )
    notes = tuple(replace(n, repetition=place.get(n.repetition or "")) for n in state.notes)
    return state_form(DeskState(spans=spans, overruled=overruled, notes=notes, marks=state.marks))


def added_since(state: DeskState, later: Mapping[str, Any], log: EditLog) -> dict[str, Any]:
    """Return a state with the notes and marks of a later one that its own log has never seen, as plain values.

    Parameters
    ----------
    state : DeskState
        What is in force in a reading that was corrected itself.
    later : mapping
        From :func:`carried`, onto the repetitions of `state`.
    log : EditLog
        Edits of that reading: what was taken away there is not brought back.
    """
    seen = log.identities()
    form = state_form(state)
    return form | {
        name: sorted([*form[name], *(x for x in later[name] if x["id"] not in seen)],
                     key=lambda x: (x["at_s"] is not None, x["at_s"] or 0.0))
        for name in ("notes", "marks")
    }  # fmt: skip


def _chain(log: EditLog) -> list[Correction]:
    """Return the edits in force, oldest first."""
    out, at = [], log.head()
    while at is not None:
        out.append(log.get(at))
        at = out[-1].parent_id
    return out[::-1]


def _span(form: Mapping[str, Any]) -> Span:
    r = SimpleNamespace(**form)
    return Span(id=f"r{r.number}", origin="proposed", side=r.side, start_s=r.start_s, turn_s=r.turn_s, end_s=r.end_s)


def _own(span: Span) -> Span:
    """Return a span of the earlier reading as one that the coach gave: the new reading has none of that identity."""
    known = tuple(b for b in ("start", "turn", "end") if getattr(span, f"{b}_s") is not None)
    return replace(span, id=f"c{span.id}", origin="corrected" if span.origin == "proposed" else span.origin,
                   pinned=known)  # fmt: skip


def _nearest(span: Span, spans: tuple[Span, ...]) -> str | None:
    """Return the identity of the repetition that lies where another one lay, None where none does."""
    low, high = span.start_s or 0.0, span.end_s if span.end_s is not None else (span.turn_s or 0.0)
    shares = [(_overlap(low, high, s), s.id) for s in spans]
    best = max(shares, default=(0.0, None))
    return best[1] if best[0] >= LEAST_OVERLAP * max(high - low, 1e-6) else None


def _overlap(low: float, high: float, span: Span) -> float:
    end = span.end_s if span.end_s is not None else (span.turn_s or 0.0)
    return max(0.0, min(high, end) - max(low, span.start_s or 0.0))
