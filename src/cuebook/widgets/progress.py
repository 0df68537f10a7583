"""How far the first reading of a clip has come, in words, in the output of the notebook's cell."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from html import escape

SILENT_S = 0.5
"""What is over sooner than this says nothing."""
BETWEEN_S = 0.4
"""Words change no more often than this."""
FIRST_GUESS_S = 4.0
"""So long after the first picture nothing is said of the time left."""
AGREED = 1.4
"""The time left is said once the last half and the last quarter of the time gone tell it alike up to this factor."""


def progress_words(name: str, share: float, left_s: float | None) -> str:
    """Return what is said while a clip is read, such as ``Reading squat.mp4: 40 %, about 8 s left``.

    Parameters
    ----------
    name : str
        File name of the clip.
    share : float
        Share done, 0 to 1.
    left_s : float or None
        Seconds left, None while that cannot be told.
    """
    if share >= 1.0:
        return f"Reading {name}: 100 %, now the repetitions and cues."
    said = f"Reading {name}: {100 * max(0.0, share):.0f} %"
    if left_s is None:
        return f"{said}."
    seconds = round(left_s) if left_s < 20 else 5 * round(left_s / 5)
    about = f"{seconds} s" if left_s < 90 else f"{left_s / 60:.0f} min"
    return f"{said}, about {about} left."


def time_left(heard: Sequence[tuple[float, float]]) -> float | None:
    """Return the seconds left by the pace of the latest half of the time, None while that cannot be told.

    Loading the model, and pieces of the clip that are told late, make the first shares come at another pace than the
    rest; the guess waits until the latest half and the latest quarter of the time agree.

    Parameters
    ----------
    heard : sequence of (float, float)
        Seconds and share done, 0 to 1, in order, from the first picture read.
    """
    (began, _), (now, share) = heard[0], heard[-1]
    gone = now - began
    if gone < FIRST_GUESS_S:
        return None
    half, quarter = (next(h for h in heard if h[0] >= now - part * gone) for part in (0.5, 0.25))
    if half == quarter or share <= quarter[1] or now <= quarter[0]:
        return None
    paces = [(share - before) / (now - then) for then, before in (half, quarter)]
    if max(paces) > AGREED * min(paces):
        return None
    return (1.0 - share) / paces[0]


class Teller:
    """Turns shares done into words, seldom enough to be read.

    Parameters
    ----------
    name : str
        File name of the clip.
    say : callable
        Gets a sentence, never the same one twice in a row.
    clock : callable
        Seconds; another one for tests.
    """

    def __init__(self, name: str, say: Callable[[str], None], *, clock: Callable[[], float] = time.monotonic) -> None:
        self._name, self._say, self._clock = name, say, clock
        self._began = clock()
        self._heard: list[tuple[float, float]] = []
        self._last_s, self._last = float("-inf"), ""

    def __call__(self, share: float) -> None:
        """Hear how much is done, 0 to 1."""
        now = self._clock()
        gone = now - self._began
        if share > 0.0:
            self._heard.append((now, share))
        if gone < SILENT_S or (share < 1.0 and now - self._last_s < BETWEEN_S):
            return
        words = progress_words(self._name, share, time_left(self._heard) if self._heard else None)
        if words != self._last:
            self._last_s, self._last = now, words
            self._say(words)


@contextmanager
def in_the_cell(name: str) -> Iterator[Callable[[float], None] | None]:
    """Give a function that shows in the output of the running cell how much of a clip is read; None outside notebooks.

    The words are taken away at the end, so that what the cell shows stands in their place.

    Parameters
    ----------
    name : str
        File name of the clip.
    """
    if not _in_a_notebook():
        yield None
        return
    from IPython.display import HTML, display

    shown = []

    def say(words: str) -> None:
        line = HTML(f"<p role='status' style='margin:4px 0;font-variant-numeric:tabular-nums'>{escape(words)}</p>")
        if shown:
            shown[0].update(line)
        else:
            shown.append(display(line, display_id=True))

    try:
        yield Teller(name, say)
    finally:
        for handle in shown:
            handle.update(HTML(""))


def _in_a_notebook() -> bool:
    """Return whether a cell of a notebook runs this; nothing is imported to find out."""
    shell = sys.modules.get("IPython")
    running = None if shell is None else shell.get_ipython()
    return running is not None and getattr(running, "kernel", None) is not None
