"""Received clips for the tests of the contact sheet, without any file."""

from __future__ import annotations

from dataclasses import replace

from cuebook.inbox.entries import Entry, Facts, Finding, Inbox, Known, Question
from cuebook.likeness import Guess

FACTS = Facts(duration_s=21.0, frames=630, width_px=540, height_px=960, rate_hz=30.0, variable_rate=False,
              rotation_deg=0, codec="h264", slow_motion=False, capture_rate_hz=None)  # fmt: skip


def entry(number: int, **more: object) -> Entry:
    """One usable squat of Tamsin's."""
    made = Entry(
        file=f"IMG_{number:04d}.mp4", size_bytes=1000 + number, sha256=f"{number:064x}"[::-1],
        received="2026-01-12T18:00:00+00:00", state="usable", reason="Whole body in the picture, side view.",
        looked="full", athlete=Known(value="Tamsin Broad", by="manifest"), movement=Known(value="squat", by="manifest"),
        captured=Known(value="2026-01-11T18:00:00", by="camera"), facts=FACTS,
    )  # fmt: skip
    return replace(made, **more)


def finding(word: str, reason: str | None = None) -> Finding:
    """A finding about quality."""
    return Finding(word=word, reason=reason, value=0.2, limit=0.3, unit="1", weight="part", sentence=f"It is {word}.")


def inbox(count: int = 6) -> Inbox:
    """A small week: pain, something new, a long wait, a film-again, a guess, a copy, a file that is no clip."""
    entries = [
        entry(1, last_feedback="2026-01-10"),
        entry(2, athlete=Known(value="Piet Aalder", by="manifest"), message="Knee hurts a bit on the last two",
              last_feedback="2026-01-11"),
        entry(3, athlete=Known(value="Idris Pell", by="folder"), state="refilm", reason="The feet are cut off.",
              findings=(finding("feet cut off", "feet_missing"),), last_feedback="2025-12-20"),
        entry(4, athlete=Known(value="Greta Maarlund", by="folder"), new=True, last_feedback="2026-01-11"),
        entry(5, athlete=Known(), movement=Known(), state="needs_answer", reason="Whose is it?",
              guess=Guess(movement="push-up", chance=0.97, sure=True, why="lying, arms work")),
        entry(1, file="again.mp4", state="duplicate", reason="Same bytes.", kept="IMG_0001.mp4"),
        entry(7, state="damaged", reason="Not a clip.", facts=None),
    ]  # fmt: skip
    entries += [entry(10 + k) for k in range(count - 6)]
    return Inbox(folder="week 2", entries=tuple(entries))


def two_people() -> Entry:
    """A squat of Fenn's in which a second person was found, so that somebody has to point."""
    asks = Question(clip=f"{40:064x}"[::-1][:12], file="front room.mp4", asks="person", to="coach", message="Who?")
    return entry(40, file="front room.mp4", athlete=Known(value="Fenn Otterley", by="manifest"), state="needs_answer",
                 reason="A second person is in the picture: which of them is the athlete?", questions=(asks,),
                 findings=(finding("two people", "two_people"),), message="knee is sore")  # fmt: skip
