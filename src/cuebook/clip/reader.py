"""Decoding frames lazily, upright and at the size that is asked for, from anywhere in the clip."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from .container import opened

if TYPE_CHECKING:
    from av import VideoFrame
    from av.container import InputContainer
    from av.video.stream import VideoStream

log = logging.getLogger(__name__)

_SEEK_BACK_S = (0.0, 3.0)
_PLAIN = "yuv420p"


def even_size(width_px: int, height_px: int, *, long_side_px: int | None) -> tuple[int, int]:
    """Return the size after reduction to a longest side, with even numbers, never larger than the original.

    Without a longest side the size is returned as it is, odd or even.
    """
    longest = max(width_px, height_px)
    if long_side_px is None or long_side_px >= longest:
        return width_px, height_px
    factor = long_side_px / longest
    return max(2, round(width_px * factor / 2) * 2), max(2, round(height_px * factor / 2) * 2)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FrameReader:
    """Callable that opens the file anew each time and yields its frames; it can be sent to another process.

    Attributes
    ----------
    path : Path
        The file.
    ticks : ndarray, shape (F,)
        Presentation time stamps of the frames in units of `time_base`.
    time_base : Fraction
        Seconds per tick.
    width_px, height_px : int
        Size of the upright picture.
    quarter_turns : int
        Quarter turns against the clock that make a stored picture upright.
    flipped : bool
        Whether the stored picture is to be mirrored before it is turned.
    stretch : float
        Real seconds per stored second, below 1 for slow motion whose capture rate is known.
    """

    path: Path
    ticks: NDArray[np.int64]
    time_base: Fraction
    width_px: int
    height_px: int
    quarter_turns: int
    flipped: bool = False
    stretch: float = 1.0

    def __call__(
        self,
        long_side_px: int | None = None,
        start: int = 0,
        stop: int | None = None,
        *,
        step: int = 1,
        threads: int = 0,
    ) -> Iterator[tuple[float, NDArray[np.uint8]]]:
        """Yield (time in seconds, upright RGB picture (H, W, 3)) of the frames `start` to `stop`.

        Reading ends quietly at the first frame that cannot be decoded: compare the number of frames read with the
        number of time stamps, see `damage_warning`.

        Parameters
        ----------
        long_side_px : int or None
            Reduce the picture to this longest side while decoding.
        start, stop : int
            First frame and the one after the last, counted in the order in which they are shown.
        step : int
            Yield every so many frames only, counted from `start`.
        threads : int
            Decoder threads, 0 lets the library choose.

        Raises
        ------
        ClipError
            If the file can no longer be opened.
        """
        from av.video.reformatter import VideoReformatter

        turned = self.quarter_turns % 2 == 1
        upright = even_size(self.width_px, self.height_px, long_side_px=long_side_px)
        stored = upright[::-1] if turned else upright
        scaler, colours = VideoReformatter(), VideoReformatter()
        for index, frame in self._decoded(start, stop, threads):
            if (index - start) % step:
                continue
            if (frame.width, frame.height) != stored and frame.format.name == _PLAIN:
                # first smaller, then to RGB: half the work of both at once
                frame = scaler.reformat(frame, *stored, format=_PLAIN, interpolation="AREA")
            picture = colours.reformat(frame, *stored, format="rgb24", interpolation="AREA").to_ndarray()
            if self.flipped:
                picture = picture[:, ::-1]
            if self.quarter_turns:
                picture = np.rot90(picture, self.quarter_turns)
            seconds = float(self.ticks[index] - self.ticks[0]) * float(self.time_base) * self.stretch
            yield seconds, np.ascontiguousarray(picture)

    def _decoded(self, start: int, stop: int | None, threads: int) -> Iterator[tuple[int, VideoFrame]]:
        last = len(self.ticks) if stop is None else min(stop, len(self.ticks))
        if start >= last:
            return
        with opened(self.path) as (container, stream):
            stream.codec_context.thread_type = "AUTO"
            stream.codec_context.thread_count = threads
            frames = self._from(container, stream, start)
            expected = start
            for frame in frames:
                index = self._index(frame)
                if index is None or index < expected:
                    continue
                if index > expected or frame.is_corrupt:
                    log.info("%s: frame %d cannot be decoded", self.path.name, expected)
                    return
                yield index, frame
                expected += 1
                if expected >= last:
                    return

    def _from(self, container: InputContainer, stream: VideoStream, start: int) -> Iterator[VideoFrame]:
        """Decode from a key frame at or before frame `start`, from the very beginning where seeking overshoots."""
        target = int(self.ticks[start])
        for back_s in _SEEK_BACK_S if start else ():
            container.seek(target - int(back_s / self.time_base), stream=stream, backward=True)
            frames = _until_damage(container, stream)
            first = next(frames, None)
            if first is not None and _tick(first) is not None and _tick(first) <= target:
                yield first
                yield from frames
                return
        if start:
            container.seek(int(self.ticks[0]) - int(1 / self.time_base), stream=stream, backward=True)
        yield from _until_damage(container, stream)

    def _index(self, frame: VideoFrame) -> int | None:
        tick = _tick(frame)
        if tick is None:
            return None
        index = int(np.searchsorted(self.ticks, tick))
        return index if index < len(self.ticks) and self.ticks[index] == tick else None


def _tick(frame: VideoFrame) -> int | None:
    return frame.pts if frame.pts is not None else frame.dts


def _until_damage(container: InputContainer, stream: VideoStream) -> Iterator[VideoFrame]:
    import av

    try:
        yield from container.decode(stream)
    except av.FFmpegError as cause:
        log.info("decoding stopped: %s", cause)
