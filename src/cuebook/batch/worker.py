"""A process of the pool; started as ``python -m cuebook.batch.worker``.

It reads jobs from standard input and writes messages to standard output, both pickled. Whatever native code prints goes
to standard error, which the process that started it keeps in a file.
"""

from __future__ import annotations

import os
import pickle
import signal
import sys
from typing import BinaryIO

from .job import Reporter
from .runner import Finished, Going


def main() -> None:
    """Serve jobs until standard input ends."""
    # A key press that stops the batch reaches this process as well; it is told by the stop mark instead.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    out = _private_output()
    while True:
        try:
            work, job = pickle.load(sys.stdin.buffer)  # written by the process that started this one
        except EOFError:
            return

        def send(stage: str, share: float, number: int = job.number) -> None:
            _send(out, Going(number=number, stage=stage, share=share))

        result = work(job, Reporter(send, job.mark.stopped))
        try:
            _send(out, Finished(result=result))
        except BrokenPipeError:
            return


def _private_output() -> BinaryIO:
    """Keep standard output for messages and send whatever native code prints there to standard error."""
    kept = os.dup(sys.stdout.fileno())
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())
    return os.fdopen(kept, "wb")


def _send(out: BinaryIO, message: Going | Finished) -> None:
    pickle.dump(message, out, protocol=pickle.HIGHEST_PROTOCOL)
    out.flush()


if __name__ == "__main__":
    main()
