"""A scheduler and workers on loopback, started as a user starts them; for tests and figures."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from tests.batch_jobs import python_path

LOCAL = ("--host", "127.0.0.1", "--no-dashboard")
ENDS_WITHIN_S = 20


def start(folder: Path, *arguments: str) -> subprocess.Popen:
    """Start ``dask`` with these arguments; what it prints goes to a file in the folder."""
    environment = {
        **os.environ,
        "PYTHONPATH": python_path(),
        "OMP_NUM_THREADS": "1",
        "DASK_DISTRIBUTED__SCHEDULER__ALLOWED_FAILURES": "1",
    }
    with (folder / "dask.log").open("ab") as log:
        command = [sys.executable, "-m", "dask", *arguments, *LOCAL]
        return subprocess.Popen(command, cwd=folder, env=environment, stdout=log, stderr=log)


def start_scheduler(folder: Path) -> tuple[subprocess.Popen, str]:
    """Start a scheduler and return it with its address."""
    file = folder / "scheduler.json"
    process = start(folder, "scheduler", "--port", "0", "--scheduler-file", str(file))
    wait_until(lambda: file.exists() and file.stat().st_size > 0)
    return process, json.loads(file.read_text())["address"]


def start_worker(folder: Path, address: str, *arguments: str) -> subprocess.Popen:
    """Start a worker with a nanny."""
    return start(folder, "worker", address, "--nthreads", "1", "--local-directory", str(folder), *arguments)


def end(*processes: subprocess.Popen) -> None:
    """End processes that were started here."""
    for process in processes:
        if process.poll() is None:
            process.terminate()
    for process in processes:
        try:
            process.wait(ENDS_WITHIN_S)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


@contextmanager
def started(folder: Path, *, workers: int) -> Iterator[str]:
    """Give the address of a scheduler with this many workers, which end with the block."""
    processes = []
    try:
        scheduler, address = start_scheduler(folder)
        processes.append(scheduler)
        processes += [start_worker(folder, address) for _ in range(workers)]
        yield address
    finally:
        end(*reversed(processes))


def wait_until(true: Callable[[], bool], *, seconds: float = 60.0) -> None:
    """Wait until something is true."""
    until_s = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < until_s, "it did not happen in time"
        time.sleep(0.1)
