"""Reading a clip: everything that can be known before anybody looks at its pictures."""

from __future__ import annotations

import hashlib
import logging
import struct
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from cuebook.errors import ClipError
from cuebook.model import Clip

from .container import checked_path, opened, why_unreadable
from .damage import SHORTEST_PART_S, cut_off_warning
from .reader import FrameReader
from .slow_motion import capture_rate, rate_in_metadata
from .stamps import Stamps, is_variable, read_stamps

if TYPE_CHECKING:
    from av import VideoFrame

log = logging.getLogger(__name__)

SHORTEST_CLIP_S = 1.0
"""Anything shorter cannot hold a repetition."""


_TAIL_FRAMES = 60
_TAIL_SIDE_PX = 64


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """How the pictures are stored: upright size in pixels, quarter turns, mirror, coding and rates."""

    width_px: int
    height_px: int
    quarter_turns: int
    flipped: bool
    codec: str
    stated_rate_hz: float | None
    written_capture_hz: float | None


def read_clip(path: str | Path, *, capture_rate_hz: float | None = None) -> Clip:
    """Open a clip and read its time stamps, size, rotation and hash; no picture but the first is decoded.

    Parameters
    ----------
    path : str or Path
        A video file.
    capture_rate_hz : float or None
        Rate at which the camera took the pictures, for slow motion stored at a normal rate. Times are then real
        times: stored time multiplied by stored rate over capture rate. The rate written by the camera is used in
        the same way.

    Returns
    -------
    Clip
        With `times_s` (F,) in seconds from the first frame.

    Raises
    ------
    ClipError
        If the file is missing, a folder, empty, cut off, no video, coded in an unknown way, or too short.
    """
    file = checked_path(path)
    picture = read_picture(file)
    stamps = read_stamps(file)
    if cut_off_warning(file.name, stamps) is not None:
        stamps = _without_lost_end(stamps, _reader(file, picture, stamps))
    _refuse_short(file, stamps)
    stored_hz = _stored_rate(stamps)
    rate_hz, slow = capture_rate(capture_rate_hz, picture.written_capture_hz, stored_hz=stored_hz)
    stretch = 1.0 if rate_hz is None else stored_hz / rate_hz
    reader = _reader(file, picture, stamps, stretch=stretch)
    clip = Clip(
        path=file,
        sha256=file_hash(file),
        times_s=stamps.times_s * stretch,
        width_px=picture.width_px,
        height_px=picture.height_px,
        rotation_deg=(-90 * picture.quarter_turns) % 360,
        nominal_rate_hz=picture.stated_rate_hz or stored_hz,
        variable_rate=is_variable(stamps.times_s),
        capture_rate_hz=rate_hz,
        slow_motion=slow,
        codec=picture.codec,
        warnings=tuple(_warnings(file, stamps)),
        frames=reader,
    )
    log.info("%s: %d frames, %.2f s, %s", file.name, len(clip.times_s), clip.duration_s, clip.codec)
    return clip


def read_picture(file: Path) -> Picture:
    """Decode the first frame to learn size, rotation and whether the coding can be read at all.

    Raises
    ------
    ClipError
        If not a single frame can be decoded.
    """
    import av

    with opened(file) as (container, stream):
        codec = stream.codec_context.name
        try:
            frame = next(container.decode(stream), None)
        except av.DecoderNotFoundError as cause:
            raise ClipError(
                f"{file.name} is coded as {codec}, which cannot be decoded here: convert it to H.264 first."
            ) from cause
        except av.FFmpegError as cause:
            raise ClipError(_undecodable(file, codec)) from cause
        if frame is None:
            raise ClipError(_undecodable(file, codec))
        quarter_turns, flipped = orientation(frame)
        width, height = _square_pixels(frame, stream.sample_aspect_ratio)
        stated = stream.average_rate
        written = rate_in_metadata(container.metadata, stream.metadata)
    if quarter_turns % 2:
        width, height = height, width
    return Picture(
        width_px=width,
        height_px=height,
        quarter_turns=quarter_turns,
        flipped=flipped,
        codec=codec,
        stated_rate_hz=None if not stated else float(stated),
        written_capture_hz=written,
    )


