"""Draws a set of clips, skipping those that exist: ``python make_sets.py learning FOLDER [--workers N]``."""

from __future__ import annotations

import argparse
import time
from multiprocessing import get_context
from pathlib import Path

from sets import benchmark_set, learning_set, practice_set, second_practice_set, trial_set

from cuebook.synthetic import ClipSpec, make_clip

SETS = {
    "learning": learning_set, "trial": trial_set, "practice": practice_set, "second-practice": second_practice_set,
    "benchmark": benchmark_set,
}  # fmt: skip


def draw(job: tuple[ClipSpec, Path]) -> str:
    """Draw one clip unless it is there already, and say so."""
    spec, folder = job
    if (folder / f"{spec.name}.mp4").exists():
        return f"{spec.name}: already there"
    began = time.perf_counter()
    make_clip(spec, folder)
    return f"{spec.name}: {time.perf_counter() - began:.0f} s"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("set", choices=sorted(SETS))
    parser.add_argument("folder", type=Path)
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--every", type=int, default=1, help="only every n-th clip")
    chosen = parser.parse_args()
    jobs = [(spec, chosen.folder) for spec in SETS[chosen.set]()][:: chosen.every]
    with get_context("spawn").Pool(chosen.workers, maxtasksperchild=6) as pool:
        for line in pool.imap(draw, jobs):
            print(line, flush=True)


if __name__ == "__main__":
    main()
