"""The athlete's lines in a picture: near side strong, far side faint, doubtful parts dashed with hollow joints."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np
from numpy.typing import NDArray

from cuebook.model import Track, landmark_index

from .lettering import Colour

NEAR: Colour = (86, 180, 233)
FAR: Colour = (214, 218, 222)
CASING: Colour = (24, 28, 34)
"""Sky blue of a colour-blind-safe set, a pale grey, and the dark edge that keeps both readable on any background."""

_SHIFT = 3
_LIMB = (("shoulder", "elbow"), ("elbow", "wrist"), ("shoulder", "hip"), ("hip", "knee"), ("knee", "ankle"),
         ("heel", "foot_index"), ("ankle", "heel"))  # fmt: skip
_JOINTS = ("shoulder", "elbow", "wrist", "hip", "knee", "ankle")


def _chain(side: str) -> tuple[tuple[int, int], ...]:
    return tuple((landmark_index(f"{side}_{a}"), landmark_index(f"{side}_{b}")) for a, b in _LIMB)


_SEGMENTS = {side: _chain(side) for side in ("left", "right")}
_MARKS = {side: tuple(landmark_index(f"{side}_{n}") for n in _JOINTS) for side in ("left", "right")}
_GIRDLES = tuple((landmark_index(f"left_{n}"), landmark_index(f"right_{n}")) for n in ("shoulder", "hip"))


def landmarks_at(track: Track, times_s: NDArray[np.float64], size_px: tuple[int, int]) -> NDArray[np.float64]:
    """Return landmarks at the asked times, lightly smoothed for the eye, in pixels of a picture of another size.

    Parameters
    ----------
    track : Track
        Raw landmarks.
    times_s : ndarray, shape (F,)
        Times of the pictures in seconds.
    size_px : tuple of int
        Width and height of the pictures.

    Returns
    -------
    ndarray, shape (F, 33, 2)
        Pixels; NaN further than 0.15 s from a frame in which somebody was found.
    """
    out = np.full((len(times_s), track.xy_px.shape[1], 2), np.nan)
    found = np.flatnonzero(track.found)
    if not found.size:
        return out
    seen, known = track.times_s[found], track.xy_px[found]
    if len(seen) > 2:
        steady = known.copy()
        steady[1:-1] = (known[:-2] + 2 * known[1:-1] + known[2:]) / 4
        calm = np.concatenate([[False], np.diff(seen, n=1)[:-1] + np.diff(seen)[1:] < 0.3, [False]])
        known = np.where(calm[:, None, None], steady, known)
    scale = (size_px[0] / track.width_px, size_px[1] / track.height_px)
    after = np.clip(np.searchsorted(seen, times_s), 0, len(seen) - 1)
    before = np.maximum(after - 1, 0)
    far = np.minimum(np.abs(times_s - seen[after]), np.abs(times_s - seen[before])) > 0.15
    span = seen[after] - seen[before]
    part = np.clip(np.where(span > 0, (times_s - seen[before]) / np.where(span > 0, span, 1.0), 1.0), 0.0, 1.0)
    out[:] = (known[before] + part[:, None, None] * (known[after] - known[before])) * scale
    out[far] = np.nan
    return out


def body_points(marks: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return points spread over the athlete's limbs, shape (F, P, 2), from landmarks of shape (F, 33, 2)."""
    bones = np.array([*_SEGMENTS["left"], *_SEGMENTS["right"]])
    a, b = marks[:, bones[:, 0]], marks[:, bones[:, 1]]
    return np.concatenate([marks, *(a + share * (b - a) for share in (0.2, 0.4, 0.6, 0.8))], axis=1)


def _fixed(point: NDArray[np.float64]) -> tuple[int, int]:
    """Return a point in the fixed-point coordinates of the drawing functions."""
    return round(float(point[0]) * (1 << _SHIFT)), round(float(point[1]) * (1 << _SHIFT))


