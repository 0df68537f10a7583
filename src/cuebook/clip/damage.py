"""What is said about clips of which only a part can be used."""

from __future__ import annotations

from collections.abc import Sequence

from cuebook.errors import ClipError
from cuebook.model import Clip

from .stamps import Stamps

SHORTEST_PART_S = 2.0
"""Shortest part of a damaged clip that is still judged."""

_MISSING_S = 0.5


def cut_off_warning(name: str, stamps: Stamps) -> str | None:
    """Return a sentence if the container promises clearly more than it holds, else None.

    Parameters
    ----------
    name : str
        Name of the file, for the sentence.
    stamps : Stamps
        Its time stamps.
    """
    have_s = float(stamps.times_s[-1])
    promised_s = stamps.listed_s or 0.0
    missing = promised_s - have_s > max(_MISSING_S, 0.02 * promised_s)
    fewer = stamps.listed_frames > len(stamps.ticks) + stamps.doubled
    if not (stamps.broken or (missing and fewer)):
        return None
    whole = f" of {promised_s:.1f} s" if missing else ""
    return f"{name} is cut off: only the first {have_s:.1f} s{whole} were judged."


def damage_warning(clip: Clip, frames_read: int) -> str | None:
    """Return a sentence if fewer frames were decoded than the container lists, None if all were.

    Parameters
    ----------
    clip : Clip
        The clip that was read.
    frames_read : int
        Number of frames decoded from its start.

    Raises
    ------
    ClipError
        If the part that decodes is shorter than 2 s.
    """
    return _judged_part(clip, clip.times_s[:frames_read]) if frames_read < len(clip.times_s) else None


def _judged_part(clip: Clip, times_s: Sequence[float]) -> str:
    name = clip.path.name
    last_s = float(times_s[-1]) if len(times_s) else 0.0
    if last_s < SHORTEST_PART_S:
        raise ClipError(
            f"{name} is damaged and only {last_s:.1f} s of it can be decoded: copy it from the phone again."
        )
    return f"{name} is damaged after {last_s:.1f} s of {clip.duration_s:.1f} s: only the part before that was judged."
