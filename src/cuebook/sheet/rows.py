"""What the contact sheet says of each clip."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from html import escape
from typing import Any

from cuebook.inbox.entries import REASONS, STATES, Entry, Inbox
from cuebook.movements import load_movement

from .triage import Decision
from .urgency import urgency_of


def sheet_rows(inbox: Inbox, *, today: date) -> list[dict[str, Any]]:
    """Return one row per received clip as plain values, the most urgent first.

    Parameters
    ----------
    inbox : Inbox
        From `cuebook.inbox.sort.sort_inbox`.
    today : date
        From which waiting is counted.

    Returns
    -------
    list of dict
        Files that are no clips at all are left out; they stand in the inbox's own table with their reason.
    """
    shown = [e for e in inbox.entries if e.facts is not None]
    ordered = sorted(shown, key=lambda e: (urgency_of(e, today=today), e.athlete.value, e.captured.value, e.file))
    return [_row(e, place, today) for place, e in enumerate(_unique(ordered))]


def _unique(entries: Sequence[Entry]) -> list[Entry]:
    """Leave out copies with the same bytes as a clip that is shown: they are the same clip."""
    seen: set[str] = set()
    out = []
    for entry in sorted(entries, key=lambda e: e.state == "duplicate"):
        if entry.clip not in seen:
            seen.add(entry.clip)
            out.append(entry)
    return [e for e in entries if any(e is kept for kept in out)]


def _row(entry: Entry, place: int, today: date) -> dict[str, Any]:
    title = load_movement(entry.movement.value).title if entry.movement.by and _known(entry) else entry.movement.value
    words = [f.word for f in entry.findings]
    if not entry.movement and entry.guess is not None:
        looks = entry.guess.movement if entry.guess.sure else "not sure"
        words.insert(0, f"looks like: {looks}")
    return {
        "clip": entry.clip,
        "place": place,
        "file": entry.file,
        "athlete": entry.athlete.value,
        "movement": title,
        "side": entry.side.value,
        "captured": entry.captured.value[:10],
        "duration_s": entry.facts.duration_s if entry.facts else 0.0,
        "quality": words,
        "proposed": entry.state,
        "why": entry.reason,
        "unseen": entry.looked == "quick",
        "refilm": list(entry.refilm),
        "urgency": urgency_of(entry, today=today).words,
        "rank": urgency_of(entry, today=today).rank,
        "message": entry.message,
        "questions": [q.message for q in entry.questions],
        "asks": [q.asks for q in entry.questions],
        "person": entry.person.value,
    }


def _known(entry: Entry) -> bool:
    from cuebook.movements import list_movements

    return entry.movement.value in list_movements()


def desk_heading(entry: Entry, decision: Decision | None) -> str:
    """Return what stands above the desk: whose clip it is, what was decided about it, and the athlete's own words.

    Parameters
    ----------
    entry : Entry
        The received clip.
    decision : Decision or None
        The one that stands.
    """
    who = f"<b>{escape(entry.athlete.value or 'Nobody named yet')}</b>, {escape(entry.file)}"
    if decision is None:
        why = "By file and pictures alone." if entry.looked == "quick" else entry.reason
        decided = f"Not decided yet; proposed: {STATES[entry.state]}. {why}"
    else:
        why = f" ({REASONS[decision.reason]})" if decision.reason else ""
        decided = f"Decided: {STATES[decision.state]}{why}, by {decision.who}."
    words = f"<br>The athlete wrote: “{escape(entry.message)}”" if entry.message else ""
    return f'<div style="line-height:1.4;margin:10px 0 4px">{who}<br>{escape(decided)}{words}</div>'
