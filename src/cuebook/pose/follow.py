"""Following the one person somebody pointed at, and stopping where another comes too near to be told apart."""

from __future__ import annotations

import logging
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from cuebook.errors import ClipError, PoseError
from cuebook.model import LANDMARKS, Clip, Track

from .backends import DEFAULT_BACKEND, PoseBackend, PoseSession, find_backend
from .cache import load_track, store_track, track_from_arrays, track_key
from .others import SMALLEST_SHARE
from .pieces import frame_step
from .seen import Seen

log = logging.getLogger(__name__)

Array = NDArray[np.float64]
Picture = NDArray[np.uint8]

LONG_SIDE_PX = 960
CHUNK_FRAMES = 45
"""Frames held in memory while going backwards from the pointed instant."""

MARGIN = 0.30
"""Room left around the body, as a share of its size: everything further out is greyed before the model looks."""

LOOK_EVERY_S = 0.17
"""So often everybody in the picture is looked for: who walks by takes several looks to cross a body."""

TOO_NEAR = 0.10
"""Another person whose hips lie within the box around the athlete's landmarks, widened by this share of the body's
size, can no longer be told apart (house choice)."""

SAME_BODY = 0.25
"""A detection whose hips lie within this share of the body's size from the athlete's is the athlete (house choice)."""

LEAP = 0.35
"""The middle of a body does not move by more than this share of its size from one frame to the next (house choice)."""

LONGEST_GAP_FRAMES = 15
"""After so many frames with nobody in the box the athlete counts as lost."""

_FORM = re.compile(r"\s*(\d+(?:\.\d+)?)\s*,\s*(\d+(?:\.\d+)?)\s*@\s*(\d+(?:\.\d+)?)\s*s?\s*")
_STRIP_SHARES = (0.22, 0.32, 0.45)
"""Half widths of the strips about the point, as shares of the picture's height."""

WALKED = 0.04
"""Who moves across the picture by more than this share of the body's size between two looks walks (house choice)."""

STRODE = 0.5
"""Nobody walks further than this share of the body's size between two looks (house choice)."""

SHRINKS = 0.9
"""A body does not shrink by more than this from look to look: landmarks that do lie on two people (house choice)."""

