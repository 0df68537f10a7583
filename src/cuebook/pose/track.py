"""From a clip to the raw landmarks of the athlete in it."""

from __future__ import annotations

import logging
import os
import pickle
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from cuebook.clip import damage_warning
from cuebook.errors import PoseError
from cuebook.model import Clip, Track

from .backends import DEFAULT_BACKEND, PoseBackend, find_backend
from .cache import load_track, store_track, track_from_arrays, track_key
from .jobs import Job
from .others import LOOKS_NEEDED
from .pieces import PIECE_FRAMES, WARM_UP_FRAMES, Piece, PieceResult, analyse_piece, cut
from .pool import WorkerPool

log = logging.getLogger(__name__)

LONG_SIDE_PX = 960
"""Longest side at which pictures are decoded for the model, which itself looks at a crop of 256 by 256."""

DEFAULT_WORKERS = 2

Progress = Callable[[int, int], None]


def track_pose(
    clip: Clip,
    *,
    backend: str = DEFAULT_BACKEND,
    long_side_px: int = LONG_SIDE_PX,
    workers: int | None = None,
    progress: Progress | None = None,
    cache_dir: str | Path | None = None,
) -> Track:
    """Find the landmarks of one person in every analysed frame of a clip.

    Parameters
    ----------
    clip : Clip
        From `read_clip`.
    backend : str
        Name of a pose backend.
    long_side_px : int
        Longest side of the pictures given to the model.
    workers : int or None
        Processes; None takes two where the machine has two processors, 1 stays in this process. The track does not
        depend on it.
    progress : callable or None
        Called with (frames done, frames to do).
    cache_dir : str, Path or None
        Folder in which tracks are kept; a stored one is returned at once.

    Returns
    -------
    Track
        Raw landmarks, not smoothed; frames in which nobody was found hold NaN. A damaged clip gives the part that
        decodes, see `cuebook.clip.damage_warning`.

    Raises
    ------
    ClipError
        If the file can no longer be read, or less than 2 s of it decode.
    PoseError
        If the backend, its library or its model is missing or broken.
    UnknownName
        If there is no such backend.
    """
    chosen = find_backend(backend)
    if (missing := chosen.why_missing()) is not None:
        raise PoseError(missing)
    pieces = cut(clip.times_s, long_side_px=long_side_px)
    settings = {
        "long_side_px": long_side_px,
        "step": pieces[0].step,
        "pieces": len(pieces),
        "piece_frames": PIECE_FRAMES,
        "warm_up": WARM_UP_FRAMES,
    }
    key = track_key(clip, backend=chosen.name, version=chosen.version, settings=settings)
    if cache_dir is not None:
        stored = load_track(Path(cache_dir), key, clip, backend=chosen.name, version=chosen.version)
        if stored is not None:
            return stored
    began = time.perf_counter()
    results = _results(clip, chosen, pieces, workers=workers, progress=progress)
    track, frame = _joined(clip, chosen, pieces, results)
    if cache_dir is not None:
        store_track(Path(cache_dir), key, track, frame=frame)
    log.info("%s: %d frames tracked in %.1f s", clip.path.name, len(track.times_s), time.perf_counter() - began)
    return track


def frames_read(clip: Clip, track: Track) -> int:
    """Return how many frames of the clip the track reaches over, counted from the start.

    Parameters
    ----------
    clip : Clip
        The clip.
    track : Track
        Its track.
    """
    last = int(np.searchsorted(clip.times_s, track.times_s[-1])) if len(track.times_s) else -1
    step = cut(clip.times_s, long_side_px=LONG_SIDE_PX)[0].step
    return len(clip.times_s) if last + step >= len(clip.times_s) else last + 1


def _results(
    clip: Clip, backend: PoseBackend, pieces: tuple[Piece, ...], *, workers: int | None, progress: Progress | None
) -> list[PieceResult]:
    total = pieces[-1].stop
    wanted = min(DEFAULT_WORKERS, os.cpu_count() or 1) if workers is None else workers
    count = min(wanted, len(pieces))

    def tell(done: int) -> None:
        if progress is not None:
            progress(done, total)

    if count > 1 and _can_travel(clip):
        jobs = [Job(number=i, backend=backend.name, frames=clip.frames, piece=p) for i, p in enumerate(pieces)]
        with WorkerPool(count) as pool:
            return pool.run(jobs, progress=tell)
    results = []
    for piece in pieces:
        session = backend.open()
        try:
            results.append(analyse_piece(clip.frames, session, piece, seen=lambda done, p=piece: tell(p.start + done)))
        finally:
            session.close()
    return results


def _can_travel(clip: Clip) -> bool:
    """Tell whether the clip's frames can be read in another process."""
    try:
        pickle.dumps(clip.frames)
    except (pickle.PicklingError, AttributeError, TypeError):
        return False
    return True


def _joined(
    clip: Clip, backend: PoseBackend, pieces: tuple[Piece, ...], results: list[PieceResult]
) -> tuple[Track, np.ndarray]:
    """Put the pieces together, up to the first that stopped early."""
    kept: list[PieceResult] = []
    for piece, result in zip(pieces, results, strict=True):
        kept.append(result)
        if len(result.xy) < piece.stop - piece.start:
            break
    count = sum(len(result.xy) for result in kept)
    step = pieces[0].step
    if count < pieces[-1].stop and (warning := damage_warning(clip, count * step)) is not None:
        log.warning("%s", warning)
    frame = np.arange(count) * step
    track = track_from_arrays(
        clip,
        frame=frame,
        xy=np.concatenate([result.xy for result in kept]),
        world_m=np.concatenate([result.world_m for result in kept]),
        score=np.concatenate([result.score for result in kept]),
        light=np.concatenate([result.light for result in kept]),
        backend=backend.name,
        version=backend.version,
        others_seen=sum(result.looks_with_others for result in kept) >= LOOKS_NEEDED,
    )
    return track, frame
