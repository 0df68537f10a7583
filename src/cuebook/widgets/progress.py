"""How far the first reading of a clip has come, in words, in the output of the notebook's cell."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from html import escape

SILENT_S = 0.5
"""What is over sooner than this says nothing."""
BETWEEN_S = 0.4
"""Words change no more often than this."""
FIRST_GUESS_S = 2.0
"""So long nothing is said of the time left, because the model is still warming up."""


def progress_words(name: str, share: float, gone_s: float) -> str:
    """Return what is said while a clip is read, such as ``Reading squat.mp4: 40 %, about 8 s left``.

    Parameters
    ----------
    name : str
        File name of the clip.
    share : float
        Share done, 0 to 1.
    gone_s : float
        Seconds since the reading began.
    """
    if share >= 1.0:
        return f"Reading {name}: 100 %, now the repetitions and cues."
    said = f"Reading {name}: {100 * max(0.0, share):.0f} %"
    if gone_s < FIRST_GUESS_S or share < 0.03:
        return f"{said}."
    left = gone_s * (1.0 - share) / share
    about = f"{left:.0f} s" if left < 90 else f"{left / 60:.0f} min"
    return f"{said}, about {about} left."


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
        self._last_s, self._last = float("-inf"), ""

    def __call__(self, share: float) -> None:
        """Hear how much is done, 0 to 1."""
        now = self._clock()
        gone = now - self._began
        if gone < SILENT_S or (share < 1.0 and now - self._last_s < BETWEEN_S):
            return
        words = progress_words(self._name, share, gone)
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
