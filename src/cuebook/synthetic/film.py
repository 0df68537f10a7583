"""Makes a clip and its truth from a spec, with or without drawing it."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from cuebook.model import Track

from .camera import View, make_view
from .perform import Performance, perform
from .scenario import ClipSpec
from .skin import marks_m
from .truth import Truth, make_truth, write_truth

_CLOCK = 90_000
"""Ticks per second of the time stamps in the file."""


def make_clip(spec: ClipSpec, folder: Path) -> Path:
    """Draw a clip into `folder` and write its truth beside it.

    Returns
    -------
    pathlib.Path
        The clip `<name>.mp4`; the truth is `<name>.truth.json`.

    Raises
    ------
    MissingExtra
        If pyvista is not installed.
    """
    from .render import frames

    folder.mkdir(parents=True, exist_ok=True)
    performance = perform(spec)
    view = make_view(spec, performance)
    clip = folder / f"{spec.name}.mp4"
    part = folder / f".{spec.name}.part.mp4"
    _encode(spec, performance.times_s, frames(spec, performance, view), part)
    write_truth(make_truth(spec, performance, view), truth_path(clip))
    os.replace(part, clip)
    return clip


def truth_path(clip: Path) -> Path:
    """Return where the truth of a clip stands."""
    return clip.with_suffix(".truth.json")


def _encode(spec: ClipSpec, times_s: NDArray[np.float64], pictures: Iterator[NDArray[np.uint8]], path: Path) -> None:
    """Write pictures as H.264 with the given time stamps, turned and marked as turned where the spec asks for it."""
    from fractions import Fraction

    import av

    quarter = spec.picture.rotation_deg // 90
    width, height = spec.picture.width_px, spec.picture.height_px
    if quarter % 2:
        width, height = height, width
    with av.open(str(path), "w", options={"movflags": "faststart"}) as container:
        stream = container.add_stream("libx264", rate=Fraction(spec.picture.rate_hz).limit_denominator(1001))
        stream.width, stream.height, stream.pix_fmt = width, height, "yuv420p"
        stream.options = {"preset": "veryfast", "crf": str(spec.picture.crf), "threads": "1"}
        stream.time_base = stream.codec_context.time_base = Fraction(1, _CLOCK)
        for time_s, picture in zip(times_s, pictures, strict=True):
            turned = np.ascontiguousarray(np.rot90(picture, quarter))
            frame = av.VideoFrame.from_ndarray(turned, format="rgb24")
            frame.pts, frame.time_base = round(float(time_s) * _CLOCK), Fraction(1, _CLOCK)
            container.mux(stream.encode(frame))
        container.mux(stream.encode())
    if quarter:
        _mark_turned(path, spec.picture.rotation_deg)


def _mark_turned(path: Path, rotation_deg: int) -> None:
    """Write into the track header (tkhd) of an MP4 file by how much a player must turn the picture clockwise."""
    data = bytearray(path.read_bytes())
    at = data.index(b"tkhd") + 4
    matrix = at + (52 if data[at] else 40)
    one, minus = (1 << 16).to_bytes(4, "big"), ((1 << 32) - (1 << 16)).to_bytes(4, "big")
    none, last = bytes(4), (1 << 30).to_bytes(4, "big")
    turns = {90: (none, one, minus, none), 180: (minus, none, none, minus), 270: (none, minus, one, none)}
    a, b, c, d = turns[rotation_deg % 360]
    data[matrix : matrix + 36] = a + b + none + c + d + none + none + none + last
    path.write_bytes(bytes(data))


def landmarks(spec: ClipSpec) -> tuple[Track, Truth]:
    """Return the landmarks that a perfect pose model would give, and the truth, without drawing anything.

    Parameters
    ----------
    spec : ClipSpec

    Returns
    -------
    track : Track
        All 33 landmarks of the frames with score 1; `world_m` is about the hip centre: right, down, away from the
        camera.
    truth : Truth
    """
    performance = perform(spec)
    view = make_view(spec, performance)
    return perfect_track(spec, performance, view), make_truth(spec, performance, view)


def perfect_track(spec: ClipSpec, performance: Performance, view: View) -> Track:
    """Return the projected landmarks of a performance as a track."""
    marks = marks_m(performance.body, performance.poses.rotations, performance.joints_m)
    local = view.in_camera(marks)
    world = local - 0.5 * (local[:, 23:24] + local[:, 24:25])
    xy = view.project(marks)
    if view.mirrored:
        world = world * np.array([-1.0, 1.0, 1.0])
        world, xy = _sides_swapped(world), _sides_swapped(xy)
    count = len(performance.times_s)
    return Track(
        times_s=performance.times_s,
        xy_px=xy,
        world_m=world,
        score=np.ones((count, marks.shape[1])),
        light=np.full(count, 0.5 * spec.look.light),
        width_px=spec.picture.width_px,
        height_px=spec.picture.height_px,
        backend="drawn",
        backend_version="1",
    )


def _sides_swapped(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Give left landmarks the places of right ones and back, as a mirrored picture makes a pose model do."""
    from cuebook.model import LANDMARKS, landmark_index

    order = []
    for name in LANDMARKS:
        other = name.replace("left", "@").replace("right", "left").replace("@", "right")
        order.append(landmark_index(other))
    return values[:, order]
