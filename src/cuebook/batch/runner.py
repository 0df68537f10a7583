"""What every way of running jobs has in common; see `pool` for this machine and `cluster` for several."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from .job import ClipJob, ClipResult


@dataclass(frozen=True, slots=True, kw_only=True)
class Going:
    """A job says how far it is; the first such message says that it has begun."""

    number: int
    stage: str
    share: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Finished:
    """A job came to an end and brought its result."""

    result: ClipResult


@dataclass(frozen=True, slots=True, kw_only=True)
class Lost:
    """The process that did a job ended before the job did, and why as far as is known."""

    number: int
    reason: str


Message = Going | Finished | Lost


class Runner(Protocol):
    """Somewhere to run jobs."""

    @property
    def slots(self) -> int:
        """How many jobs can run side by side now."""

    def start(self, job: ClipJob) -> None:
        """Take a job; only as many as there are slots are handed over at a time."""

    def messages(self, wait_s: float) -> list[Message]:
        """Return what was said since the last call, after waiting a while for the first word.

        Raises `BatchError` if nobody is left who could do the work.
        """

    def abandon(self, number: int) -> None:
        """End a job whose time is over; no message about it follows."""

    def close(self) -> None:
        """End all jobs and free what the runner holds."""
