"""Stills at the deciding moments: one per cue, cropped around the athlete, the angle drawn at its joint."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cuebook.errors import ClipError, OutputError
from cuebook.model import Cue, Repetition, ReviewData, Verdict

from .angle_mark import angle_mark, draw_angle
from .choice import deciding, shown_cues, signal_of
from .overlay import doubtful_at, near_side
from .skeleton import draw_skeleton, landmarks_at

LONG_SIDE_PX = 960
QUALITY = 85
MOST = 4
"""More pictures than this are not read by an athlete."""

_MARGIN = (0.26, 0.14)
"""Room left and right for the number, above and below for head and floor, in shares of the athlete's longer side."""

_WIDEST = 4 / 3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Still:
    """One picture of one cue in one repetition.

    Attributes
    ----------
    name : str
        File name: repetition, event, cue.
    cue : Cue
        What it shows.
    repetition : Repetition
        The repetition that decides.
    verdict : Verdict
        Its outcome.
    at_s : float
        When, in seconds.
    width_px, height_px : int
        Size of the picture.
    jpeg : bytes
        The picture.
    """

    name: str
    cue: Cue
    repetition: Repetition
    verdict: Verdict
    at_s: float
    width_px: int
    height_px: int
    jpeg: bytes


Moment = tuple[Cue, Repetition, Verdict, float]


def make_stills(
    data: ReviewData, *, most: int = MOST, pictures: Mapping[int, NDArray[np.uint8]] | None = None
) -> tuple[Still, ...]:
    """Return one still for each cue that was measured on an angle, by priority.

    Parameters
    ----------
    data : ReviewData
        The judged clip.
    most : int
        Largest number of stills.
    pictures : mapping of int to ndarray, optional
        Frames of `still_frames` that are decoded already, by number; the others are decoded here.

    Raises
    ------
    ClipError
        If the clip can no longer be read.
    """
    known = dict(pictures or {})
    known |= _frames(data, still_frames(data, most=most) - set(known))
    found = []
    for cue, rep, verdict, at in _moments(data, most):
        picture = known.get(_frame_at(data, at))
        if picture is not None:
            found.append(_still(data, cue, rep, verdict, at, picture.copy()))
    return tuple(found)


def still_frames(data: ReviewData, *, most: int = MOST) -> set[int]:
    """Return the numbers of the frames that `make_stills` draws on."""
    return {_frame_at(data, at) for *_, at in _moments(data, most)}


def _frame_at(data: ReviewData, time_s: float) -> int:
    return int(np.argmin(np.abs(data.clip.times_s - time_s)))


def _moments(data: ReviewData, most: int) -> list[Moment]:
    """Return the cues to show, each with the repetition, the verdict and the second that decide."""
    wanted = []
    for cue in shown_cues(data)[:most]:
        pair = deciding(data, cue)
        if pair is not None:
            rep, verdict = pair
            wanted.append((cue, rep, verdict, verdict.at_s if verdict.at_s is not None else rep.turn_s))
    return wanted


def still_of(data: ReviewData, cue: Cue, rep: Repetition, verdict: Verdict) -> Still | None:
    """Return the still of a cue in one repetition, None where the clip has no such frame any more.

    Raises
    ------
    ClipError
        If the clip can no longer be read.
    """
    at_s = verdict.at_s if verdict.at_s is not None else rep.turn_s
    frame = int(np.argmin(np.abs(data.clip.times_s - at_s)))
    picture = _frames(data, {frame}).get(frame)
    return None if picture is None else _still(data, cue, rep, verdict, at_s, picture.copy())


def athlete_at(
    data: ReviewData, at_s: float, *, alike_s: Sequence[float] = ()
) -> tuple[NDArray[np.uint8], NDArray[np.float64]]:
    """Return a cut around the athlete at an instant, and the landmarks in its pixels.

    Parameters
    ----------
    data : ReviewData
        The judged clip.
    at_s : float
        Instant, seconds.
    alike_s : sequence of float
        Other instants whose pictures get the same cut, wide enough for the athlete in each of them.

    Returns
    -------
    picture : ndarray, shape (H, W, 3) uint8
        RGB.
    marks : ndarray, shape (33, 2)
        Pixels, NaN where unknown.

    Raises
    ------
    ClipError
        If the clip can no longer be read, or has no picture there.
    """
    frame = int(np.argmin(np.abs(data.clip.times_s - at_s)))
    picture = _frames(data, {frame}).get(frame)
    if picture is None:
        raise ClipError(f"{data.clip.path.name} has no picture at {at_s:.2f} s: choose an instant inside the clip.")
    cut, marks = _cut(data, at_s, picture, alike_s=alike_s)
    return cut, marks[0]


