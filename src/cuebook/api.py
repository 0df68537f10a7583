"""The functions that a notebook starts with."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from cuebook.assess.analyse import review_clip
from cuebook.errors import CuebookError
from cuebook.model import Movement, ReviewData, Settings, Tempo
from cuebook.movements import find_workspace, load_movement, prescribe, read_settings
from cuebook.pose import parse_pointed

if TYPE_CHECKING:
    from cuebook.report.view import Review
    from cuebook.widgets.desk import Desk
    from cuebook.widgets.playback import CopyJob


def review(
    clip: str | Path,
    *,
    movement: str | Path | Movement,
    tempo: str | Tempo | None = None,
    repetitions: int | None = None,
    side: Literal["left", "right"] | None = None,
    mirrored: Literal["yes", "no", "unknown"] = "unknown",
    capture_rate_hz: float | None = None,
    settings: Settings | None = None,
    cache_dir: str | Path | None = None,
    person: str | None = None,
    progress: Callable[[float], None] | None = None,
) -> Review:
    """Judge one clip of one athlete doing one movement.

    Parameters
    ----------
    clip : str or Path
        The clip.
    movement : str, Path or Movement
        Name in the library or in the workspace, a movement file, or a movement.
    tempo : str or Tempo, optional
        Prescribed tempo such as ``"3-1-1-0"``.
    repetitions : int, optional
        Prescribed number, per side where the movement has sides.
    side : {"left", "right"}, optional
        The side that was asked for.
    mirrored : {"yes", "no", "unknown"}
        Whether the camera made a mirror picture.
    capture_rate_hz : float, optional
        Rate at which a slow-motion clip was taken, frames per second.
    settings : Settings, optional
        Deciding chances and pose backend; default: those of the workspace.
    cache_dir : str or Path, optional
        Folder for landmarks; default: the cache of the workspace the clip lies in, else none is kept.
    person : str, optional
        A point on the athlete as ``"X,Y@T"`` (pixels from the top left, seconds), where two people are in the picture.
    progress : callable, optional
        Called with the share done, 0 to 1.

    Returns
    -------
    Review
        Tables, plot and pictures of what was found; ``.data`` holds everything.

    Raises
    ------
    ClipError
        If the file cannot be used as a clip.
    MovementError, UnknownName
        If the movement cannot be found or its file is not valid.
    TempoError
        If the tempo cannot be read.
    ModelError
        If a side is asked of a movement that works both sides together.
    PoseError
        If the pose backend is missing or broken.
    """
    from cuebook.report.view import Review

    workspace = find_workspace(Path(clip).resolve().parent)
    chosen = movement if isinstance(movement, Movement) else load_movement(movement, workspace=workspace)
    asked = prescribe(chosen, tempo=tempo, repetitions=repetitions, side=side)
    if cache_dir is None and workspace is not None:
        cache_dir = workspace / "cache"
    own, margins = read_settings(workspace)
    data = review_clip(
        clip,
        movement=chosen,
        prescription=asked,
        settings=replace(settings or own, mirrored=mirrored),
        margins=margins,
        capture_rate_hz=capture_rate_hz,
        cache_dir=cache_dir,
        person=None if person is None else parse_pointed(person),
        progress=progress,
    )
    return Review(data)


def desk(
    clip: str | Path | Review | ReviewData,
    *,
    beside: str | Path | Review | ReviewData | None = None,
    author: str = "the coach",
    record: str | Path | None = None,
    cache_dir: str | Path | None = None,
    **asked: Any,
) -> Desk:
    """Open the desk for a clip, or for a review that is there already.

    Parameters
    ----------
    clip : str, Path, Review or ReviewData
        The clip, or a review of it; with a review nothing else is asked for.
    beside : str, Path, Review or ReviewData, optional
        A reference clip of the same movement, or a review of the athlete's earlier clip, shown beside this one and
        aligned at the turn.
    author : str
        Who corrects and notes.
    record : str or Path, optional
        The record; default: that of the workspace, without one a file beside the clip.
    cache_dir : str or Path, optional
        Where landmarks and the playback copy are kept; default: the cache of the workspace, without one the folder of
        landmarks in the clip's review, without a review a folder ``<stem>.desk`` beside the clip.
    **asked
        Everything that :func:`review` takes: ``movement``, ``tempo``, ``repetitions``, ``side``, ``mirrored`` and more.

    Returns
    -------
    Desk
        A widget; what is done on it is kept in the record at once.

    Raises
    ------
    ClipError
        If the file cannot be used as a clip, or is no longer there.
    CuebookError
        If a clip comes without a movement, or anything that :func:`review` refuses.

    Examples
    --------
    >>> cuebook.desk("clip.mp4", movement="squat", tempo="3-1-1-0")  # doctest: +SKIP
    """
    from cuebook.record import open_desk
    from cuebook.widgets.desk import Desk

    data, copy = _on_desk(clip, cache_dir, asked)
    other = None
    if beside is not None:
        other = _on_desk(beside, cache_dir, {"movement": data.movement, "settings": data.settings})
    return Desk(open_desk(data, author=author, record=record), copy=copy, beside=other)


def _on_desk(
    clip: str | Path | Review | ReviewData, cache_dir: str | Path | None, asked: dict[str, Any]
) -> tuple[ReviewData, CopyJob]:
    """Return the review of a clip, made if there is none yet, and the playback copy, which is made meanwhile."""
    from cuebook.clip import read_clip
    from cuebook.report.view import Review
    from cuebook.widgets.desk import kept_beside
    from cuebook.widgets.playback import CopyJob

    if isinstance(clip, Review | ReviewData):
        data = clip.data if isinstance(clip, Review) else clip
        return data, CopyJob(data.clip, cache_dir or kept_beside(data.clip.path))
    if "movement" not in asked:
        raise CuebookError(f"The desk needs a movement for {Path(clip).name}: give one, such as movement='squat'.")
    folder = cache_dir or kept_beside(Path(clip))
    copy = CopyJob(read_clip(clip, capture_rate_hz=asked.get("capture_rate_hz")), folder)
    return review(clip, cache_dir=folder, **asked).data, copy
