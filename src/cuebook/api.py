"""The functions that a notebook starts with."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
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
    from cuebook.widgets.desk import Desk, InRow
    from cuebook.widgets.desks import Desks
    from cuebook.widgets.playback import CopyJob

    OneClip = str | Path | Review | ReviewData | Mapping[str, Any]


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
    clip: OneClip | Sequence[OneClip],
    *,
    beside: str | Path | Review | ReviewData | None = None,
    author: str = "the coach",
    record: str | Path | None = None,
    cache_dir: str | Path | None = None,
    **asked: Any,
) -> Desk | Desks:
    """Open the desk for a clip, for a review that is there already, or for several clips one after the other.

    Parameters
    ----------
    clip : str, Path, Review, ReviewData, or a sequence of them
        The clip, or a review of it; with a review nothing else is asked for. A sequence, or a folder with clips in it
        (of a workspace its ``clips``), opens the clip that was in view last; Page Down and Page Up turn to the others.
        In a sequence a mapping says what is asked of one clip: ``{"clip": "a.mp4", "movement": "squat"}``.
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
        Where ``person`` is not given, the same one is followed as when the clip was last on the desk.

    Returns
    -------
    Desk or Desks
        A widget; what is done on it is kept in the record at once.

    Raises
    ------
    ClipError
        If a file cannot be used as a clip, or is no longer there.
    CuebookError
        If a clip comes without a movement, a folder holds no clip, or anything that :func:`review` refuses.

    Examples
    --------
    >>> cuebook.desk("clip.mp4", movement="squat", tempo="3-1-1-0")  # doctest: +SKIP
    >>> cuebook.desk(["monday.mp4", "friday.mp4"], movement="squat")  # doctest: +SKIP
    """
    from cuebook.widgets.desk import InRow
    from cuebook.widgets.desks import Desks
    from cuebook.widgets.progress import in_the_cell

    shared = {"beside": beside, "author": author, "record": record, "cache_dir": cache_dir}
    clips = _clips_of(clip)
    if clips is None:
        with in_the_cell(_name_of(clip)) as progress:
            return _one_desk(clip, asked, progress, **shared)

    def open_one(index: int, row: InRow, progress: Callable[[float], None] | None) -> Desk:
        return _one_desk(clips[index], asked, progress, row=row, **shared)

    names = [_name_of(one) for one in clips]
    index = _last_in_view(clips, record)
    with in_the_cell(names[index]) as progress:
        first = open_one(index, InRow(names, index), progress)
    return Desks(names, open_one, first=first, index=index)


def _clips_of(clip: Any) -> list[Any] | None:
    """Return the clips of a sequence or a folder, None where it is one clip."""
    from cuebook.inbox.names import ENDINGS

    if isinstance(clip, str | Path):
        folder = Path(clip)
        if not folder.is_dir():
            return None
        inner = folder / "clips"
        place = inner if find_workspace(folder) == folder.resolve() and inner.is_dir() else folder
        found = sorted(p for p in place.iterdir() if p.suffix.lower() in ENDINGS and not p.name.startswith("."))
        if not found:
            raise CuebookError(f"{place} holds no clip: name a folder with clips in it, or the clips themselves.")
        return found
    if isinstance(clip, Sequence):
        if not clip:
            raise CuebookError("The desk needs at least one clip: the list that it was given is empty.")
        return list(clip)
    return None


def _path_of(clip: Any) -> Path:
    from cuebook.report.view import Review

    if isinstance(clip, Mapping):
        return _path_of(clip["clip"])
    if isinstance(clip, Review):
        return clip.data.clip.path
    return clip.clip.path if isinstance(clip, ReviewData) else Path(clip)


def _name_of(clip: Any) -> str:
    return _path_of(clip).name


def _last_in_view(clips: Sequence[Any], record: str | Path | None) -> int:
    """Return the place of the clip that was in view last, 0 where none was."""
    from cuebook.record import last_seen, record_path

    paths = [_path_of(one) for one in clips]
    seen = [last_seen(record_path(p) if record is None else Path(record), p) for p in paths]
    return max(range(len(clips)), key=lambda k: (seen[k] or "", -k))


def _one_desk(
    clip: OneClip,
    asked: Mapping[str, Any],
    progress: Callable[[float], None] | None,
    *,
    beside: OneClip | None,
    author: str,
    record: str | Path | None,
    cache_dir: str | Path | None,
    row: InRow | None = None,
) -> Desk:
    from cuebook.record import open_desk
    from cuebook.widgets.desk import Desk

    wanted = {"progress": progress, **asked}
    if isinstance(clip, Mapping):
        wanted |= {name: value for name, value in clip.items() if name != "clip"}
        clip = clip["clip"]
    data, copy = _on_desk(clip, record, cache_dir, wanted)
    other = None
    if beside is not None:
        same = {"movement": data.movement, "settings": data.settings, "progress": progress}
        other = _on_desk(beside, record, cache_dir, same)
    return Desk(open_desk(data, author=author, record=record), copy=copy, beside=other, row=row)


def _on_desk(
    clip: OneClip, record: str | Path | None, cache_dir: str | Path | None, asked: dict[str, Any]
) -> tuple[ReviewData, CopyJob]:
    """Return the review of a clip, made if there is none yet, and the playback copy, which is made meanwhile."""
    from cuebook.clip import read_clip
    from cuebook.record import person_before, record_path
    from cuebook.report.view import Review
    from cuebook.widgets.desk import kept_beside
    from cuebook.widgets.playback import CopyJob

    if isinstance(clip, Review | ReviewData):
        data = clip.data if isinstance(clip, Review) else clip
        return data, CopyJob(data.clip, cache_dir or kept_beside(data.clip.path))
    if asked.get("movement") is None:
        raise CuebookError(f"The desk needs a movement for {Path(clip).name}: give one, such as movement='squat'.")
    folder = cache_dir or kept_beside(Path(clip))
    read = read_clip(clip, capture_rate_hz=asked.get("capture_rate_hz"))
    movement = asked["movement"]
    if not isinstance(movement, Movement):
        movement = load_movement(movement, workspace=find_workspace(Path(clip).resolve().parent))
    if "person" not in asked:
        kept = record_path(clip) if record is None else Path(record)
        asked = asked | {"person": person_before(kept, read.sha256, movement.name)}
    copy = CopyJob(read, folder)
    return review(clip, cache_dir=folder, **(asked | {"movement": movement})).data, copy
