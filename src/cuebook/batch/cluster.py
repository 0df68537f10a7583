"""Jobs on several machines: the same job function, handed out by a Dask scheduler.

Every machine sees the clips and the folder of the results under the same path. Workers run with a nanny (the usual
case), which starts them again when a clip ends them.
"""

from __future__ import annotations

import ctypes
import logging
import time
from functools import cache
from importlib import import_module
from queue import Empty, Queue
from types import ModuleType
from typing import Any

import cuebook
from cuebook.errors import BatchError, MissingExtra

from .job import ClipJob, ClipResult, Reporter, Work, score_clip
from .runner import Finished, Going, Lost, Message

ALONE_S = 60.0
"""How long a batch waits for a worker when none is connected any more."""

_MEMORY = {-3: 32 * 2**20, -1: 256 * 2**20}
"""``M_MMAP_THRESHOLD`` and ``M_TRIM_THRESHOLD`` in bytes: the first is where the library itself would end up, the
second a few hundred pictures (house choice)."""

_TALKATIVE = ("distributed", "distributed.client", "distributed.core")
_LOOK_EVERY_S = 2.0
_RESTART_S = 30.0


class Cluster:
    """Runs jobs on the workers of a scheduler; meets `Runner`.

    Parameters
    ----------
    address : str
        Of the scheduler, such as ``tcp://192.168.1.20:8786``.
    work : callable
        What to do with a job; must be importable on every worker.
    wait_s : float
        How long to wait for the scheduler and its first worker.
    alone_s : float
        How long to wait for a worker when none is left.

    Raises
    ------
    BatchError
        If no scheduler or no worker answers, or a worker lacks this version of cuebook or runs without a nanny.
    MissingExtra
        If Dask is not installed.
    """

    def __init__(
        self, address: str, *, work: Work = score_clip, wait_s: float = 30.0, alone_s: float = ALONE_S
    ) -> None:
        distributed = _distributed()
        self._levels = {name: logging.getLogger(name).level for name in _TALKATIVE}
        self._quiet()
        self._address, self._work, self._alone_s = address, work, alone_s
        self._said: Queue[Message] = Queue()
        self._futures: dict[int, Any] = {}
        self._places: dict[int, str] = {}
        try:
            self._client = distributed.Client(address, timeout=wait_s, set_as_default=False, name="cuebook-batch")
        except (OSError, TimeoutError, ValueError) as cause:
            self._loud()
            raise BatchError(
                f"No scheduler answers at {address}: start one with 'dask scheduler' and give the address it prints."
            ) from cause
        self._slots, self._looked_s, self._seen_s = 0, 0.0, time.monotonic()
        try:
            self._wait_for_workers(wait_s)
            self._topic = f"cuebook-{id(self)}-{time.time_ns()}"
            self._client.subscribe_topic(self._topic, self._heard)
        except BatchError:
            self.close()
            raise

    @property
    def slots(self) -> int:
        """Number of workers that are connected."""
        now_s = time.monotonic()
        if self._client.status == "running" and now_s - self._looked_s > _LOOK_EVERY_S:
            self._slots, self._looked_s = len(self._workers()), now_s
        return self._slots

    def start(self, job: ClipJob) -> None:
        """Hand a job to the scheduler."""
        future = self._client.submit(
            _on_worker, self._work, job, self._topic, key=f"{self._topic}-{job.number}-{time.time_ns()}", pure=False
        )
        self._futures[job.number] = future
        future.add_done_callback(lambda done, number=job.number: self._ended(number, done))

    def messages(self, wait_s: float) -> list[Message]:
        """Return what the workers said.

        Raises
        ------
        BatchError
            If the scheduler is gone, or no worker has been connected for a while.
        """
        said: list[Message] = []
        try:
            said.append(self._said.get(timeout=wait_s))
            while not self._said.empty():
                said.append(self._said.get())
        except Empty:
            self._look_for_workers()
        return said

    def abandon(self, number: int) -> None:
        """Give a job up and have its worker started again."""
        place = self._places.pop(number, None)
        future = self._futures.pop(number, None)
        if future is not None:
            future.cancel()
        if place is not None:
            self._client.restart_workers([place], timeout=_RESTART_S, raise_for_error=False)

    def close(self) -> None:
        """Cancel what is still handed out and leave the scheduler; its workers stay."""
        futures, self._futures = list(self._futures.values()), {}
        if futures and self._client.status == "running":
            self._client.cancel(futures)
        self._client.close()
        self._loud()

    def _quiet(self) -> None:
        for name in self._levels:
            logging.getLogger(name).setLevel(logging.CRITICAL + 1)

    def _loud(self) -> None:
        for name, level in self._levels.items():
            logging.getLogger(name).setLevel(level)

    def _ended(self, number: int, future: Any) -> None:
        """Turn the end of a future into a message; called in a thread of the client."""
        if self._futures.get(number) is not future:
            return
        del self._futures[number]
        if future.status == "finished":
            try:
                result = future.result(timeout=_RESTART_S)
            except Exception as cause:  # the worker that held the result is gone, or the scheduler
                self._said.put(Lost(number=number, reason=f"its result did not arrive ({type(cause).__name__})"))
                return
            self._said.put(Finished(result=result))
        elif future.status == "error":
            self._said.put(_failed(number, future.exception(timeout=_RESTART_S)))
        elif self._client.status == "running":  # else the scheduler is gone, which `messages` reports
            self._said.put(Lost(number=number, reason="the scheduler gave it up"))

    def _heard(self, event: tuple[float, Any]) -> None:
        """Pass on a word from a worker."""
        number, stage, share, place = event[1]
        self._places[number] = place
        self._said.put(Going(number=number, stage=stage, share=share))

    def _workers(self) -> dict[str, Any]:
        """Return what the scheduler knows of its workers, by their address."""
        try:
            return self._client.scheduler_info(n_workers=-1)["workers"]
        except (OSError, TimeoutError, RuntimeError, ValueError, KeyError) as cause:
            raise self._gone() from cause

    def _gone(self) -> BatchError:
        return BatchError(f"The scheduler at {self._address} no longer answers: start it and the batch again.")

    def _look_for_workers(self) -> None:
        running = self._client.status == "running"
        now_s = time.monotonic()
        if self._client.status not in ("running", "connecting"):
            raise self._gone()
        if running and self.slots:
            self._seen_s = now_s
        elif now_s - self._seen_s > self._alone_s:
            if not running:
                raise self._gone()
            raise BatchError(
                f"No worker is left at {self._address}: start one with 'dask worker {self._address} --nthreads 1', "
                "then the batch again."
            )

    def _wait_for_workers(self, wait_s: float) -> None:
        try:
            self._client.wait_for_workers(1, timeout=wait_s)
        except TimeoutError as cause:
            raise BatchError(
                f"No worker is connected to {self._address}: start one with 'dask worker {self._address} --nthreads 1'."
            ) from cause
        for place, worker in self._workers().items():
            if not worker.get("nanny"):
                raise BatchError(f"The worker {place} runs without a nanny, so a clip could end it: start it with one.")
        for place, version in self._client.run(_version, on_error="return").items():
            if version != cuebook.__version__:
                has = f"has cuebook {version}" if isinstance(version, str) else f"cannot load cuebook ({version})"
                raise BatchError(f"The worker {place} {has}: install cuebook {cuebook.__version__} there.")