REMEMBERED_LOOKS = 12
"""Looks for which somebody who is no longer seen, perhaps hidden by the athlete, is taken to stand where they were."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pointed:
    """Where somebody pointed at the athlete: pixels of the upright picture from its top left, and seconds."""

    x_px: float
    y_px: float
    at_s: float

    def __str__(self) -> str:
        return f"{self.x_px:g},{self.y_px:g}@{self.at_s:g}"


def parse_pointed(text: str) -> Pointed:
    """Return the point that ``X,Y@T`` names.

    Raises
    ------
    PoseError
        If it cannot be read.
    """
    match = _FORM.fullmatch(text)
    if match is None:
        raise PoseError(f"'{text}' is no point: write X,Y@T, in pixels and seconds, such as 320,400@2.5.")
    x, y, at = (float(part) for part in match.groups())
    return Pointed(x_px=x, y_px=y, at_s=at)


def follow_person(
    clip: Clip,
    pointed: Pointed,
    *,
    backend: str = DEFAULT_BACKEND,
    progress: Callable[[int, int], None] | None = None,
    cache_dir: str | Path | None = None,
) -> Track:
    """Find the landmarks of the person somebody pointed at, forwards and backwards from that instant.

    Parameters
    ----------
    clip : Clip
        From `read_clip`.
    pointed : Pointed
        A point on the athlete in a picture in which they stand apart.
    backend : str
        Name of a pose backend.
    progress : callable or None
        Called with (frames done, frames to do).
    cache_dir : str, Path or None
        Folder in which tracks are kept.

    Returns
    -------
    Track
        NaN before and after the athlete meets somebody, since nothing proves who is who after that, and where the
        athlete is lost. `others_seen` says whether somebody else was detected.

    Raises
    ------
    PoseError
        If the point lies outside the clip, nobody is found there, somebody else is too near to it, or the backend is
        missing.
    ClipError
        If the file can no longer be read.
    """
    chosen = find_backend(backend)
    if (missing := chosen.why_missing()) is not None:
        raise PoseError(missing)
    _check(clip, pointed)
    step = frame_step(clip.times_s)
    where = {"follow": 2, "step": step, "x": pointed.x_px, "y": pointed.y_px, "t": pointed.at_s}
    key = track_key(clip, backend=chosen.name, version=chosen.version, settings=where)
    if cache_dir is not None:
        stored = load_track(Path(cache_dir), key, clip, backend=chosen.name, version=chosen.version)
        if stored is not None:
            return stored
    frame = np.arange(0, len(clip.times_s), step)
    begin = int(np.argmin(np.abs(clip.times_s[frame] - pointed.at_s)))
    marks = _Marks(len(frame))
    tell = progress or (lambda done, total: None)
    for order in (range(begin, len(frame)), range(begin - 1, -1, -1)):
        _one_way(clip, chosen, order, begin, step, pointed, marks, tell)
    track = track_from_arrays(
        clip, frame=frame, xy=marks.xy, world_m=marks.world_m, score=marks.score, light=marks.light,
        backend=chosen.name, version=chosen.version, others_seen=marks.others,
    )  # fmt: skip
    if cache_dir is not None:
        store_track(Path(cache_dir), key, track, frame=frame)
    log.info("%s: followed in %d of %d frames", clip.path.name, int(track.found.sum()), len(frame))
    return track


class _Marks:
    """Arrays that are filled frame by frame."""

    def __init__(self, count: int) -> None:
        self.xy = np.full((count, len(LANDMARKS), 2), np.nan)
        self.world_m = np.full((count, len(LANDMARKS), 3), np.nan)
        self.score = np.full((count, len(LANDMARKS)), np.nan)
        self.light = np.full(count, np.nan)
        self.others = False
        self.done = 0

    def put(self, row: int, seen: Seen) -> None:
        self.xy[row], self.world_m[row], self.score[row] = seen.xy, seen.world_m, seen.score


def _one_way(
    clip: Clip,
    backend: PoseBackend,
    order: range,
    begin: int,
    step: int,
    pointed: Pointed,
    marks: _Marks,
    tell: Callable[[int, int], None],
) -> None:
    """Follow from the pointed instant to one end of the clip, until the athlete meets somebody or is lost."""
    session = backend.open()
    try:
        every = max(1, round(LOOK_EVERY_S / float(np.median(np.diff(clip.times_s[::step])))))
        box = None if order.step > 0 else _box_of(marks.xy[begin], clip)
        lost, following, company = 0, True, _Company()
        for row, picture in _pictures(clip, order, step):
            marks.light[row] = picture[::16, ::16].mean() / 255
            marks.done += 1
            tell(marks.done, len(marks.light))
            if not following:
                continue
            if box is None:
                box = _first_box(session, picture, pointed, clip)
            seen = session.landmarks(_greyed(picture, box))
            if seen is None or _leapt(seen, box, picture):
                lost += 1
                following = lost <= LONGEST_GAP_FRAMES
                continue
            if (row % every == 0 or row == begin) and company.too_near(session, picture, seen):
                if row == begin:
                    raise PoseError(_say_apart(clip, pointed))
                following = False
                continue
            lost = 0
            marks.put(row, seen)
            box = _box(seen.xy, picture.shape)
        if not following:
            _take_back(marks, order, every * (1 + company.unseen_looks))
        marks.others |= company.ever
    finally:
        session.close()


def _take_back(marks: _Marks, order: range, count: int) -> None:
    """Take the frames since the last look at which both were seen back as well: the two may have met just after it."""
    followed = [row for row in order if np.isfinite(marks.xy[row, 0, 0])]
    for row in followed[-count:] if len(followed) > count else ():
        marks.xy[row] = marks.world_m[row] = marks.score[row] = np.nan


def _pictures(clip: Clip, order: range, step: int) -> Iterator[tuple[int, Picture]]:
    """Yield (row, picture) in the given order; backwards in chunks that are decoded forwards."""
    wanted = {"step": step} if step > 1 else {}
    if not order:
        return
    if order.step > 0:
        start, stop = order.start * step, (order.stop - 1) * step + 1
        for row, (_, picture) in zip(order, clip.frames(LONG_SIDE_PX, start, stop, **wanted), strict=False):
            yield row, picture
        return
    last = order.start
    while last >= 0:
        first = max(0, last - CHUNK_FRAMES + 1)
        held = [picture for _, picture in clip.frames(LONG_SIDE_PX, first * step, last * step + 1, **wanted)]
        for back in range(len(held) - 1, -1, -1):
            yield first + back, held[back]
        last = first - 1


def _check(clip: Clip, pointed: Pointed) -> None:
    if not (0 <= pointed.x_px < clip.width_px and 0 <= pointed.y_px < clip.height_px):
        raise PoseError(
            f"The point {pointed.x_px:g},{pointed.y_px:g} lies outside {clip.path.name}, which is "
            f"{clip.width_px} x {clip.height_px} pixels: point inside the picture."
        )
    if pointed.at_s > clip.duration_s:
        raise PoseError(
            f"{clip.path.name} lasts {clip.duration_s:.1f} s: point at the athlete before that, not at "
            f"{pointed.at_s:g} s."
        )
    if len(clip.times_s) < 2:
        raise ClipError(f"{clip.path.name} holds a single picture: choose the clip of the whole set.")


def _first_box(session: PoseSession, picture: Picture, pointed: Pointed, clip: Clip) -> Array:
    """Return a box (2, 2) about the person under the point, as pixels of the picture: low corner, high corner.

    The detector is shown the whole picture, then upright strips about the point: it overlooks people.
    """
    height, width = picture.shape[:2]
    size = np.array([width, height], dtype=float)
    point = np.array([pointed.x_px / clip.width_px, pointed.y_px / clip.height_px]) * size
    strips = [np.array([[point[0] - s * height, 0], [point[0] + s * height, height]]) for s in _STRIP_SHARES]
    for shown in (picture, *(_greyed(picture, strip) for strip in strips)):
        people = session.people(shown) * size
        if len(people) == 0:
            continue
        radius = np.linalg.norm(people[:, 1] - people[:, 0], axis=1)
        away = np.linalg.norm(people[:, 0] - point, axis=1)
        if (away < radius).any():
            best = int(np.argmin(np.where(away < radius, away, np.inf)))
            reach = _reach(people, radius, best, np.delete(np.arange(len(people)), best))
            return np.stack([people[best, 0] - reach, people[best, 0] + reach])
    raise PoseError(
        f"Nobody is found at {pointed.x_px:g},{pointed.y_px:g} in {clip.path.name} at {pointed.at_s:g} s: point at the "
        "athlete's middle in a picture that shows them whole."
    )


def _reach(people: Array, radius: Array, best: int, others: NDArray[np.intp]) -> Array:
    """Return half the width and height of the first box: the body's circle, but not beyond half way to the next one."""
    reach = np.array([1.1, 1.25]) * radius[best]
    if len(others):
        gap = np.abs(people[others, 0, 0] - people[best, 0, 0]).min()
        reach[0] = min(reach[0], max(0.5 * gap, 0.25 * radius[best]))
    return reach


