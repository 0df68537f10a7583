"""The angle that decides, drawn at its joint: a thin arc, and the number with its uncertainty beside it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cuebook.model import Signal, landmark_index

from .choice import signal_side
from .lettering import Colour, height_px, lay, width_px
from .placement import Direction, free_direction, plate_corner
from .skeleton import CASING, draw_line
from .words import with_uncertainty

ANGLE: Colour = (255, 206, 70)
"""A light amber: apart from the blue of the lines for every kind of colour vision, and lighter in grey."""

_CORNERS = {
    "knee_flexion": ("hip", "knee", "ankle"),
    "hip_flexion": ("shoulder", "hip", "knee"),
    "elbow_flexion": ("shoulder", "elbow", "wrist"),
    "body_line": ("shoulder", "hip", "ankle"),
    "shoulder_flexion": ("hip", "shoulder", "elbow"),
    "trunk_inclination": (None, "hip", "shoulder"),
    "shank_inclination": (None, "ankle", "knee"),
}
"""Angle -> the point before the corner (None: straight up), the corner, the point after it."""

_WIDEST = "188° ± 18°"


@dataclass(frozen=True, slots=True, eq=False)
class AngleMark:
    """One angle ready to be drawn over a clip.

    Attributes
    ----------
    signal : Signal
        What is written.
    rays : ndarray, shape (F, 3, 2)
        Per picture the end of the zero ray, the corner and the end of the limb's ray, pixels; NaN without a corner.
    toward : tuple of int
        Direction from the corner in which the number is written.
    size_px : int
        Size of the type.
    clear_px : ndarray, shape (F,)
        How far from the corner the number must stay, so that it covers no joint that matters.
    """

    signal: Signal
    rays: NDArray[np.float64]
    toward: Direction
    size_px: int
    clear_px: NDArray[np.float64]


def angle_mark(signal: Signal, marks: NDArray[np.float64], *, near: str | None, frame_px: tuple[int, int]) -> AngleMark:
    """Return the mark of a signal for a run of pictures.

    Parameters
    ----------
    signal : Signal
        The angle.
    marks : ndarray, shape (F, 33, 2)
        Landmarks in pixels of the pictures.
    near : {"left", "right"} or None
        The side to draw an angle of the midline on.
    frame_px : tuple of int
        Width and height of the pictures.
    """
    side = signal_side(signal)
    name = signal.name.removeprefix(f"{side}_")
    limb = side if side != "both" else near or "left"
    rays = _rays(name, marks, limb)
    clear = np.zeros(len(marks))
    if name not in _CORNERS:
        clear = _girdle_reach(marks, rays[:, 1]) + 0.03 * min(frame_px)
    size = max(14, round(0.05 * min(frame_px)))
    plate = (width_px(_WIDEST, size, bold=True), height_px(size))
    gap = np.maximum(clear, 57.5 * max(1.0, min(frame_px) / 360.0))
    toward = free_direction(rays, marks, gap_px=gap, plate_px=plate, frame_px=frame_px)
    return AngleMark(signal=signal, rays=rays, toward=toward, size_px=size, clear_px=clear)


def _girdle_reach(marks: NDArray[np.float64], chest: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return how far the shoulders reach sideways from the chest, per picture, 0 where they are unknown."""
    across = [np.abs(marks[:, landmark_index(f"{s}_shoulder"), 0] - chest[:, 0]) for s in ("left", "right")]
    return np.nan_to_num(np.maximum(*across))


def _rays(name: str, marks: NDArray[np.float64], limb: str) -> NDArray[np.float64]:
    """Return zero ray end, corner, limb ray end per picture, shape (F, 3, 2)."""
    if name not in _CORNERS:
        chest = (marks[:, landmark_index("left_shoulder")] + marks[:, landmark_index("right_shoulder")]) / 2
        blank = np.full_like(chest, np.nan)
        return np.stack([blank, chest, blank], axis=1)
    before, corner, after = _CORNERS[name]
    vertex, limb_end = (marks[:, landmark_index(f"{limb}_{n}")] for n in (corner, after))
    if before is None:
        zero = vertex + np.array([0.0, -1.0]) * np.hypot(*(limb_end - vertex).T)[:, None]
    else:
        start = marks[:, landmark_index(f"{limb}_{before}")]
        zero = start if name == "shoulder_flexion" else 2 * vertex - start
    return np.stack([zero, vertex, limb_end], axis=1)


