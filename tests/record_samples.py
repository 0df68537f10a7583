"""A judged set of squats and a desk for it, for the tests of the record."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from cuebook.assess.analyse import judge_track
from cuebook.model import Prescription, ReviewData, Settings
from cuebook.movements import load_movement
from cuebook.record import Desk, open_desk
from tests.stick_samples import FILMED, clip_of, stick

COACH = "Orla Vennick"


@lru_cache(maxsize=8)
def judged(name: str = "squat", reps: int = 3) -> ReviewData:
    """Return the review of a drawn athlete."""
    track, _ = stick(name, FILMED[name][1], reps=reps, rate_hz=15.0)
    return judge_track(clip_of(track), track, movement=load_movement(name), prescription=Prescription(),
                       settings=Settings())  # fmt: skip


def desk_in(folder: Path, data: ReviewData | None = None, *, author: str = COACH) -> Desk:
    """Return a desk whose record lies in a folder."""
    return open_desk(data or judged(), author=author, record=folder / "record.sqlite")
