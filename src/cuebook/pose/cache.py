"""Tracks kept on disk, so that a clip is looked at once per backend and settings."""

from __future__ import annotations

import hashlib
import json
import logging
import os
import zipfile
from pathlib import Path

import numpy as np

from cuebook.errors import ModelError
from cuebook.model import Clip, Track

log = logging.getLogger(__name__)

FORMAT = 1
"""Raised whenever the stored arrays or the way in which pieces are analysed change."""

_ARRAYS = ("frame", "xy", "world_m", "score", "light")


def track_key(clip: Clip, *, backend: str, version: str, settings: dict[str, int | float]) -> str:
    """Return the name under which a track is stored: hash of clip, backend, version and settings.

    Parameters
    ----------
    clip : Clip
        The clip.
    backend, version : str
        What produces the landmarks.
    settings : dict
        Everything else that changes the result.
    """
    parts = [FORMAT, clip.sha256, backend, version, sorted(settings.items())]
    return hashlib.sha256(json.dumps(parts).encode()).hexdigest()[:32]


def store_track(folder: Path, key: str, track: Track, *, frame: np.ndarray) -> Path:
    """Write a track; the file appears under its name only when it is complete.

    Parameters
    ----------
    folder : Path
        Where to keep it; made if missing.
    key : str
        From `track_key`.
    track : Track
        The track.
    frame : ndarray, shape (F,)
        Number of each analysed frame in the clip.
    """
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{key}.npz"
    partial = folder / f".{key}.{os.getpid()}.partial"
    size = np.array([track.width_px, track.height_px], dtype=np.float64)
    with partial.open("wb") as handle:
        np.savez(
            handle,
            frame=frame.astype(np.int32),
            xy=(track.xy_px / size).astype(np.float32),
            world_m=track.world_m.astype(np.float32),
            score=track.score.astype(np.float32),
            light=track.light.astype(np.float32),
            others_seen=np.array(track.others_seen),
        )
    os.replace(partial, path)
    return path


def load_track(folder: Path, key: str, clip: Clip, *, backend: str, version: str) -> Track | None:
    """Return a stored track, None if there is none; one that cannot be read is passed over with a log line.

    Parameters
    ----------
    folder, key : Path, str
        As for `store_track`.
    clip : Clip
        Gives the time stamps and the size.
    backend, version : str
        What produced the landmarks.
    """
    path = folder / f"{key}.npz"
    if not path.is_file():
        return None
    try:
        with path.open("rb") as handle, np.load(handle, allow_pickle=False) as stored:
            frame, xy, world, score, light = (stored[name] for name in _ARRAYS)
            others = bool(stored["others_seen"])
        return track_from_arrays(
            clip, frame=frame, xy=xy, world_m=world, score=score, light=light,
            backend=backend, version=version, others_seen=others,
        )  # fmt: skip
    except (OSError, ValueError, KeyError, IndexError, EOFError, TypeError, zipfile.BadZipFile, ModelError) as cause:
        log.warning("the stored track %s cannot be read (%s) and is made again", path.name, cause)
        return None


def track_from_arrays(
    clip: Clip,
    *,
    frame: np.ndarray,
    xy: np.ndarray,
    world_m: np.ndarray,
    score: np.ndarray,
    light: np.ndarray,
    backend: str,
    version: str,
    others_seen: bool,
) -> Track:
    """Return a track from arrays in shares of the picture.

    Parameters
    ----------
    clip : Clip
        Gives the time stamps and the size.
    frame : ndarray, shape (F,)
        Number of each analysed frame in the clip.
    xy : ndarray, shape (F, 33, 2)
        Shares of width and height.
    world_m, score, light : ndarray
        As in `Track`.
    backend, version : str
        What produced the landmarks.
    others_seen : bool
        As in `Track`.

    Raises
    ------
    ModelError
        If the shapes do not fit together.
    """
    size = np.array([clip.width_px, clip.height_px], dtype=np.float64)
    return Track(
        times_s=clip.times_s[frame],
        xy_px=xy.astype(np.float64) * size,
        world_m=world_m,
        score=score,
        light=light,
        width_px=clip.width_px,
        height_px=clip.height_px,
        backend=backend,
        backend_version=version,
        others_seen=others_seen,
    )
