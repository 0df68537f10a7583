"""Cutting a clip into pieces that can be analysed side by side, and analysing one of them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import ceil

import numpy as np
from numpy.typing import NDArray

from cuebook.model import LANDMARKS
from cuebook.model.clip import Frames

from .backends import PoseSession
from .others import is_other

ANALYSED_HZ = 30.0
"""Rate that is analysed at least; of quicker clips only every second, third ... frame is looked at."""

PIECE_FRAMES = 300
"""Most analysed frames of a piece."""

WARM_UP_FRAMES = 16
"""Frames looked at before a piece begins, so that the model's crop has settled on the person."""

_WHOLE_FRAMES = 120
_STEP_SLACK = 0.2
_LIGHT_STRIDE = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A run of frames.

    Attributes
    ----------
    start, stop : int
        First analysed frame and the one after the last, counted in analysed frames.
    warm_up : int
        Frames before `start` that are looked at and not kept.
    step : int
        Frames of the clip per analysed frame.
    long_side_px : int
        Size at which the pictures are decoded.
    check_every : int
        Analysed frames between two looks for other people.
    """

    start: int
    stop: int
    warm_up: int
    step: int
    long_side_px: int
    check_every: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PieceResult:
    """What was seen in a piece; N may be fewer frames than asked for where the clip is damaged.

    Attributes
    ----------
    xy : ndarray, shape (N, 33, 2), float32
        Shares of width and height, NaN where nobody was found.
    world_m : ndarray, shape (N, 33, 3), float32
        Metres.
    score : ndarray, shape (N, 33), float32
        Visibility.
    light : ndarray, shape (N,), float32
        Mean brightness, 0 to 1.
    looks, looks_with_others : int
        How often other people were looked for, and how often one was seen.
    """

    xy: NDArray[np.float32]
    world_m: NDArray[np.float32]
    score: NDArray[np.float32]
    light: NDArray[np.float32]
    looks: int
    looks_with_others: int


def frame_step(times_s: NDArray[np.float64]) -> int:
    """Return how many frames of a clip go to one analysed frame, so that at least about 30 a second are analysed.

    Parameters
    ----------
    times_s : ndarray, shape (F,)
        Time stamps in seconds.
    """
    if len(times_s) < 3:
        return 1
    rate = 1.0 / float(np.median(np.diff(times_s)))
    return max(1, int(rate / ANALYSED_HZ + _STEP_SLACK))


def cut(times_s: NDArray[np.float64], *, long_side_px: int) -> tuple[Piece, ...]:
    """Cut a clip into pieces of equal work, an even number of them unless it is short.

    The cut depends on the clip alone and not on the machine, so that a track comes out the same everywhere.

    Parameters
    ----------
    times_s : ndarray, shape (F,)
        Time stamps in seconds.
    long_side_px : int
        Size at which the pictures are to be decoded.
    """
    step = frame_step(times_s)
    total = ceil(len(times_s) / step)
    count = 1 if total <= _WHOLE_FRAMES else 2 * ceil(total / (2 * PIECE_FRAMES))
    work = (total + WARM_UP_FRAMES * (count - 1)) / count
    edges = [0, *(round(work * i - WARM_UP_FRAMES * (i - 1)) for i in range(1, count)), total]
    rate = len(times_s) / step / max(1e-3, float(times_s[-1] - times_s[0]))
    every = max(1, round(rate))
    return tuple(
        Piece(
            start=start,
            stop=stop,
            warm_up=min(WARM_UP_FRAMES, start),
            step=step,
            long_side_px=long_side_px,
            check_every=every,
        )
        for start, stop in pairwise(edges)
    )


def analyse_piece(
    frames: Frames, session: PoseSession, piece: Piece, *, seen: Callable[[int], None] | None = None
) -> PieceResult:
    """Look at the frames of one piece in order.

    Parameters
    ----------
    frames : callable
        A clip's `frames`.
    session : PoseSession
        A fresh session.
    piece : Piece
        Which frames.
    seen : callable or None
        Called with the number of frames done so far.
    """
    count = piece.stop - piece.start
    xy = np.full((count, len(LANDMARKS), 2), np.nan, np.float32)
    world = np.full((count, len(LANDMARKS), 3), np.nan, np.float32)
    score = np.full((count, len(LANDMARKS)), np.nan, np.float32)
    light = np.full(count, np.nan, np.float32)
    done = looks = others = 0
    for number, picture in _pictures(frames, piece):
        marks = session.landmarks(picture)
        row = number - piece.start
        if row < 0:
            continue
        if marks is not None:
            xy[row], world[row], score[row] = marks.xy, marks.world_m, marks.score
        light[row] = picture[::_LIGHT_STRIDE, ::_LIGHT_STRIDE].mean() / 255
        if number % piece.check_every == 0:
            looks += 1
            others += is_other(session.people(picture), None if marks is None else marks.xy, picture.shape)
        done = row + 1
        if seen is not None:
            seen(done)
    return PieceResult(
        xy=xy[:done],
        world_m=world[:done],
        score=score[:done],
        light=light[:done],
        looks=looks,
        looks_with_others=others,
    )


def _pictures(frames: Frames, piece: Piece) -> Iterator[tuple[int, NDArray[np.uint8]]]:
    """Yield (number of the analysed frame, picture), warm-up frames first."""
    first = piece.start - piece.warm_up
    start, stop = first * piece.step, (piece.stop - 1) * piece.step + 1
    wanted = {"step": piece.step} if piece.step > 1 else {}
    for offset, (_, picture) in enumerate(frames(piece.long_side_px, start, stop, **wanted)):
        yield first + offset, picture
