"""Writes drawn frames as a clip the way phones do: H.264, own time stamps, perhaps a rotation flag."""

from __future__ import annotations

import struct
from collections.abc import Iterable
from fractions import Fraction
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cuebook.errors import ClipError, MissingExtra, OutputError

TICKS_PER_S = 90_000
_ONE = 1 << 16
# a b u / c d v / x y w of the track header, 16.16 fixed point and 2.30 for the last column
_MATRICES = {90: (0, _ONE, -_ONE, 0), 180: (-_ONE, 0, 0, -_ONE), 270: (0, -_ONE, _ONE, 0)}


def write_frames(
    path: str | Path, times_s: ArrayLike, frames: Iterable[NDArray[np.uint8]], *, rate_hz: float = 30.0, crf: int = 24,
    preset: str = "veryfast", rotation_deg: int = 0, codec: str = "libx264",
) -> None:  # fmt: skip
    """Encode frames with their time stamps.

    Parameters
    ----------
    path : str or Path
        Ends in ``.mp4``; appears only when complete.
    times_s : array_like, shape (F,)
        Time stamp of every frame, increasing.
    frames : iterable of ndarray of uint8, shape (height, width, 3)
        Upright pictures with an even number of rows and columns.
    rate_hz : float
        Nominal rate written into the file.
    crf, preset
        Quality and speed of the encoder.
    rotation_deg : {0, 90, 180, 270}
        How far a player must turn the stored pictures clockwise; they are stored turned the other way.
    codec : str
        Name of the encoder.

    Raises
    ------
    OutputError
        If the file cannot be written.
    MissingExtra
        If the video library is not installed.
    """
    target = Path(path)
    partial = target.with_name(f".{target.stem}.partial.mp4")
    try:
        _encode(partial, np.asarray(times_s, dtype=float), frames, rate_hz, crf, preset, rotation_deg // 90, codec)
        if rotation_deg:
            write_rotation(partial, rotation_deg)
        partial.replace(target)
    except OSError as cause:
        raise OutputError(f"{target} cannot be written ({cause.strerror}): choose another folder.") from cause
    finally:
        partial.unlink(missing_ok=True)


def _encode(
    path: Path, times_s: NDArray[np.float64], frames: Iterable[NDArray[np.uint8]], rate_hz: float, crf: int, preset: str,
    quarters: int, codec: str,
) -> None:  # fmt: skip
    try:
        import av
    except ImportError as cause:
        raise MissingExtra("render", "Writing a clip") from cause
    ticks = np.round(times_s * TICKS_PER_S).astype(np.int64)
    with av.open(str(path), "w", format="mp4", options={"movflags": "faststart"}) as container:
        stream = container.add_stream(codec, rate=Fraction(rate_hz).limit_denominator(1001))
        stream.pix_fmt = "yuv420p"
        stream.codec_context.time_base = Fraction(1, TICKS_PER_S)
        stream.options = {"crf": str(crf), "preset": preset, "threads": "1"}
        for tick, upright in zip(ticks, frames, strict=True):
            stored = np.ascontiguousarray(np.rot90(upright, quarters))
            if stream.codec_context.is_open is False:
                stream.height, stream.width = stored.shape[:2]
            frame = av.VideoFrame.from_ndarray(stored, format="rgb24")
            frame.pts, frame.time_base = int(tick), Fraction(1, TICKS_PER_S)
            container.mux(stream.encode(frame))
        container.mux(stream.encode())


def write_rotation(path: str | Path, rotation_deg: int) -> None:
    """Write the rotation flag of a file's first video track (the matrix of its track header).

    Parameters
    ----------
    path : str or Path
        An MP4 file whose index stands in front.
    rotation_deg : {90, 180, 270}
        How far a player must turn the pictures clockwise.

    Raises
    ------
    ClipError
        If the file has no track header.
    """
    data = bytearray(Path(path).read_bytes())
    at = data.find(b"tkhd")
    if at < 0:
        raise ClipError(f"{Path(path).name} has no track header: give an MP4 file.")
    matrix = at + 4 + (52 if data[at + 4] == 1 else 40)
    width, height = struct.unpack_from(">2I", data, matrix + 36)
    a, b, c, d = _MATRICES[rotation_deg]
    x = {90: height, 180: width, 270: 0}[rotation_deg]
    y = {90: 0, 180: height, 270: width}[rotation_deg]
    struct.pack_into(">9i", data, matrix, a, b, 0, c, d, 0, x, y, 1 << 30)
    Path(path).write_bytes(data)
