"""Jobs on this machine: a few processes with one compute thread each.

Plain child processes are used rather than a pool of the standard library: the death of one then costs its own clip and
nothing else, a clip that hangs can be ended, what native code prints stays out of the terminal and is there as a
reason, and a script without a main guard can start a batch.
"""

from __future__ import annotations

import logging
import os
import pickle
import signal
import subprocess
import sys
import tempfile
import threading
from pathlib import Path
from queue import Empty, Queue
from typing import IO

import cuebook

from .job import ClipJob, ClipResult, Work, score_clip
from .runner import Finished, Going, Lost, Message

log = logging.getLogger(__name__)

CLIPS_PER_PROCESS = 40
"""After so many clips a process is replaced, so that memory that a native library loses does not add up."""

_ONE_THREAD = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS")
_QUIET = {"GLOG_minloglevel": "3", "TF_CPP_MIN_LOG_LEVEL": "3"}
_TAIL_CHARACTERS = 200


class Pool:
    """Runs jobs in processes of this machine; meets `Runner`.

    Parameters
    ----------
    workers : int
        Number of processes; each is started when there is a clip for it.
    work : callable
        What to do with a job; must be importable by name.
    """

    def __init__(self, workers: int, *, work: Work = score_clip) -> None:
        self._todo: Queue[ClipJob | None] = Queue()
        self._said: Queue[Message] = Queue()
        self._seats = [_Seat(self._todo, self._said, work) for _ in range(workers)]

    @property
    def slots(self) -> int:
        """Number of processes."""
        return len(self._seats)

    @property
    def process_ids(self) -> dict[int, int]:
        """Process id by the number of the job it is doing."""
        return {s.number: s.process_id for s in self._seats if s.number is not None and s.process_id is not None}

    def start(self, job: ClipJob) -> None:
        """Give a job to the next process that is free."""
        self._todo.put(job)

    def messages(self, wait_s: float) -> list[Message]:
        """Return what the processes said."""
        try:
            said = [self._said.get(timeout=wait_s)]
        except Empty:
            return []
        while not self._said.empty():
            said.append(self._said.get())
        return said

    def abandon(self, number: int) -> None:
        """End the process that does a job; the next job gets a fresh one."""
        for seat in self._seats:
            seat.abandon(number)

    def close(self) -> None:
        """End all processes."""
        while not self._todo.empty():
            self._todo.get()
        for seat in self._seats:
            self._todo.put(None)
            seat.close()
        for seat in self._seats:
            seat.join()


class _Seat:
    """One thread that feeds one process at a time."""

    def __init__(self, todo: Queue[ClipJob | None], said: Queue[Message], work: Work) -> None:
        self._todo, self._said, self._work = todo, said, work
        self._process: subprocess.Popen[bytes] | None = None
        self._errors: IO[bytes] | None = None
        self._done = 0
        self._given_up: int | None = None
        self._closing = False
        self._lock = threading.Lock()
        self.number: int | None = None
        self._thread = threading.Thread(target=self._serve, name="batch worker", daemon=True)
        self._thread.start()

    @property
    def process_id(self) -> int | None:
        """Id of the process, if one is there."""
        process = self._process
        return None if process is None else process.pid

    def abandon(self, number: int) -> None:
        """End the process if it does this job, which is given up: nothing is said of it."""
        with self._lock:
            if self.number == number and self._process is not None:
                self._given_up = number
                self._process.kill()

    def close(self) -> None:
        """End the process and start no other."""
        with self._lock:
            self._closing = True
            if self._process is not None:
                self._process.kill()

    def join(self) -> None:
        """Wait for the thread, which ends its process."""
        self._thread.join()

    def _serve(self) -> None:
        while (job := self._todo.get()) is not None:
            with self._lock:
                self.number = job.number
            try:
                said: Message | None = Finished(result=self._do(job))
            except (EOFError, OSError, ValueError, pickle.UnpicklingError, AttributeError, ImportError) as cause:
                said = self._lost(job, cause)
            with self._lock:
                self.number = None
            if said is not None:
                self._said.put(said)
        self._end()

    def _lost(self, job: ClipJob, cause: Exception) -> Lost | None:
        """Clear up after a process that ended; nothing is said of a job that was given up."""
        reason = self._last_words(cause)
        self._end()
        if self._closing or self._given_up == job.number:
            return None
        log.info("%s: %s", job.name, reason)
        return Lost(number=job.number, reason=reason)

    def _do(self, job: ClipJob) -> ClipResult:
        """Send a job, pass on what is said of it, and return its result."""
        process = self._running()
        if process.stdin is None or process.stdout is None:
            raise EOFError
        pickle.dump((self._work, job), process.stdin, protocol=pickle.HIGHEST_PROTOCOL)
        process.stdin.flush()
        while True:
            message = pickle.load(process.stdout)  # written by a process started here
            if isinstance(message, Finished):
                self._done += 1
                return message.result
            if isinstance(message, Going):
                self._said.put(message)

    def _running(self) -> subprocess.Popen[bytes]:
        """Return the process, a fresh one where there is none or it has done enough."""
        if self._process is not None and self._done >= CLIPS_PER_PROCESS:
            self._end()
        with self._lock:
            if self._closing:
                raise EOFError
            if self._process is None:
                self._errors, self._done = tempfile.TemporaryFile(), 0
                self._process = _started(self._errors)
            return self._process

    def _last_words(self, cause: Exception) -> str:
        """Say how the process ended, with the end of what it printed."""
        process, printed = self._process, ""
        if process is None or self._errors is None:
            return f"it could not be started ({cause})"
        try:
            code = process.wait(timeout=5)
        except subprocess.TimeoutExpired:
            return f"it no longer answers ({type(cause).__name__})"
        self._errors.seek(0)
        printed = " ".join(self._errors.read().decode("utf-8", "replace").split())[-_TAIL_CHARACTERS:]
        return how_ended(code) + (f", after saying '{printed}'" if printed else "")

    def _end(self) -> None:
        with self._lock:
            process, self._process = self._process, None
        if process is None:
            return
        process.kill()
        process.wait()
        for pipe in (process.stdin, process.stdout, self._errors):
            try:
                if pipe is not None:
                    pipe.close()
            except OSError:
                log.debug("the pipe to a batch worker was already broken")


def how_ended(code: int) -> str:
    """Say in words how a process ended.

    Parameters
    ----------
    code : int
        Its exit code; the negative number of a signal where one ended it.
    """
    if code >= 0:
        return f"it ended by itself with code {code}"
    try:
        name = signal.Signals(-code).name
    except ValueError:
        name = f"signal {-code}"
    return f"it was ended by {name}" + (", often for want of memory" if name == "SIGKILL" else "")


def _started(errors: IO[bytes]) -> subprocess.Popen[bytes]:
    here = str(Path(cuebook.__file__).parents[1])
    paths = [here, *filter(None, os.environ.get("PYTHONPATH", "").split(os.pathsep))]
    return subprocess.Popen(
        [sys.executable, "-m", "cuebook.batch.worker"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=errors,
        env={**os.environ, **_QUIET, **dict.fromkeys(_ONE_THREAD, "1"), "PYTHONPATH": os.pathsep.join(paths)},
    )
