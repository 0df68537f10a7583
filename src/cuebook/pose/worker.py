"""A process that analyses pieces of clips and does nothing else; started as ``python -m cuebook.pose.worker``.

It reads jobs from standard input and writes messages to standard output, both pickled by the process that started
it. A plain child process is used rather than a multiprocessing pool, so that a script or notebook without a main
guard can review a clip, and so that whatever native code prints stays out of the user's terminal.
"""

from __future__ import annotations

import os
import pickle
import sys
import traceback
from typing import BinaryIO

from cuebook.errors import CuebookError

from .backends import PoseBackend, find_backend
from .jobs import Job, Message
from .pieces import analyse_piece

PROGRESS_EVERY = 15


def main() -> None:
    """Serve jobs until standard input ends."""
    out = _private_output()
    while (job := _next_job(sys.stdin.buffer)) is not None:
        backend = find_backend(job.backend)
        for message in _answers(backend, job, out):
            _send(out, message)


def _answers(backend: PoseBackend, job: Job, out: BinaryIO) -> list[Message]:
    def seen(done: int) -> None:
        if done % PROGRESS_EVERY == 0:
            _send(out, Message(kind="progress", number=job.number, done=done))

    try:
        session = backend.open(alone=True)
        try:
            result = analyse_piece(job.frames, session, job.piece, seen=seen)
        finally:
            session.close()
    except CuebookError as refused:
        return [Message(kind="refused", number=job.number, error=refused)]
    except Exception:  # the trace travels to the process that asked, which raises it
        return [Message(kind="defect", number=job.number, trace=traceback.format_exc())]
    return [Message(kind="result", number=job.number, result=result)]


def _private_output() -> BinaryIO:
    """Keep standard output for messages and send whatever native code prints there to standard error."""
    kept = os.dup(sys.stdout.fileno())
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())
    return os.fdopen(kept, "wb")


def _next_job(source: BinaryIO) -> Job | None:
    try:
        job = pickle.load(source)  # written by the process that started this one
    except EOFError:
        return None
    return job if isinstance(job, Job) else None


def _send(out: BinaryIO, message: Message) -> None:
    pickle.dump(message, out, protocol=pickle.HIGHEST_PROTOCOL)
    out.flush()


if __name__ == "__main__":
    main()