def _frames(data: ReviewData, wanted: set[int]) -> dict[int, NDArray[np.uint8]]:
    """Decode the wanted frames, each on its own."""
    found = {}
    for frame in sorted(wanted):
        for _, picture in data.clip.frames(long_side_px=LONG_SIDE_PX, start=frame, stop=frame + 1):
            found[frame] = picture
    return found


def _cut(
    data: ReviewData, at_s: float, picture: NDArray[np.uint8], *, alike_s: Sequence[float] = ()
) -> tuple[NDArray[np.uint8], NDArray[np.float64]]:
    """Return the cut around the athlete and the landmarks (1, 33, 2) in its pixels."""
    size = (picture.shape[1], picture.shape[0])
    marks = landmarks_at(data.track, np.array([at_s]), size)
    within = landmarks_at(data.track, np.sort([at_s, *alike_s]), size).reshape(-1, 2)
    left, top, right, bottom = crop_box(within, size)
    cut = _enlarged(np.ascontiguousarray(picture[top:bottom, left:right]).copy())
    return cut, (marks - np.array([left, top])) * (cut.shape[1] / (right - left))


def _still(data: ReviewData, cue: Cue, rep: Repetition, verdict: Verdict, at_s: float,
           picture: NDArray[np.uint8]) -> Still:  # fmt: skip
    cut, marks = _cut(data, at_s, picture)
    near = near_side(data)
    draw_skeleton(cut, marks[0], near=near, doubtful=doubtful_at(data, at_s))
    signal = signal_of(data, cue, verdict.side)
    if signal is not None and verdict.value is not None and verdict.uncertainty is not None:
        mark = angle_mark(signal, marks, near=near, frame_px=(cut.shape[1], cut.shape[0]))
        draw_angle(cut, mark, 0, at_s, reading=(verdict.value, verdict.uncertainty))
    name = f"rep-{rep.number:02d}-{cue.event.replace('_', '-')}-{cue.name}.jpg"
    return Still(name=name, cue=cue, repetition=rep, verdict=verdict, at_s=at_s, width_px=cut.shape[1],
                 height_px=cut.shape[0], jpeg=encode_jpeg(cut))  # fmt: skip


def crop_box(marks: NDArray[np.float64], size_px: tuple[int, int]) -> tuple[int, int, int, int]:
    """Return left, top, right, bottom of a cut around the athlete, the whole picture where nobody was seen.

    Parameters
    ----------
    marks : ndarray, shape (N, 2)
        Landmarks in pixels, of one instant or several.
    size_px : tuple of int
        Width and height of the picture.
    """
    width, height = size_px
    seen = marks[np.isfinite(marks).all(axis=1)]
    if not len(seen):
        return 0, 0, width, height
    low, high = seen.min(axis=0), seen.max(axis=0)
    margin = np.array(_MARGIN) * float(max(high - low)) + 12
    centre, half = (low + high) / 2, (high - low) / 2 + margin
    half = np.maximum(half, half.max() / _WIDEST)
    left, right = max(0, int(centre[0] - half[0])), min(width, int(centre[0] + half[0]) + 1)
    top, bottom = max(0, int(centre[1] - half[1])), min(height, int(centre[1] + half[1]) + 1)
    if right - left < 32 or bottom - top < 32:
        return 0, 0, width, height
    return left, top, right, bottom


def _enlarged(cut: NDArray[np.uint8], *, target_px: int = 640) -> NDArray[np.uint8]:
    """Return a small cut enlarged, at most twice, so that the type on it stays sharp."""
    import cv2

    factor = min(2.0, target_px / max(cut.shape[:2]))
    if factor <= 1.05:
        return cut
    return cv2.resize(cut, None, fx=factor, fy=factor, interpolation=cv2.INTER_CUBIC)


def encode_jpeg(picture: NDArray[np.uint8], *, quality: int = QUALITY) -> bytes:
    """Return an RGB picture (H, W, 3) uint8 as JPEG.

    Raises
    ------
    OutputError
        If it has no pixels.
    """
    import cv2

    if picture.size == 0:
        raise OutputError(f"a picture of {picture.shape} cannot be written as JPEG: give one with pixels in it.")
    _, buffer = cv2.imencode(".jpg", np.ascontiguousarray(picture[..., ::-1]), [cv2.IMWRITE_JPEG_QUALITY, quality])
    return buffer.tobytes()
