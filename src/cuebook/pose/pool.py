"""A few worker processes that share the pieces of one clip."""

from __future__ import annotations

import logging
import os
import pickle
import subprocess
import sys
import tempfile
import threading
from collections.abc import Callable, Sequence
from pathlib import Path
from queue import Empty, Queue
from types import TracebackType
from typing import IO, Self

import cuebook
from cuebook.errors import PoseError

from .jobs import Job, Message
from .pieces import PieceResult

log = logging.getLogger(__name__)

_TRIES = 2
_TAIL_CHARACTERS = 400
_QUIET = {"GLOG_minloglevel": "3", "TF_CPP_MIN_LOG_LEVEL": "3", "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
_EVEN_MEMORY = {
    "MALLOC_ARENA_MAX": "1",
    "MALLOC_MMAP_THRESHOLD_": "4000000",
    "MALLOC_TRIM_THRESHOLD_": "64000000",
}
"""The C library otherwise raises these by itself and keeps what a finished piece's model held: every model starts
threads of its own, and each thread would get a heap that outlives it, about 20 MB a piece. Other systems ignore
them."""


class WorkerPool:
    """Worker processes that start at once and end with the ``with`` block.

    Parameters
    ----------
    workers : int
        Number of processes.
    """

    def __init__(self, workers: int) -> None:
        self._workers = [_Worker() for _ in range(workers)]
        self._threads: list[threading.Thread] = []
        self._ending = threading.Event()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._ending.set()
        for worker in self._workers:
            worker.stop()
        for thread in self._threads:
            thread.join()
        for worker in self._workers:
            worker.stop()

    def run(self, jobs: Sequence[Job], *, progress: Callable[[int], None] | None = None) -> list[PieceResult]:
        """Do all jobs and return their results in the order of the jobs.

        Parameters
        ----------
        jobs : sequence of Job
            Numbered from 0.
        progress : callable or None
            Called in this thread with the number of frames done so far.

        Raises
        ------
        PoseError
            If a job ends its worker twice, or the backend cannot be opened.
        ClipError
            If the clip can no longer be read.
        RuntimeError
            If a worker meets a defect; the message is its trace.
        """
        todo: Queue[Job] = Queue()
        for job in jobs:
            todo.put(job)
        messages: Queue[Message] = Queue()
        for worker in self._workers:
            thread = threading.Thread(target=_feed, args=(worker, todo, messages, self._ending), daemon=True)
            self._threads.append(thread)
            thread.start()
        results: dict[int, PieceResult] = {}
        done = [0] * len(jobs)
        while len(results) < len(jobs):
            message = messages.get()
            if message.error is not None:
                raise message.error
            if message.kind == "defect":
                raise RuntimeError(message.trace)
            done[message.number] = max(done[message.number], message.done)
            if message.result is not None:
                results[message.number] = message.result
                done[message.number] = len(message.result.xy)
            if progress is not None:
                progress(sum(done))
        return [results[job.number] for job in jobs]


def _feed(worker: _Worker, todo: Queue[Job], messages: Queue[Message], ending: threading.Event) -> None:
    """Give jobs to one worker until none is left; a worker that dies is replaced once per job."""
    while True:
        try:
            job = todo.get_nowait()
        except Empty:
            return
        for attempt in range(_TRIES):
            try:
                worker.do(job, messages.put)
                break
            except (EOFError, OSError, ValueError, pickle.UnpicklingError):
                if ending.is_set():
                    return
                tail = worker.last_words()
                log.warning("a pose worker ended unexpectedly (try %d): %s", attempt + 1, tail)
                worker.restart()
        else:
            error = PoseError(f"The pose worker process ended unexpectedly ({tail or 'no message'}): free some memory.")
            messages.put(Message(kind="refused", number=job.number, error=error))
            return


class _Worker:
    """One child process with its pipes; what it prints goes to a temporary file."""

    def __init__(self) -> None:
        self._errors: IO[bytes] = tempfile.TemporaryFile()
        self._process = self._started()

    def _started(self) -> subprocess.Popen[bytes]:
        here = str(Path(cuebook.__file__).parents[1])
        paths = [here, *filter(None, os.environ.get("PYTHONPATH", "").split(os.pathsep))]
        return subprocess.Popen(
            [sys.executable, "-m", "cuebook.pose.worker"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=self._errors,
            env={**_EVEN_MEMORY, **os.environ, **_QUIET, "PYTHONPATH": os.pathsep.join(paths)},
        )

    def do(self, job: Job, tell: Callable[[Message], None]) -> None:
        """Send a job and pass on what the worker says until the job is finished."""
        source, sink = self._process.stdout, self._process.stdin
        if source is None or sink is None:
            raise EOFError
        pickle.dump(job, sink, protocol=pickle.HIGHEST_PROTOCOL)
        sink.flush()
        while True:
            message = pickle.load(source)  # written by a process started here
            tell(message)
            if message.kind != "progress":
                return

    def last_words(self) -> str:
        """Return the end of what the process printed, on one line."""
        self._errors.seek(0)
        text = self._errors.read().decode("utf-8", "replace")
        return " ".join(text.split())[-_TAIL_CHARACTERS:]

    def restart(self) -> None:
        """Replace the process by a fresh one."""
        self.stop()
        self._errors = tempfile.TemporaryFile()
        self._process = self._started()

    def stop(self) -> None:
        """End the process and close its pipes."""
        self._process.kill()
        self._process.wait()
        for pipe in (self._process.stdin, self._process.stdout):
            if pipe is not None:
                try:
                    pipe.close()
                except OSError:
                    log.debug("the pipe to a pose worker was already broken")
        self._errors.close()
