"""Time stamps of a clip's frames, read from the container without decoding a picture."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from cuebook.errors import ClipError

from .container import opened


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stamps:
    """Frames that a container lists.

    Attributes
    ----------
    ticks : ndarray, shape (F,)
        Presentation time stamps in units of `time_base`, in increasing order.
    time_base : Fraction
        Seconds per tick.
    listed_s : float or None
        Length of the picture stream that the container claims, in seconds.
    listed_frames : int
        Number of frames that the container claims, 0 where it does not say.
    doubled : int
        Frames left out because they carry the time stamp of another one.
    broken : bool
        Whether reading stopped at an error.
    """

    ticks: NDArray[np.int64]
    time_base: Fraction
    listed_s: float | None
    listed_frames: int
    doubled: int
    broken: bool

    @property
    def times_s(self) -> NDArray[np.float64]:
        """Seconds from the first frame, shape (F,)."""
        return (self.ticks - self.ticks[0]) * float(self.time_base)


def read_stamps(file: Path) -> Stamps:
    """List the presentation time stamps of the picture stream.

    Frames stored in another order than shown (B frames) are sorted; packets marked for discarding (an edit list
    hides them) are left out.

    Raises
    ------
    ClipError
        If the stream has no frames, or frames without time stamps.
    """
    import av

    ticks: list[int] = []
    broken = False
    with opened(file) as (container, stream):
        try:
            for packet in container.demux(stream):
                stamp = packet.pts if packet.pts is not None else packet.dts
                if packet.size and stamp is not None and not packet.is_discard:
                    ticks.append(stamp)
        except av.FFmpegError:
            broken = True
        if stream.time_base is None or not ticks:
            raise ClipError(f"{file.name} holds no frames with time stamps: copy it from the phone again.")
        base, listed_frames = stream.time_base, stream.frames
        listed_s = None if stream.duration is None else float(stream.duration * base)
    single = np.unique(np.array(ticks, dtype=np.int64))
    return Stamps(
        ticks=single,
        time_base=base,
        listed_s=listed_s,
        listed_frames=listed_frames,
        doubled=len(ticks) - len(single),
        broken=broken,
    )


def is_variable(times_s: NDArray[np.float64]) -> bool:
    """Tell whether the time between frames varies by more than a fifth of its median.

    The slowest and quickest twentieth are left out, so that a single dropped frame does not make a clip variable.

    Parameters
    ----------
    times_s : ndarray, shape (F,)
        Time stamps in seconds.
    """
    if len(times_s) < 3:
        return False
    gaps = np.diff(times_s)
    low, middle, high = np.percentile(gaps, [5, 50, 95])
    return bool(max(high - middle, middle - low) > 0.2 * middle)
