"""The loop of a batch: hands out jobs, listens, gives a second try alone, and sets aside what cannot be done."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from .job import ClipJob, ClipResult
from .runner import Finished, Going, Lost, Message, Runner

LISTEN_S = 0.2
"""How long the loop waits for a word before it looks at the clock and the stop mark again."""

Tell = Callable[[str, str, float], None]
"""Called with the name of a clip, a stage and the share of it that is done."""


STOPPED_BY = ("SIGTERM", "SIGINT", "SIGHUP")
"""Signals by which a system or a notebook tells a process to end."""


@dataclass(slots=True)
class _Running:
    job: ClipJob
    since_s: float | None = None


class Drive:
    """Brings every clip to its end.

    A clip whose process dies is tried once more when all others are done, with nothing beside it: then the clip is to
    blame, not its neighbours or a want of memory. If its process dies again, it is set aside.

    Parameters
    ----------
    steps : iterator of ClipJob or ClipResult
        From `Preparation.steps`.
    runner : Runner
        Where the work is done.
    record : callable
        Called with every result, once per clip.
    tell : callable
        Called with every word from a running clip.
    timeout_s : float
        Longest time that one clip may take.
    """

    def __init__(
        self,
        steps: Iterator[ClipJob | ClipResult],
        runner: Runner,
        *,
        record: Callable[[ClipResult], None],
        tell: Tell,
        timeout_s: float,
    ) -> None:
        self._steps, self._runner = steps, runner
        self._record, self._tell, self._timeout_s = record, tell, timeout_s
        self._running: dict[int, _Running] = {}
        self._again: list[ClipJob] = []
        self._second: set[int] = set()
        self._no_more = False

    def step(self) -> bool:
        """Hand out what there is room for and take in what was said; return whether anything is left to do."""
        more = self._hand_out()
        if not (self._running or self._again) and self._no_more:
            return False
        for message in self._runner.messages(0.0 if more else LISTEN_S):
            self._take_in(message)
        self._end_overdue()
        return True

    def drain(self, wait_s: float) -> None:
        """Wait a while for running jobs to notice that the batch was stopped; results that still come are kept."""
        until_s = time.monotonic() + wait_s
        while self._running and time.monotonic() < until_s:
            for message in self._runner.messages(LISTEN_S):
                if isinstance(message, Lost):
                    self._running.pop(message.number, None)
                else:
                    self._take_in(message)

    def _hand_out(self) -> bool:
        """Start jobs while there is room; return early, and true, after a clip that needs no work."""
        while not self._no_more and len(self._running) < self._runner.slots:
            step = next(self._steps, None)
            if step is None:
                self._no_more = True
            elif isinstance(step, ClipResult):
                self._record(step)
                return True
            else:
                self._start(step)
        if self._no_more and self._again and not self._running:
            job = self._again.pop(0)
            self._second.add(job.number)
            self._start(job)
        return False

    def _start(self, job: ClipJob) -> None:
        self._running[job.number] = _Running(job)
        self._runner.start(job)

    def _take_in(self, message: Message) -> None:
        if isinstance(message, Finished):
            if self._running.pop(message.result.number, None) is not None:
                self._record(message.result)
            return
        running = self._running.get(message.number)
        if running is None:
            return
        if isinstance(message, Going):
            running.since_s = running.since_s or time.monotonic()
            self._tell(running.job.name, message.stage, message.share)
            return
        del self._running[message.number]
        if message.number in self._second and message.reason.endswith(STOPPED_BY):
            # told to end, with the machine or the notebook: the clip did nothing, and is done when somebody goes on
            self._record(ClipResult(number=message.number, state="not_done"))
        elif message.number in self._second:
            reason = f"Its process ended twice, the second time with nothing beside it: {message.reason}."
            self._record(ClipResult(number=message.number, state="set_aside", reason=reason))
        else:
            self._again.append(running.job)
            self._tell(running.job.name, "again", 0.0)

    def _end_overdue(self) -> None:
        now_s = time.monotonic()
        for number, running in list(self._running.items()):
            took_s = 0.0 if running.since_s is None else now_s - running.since_s
            if took_s > self._timeout_s:
                del self._running[number]
                self._runner.abandon(number)
                reason = f"It took longer than {self._timeout_s:g} s and was ended: cut the clip to one set."
                self._record(ClipResult(number=number, state="set_aside", reason=reason, took_s=took_s))
