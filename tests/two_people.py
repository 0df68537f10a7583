"""Clips with two rendered athletes in them: side by side, and one walking across the other."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from cuebook.clip import read_clip
from tests.inbox_samples import write_take

DEMO = Path(__file__).parents[1] / "clips_demo"
RATE_HZ, HEIGHT_PX, WIDTH_PX = 10.0, 480, 270
POINT_LEFT, POINT_RIGHT = "135,260@1.2", "405,260@1.2"


def _pictures(name: str, frames: int) -> list[NDArray[np.uint8]]:
    """Return pictures of a rendered athlete who is in place, ten a second."""
    return [p for _, p in read_clip(DEMO / f"{name}.mp4").frames(HEIGHT_PX, 90, 90 + 3 * frames, step=3)]


def write_beside(path: Path, *, frames: int = 60) -> Path:
    """Write a clip in which a squat is done on the left and a shallow one on the right."""
    pairs = zip(_pictures("squat", frames), _pictures("squat-shallow", frames), strict=True)
    return write_take(path, [np.concatenate(pair, axis=1) for pair in pairs], rate=RATE_HZ)


def write_crossing(path: Path, *, frames: int = 60) -> Path:
    """Write a clip in which the right one slides over the left one after 1.8 seconds and stays there."""
    pictures = []
    left, right = _pictures("squat", frames), _pictures("squat-shallow", frames)
    for number, (one, other) in enumerate(zip(left, right, strict=True)):
        moved = int(np.clip((number - 18) / 8, 0, 1) * WIDTH_PX)
        picture = np.concatenate([one, other], axis=1)
        picture[:, WIDTH_PX - moved : 2 * WIDTH_PX - moved] = other
        picture[:, 2 * WIDTH_PX - moved :] = other[:, -1:]
        pictures.append(picture)
    return write_take(path, pictures, rate=RATE_HZ)
