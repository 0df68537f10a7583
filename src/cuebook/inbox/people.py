"""The people in a clip, in pictures in which they stand apart, so that somebody can point at the athlete."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cuebook.errors import ClipError, PoseError
from cuebook.model import Clip
from cuebook.pose import DEFAULT_BACKEND, PoseSession, find_backend

Array = NDArray[np.float64]
Picture = NDArray[np.uint8]

LOOKS = 9
"""Instants, spread over the clip, at which people are looked for."""
SHOWN = 4
"""Pictures that are offered at most."""
_MARGIN = 0.06
_LOOK_PX = 960
_SHOW_PX = 720
_QUALITY = 82
_SMALLEST_SHARE = 0.3
"""Smallest size of somebody beside the largest person; smaller ones stand far behind (house choice)."""
_SAME_SHARE = 0.6
"""Two detections whose hips lie nearer than this share of the body's radius are one person (house choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """Somebody in a picture: the middle of the hips and the radius of the body, in pixels of the clip."""

    x_px: float
    y_px: float
    radius_px: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Still:
    """A picture of a clip and the people in it.

    Attributes
    ----------
    time_s : float
        When it is shown.
    jpeg : bytes
        The picture, made smaller.
    people : tuple of Person
        From left to right; people whom the detector overlooks are missing and can be pointed at all the same.
    apart : float
        Distance of the two nearest people in radii of a body; 0 where fewer than two are seen.
    """

    time_s: float
    jpeg: bytes
    people: tuple[Person, ...]
    apart: float


def stills_with_people(clip: Clip, *, backend: str = DEFAULT_BACKEND) -> tuple[Still, ...]:
    """Look for people at a few instants and return the pictures in which most of them stand furthest apart.

    Parameters
    ----------
    clip : Clip
        From `read_clip`.
    backend : str
        Name of a pose backend.

    Returns
    -------
    tuple of Still
        At most `SHOWN`, the best to point in first.

    Raises
    ------
    ClipError
        If no picture of the clip can be decoded.
    PoseError
        If the backend is missing.
    """
    chosen = find_backend(backend)
    if (missing := chosen.why_missing()) is not None:
        raise PoseError(missing)
    session = chosen.open()
    try:
        found = [still for at_s in _instants(clip) if (still := _look(clip, session, at_s)) is not None]
    finally:
        session.close()
    if not found:
        raise ClipError(f"Not one picture of {clip.path.name} can be decoded: copy it from the phone again.")
    found.sort(key=lambda still: (-len(still.people), -still.apart, still.time_s))
    return tuple(found[:SHOWN])


def _instants(clip: Clip) -> Array:
    return np.linspace(_MARGIN, 1 - _MARGIN, LOOKS) * clip.times_s[-1]


def _look(clip: Clip, session: PoseSession, at_s: float) -> Still | None:
    import cv2

    index = int(np.clip(np.searchsorted(clip.times_s, at_s), 0, len(clip.times_s) - 1))
    shown = next(clip.frames(_LOOK_PX, index, index + 1), None)
    if shown is None:
        return None
    picture = shown[1]
    scale = clip.width_px / picture.shape[1]
    people = tuple(
        Person(x_px=round(x * scale, 1), y_px=round(y * scale, 1), radius_px=round(r * scale, 1))
        for x, y, r in people_in(picture, session)
    )
    shrink = min(1.0, _SHOW_PX / max(picture.shape[:2]))
    small = cv2.resize(picture, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA) if shrink < 1 else picture
    done, coded = cv2.imencode(".jpg", small[:, :, ::-1], [cv2.IMWRITE_JPEG_QUALITY, _QUALITY])
    if not done:
        return None
    return Still(time_s=round(float(clip.times_s[index]), 3), jpeg=coded.tobytes(), people=people, apart=_apart(people))


def people_in(picture: Picture, session: PoseSession) -> Array:
    """Return everybody found in a picture, shape (P, 3): x and y of the hips and the radius of the body, in its pixels.

    The detector is shown the whole picture and three upright strips of it, since it overlooks people beside others.

    Parameters
    ----------
    picture : ndarray, shape (H, W, 3)
        RGB.
    session : PoseSession
        An opened backend.
    """
    size = np.array([picture.shape[1], picture.shape[0]], dtype=float)
    seen = [session.people(shown) * size for shown in (picture, *_strips(picture))]
    boxes = np.concatenate([people.reshape(-1, 2, 2) for people in seen])
    radius = np.linalg.norm(boxes[:, 1] - boxes[:, 0], axis=1)
    large = radius > _SMALLEST_SHARE * radius.max(initial=0.0)
    kept: list[tuple[float, float, float]] = []
    for (x, y), r in zip(boxes[large, 0], radius[large], strict=True):
        inside = 0 <= x < size[0] and 0 <= y < size[1]
        if inside and all(np.hypot(x - a, y - b) > _SAME_SHARE * max(r, c) for a, b, c in kept):
            kept.append((float(x), float(y), float(r)))
    return np.array(sorted(kept), dtype=float).reshape(-1, 3)


def _strips(picture: Picture) -> list[Picture]:
    """Return the picture three times, each time with all but one upright strip in its mean colour."""
    width = picture.shape[1]
    mean = picture[::16, ::16].reshape(-1, 3).mean(axis=0).astype(np.uint8)
    out = []
    for left in (0.0, 0.25, 0.5):
        first, last = round(left * width), round((left + 0.5) * width)
        shown = np.empty_like(picture)
        shown[:] = mean
        shown[:, first:last] = picture[:, first:last]
        out.append(shown)
    return out


def _apart(people: tuple[Person, ...]) -> float:
    """Return the distance of the two nearest people in radii of the larger one; 0 with fewer than two."""
    gaps = [
        float(np.hypot(a.x_px - b.x_px, a.y_px - b.y_px)) / max(a.radius_px, b.radius_px)
        for number, a in enumerate(people)
        for b in people[number + 1 :]
    ]
    return min(gaps, default=0.0)
