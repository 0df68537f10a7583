"""What is known of a clip before anybody looks at its pictures."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from .arrays import increasing_times

Frames = Callable[..., Iterator[tuple[float, NDArray[np.uint8]]]]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Clip:
    """One clip of one athlete.

    Attributes
    ----------
    path : Path
        The file.
    sha256 : str
        Hash of its bytes, lower-case hexadecimal.
    times_s : ndarray, shape (F,)
        Presentation time stamps of the frames listed in the container, in seconds from the first one.
    width_px, height_px : int
        Size of the upright picture, rotation applied.
    rotation_deg : int
        Clockwise turn stored beside the picture, 0, 90, 180 or 270.
    nominal_rate_hz : float
        Frame rate the container states.
    variable_rate : bool
        Whether the time between frames varies by more than a fifth.
    capture_rate_hz : float or None
        Rate at which the camera took the pictures, where it is known to differ from the stored one.
    slow_motion : bool
        Whether the metadata says that the clip was captured faster than it is played.
    codec : str
        Name of the picture codec.
    warnings : tuple of str
        Sentences about damage or oddities found while opening.
    frames : callable
        ``frames(long_side_px=None, start=0, stop=None)`` gives a fresh iterator of (time in seconds, upright RGB
        picture (H, W, 3) uint8), decoded lazily; `start` and `stop` count frames.
    """

    path: Path
    sha256: str
    times_s: NDArray[np.float64]
    width_px: int
    height_px: int
    rotation_deg: int
    nominal_rate_hz: float
    variable_rate: bool
    capture_rate_hz: float | None
    slow_motion: bool
    codec: str
    warnings: tuple[str, ...]
    frames: Frames

    def __post_init__(self) -> None:
        object.__setattr__(self, "times_s", increasing_times(self.times_s))

    @property
    def duration_s(self) -> float:
        """Time from the first to the last frame, in seconds."""
        return float(self.times_s[-1] - self.times_s[0]) if self.times_s.size else 0.0
