"""Messages that follow what was decided on the contact sheet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path

from cuebook.inbox.entries import REASONS, Entry, Finding, Inbox
from cuebook.inbox.library import Library
from cuebook.inbox.messages import messages_text, refilm_requests
from cuebook.inbox.write import MESSAGES, asked_before
from cuebook.whole import write_whole

from .triage import Decision

SILENT = ("duplicate", "damaged", "wrong_movement")
"""Decisions after which nothing is asked about a clip any more."""


def decided(inbox: Inbox, standing: Mapping[str, Decision]) -> Inbox:
    """Return an inbox in which the decisions stand in the place of what was proposed.

    Parameters
    ----------
    inbox : Inbox
        As it was sorted.
    standing : mapping of str to Decision
        By short hash of the clip.
    """
    return replace(inbox, entries=tuple(_decided(e, standing.get(e.clip)) for e in inbox.entries))


def write_messages(inbox: Inbox, folder: Path, *, library: Library, today: date) -> None:
    """Write the messages of an inbox anew.

    Parameters
    ----------
    inbox : Inbox
        From `decided`.
    folder : Path
        The sorted inbox.
    library : Library
        For titles and filming cards.
    today : date
        Nobody is asked to film again more than once a week.

    Raises
    ------
    OutputError
        If they cannot be written.
    """
    requests = refilm_requests(inbox.entries, before=asked_before(folder), today=today)
    write_whole(folder / MESSAGES, messages_text(inbox, requests=requests, library=library))


def _decided(entry: Entry, decision: Decision | None) -> Entry:
    if decision is None or entry.state == "duplicate":
        return entry
    findings = entry.findings
    if decision.reason:
        found = Finding(word=REASONS[decision.reason], reason=decision.reason, value=None, limit=None, unit="1",
                        weight="blocks", sentence=f"{decision.who} saw: {REASONS[decision.reason]}.")  # fmt: skip
        findings = (found,)
    questions = () if decision.state in SILENT else entry.questions
    return replace(entry, state=decision.state, findings=findings, questions=questions)