def draw_angle(picture: NDArray[np.uint8], mark: AngleMark, frame: int, time_s: float, *,
               reading: tuple[float, float] | None = None) -> None:  # fmt: skip
    """Draw the arc and the number of one picture in place; nothing where the angle was not measured.

    Parameters
    ----------
    picture : ndarray, shape (H, W, 3) uint8
        RGB.
    mark : AngleMark
        The angle.
    frame : int
        Place of the picture in the run the mark was made for.
    time_s : float
        When, in seconds.
    reading : tuple of float or None
        Value and uncertainty to write instead of those of the signal at that time.
    """
    value, spread = reading or value_at(mark.signal, time_s)
    zero, corner, limb = mark.rays[frame]
    if value is None or spread is None or not np.isfinite(corner).all():
        return
    unit = max(1.0, min(picture.shape[:2]) / 360.0)
    reach = float(mark.clear_px[frame])
    if np.isfinite(zero).all() and np.isfinite(limb).all():
        reach = _draw_arc(picture, zero, corner, limb, unit)
    text = with_uncertainty(unsigned(mark.signal, value), spread, mark.signal.unit)
    _draw_number(picture, text, corner, mark, reach, unit)


def unsigned(signal: Signal, value: float) -> float:
    """Return a value as an athlete reads it: a turn of the trunk has a size, its side is told in words."""
    return abs(value) if signal.name == "trunk_rotation" else value


def value_at(signal: Signal, time_s: float) -> tuple[float, float] | tuple[None, None]:
    """Return value and uncertainty of a signal at a time, ten readings a second so that numbers can be read.

    Both are None where the value is too unsure to be written.
    """
    at = round(time_s * 10) / 10
    i = int(np.argmin(np.abs(signal.times_s - at)))
    if not signal.written[i] or abs(signal.times_s[i] - at) > 0.25:
        return None, None
    return float(signal.values[i]), float(signal.sigma[i])


def _draw_arc(picture: NDArray[np.uint8], zero: NDArray[np.float64], corner: NDArray[np.float64],
              limb: NDArray[np.float64], unit: float) -> float:  # fmt: skip
    """Draw the zero ray and the arc from it to the limb; return how far they reach from the corner."""
    import cv2

    to_zero, to_limb = zero - corner, limb - corner
    length = float(np.hypot(*to_limb))
    radius = float(np.clip(0.42 * length, 16 * unit, 46 * unit))
    if length < 4 * unit or np.hypot(*to_zero) < 1:
        return 0.0
    start = np.degrees(np.arctan2(to_zero[1], to_zero[0]))
    turn = (np.degrees(np.arctan2(to_limb[1], to_limb[0])) - start + 180) % 360 - 180
    steps = np.radians(start + np.linspace(0, turn, max(3, int(abs(turn) / 4))))
    points = corner + radius * np.stack([np.cos(steps), np.sin(steps)], axis=1)
    fixed = np.round(points * 8).astype(np.int32)
    end = corner + to_zero / np.hypot(*to_zero) * radius * 1.25
    for colour, width in ((CASING, max(3, round(3.2 * unit))), (ANGLE, max(1, round(1.6 * unit)))):
        draw_line(picture, corner, end, colour=colour, width_px=max(1, width - 1), dash_px=4 * unit)
        cv2.polylines(picture, [fixed], False, colour, width, cv2.LINE_AA, 3)
    return radius * 1.25


def _draw_number(picture: NDArray[np.uint8], text: str, corner: NDArray[np.float64], mark: AngleMark, reach: float,
                 unit: float) -> None:  # fmt: skip
    """Write the number on a dark plate beside the corner, inside the picture and never over the corner."""
    pad = round(4 * unit)
    width, height = width_px(text, mark.size_px, bold=True) + 2 * pad, height_px(mark.size_px)
    gap = max(14 * unit, reach)
    x, y = (int(v) for v in plate_corner(corner, mark.toward, gap_px=gap, plate_px=(width, height)))
    x = min(max(0, x), picture.shape[1] - width)
    if x <= corner[0] <= x + width and y - 6 * unit <= corner[1] <= y + height + 6 * unit:
        y = int(corner[1] - height - 14 * unit) if corner[1] > picture.shape[0] / 2 else int(corner[1] + 14 * unit)
    y = int(np.clip(y, 0, picture.shape[0] - height))
    lay(picture, text, (x, y), mark.size_px, bold=True, colour=ANGLE, paper=CASING, pad_px=pad)
