"""The full look at a clip: the athlete's pose, and what it says about quality and movement."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from .assign import Belongs
from .entries import Finding, Guess
from .library import Library
from .receive import Received


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """What the pose says.

    Attributes
    ----------
    findings : tuple of Finding
        Quality.
    guess : Guess or None
        Which movement it looks like.
    trouble : str
        Why the clip cannot be used after all, empty if it can.
    """

    findings: tuple[Finding, ...] = ()
    guess: Guess | None = None
    trouble: str = ""


def nothing_watched(one: Received, belongs: Belongs) -> Study | None:
    """Return None: the quick look leaves the pose out."""
    return None


@dataclass(frozen=True, slots=True, kw_only=True)
class Watch:
    """Callable that studies one clip."""

    library: Library
    tracks: Path

    def __call__(self, one: Received, belongs: Belongs) -> Study | None:
        """Return what the pose says."""
        return None
