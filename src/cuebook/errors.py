"""Errors raised by cuebook, and what each one means.

::

    CuebookError
      ClipError          the file cannot be used as a clip
      PoseError          a pose backend or its model is missing or broken
      ModelError         a value was refused by a type (also a ValueError)
      MovementError      a movement file is not valid (also a ValueError)
      TempoError         a tempo prescription cannot be read (also a ValueError)
      UnknownName        no movement, measure or backend of that name (also a LookupError)
      InboxError         a manifest or a table of answers cannot be used (also a ValueError)
      BatchError         the clips of a batch cannot be planned, or nobody is there to do the work
      OutputError        the review cannot be written where it was asked for
      RecordError        the record cannot be opened, read or written
      MissingExtra       an optional part is not installed (also an ImportError)

Every message is one sentence that says what is wrong, in which file, and what to do. Nobody in the picture,
several people, a cue that cannot be judged: those are values in a review, never errors.
"""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches


class CuebookError(Exception):
    """Root of all errors that cuebook raises on purpose."""


class ClipError(CuebookError):
    """The file cannot be used as a clip: unreadable, no picture, too short."""


class PoseError(CuebookError):
    """A pose backend or its model file is missing or broken."""


class ModelError(CuebookError, ValueError):
    """A shape, unit, order or range was refused by one of the types."""


class MovementError(CuebookError, ValueError):
    """A movement file has an unknown key, a missing part or a value out of range."""


class TempoError(CuebookError, ValueError):
    """A tempo prescription cannot be read."""


class InboxError(CuebookError, ValueError):
    """A manifest or a table of answers has a line that cannot be used."""


class BatchError(CuebookError):
    """A manifest cannot be used, or no worker of a batch can be reached."""


class OutputError(CuebookError):
    """The review cannot be written where it was asked for."""


class RecordError(CuebookError):
    """The record of a workspace cannot be opened, read or written."""


class MissingExtra(CuebookError, ImportError):
    """An optional part of cuebook is not installed."""

    def __init__(self, extra: str, purpose: str) -> None:
        super().__init__(f"{purpose} needs the extra '{extra}': install it with pip install 'cuebook[{extra}]'.")
        self.extra = extra


class UnknownName(CuebookError, LookupError):
    """No movement, measure, cue or backend has the given name."""

    def __init__(self, kind: str, name: str, known: Iterable[str]) -> None:
        names = sorted(known)
        near = get_close_matches(name, names, n=3)
        hint = f"did you mean {' or '.join(near)}?" if near else f"known: {', '.join(names)}."
        super().__init__(f"There is no {kind} called '{name}': {hint}")
        self.name = name
