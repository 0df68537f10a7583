"""Showing how far a batch is: bars in a terminal, plain lines elsewhere."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, TextIO

from .job import Event

if TYPE_CHECKING:
    from rich.progress import Progress, TaskID

ENDED = {"scored": "scored", "could_not_be_used": "could not be used", "set_aside": "set aside"}
"""Stages that end a clip, in words."""

_GOING = {"started": "starting", "reading": "reading the pose", "writing": "writing the review"}

Show = Callable[[Event], None]


def duration(seconds: float) -> str:
    """Return a time in words that are exact enough for waiting."""
    if seconds < 90:
        return f"{max(1, round(seconds))} s"
    if seconds < 5400:
        return f"{round(seconds / 60)} min"
    return f"{seconds / 3600:.1f} h"


def line(event: Event) -> str:
    """Return one event as a line of text."""
    return f"[{event.done} of {event.total}] {words(event)}"


def words(event: Event) -> str:
    """Return one event in words, without how many clips have ended."""
    if event.stage == "stopping":
        return "stopping; what is done stays done"
    if event.stage == "again":
        return f"{event.clip}: its process ended, it is tried again at the end"
    left = "" if event.left_s is None or event.done >= event.total else f"; about {duration(event.left_s)} left"
    if event.stage in ENDED:
        reason = f": {event.reason.rstrip('.')}" if event.reason else ""
        return f"{event.clip}: {ENDED[event.stage]}{reason}{left}"
    return f"{event.clip}: {_GOING.get(event.stage, event.stage)} {event.share:.0%}{left}"


@contextmanager
def shown(stream: TextIO) -> Iterator[Show]:
    """Give a function that shows events: bars where the stream is a terminal, else a line per clip that ended.

    Parameters
    ----------
    stream : text stream
        Usually standard error.
    """
    if not stream.isatty():
        yield lambda event: _plain(event, stream)
        return
    from rich.console import Console
    from rich.markup import escape
    from rich.progress import BarColumn, Progress, TextColumn

    columns = (TextColumn("{task.description}"), BarColumn(), TextColumn("{task.fields[said]}"))
    with Progress(*columns, console=Console(file=stream), transient=True, refresh_per_second=5) as bars:
        yield _Bars(bars, escape)


def _plain(event: Event, stream: TextIO) -> None:
    if not event.earlier and (event.stage in ENDED or event.stage in ("stopping", "again")):
        stream.write(line(event) + "\n")
        stream.flush()


class _Bars:
    """A bar for the batch and one for every clip that is being reviewed."""

    def __init__(self, bars: Progress, escape: Callable[[str], str]) -> None:
        self._bars, self._escape = bars, escape
        self._whole = bars.add_task("clips", total=None, said="")
        self._clips: dict[str, TaskID] = {}

    def __call__(self, event: Event) -> None:
        left = "" if event.left_s is None else f", about {duration(event.left_s)} left"
        self._bars.update(
            self._whole, total=event.total, completed=event.done, said=f"{event.done} of {event.total}{left}"
        )
        if event.stage in ENDED or event.stage in ("stopping", "again"):
            self._end(event)
        elif event.clip in self._clips:
            said = _GOING.get(event.stage, event.stage)
            self._bars.update(self._clips[event.clip], completed=event.share, said=said)
        else:
            self._clips[event.clip] = self._bars.add_task(self._escape(event.clip), total=1.0, said="")

    def _end(self, event: Event) -> None:
        if (task := self._clips.pop(event.clip, None)) is not None:
            self._bars.remove_task(task)
        if event.stage != "scored" and not event.earlier:
            self._bars.console.print(self._escape(line(event)), highlight=False)
