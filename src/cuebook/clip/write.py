"""Writing H.264 clips that keep their time stamps and play in a browser and on a phone."""

from __future__ import annotations

import os
from collections.abc import Iterable
from fractions import Fraction
from itertools import chain
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cuebook.errors import ClipError, OutputError

if TYPE_CHECKING:
    from av.video.stream import VideoStream

TICKS_PER_S = 90_000
"""Resolution of the time stamps written: fine enough for any camera rate."""


class VideoWriter:
    """Writes frames one by one to a temporary file that takes its final name when closed.

    Used as a context manager it closes at the end, and leaves nothing behind if the block raises.

    Parameters
    ----------
    path : str or Path
        Final name, ending in ``.mp4``.
    width_px, height_px : int
        Size of the frames; an odd row or column is cut off, since the pixel format needs even numbers.
    rate_hz : float
        Nominal rate, for the encoder's rate control only.
    crf : int
        Constant rate factor, lower is better and larger.
    preset : str
        Encoder preset.
    key_every : int
        A key frame at least every so many frames, so that stepping through the clip is quick.
    threads : int
        Encoder threads, 0 takes two.
    """

    def __init__(
        self,
        path: str | Path,
        *,
        width_px: int,
        height_px: int,
        rate_hz: float = 30.0,
        crf: int = 23,
        preset: str = "ultrafast",
        key_every: int = 15,
        threads: int = 0,
    ) -> None:
        import av

        self.path = Path(path)
        self.width_px, self.height_px = width_px // 2 * 2, height_px // 2 * 2
        if self.width_px < 2 or self.height_px < 2:
            raise OutputError(
                f"{self.path.name} cannot be written at {width_px} x {height_px} pixels: use a larger size."
            )
        self._partial = self.path.with_name(f".{self.path.stem}.{os.getpid()}.partial.mp4")
        self._last_tick = -1
        try:
            self._container = av.open(str(self._partial), "w", format="mp4", options={"movflags": "faststart"})
            self._stream = self._begun(rate_hz=rate_hz, crf=crf, preset=preset, key_every=key_every, threads=threads)
        except (av.FFmpegError, OSError) as cause:
            raise OutputError(f"{self.path} cannot be written ({cause.strerror}): choose another folder.") from cause

    def _begun(self, *, rate_hz: float, crf: int, preset: str, key_every: int, threads: int) -> VideoStream:
        """Add the picture stream and write the head of the file, so that a bad folder is noticed at once."""
        stream = self._container.add_stream("libx264", rate=max(1, round(rate_hz)))
        stream.width, stream.height, stream.pix_fmt = self.width_px, self.height_px, "yuv420p"
        stream.codec_context.time_base = Fraction(1, TICKS_PER_S)
        options = {
            "preset": preset,
            "crf": str(crf),
            "x264-params": f"keyint={key_every}:min-keyint={key_every}:scenecut=0:bframes=0",
        }
        stream.options = options | ({"threads": str(threads)} if threads else {})
        if not threads:
            # whole frames beside each other, so that encoding goes on while the next frame is drawn
            stream.codec_context.thread_type, stream.codec_context.thread_count = "FRAME", 2
        self._container.start_encoding()
        return stream

    def write(self, time_s: float, picture: NDArray[np.uint8]) -> None:
        """Append one frame.

        Parameters
        ----------
        time_s : float
            When it is shown, in seconds, later than the frame before.
        picture : ndarray, shape (H, W, 3), uint8
            RGB.

        Raises
        ------
        ClipError
            If the time does not increase or the picture has another size than promised.
        """
        import av
        import cv2

        tick = round(time_s * TICKS_PER_S)
        if tick <= self._last_tick:
            raise ClipError(f"{self.path.name}: time stamps must increase, but {time_s:.4f} s follows a later one.")
        cut = picture[: self.height_px, : self.width_px]
        if cut.shape != (self.height_px, self.width_px, 3):
            raise ClipError(
                f"{self.path.name}: a frame of {picture.shape} does not fit {self.width_px} x {self.height_px}."
            )
        self._last_tick = tick
        planes = cv2.cvtColor(np.ascontiguousarray(cut), cv2.COLOR_RGB2YUV_I420)
        frame = av.VideoFrame.from_ndarray(planes, format="yuv420p")
        frame.pts, frame.time_base = tick, Fraction(1, TICKS_PER_S)
        self._container.mux(self._stream.encode(frame))

    def close(self) -> None:
        """Finish the file and give it its final name.

        Raises
        ------
        OutputError
            If no frame was written.
        """
        if self._last_tick < 0:
            self.abort()
            raise OutputError(f"{self.path.name} would hold no frame: write at least one before closing.")
        self._container.mux(self._stream.encode(None))
        self._container.close()
        os.replace(self._partial, self.path)

    def abort(self) -> None:
        """Close without keeping anything."""
        self._container.close()
        self._partial.unlink(missing_ok=True)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if kind is None:
            self.close()
        else:
            self.abort()


def write_video(
    path: str | Path,
    frames: Iterable[NDArray[np.uint8]],
    times_s: ArrayLike,
    *,
    crf: int = 23,
    preset: str = "veryfast",
) -> Path:
    """Write pictures and their times as an H.264 clip (yuv420p, index first) and return its path.

    Parameters
    ----------
    path : str or Path
        Final name; the file appears there only when it is complete.
    frames : iterable of ndarray, shape (H, W, 3), uint8
        RGB pictures of one size.
    times_s : array_like, shape (F,)
        When each is shown, in seconds; a varying rate is kept.
    crf, preset : int, str
        Encoder settings.

    Raises
    ------
    ClipError
        If times do not increase, sizes differ, or the numbers of times and frames differ.
    OutputError
        If the file cannot be written there, or there are no frames.
    """
    times = np.asarray(times_s, dtype=np.float64)
    rate_hz = 30.0 if len(times) < 2 else 1.0 / max(1e-3, float(np.median(np.diff(times))))
    pictures = iter(frames)
    first = next(pictures, None)
    if first is None:
        raise OutputError(f"{Path(path).name} would hold no frame: give at least one.")
    height, width = first.shape[:2]
    with VideoWriter(path, width_px=width, height_px=height, rate_hz=rate_hz, crf=crf, preset=preset) as writer:
        count = 0
        for count, picture in enumerate(chain([first], pictures), start=1):
            if count > len(times):
                raise ClipError(f"{Path(path).name}: {len(times)} times for {count} pictures or more do not match.")
            writer.write(float(times[count - 1]), picture)
        if count < len(times):
            raise ClipError(f"{Path(path).name}: {len(times)} times for {count} pictures do not match.")
    return Path(path)
