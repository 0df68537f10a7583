"""Job functions that stand in for a review in tests of the batch, and jobs for them; importable in other processes."""

from __future__ import annotations

import json
import os
import signal
import time
from pathlib import Path

import cuebook
from cuebook.batch.job import ClipJob, ClipResult, Mark, Reporter, score_clip
from cuebook.model import Prescription, Settings
from cuebook.movements import TempoMargins, load_movement

ROOT = Path(__file__).parents[1]
SAID = "the picture library gave up"


def python_path() -> str:
    """Where another process finds both the package and these functions."""
    return os.pathsep.join([str(Path(cuebook.__file__).parents[1]), str(ROOT)])


def fake_review(job: ClipJob, report: Reporter) -> ClipResult:
    """Do what the clip's text says: end the process, fail, take long, or write a small review."""
    report("started")
    text = job.clip.read_text(encoding="utf-8")
    attempts = job.clip.with_suffix(".tries")
    with attempts.open("a", encoding="utf-8") as handle:
        handle.write(f"{os.getpid()} {time.time()}\n")
    if text == "poison":
        os.write(2, f"{SAID}\n".encode())
        os.kill(os.getpid(), signal.SIGKILL)
    if text == "poison once" and len(attempts.read_text(encoding="utf-8").splitlines()) == 1:
        os._exit(3)
    if text == "refused":
        return ClipResult(number=job.number, state="could_not_be_used", reason=f"{job.clip.name} holds only sound.")
    if text.startswith("long"):
        until_s = time.monotonic() + float(text.removeprefix("long"))
        while time.monotonic() < until_s:
            report("reading", 0.5)
            time.sleep(0.02)
    if text == "hangs":
        time.sleep(600)
    write_small_review(job)
    return ClipResult(number=job.number, state="scored", took_s=0.1)


def stoppable(job: ClipJob, report: Reporter) -> ClipResult:
    """Like `fake_review`, with the stop mark turned into a result as the real job function does."""
    from cuebook.batch.job import StopAsked

    try:
        return fake_review(job, report)
    except StopAsked:
        return ClipResult(number=job.number, state="not_done", reason="stopped")


def write_small_review(job: ClipJob) -> None:
    """Write the least that the tables read."""
    phases = dict.fromkeys(("eccentric_s", "long_hold_s", "concentric_s", "short_hold_s"))
    review = {
        "cuebook_version": cuebook.__version__,
        "clip": {"sha256": job.sha256, "duration_s": 9.5, "frames": 285, "capture_rate_hz": None,
                 "mirrored": "unknown"},
        "view": {"name": "side", "off_axis_deg": 4.0},
        "person": {"found_fraction": 1.0, "side_proven": False},
        "repetitions": [
            {"number": 1, "side": "both", "start_s": 1.0, "turn_s": 4.0, "end_s": 7.0, "complete": True,
             "counted": True, "chance": 1.0, "doubtful": False, "phases": {**phases, "eccentric_s": 3.0},
             "phases_u": {**phases, "eccentric_s": 0.1}}
        ],
        "verdicts": [
            {"repetition": 1, "cue": "depth", "side": "left", "outcome": "met", "chance": 0.97, "value": 104.0,
             "uncertainty": 4.0, "unit": "deg", "limit": {"low": 95.0, "high": None}, "reason": None, "refilm": None,
             "source": {"kind": "common_practice", "text": "…"}}
        ],
        "tempo": {"median": phases, "median_u": phases, "outcomes": phases,
                  "drift": {"eccentric_ratio": None, "outcome": None}},
        "counts": {"prescribed": None, "left": None, "right": None, "both": 1, "incomplete": 0},
        "headline": {"praise": "-2 is how it began.", "fix": "=1+1", "next": "Zoë: größer."},
        "warnings": [],
    }  # fmt: skip
    job.folder.mkdir(parents=True, exist_ok=True)
    (job.folder / "review.json").write_text(json.dumps(review), encoding="utf-8")


def make_jobs(folder: Path, texts: list[str]) -> list[ClipJob]:
    """Write clips that hold these texts and return a job for each."""
    folder.mkdir(parents=True, exist_ok=True)
    mark = Mark(path=folder / "mark", run="now")
    mark.path.write_text("now", encoding="utf-8")
    squat = load_movement("squat")
    jobs = []
    for number, text in enumerate(texts):
        clip = folder / f"clip-{number}.mp4"
        clip.write_text(text, encoding="utf-8")
        jobs.append(
            ClipJob(
                number=number, name=clip.name, clip=clip, sha256=f"{number:064d}", movement=squat,
                prescription=Prescription(), settings=Settings(), margins=TempoMargins(), capture_rate_hz=None,
                folder=folder / "out" / f"clip-{number}.review", cache_dir=None, video=False, mark=mark,
            )
        )  # fmt: skip
    return jobs


def tries(job: ClipJob) -> int:
    """How often the work on a job was begun."""
    path = job.clip.with_suffix(".tries")
    return len(path.read_text(encoding="utf-8").splitlines()) if path.exists() else 0


def score_or_die(job: ClipJob, report: Reporter) -> ClipResult:
    """Review a clip as usual, but end the process on one that is called poison."""
    if "poison" in job.name:
        report("started")
        os.kill(os.getpid(), signal.SIGKILL)
    return score_clip(job, report)
