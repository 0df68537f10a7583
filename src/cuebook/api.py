"""The function that a notebook starts with."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from cuebook.assess.analyse import review_clip
from cuebook.model import Movement, Settings, Tempo
from cuebook.movements import find_workspace, load_movement, prescribe, read_settings

if TYPE_CHECKING:
    from cuebook.report.view import Review


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
        progress=progress,
    )
    return Review(data)
