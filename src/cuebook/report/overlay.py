"""One frame with everything drawn on it: lines of the athlete, the angle that decides, the band of text below."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from cuebook.model import LANDMARKS, ReviewData

from .angle_mark import AngleMark, angle_mark, draw_angle
from .band import Band
from .choice import main_cue, rep_verdict, shown_cues, signal_of
from .count_band import CountBand
from .moment import decided_at
from .skeleton import draw_skeleton, landmarks_at

_INDEX = {name: i for i, name in enumerate(LANDMARKS)}


def near_side(data: ReviewData) -> str | None:
    """Return the athlete's side towards the camera, or None where both are seen alike."""
    facing = data.motion.view.facing
    return facing if facing in ("left", "right") else None


def doubtful_at(data: ReviewData, time_s: float) -> frozenset[int]:
    """Return the landmarks that cannot be trusted at a time."""
    names = (n for d in data.motion.doubts if d.start_s <= time_s <= d.end_s for n in d.landmarks)
    return frozenset(_INDEX[n] for n in names if n in _INDEX)


class Overlay:
    """Draws the frames of one clip.

    Parameters
    ----------
    data : ReviewData
        The judged clip.
    times_s : ndarray, shape (F,)
        Times of the frames that will be drawn.
    width, height : int
        Size of the frames in pixels.
    band : Band or CountBand, optional
        What is written below the picture; default: the text on repetitions and outcomes.

    Attributes
    ----------
    width, height : int
        Size of the drawn frames: the frame with the band below it.
    """

    def __init__(self, data: ReviewData, times_s: NDArray[np.float64], *, width: int, height: int,
                 band: Band | CountBand | None = None) -> None:  # fmt: skip
        self._data, self._times = data, times_s
        self._frame_px = (width, height)
        self._near = near_side(data)
        self._marks = landmarks_at(data.track, times_s, (width, height))
        self._band = Band(data, width=width, short_side=min(width, height)) if band is None else band
        self._sides = self._sides_judged()
        self._by_side = self._angle_marks()
        self._second = self._second_mark()
        self.width, self.height = width, height + self._band.height

    def _angle_marks(self) -> dict[str, AngleMark]:
        """Return the mark of the deciding angle for each side that is judged in some repetition."""
        cue = main_cue(self._data)
        marks = {}
        for side in dict.fromkeys(("both", *self._sides.values())):
            signal = signal_of(self._data, cue, None if side == "both" else side)
            if signal is not None:
                marks[side] = angle_mark(signal, self._marks, near=self._near, frame_px=self._frame_px)
        return marks

    def _second_mark(self) -> AngleMark | None:
        """Return the mark of the first cue of the second part, for movements that have one."""
        cue = next((c for c in shown_cues(self._data) if c.event == "second_turn"), None)
        signal = None if cue is None else signal_of(self._data, cue)
        if signal is None:
            return None
        return angle_mark(signal, self._marks, near=self._near, frame_px=self._frame_px)

    def _sides_judged(self) -> dict[int, str]:
        """Return the repetitions' numbers with the side on which the deciding cue was judged."""
        cue = main_cue(self._data)
        found = {r.number: cue and rep_verdict(self._data, cue.name, r.number) for r in self._data.repetitions}
        return {number: "both" if verdict is None else verdict.side for number, verdict in found.items()}

    def draw(
        self, picture: NDArray[np.uint8], frame: int, *, into: NDArray[np.uint8] | None = None
    ) -> NDArray[np.uint8]:
        """Return a drawn copy (height, width, 3) of one frame.

        Parameters
        ----------
        picture : ndarray, shape (H, W, 3) uint8
            RGB frame.
        frame : int
            Its place in the times given at the start.
        into : ndarray or None
            Where to draw, for a run of frames that are used one at a time; a new array if None.
        """
        time_s = float(self._times[frame])
        canvas = np.empty((self.height, self.width, 3), np.uint8) if into is None else into
        rows = self._frame_px[1]
        canvas[:rows] = picture
        draw_skeleton(canvas[:rows], self._marks[frame], near=self._near, doubtful=doubtful_at(self._data, time_s))
        mark = self._mark_at(time_s)
        if mark is not None:
            draw_angle(canvas[:rows], mark, frame, time_s)
        canvas[rows:] = self._band.at(time_s)
        return canvas

    def _mark_at(self, time_s: float) -> AngleMark | None:
        begun = [r for r in self._data.repetitions if (r.start_s if r.start_s is not None else 0.0) <= time_s]
        if self._second is not None and begun and time_s > decided_at(self._data, begun[-1]):
            return self._second
        shown = begun[-1:] or list(self._data.repetitions[:1])
        return self._by_side.get(self._sides[shown[0].number] if shown else "both") or self._by_side.get("both")