def orientation(frame: VideoFrame) -> tuple[int, bool]:
    """Return the quarter turns against the clock that make a frame upright, and whether to mirror it before.

    Notes
    -----
    The display matrix is nine numbers in row order, of which a, b, c, d (places 0, 1, 3, 4; 16.16 fixed point) turn
    the picture: shown = stored @ [[a, b], [c, d]]. A negative determinant is a mirror picture; mirroring across the
    vertical axis first changes the sign of a and b, and leaves a pure turn whose angle is atan2(b, a), clockwise
    because y points down.

    References
    ----------
    ISO/IEC 14496-12:2015, 6.2.2 (unity matrix and layout) and 8.3.2 (track header matrix).
    """
    from av.sidedata.sidedata import Type

    side_data = frame.side_data.get(Type.DISPLAYMATRIX)
    if side_data is None:
        return 0, False
    a, b, _, c, d = struct.unpack_from("<5i", bytes(side_data))
    flipped = a * d - b * c < 0
    if flipped:
        a, b = -a, -b
    clockwise = round(np.degrees(np.arctan2(b, a)) / 90)
    return -clockwise % 4, flipped


def file_hash(file: Path) -> str:
    """Return the SHA-256 of a file's bytes in lower-case hexadecimal."""
    with file.open("rb") as handle:
        return hashlib.file_digest(handle, "sha256").hexdigest()


def _reader(file: Path, picture: Picture, stamps: Stamps, *, stretch: float = 1.0) -> FrameReader:
    return FrameReader(
        path=file,
        ticks=stamps.ticks,
        time_base=stamps.time_base,
        width_px=picture.width_px,
        height_px=picture.height_px,
        quarter_turns=picture.quarter_turns,
        flipped=picture.flipped,
        stretch=stretch,
    )


def _without_lost_end(stamps: Stamps, reader: FrameReader) -> Stamps:
    """Leave out the last frames of a clip that is cut off, whose packets are listed but only half there."""
    first = max(0, len(stamps.ticks) - _TAIL_FRAMES)
    decoded = sum(1 for _ in reader(_TAIL_SIDE_PX, first))
    return replace(stamps, ticks=stamps.ticks[: max(1, first + decoded)])


def _square_pixels(frame: VideoFrame, aspect: object) -> tuple[int, int]:
    """Return the stored size, widened or narrowed where pixels are not square, so that angles come out right."""
    ratio = float(aspect) if aspect else 1.0  # type: ignore[arg-type]
    if not 0.2 < ratio < 5 or abs(ratio - 1) < 0.005:
        return frame.width, frame.height
    return round(frame.width * ratio), frame.height


def _stored_rate(stamps: Stamps) -> float:
    return 1.0 / float(np.median(np.diff(stamps.times_s)))


def _refuse_short(file: Path, stamps: Stamps) -> None:
    count = len(stamps.ticks)
    if count == 1:
        raise ClipError(f"{file.name} holds a single picture, not a video: choose the clip of the whole set.")
    times = stamps.times_s
    length = float(times[-1] + np.median(np.diff(times)))
    if cut_off_warning(file.name, stamps) is not None and length < SHORTEST_PART_S:
        raise ClipError(
            f"Only {length:.1f} s of {file.name} are left, the rest is cut off: copy it from the phone again."
        )
    if length < SHORTEST_CLIP_S - 0.01:
        raise ClipError(f"{file.name} lasts only {length:.1f} s: film the whole set.")


def _warnings(file: Path, stamps: Stamps) -> list[str]:
    found = []
    if (cut := cut_off_warning(file.name, stamps)) is not None:
        found.append(cut)
    if stamps.doubled:
        found.append(f"{file.name} has {stamps.doubled} frames with the time of another one; they were left out.")
    return found


def _undecodable(file: Path, codec: str) -> str:
    with file.open("rb") as handle:
        head = handle.read(12)
    if head[4:8] != b"ftyp" and "still picture" in (reason := why_unreadable(file)):
        return reason
    return f"Not one picture of {file.name} ({codec}) can be decoded: copy it from the phone again or convert it."
