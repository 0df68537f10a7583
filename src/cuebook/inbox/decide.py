"""The one rule that gives every file its state and the sentence that says why."""

from __future__ import annotations

from dataclasses import replace

from cuebook.likeness import Guess
from cuebook.likeness.recognise import learnt

from .entries import Entry, Finding, State
from .library import Library


def decide(entry: Entry, *, trouble: str, copy: str, conflict: str, library: Library) -> Entry:
    """Return the entry with its state and reason.

    The first that holds decides: a copy of a kept file; no clip; two people named for it; nobody named; nothing can be
    judged; another movement than asked; movement or person unknown; part cannot be judged; usable.

    Parameters
    ----------
    entry : Entry
        With everything that was found.
    trouble : str
        Why it cannot be opened, empty if it can.
    copy : str
        In which way it is a copy of `entry.kept`, empty if it is not.
    conflict : str
        Sentence that says which names contradict each other, empty if none do.
    library : Library
        For the titles of movements.
    """
    state, reason = _state(entry, trouble, copy, conflict, library)
    return replace(entry, state=state, reason=reason)


UNSEEN = "The athlete was not looked at yet"
"""How a reason begins where only file and pictures were looked at: it stands first, so that no row cuts it off."""


def is_wrong(entry: Entry) -> bool:
    """Tell whether a clip surely shows another movement of the library than the one it was sent for.

    A coach's own movement may look like one of the library, so it is never called wrong.
    """
    guess, asked = entry.guess, entry.movement
    if guess is None or not guess.sure or not asked or asked.by == "answer":
        return False
    return guess.movement != asked.value and asked.value in learnt().movements


def _state(entry: Entry, trouble: str, copy: str, conflict: str, library: Library) -> tuple[State, str]:
    if copy:
        return "duplicate", f"It is {entry.kept} again ({copy})."
    blocks = [f for f in entry.findings if f.weight == "blocks"]
    if trouble and not blocks:
        return "damaged", trouble
    if conflict:
        return "needs_answer", conflict
    if not entry.athlete:
        return "needs_answer", "Nobody is named for it: whose clip is it?"
    if blocks:
        return "refilm", blocks[0].sentence
    if is_wrong(entry) and entry.guess is not None:
        asked, seen = library.title(entry.movement.value), library.title(entry.guess.movement)
        return "wrong_movement", f"Asked was the {asked}; this looks like the {seen} ({entry.guess.chance:.0%})."
    if not entry.movement:
        return "needs_answer", f"No movement is named for it{looks_like(entry.guess, library)}."
    if asks := [f for f in entry.findings if f.weight == "asks"]:
        return "needs_answer", asks[0].sentence
    if part := [f for f in entry.findings if f.weight == "part"]:
        return "partly", f"{UNSEEN}. {_said(part)}" if entry.looked == "quick" else _said(part)
    if entry.looked == "quick":
        return "usable", f"{UNSEEN}; file and pictures speak for it."
    return "usable", "Nothing speaks against judging it."


def looks_like(guess: Guess | None, library: Library) -> str:
    """Return ``; it looks like the squat (97 %)``, or that it cannot be told, or nothing where nobody looked."""
    if guess is None:
        return ""
    if not guess.sure:
        return "; what it shows cannot be told for sure"
    return f"; it looks like the {library.title(guess.movement)} ({guess.chance:.0%})"


def _said(findings: list[Finding]) -> str:
    return " ".join(f.sentence for f in findings)
