"""A batch that runs beside a notebook: the cell returns at once, and it can be looked at and stopped."""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Any

from .job import Event
from .run import Scored, score_clips


class Scoring:
    """A batch that is going on; see `start_scoring`."""

    def __init__(self, source: str | Path, options: dict[str, Any]) -> None:
        self._stop = threading.Event()
        self._last: Event | None = None
        self._scored: Scored | None = None
        self._error: BaseException | None = None
        self._thread = threading.Thread(target=self._run, args=(source, options), name="batch", daemon=True)
        self._thread.start()

    @property
    def going(self) -> bool:
        """Whether it is still at work."""
        return self._thread.is_alive()

    @property
    def last(self) -> Event | None:
        """The last step; None before the first."""
        return self._last

    def stop(self) -> None:
        """Ask it to stop; what is done stays done, and the same call goes on from there."""
        self._stop.set()

    def result(self, timeout_s: float | None = None) -> Scored:
        """Wait until it has ended and return how.

        Parameters
        ----------
        timeout_s : float, optional
            How long to wait at most.

        Raises
        ------
        TimeoutError
            If it is still at work by then.
        CuebookError
            Whatever ended it.
        """
        self._thread.join(timeout_s)
        if self._thread.is_alive():
            raise TimeoutError("the batch is still at work")
        if self._error is not None:
            raise self._error
        if self._scored is None:
            raise RuntimeError("the batch ended without a result")
        return self._scored

    def __repr__(self) -> str:
        from .progress import line

        if self._scored is not None:
            return f"<{self._scored} Results in {self._scored.folder}>"
        if self._error is not None:
            return f"<Ended: {self._error}>"
        return "<Starting>" if self._last is None else f"<{line(self._last)}>"

    def _run(self, source: str | Path, options: dict[str, Any]) -> None:
        told, ended = options.pop("progress", None), options.pop("ended", None)

        def hear(event: Event) -> None:
            self._last = event
            if told is not None:
                told(event)

        try:
            self._scored = score_clips(source, progress=hear, stop=self._stop, **options)
        except BaseException as error:  # raised where the result is asked for
            self._error = error
        finally:
            if ended is not None:
                ended(self._scored, self._error)


def start_scoring(source: str | Path, **options: Any) -> Scoring:
    """Start a batch in the background of a notebook and return at once.

    Parameters
    ----------
    source : str or Path
        Folder or manifest.
    **options
        As for `score_clips`, without ``stop``; and ``ended``, called in the end with what `score_clips` returned, or
        None and the error.

    Returns
    -------
    Scoring
        With ``.last``, ``.stop()`` and ``.result()``.
    """
    return Scoring(source, options)
