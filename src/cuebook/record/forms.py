"""Notes, marks, spans, overruled outcomes and drafts as plain JSON values, there and back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from cuebook.model import DeskState, Draft, Mark, Note, Overruled, Picture, Span


def state_form(state: DeskState) -> dict[str, Any]:
    """Return a state as plain values."""
    return {name: [asdict(x) for x in getattr(state, name)] for name in ("spans", "overruled", "notes", "marks")}


def state_of(form: Mapping[str, Any]) -> DeskState:
    """Return the state that plain values stand for."""
    return DeskState(
        spans=tuple(span_of(x) for x in form["spans"]),
        overruled=tuple(Overruled(**x) for x in form["overruled"]),
        notes=tuple(Note(**x) for x in form["notes"]),
        marks=tuple(mark_of(x) for x in form["marks"]),
    )


def span_of(form: Mapping[str, Any]) -> Span:
    """Return the span that plain values stand for."""
    return Span(**{**form, "pinned": tuple(form["pinned"])})


def mark_of(form: Mapping[str, Any]) -> Mark:
    """Return the mark that plain values stand for."""
    to = form.get("to")
    return Mark(**{**form, "joints": tuple(form["joints"]), "to": None if to is None else (float(to[0]), float(to[1]))})


def draft_form(draft: Draft) -> dict[str, Any]:
    """Return what a draft says as plain values, without version, author and time."""
    return {name: value for name, value in asdict(draft).items() if name not in ("version", "who", "at")}


def draft_of(form: Mapping[str, Any], *, version: int, who: str, at: str) -> Draft:
    """Return the draft that plain values stand for."""
    picture = form.get("picture")
    return Draft(
        praise=form["praise"],
        fix=form["fix"],
        next=form["next"],
        picture=None if picture is None else Picture(**picture),
        version=version,
        who=who,
        at=at,
    )