def draw_line(picture: NDArray[np.uint8], a: NDArray[np.float64], b: NDArray[np.float64], *, colour: Colour,
              width_px: int, dash_px: float = 0.0) -> None:  # fmt: skip
    """Draw one line between two finite points in place, dashed where `dash_px` is not 0."""
    import cv2

    if dash_px <= 0:
        cv2.line(picture, _fixed(a), _fixed(b), colour, width_px, cv2.LINE_AA, _SHIFT)
        return
    length = float(np.hypot(*(b - a)))
    for at in np.arange(0.0, length, 2.4 * dash_px):
        p, q = a + (b - a) * at / length, a + (b - a) * min(length, at + dash_px) / length
        cv2.line(picture, _fixed(p), _fixed(q), colour, width_px, cv2.LINE_AA, _SHIFT)


def draw_joint(picture: NDArray[np.uint8], at: NDArray[np.float64], *, radius_px: float, colour: Colour,
               hollow: bool) -> None:  # fmt: skip
    """Draw one joint in place: a filled dot, or a ring for one in doubt; nothing where it is unknown."""
    import cv2

    if not (at[0] == at[0] and at[1] == at[1]):
        return
    radius = round(radius_px * (1 << _SHIFT))
    if hollow:
        cv2.circle(picture, _fixed(at), radius, CASING, 4, cv2.LINE_AA, _SHIFT)
        cv2.circle(picture, _fixed(at), radius, colour, 2, cv2.LINE_AA, _SHIFT)
    else:
        cv2.circle(picture, _fixed(at), radius, CASING, -1, cv2.LINE_AA, _SHIFT)
        cv2.circle(picture, _fixed(at), int(radius * 0.66), colour, -1, cv2.LINE_AA, _SHIFT)


def draw_skeleton(picture: NDArray[np.uint8], marks: NDArray[np.float64], *, near: str | None,
                  doubtful: Collection[int] = ()) -> None:  # fmt: skip
    """Draw the athlete's lines into an RGB picture in place.

    Parameters
    ----------
    picture : ndarray, shape (H, W, 3) uint8
        RGB.
    marks : ndarray, shape (33, 2)
        Landmarks in pixels of the picture, NaN where unknown.
    near : {"left", "right"} or None
        The side towards the camera; None draws both alike.
    doubtful : collection of int
        Landmarks that cannot be trusted at this moment.
    """
    seen = np.isfinite(marks).all(axis=1)
    if not seen.any():
        return
    known = set(np.flatnonzero(seen).tolist())
    unit = max(1.0, min(picture.shape[:2]) / 360.0)
    _draw_bones(picture, marks, _GIRDLES, known, unit=unit, strong=near is None, doubtful=doubtful)
    for side in ("right", "left") if near == "left" else ("left", "right"):
        strong = near in (None, side)
        _draw_bones(picture, marks, _SEGMENTS[side], known, unit=unit, strong=strong, doubtful=doubtful)
        for joint in _MARKS[side] if strong else ():
            draw_joint(picture, marks[joint], radius_px=3.4 * unit, colour=NEAR, hollow=joint in doubtful)


def _draw_bones(picture: NDArray[np.uint8], marks: NDArray[np.float64], bones: tuple[tuple[int, int], ...],
                known: Collection[int], *, unit: float, strong: bool, doubtful: Collection[int]) -> None:  # fmt: skip
    """Draw the bones of one side: all dark edges first, then the colour, so that no edge cuts a line."""
    import cv2

    width = max(1, round((2.2 if strong else 1.1) * unit))
    coats = [(CASING, width + max(2, round(unit))), (NEAR, width)] if strong else [(FAR, width)]
    drawn = [(a, b) for a, b in bones if a in known and b in known]
    solid = [(a, b) for a, b in drawn if not (a in doubtful or b in doubtful)]
    lines = [np.array([_fixed(marks[a]), _fixed(marks[b])], np.int32) for a, b in solid]
    for colour, wide in coats:
        cv2.polylines(picture, lines, False, colour, wide, cv2.LINE_AA, _SHIFT)
        for a, b in drawn:
            if (a, b) not in solid:
                draw_line(picture, marks[a], marks[b], colour=colour, width_px=wide, dash_px=5.0 * unit)
