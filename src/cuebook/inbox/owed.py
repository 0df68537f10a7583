"""Which clips were asked for and have not come."""

from __future__ import annotations

from collections.abc import Sequence

from .entries import Entry, Owed
from .manifest import Row
from .names import slug

JUDGED = ("usable", "partly")
WAITING = ("needs_answer", "refilm", "wrong_movement")


def owed_clips(rows: Sequence[Row], entries: Sequence[Entry]) -> tuple[Owed, ...]:
    """Compare what the manifest asks for with what came.

    Parameters
    ----------
    rows : sequence of Row
        Each line that names an athlete and a movement asks for one clip; with a file or without.
    entries : sequence of Entry
        All files, with their states.

    Returns
    -------
    tuple of Owed
        One per athlete and movement, in that order. Copies are not counted twice.
    """
    asked: dict[tuple[str, str], list[Row]] = {}
    for row in rows:
        if row.athlete and row.movement:
            asked.setdefault((slug(row.athlete), row.movement), []).append(row)
    out = []
    for (athlete, movement), lines in asked.items():
        came = [e for e in entries if slug(e.athlete.value) == athlete and e.movement.value == movement]
        dues = sorted(line.due for line in lines if line.due)
        out.append(
            Owed(
                athlete=lines[0].athlete,
                movement=movement,
                due=dues[0] if dues else "",
                asked=len(lines),
                arrived=sum(e.state in JUDGED for e in came),
                waiting=sum(e.state in WAITING for e in came),
            )
        )
    return tuple(sorted(out, key=lambda o: (o.athlete.casefold(), o.movement)))