def _version() -> str:
    return cuebook.__version__


def _on_worker(work: Work, job: ClipJob, topic: str) -> ClipResult:
    """Do a job on a worker and tell the client about it."""
    _keep_freed_memory()
    worker = _distributed().get_worker()

    def send(stage: str, share: float) -> None:
        worker.log_event(topic, [job.number, stage, share, worker.address])

    return work(job, Reporter(send, job.mark.stopped))


@cache
def _keep_freed_memory() -> bool:
    """Let the process keep the memory of pictures it is done with; return whether the C library could be told.

    A nanny sets ``MALLOC_TRIM_THRESHOLD_``, with which the GNU C library asks the system for every single picture and
    gives it back (mallopt(3)): five times the page faults and a sixth more processor seconds on a clip of 540 x 960.
    """
    try:
        library = ctypes.CDLL(None)
        return all(library.mallopt(option, size) == 1 for option, size in _MEMORY.items())
    except (OSError, AttributeError, TypeError):
        return False


def _failed(number: int, error: BaseException | None) -> Message:
    """Return what the end of a job with an error means."""
    killed = _distributed().KilledWorker
    if isinstance(error, killed):
        return Lost(number=number, reason="it ended every worker that tried it")
    said = f"A defect in cuebook ended the review ({type(error).__name__}: {error}): please report it."
    return Finished(result=ClipResult(number=number, state="set_aside", reason=said, trace=repr(error)))


def _distributed() -> ModuleType:
    try:
        return import_module("distributed")
    except ImportError as cause:
        raise MissingExtra("cluster", "Work on several machines") from cause
