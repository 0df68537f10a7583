"""Scoring the clips of a contact sheet in the background, by the batch's own job."""

from __future__ import annotations

import csv
from collections.abc import Callable, Collection, Mapping, Sequence
from pathlib import Path
from typing import Any

from cuebook.batch.background import Scoring, start_scoring
from cuebook.batch.job import Event
from cuebook.batch.run import Scored
from cuebook.errors import InboxError
from cuebook.inbox.entries import Entry
from cuebook.whole import whole_file

MANIFEST = "to-score.csv"
SCORES = "scores"
_COLUMNS = (
    *("clip", "received_as", "movement", "athlete", "side", "tempo", "repetitions", "mirrored", "capture_rate"),
    "person",
)
READY = ("usable", "partly")


def to_score(entries: Sequence[Entry], states: Mapping[str, str], *, clips: Path) -> list[dict[str, str]]:
    """Return the clips that can be scored: usable at least in part, with a movement that is known.

    Parameters
    ----------
    entries : sequence of Entry
        All files.
    states : mapping of str to str
        The state that stands for each clip, by short hash.
    clips : Path
        The inbox, which holds the files as they were received.
    """
    return [
        {
            "clip": str((clips / e.file).resolve()),
            "received_as": e.file,
            "movement": e.movement.value,
            "athlete": e.athlete.value,
            "side": e.side.value,
            "mirrored": e.mirrored.value,
            "capture_rate": e.capture_rate.value,
            "person": e.person.value,
        }
        for e in entries
        if e.facts is not None and e.movement and e.state != "duplicate" and states.get(e.clip, e.state) in READY
    ]


def unseen_words(entries: Sequence[Entry], rows: Sequence[Mapping[str, str]], *, scored: Collection[str] = ()) -> str:
    """Return a sentence on the clips that are scored though nobody looked at the athlete yet, empty without one.

    Parameters
    ----------
    entries : sequence of Entry
        All files.
    rows : sequence of mapping
        From `to_score`.
    scored : collection of str
        Files that an earlier batch scored: their athletes were looked at.
    """
    wanted = {row["received_as"] for row in rows} - set(scored)
    number = sum(e.looked == "quick" and e.file in wanted for e in entries)
    if not number:
        return ""
    were = "was" if number == 1 else "were"
    return (
        f"{number} of {len(wanted)} clips {were} not looked at yet: whether a second person or another movement is in "
        "them shows only as they are scored. Press C on a clip with two people."
    )


def start(
    rows: Sequence[Mapping[str, str]],
    folder: Path,
    *,
    heard: Callable[[Event], None],
    ended: Callable[[Scored | None, BaseException | None], None],
    **options: Any,
) -> Scoring:
    """Write the list of clips and begin to score them; the same call goes on where an earlier one stopped.

    Parameters
    ----------
    rows : sequence of mapping
        From `to_score`.
    folder : Path
        The sorted inbox; results go into ``scores`` in it.
    heard : callable
        Called with every step, from another thread.
    ended : callable
        Called in the end with what came of it, or None and the error.
    **options
        For `cuebook.batch.start_scoring`, such as ``tempo``, ``workers`` or ``video``.

    Raises
    ------
    InboxError
        If there is nothing to score.
    """
    if not rows:
        raise InboxError("No clip can be scored yet: decide that a clip is usable, and say which movement it shows.")
    folder.mkdir(parents=True, exist_ok=True)
    with whole_file(folder / MANIFEST) as passing, passing.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, _COLUMNS, restval="")
        writer.writeheader()
        writer.writerows(rows)
    return start_scoring(folder / MANIFEST, out=folder / SCORES, progress=heard, ended=ended, **options)