def _box_of(xy: Array, clip: Clip) -> Array | None:
    if not np.isfinite(xy).all():
        raise PoseError(f"Nobody can be followed from there in {clip.path.name}: point at another instant.")
    scale = min(1.0, LONG_SIDE_PX / max(clip.width_px, clip.height_px))
    return _box(xy, (round(clip.height_px * scale), round(clip.width_px * scale)))


def _box(xy: Array, shape: tuple[int, ...]) -> Array:
    """Return the box around landmarks given as shares, with room, in pixels of the picture."""
    points = xy * np.array([shape[1], shape[0]], dtype=float)
    low, high = points.min(axis=0), points.max(axis=0)
    room = MARGIN * float((high - low).max())
    return np.stack([low - room, high + room])


def _greyed(picture: Picture, box: Array) -> Picture:
    """Return the picture with everything outside the box in its mean colour."""
    height, width = picture.shape[:2]
    (left, top), (right, bottom) = np.clip(np.round(box), 0, [width, height]).astype(int)
    out = np.empty_like(picture)
    out[:] = picture[::16, ::16].reshape(-1, 3).mean(axis=0).astype(np.uint8)
    out[top:bottom, left:right] = picture[top:bottom, left:right]
    return out


def _leapt(seen: Seen, box: Array, picture: Picture) -> bool:
    """Tell whether the middle of the body lies too far from where it was."""
    points = seen.xy * np.array([picture.shape[1], picture.shape[0]], dtype=float)
    middle = (points.min(axis=0) + points.max(axis=0)) / 2
    was = box.mean(axis=0)
    return bool(np.linalg.norm(middle - was) > LEAP * float((box[1] - box[0]).max()))


