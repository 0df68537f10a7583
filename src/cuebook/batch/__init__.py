"""Many clips at once: the same review for one clip or ten thousand, on this machine or on several.

::

    folder or manifest -> planned clips -> jobs -> runner (pool | cluster) -> results -> tables
    plan, manifest        asked            job     drive                      ledger     collect, sheets

Only names, settings and small results travel between processes; frames never do. Every clip ends in exactly one state,
and a batch that was stopped goes on where it was.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .job import Event
    from .run import Scored, score_clips, start_scoring

__all__ = ["Event", "Scored", "score_clips", "start_scoring"]

_HOME = {"Event": "job", "Scored": "run", "score_clips": "run", "start_scoring": "background"}


def __getattr__(name: str) -> Any:
    """Load a name when it is first asked for."""
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(f".{_HOME[name]}", __name__), name)
