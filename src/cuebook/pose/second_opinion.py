"""Ask the heavier model, where a user has added it, about the stretches in which the usual one cannot be trusted."""

from __future__ import annotations

import logging
from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from cuebook.model import Clip, Doubt, Track, landmark_index

from .backends import find_backend
from .cache import load_track, store_track, track_key
from .doubt import find_doubts
from .pieces import WARM_UP_FRAMES, analyse_piece, cut
from .track import LONG_SIDE_PX

log = logging.getLogger(__name__)

SECOND_BACKEND = "mediapipe-heavy"
WHOLE_BODY = "whole body"
STILL_DOUBTED = 0.25
"""The second reading is taken where no more than this share of the stretch stays in doubt with it (house choice)."""


def with_second_opinion(
    clip: Clip, track: Track, *, backend: str = SECOND_BACKEND, cache_dir: str | Path | None = None
) -> Track:
    """Replace the landmarks of doubtful limbs by those of a second model, where they are less doubtful.

    Parameters
    ----------
    clip : Clip
        The clip.
    track : Track
        What the usual model saw.
    backend : str
        The second model.
    cache_dir : str, Path or None
        Folder in which the result is kept.

    Returns
    -------
    Track
        The given one where the second model is not there, nothing is in doubt, or it knows no better; else one whose
        backend names both.
    """
    chosen = find_backend(backend)
    doubts = tuple(d for d in find_doubts(track) if d.what != WHOLE_BODY)
    if not doubts or chosen.why_missing() is not None or chosen.name == track.backend:
        return track
    both = f"{track.backend} + {chosen.name}"
    key = track_key(clip, backend=both, version=f"{track.backend_version} + {chosen.version}", settings={"second": 1})
    if cache_dir is not None:
        version = f"{track.backend_version} + {chosen.version}"
        stored = load_track(Path(cache_dir), key, clip, backend=both, version=version)
        if stored is not None:
            return stored
    seen = _look(clip, track, doubts, chosen)
    result = track
    for doubt in doubts:
        trial = _replaced(result, doubt, *seen)
        if _share_in_doubt(trial, doubt) <= STILL_DOUBTED:
            result = trial
    if result is not track:
        result = replace(result, backend=both, backend_version=f"{track.backend_version} + {chosen.version}")
        log.info("%s: a second model settled some of %d doubtful stretches", clip.path.name, len(doubts))
        if cache_dir is not None:
            frames = np.searchsorted(clip.times_s, track.times_s - 1e-9)
            store_track(Path(cache_dir), key, result, frame=frames)
    return result


def _look(clip: Clip, track: Track, doubts: tuple[Doubt, ...], backend) -> tuple[NDArray, NDArray]:
    """Return picture and model coordinates of the second model, NaN outside the doubtful stretches."""
    xy, world = np.full_like(track.xy_px, np.nan), np.full_like(track.world_m, np.nan)
    usual = cut(clip.times_s, long_side_px=LONG_SIDE_PX)[0]
    size = np.array([track.width_px, track.height_px], float)
    for start, stop in _joined(track, doubts):
        warm = min(WARM_UP_FRAMES, start)
        piece = replace(usual, start=start, stop=stop, warm_up=warm, check_every=10**6)
        session = backend.open()
        try:
            seen = analyse_piece(clip.frames, session, piece)
        finally:
            session.close()
        count = len(seen.xy)
        xy[start : start + count], world[start : start + count] = seen.xy * size, seen.world_m
    return xy, world


def _joined(track: Track, doubts: tuple[Doubt, ...]) -> list[tuple[int, int]]:
    """Return the frames that some doubt covers as half-open ranges, joined where they nearly touch."""
    flags = np.zeros(len(track.times_s), bool)
    for doubt in doubts:
        flags |= _inside(track, doubt)
    places = np.flatnonzero(flags)
    groups = np.split(places, np.flatnonzero(np.diff(places) > WARM_UP_FRAMES) + 1)
    return [(int(g[0]), int(g[-1]) + 1) for g in groups]


def _inside(track: Track, doubt: Doubt) -> NDArray[np.bool_]:
    return (track.times_s >= doubt.start_s - 1e-6) & (track.times_s <= doubt.end_s + 1e-6)


def _replaced(track: Track, doubt: Doubt, xy: NDArray, world: NDArray) -> Track:
    """Return the track with one limb over one stretch taken from the second model where that saw somebody."""
    frames = np.flatnonzero(_inside(track, doubt) & np.isfinite(xy[:, 0, 0]))
    marks = [landmark_index(name) for name in doubt.landmarks]
    new_xy, new_world = track.xy_px.copy(), track.world_m.copy()
    new_xy[np.ix_(frames, marks)] = xy[np.ix_(frames, marks)]
    new_world[np.ix_(frames, marks)] = world[np.ix_(frames, marks)]
    return replace(track, xy_px=new_xy, world_m=new_world)


def _share_in_doubt(track: Track, doubt: Doubt) -> float:
    """Return how much of a stretch is still in doubt for the same limb."""
    inside = _inside(track, doubt)
    covered = np.zeros(len(inside), bool)
    for other in find_doubts(track):
        if other.what == doubt.what:
            covered |= _inside(track, other)
    return float(covered[inside].mean()) if inside.any() else 1.0