class _Company:
    """Everybody else in the picture: where they are, and where they were when last seen."""

    def __init__(self) -> None:
        self.ever = False
        self._hips = np.zeros((0, 2))
        self._step, self._large = np.zeros(0), 0.0
        self._age = 0

    @property
    def unseen_looks(self) -> int:
        """Looks since somebody else was seen."""
        return self._age

    def too_near(self, session: PoseSession, picture: Picture, seen: Seen) -> bool:
        """Look for others and tell whether one of them can no longer be told from the athlete."""
        size = np.array([picture.shape[1], picture.shape[0]], dtype=float)
        body = seen.xy * size
        low, high = body.min(axis=0), body.max(axis=0)
        self._large = large = max(float((high - low).max()), SHRINKS * self._large)
        own = body[[LANDMARKS.index("left_hip"), LANDMARKS.index("right_hip")]].mean(axis=0)
        hidden = picture.copy()
        (left, top), (right, bottom) = np.clip(np.round([low, high]), 0, size).astype(int)
        hidden[top:bottom, left:right] = picture[::16, ::16].reshape(-1, 3).mean(axis=0)
        hips = np.concatenate([self._others(session.people(shown) * size, own, large) for shown in (picture, hidden)])
        self._age = 0 if len(hips) else self._age + 1
        if len(hips) or self._age > REMEMBERED_LOOKS:
            self._hips, self._step = hips, self._steps(hips, large)
        else:
            self._hips = self._hips + np.stack([self._step, np.zeros(len(self._step))], axis=1)
        self.ever |= len(hips) > 0
        room = TOO_NEAR * large
        return bool(((self._hips > low - room) & (self._hips < high + room)).all(axis=1).any())

    def _steps(self, hips: Array, large: float) -> Array:
        """Return how far each of the others walked across the picture since the last look, in pixels; 0 where still.

        Who walks towards the athlete and is no longer seen is taken to walk on: perhaps they are in front by now.
        """
        if not len(self._hips):
            return np.zeros(len(hips))
        before = self._hips[np.linalg.norm(hips[:, None] - self._hips, axis=2).argmin(axis=1)]
        step = hips[:, 0] - before[:, 0]
        return np.where((np.abs(step) > WALKED * large) & (np.abs(step) < STRODE * large), step, 0.0)

    @staticmethod
    def _others(people: Array, own: Array, large: float) -> Array:
        """Return the hips (N, 2) of everybody who is not the athlete and not far behind."""
        if len(people) == 0:
            return np.zeros((0, 2))
        radius = np.linalg.norm(people[:, 1] - people[:, 0], axis=1)
        away = np.linalg.norm(people[:, 0] - own, axis=1)
        return people[(radius > SMALLEST_SHARE * large / 2) & (away > SAME_BODY * large), 0]


def _say_apart(clip: Clip, pointed: Pointed) -> str:
    return (
        f"Somebody else is too near to the athlete in {clip.path.name} at {pointed.at_s:g} s: point at an instant at "
        "which they stand apart."
    )
