"""The whole chain for one clip, in one straight line: clip, pose, motion, repetitions, cues, tempo, headline."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

import cuebook
from cuebook.clip import damage_warning, read_clip
from cuebook.likeness import another_movement
from cuebook.model import (
    Clip,
    Corrections,
    Motion,
    Movement,
    Prescription,
    Repetition,
    ReviewData,
    Settings,
    Track,
)
from cuebook.motion import measure_motion, unmirrored, with_picture_motion
from cuebook.movements import TempoMargins, load_movement
from cuebook.pose import Pointed, find_doubts, follow_person, frames_read, track_pose, with_second_opinion
from cuebook.repetitions import driver_doubted, driver_hidden, driver_series, find_repetitions, in_place

from .cues import is_cut, judge_counts, judge_repetitions, judge_set
from .headline import write_headline
from .tempo import judge_tempo

FOUND_ENOUGH = 0.5
"""Below this share of frames with somebody in them a clip counts as showing nobody (house choice)."""


def review_clip(
    path: str | Path,
    *,
    movement: str | Movement,
    prescription: Prescription | None = None,
    settings: Settings | None = None,
    margins: TempoMargins | None = None,
    capture_rate_hz: float | None = None,
    cache_dir: str | Path | None = None,
    person: Pointed | None = None,
    progress: Callable[[float], None] | None = None,
) -> ReviewData:
    """Judge one clip of one athlete doing one movement.

    Parameters
    ----------
    path : str or Path
        The clip.
    movement : str or Movement
        Name in the library, path of a movement file, or a movement.
    prescription : Prescription, optional
        Tempo, repetitions and side that were asked for.
    settings : Settings, optional
        Deciding chances, pose backend, and whether the clip is mirrored.
    margins : TempoMargins, optional
        What the coach grants on times.
    capture_rate_hz : float, optional
        Rate at which the camera took the pictures, where the clip is slow motion.
    cache_dir : str or Path, optional
        Folder in which the track is kept.
    person : Pointed, optional
        A point on the athlete, where two people are in the picture: only that person is followed, up to where the
        other comes too near.
    progress : callable, optional
        Called with the share done, 0 to 1.

    Returns
    -------
    ReviewData
        Always, if the clip can be read: nobody found or a wrong view are values in it.

    Raises
    ------
    ClipError
        If the file cannot be used as a clip.
    MovementError, UnknownName
        If the movement cannot be found or its file is not valid.
    PoseError
        If the backend is missing.
    """
    prescription, settings = prescription or Prescription(), settings or Settings()
    movement = movement if isinstance(movement, Movement) else load_movement(movement)
    clip = read_clip(path, capture_rate_hz=capture_rate_hz)
    if person is not None:
        track = follow_person(clip, person, backend=settings.backend, cache_dir=cache_dir, progress=_share(progress))
    else:
        track = track_pose(clip, backend=settings.backend, cache_dir=cache_dir, progress=_share(progress))
        track = with_second_opinion(clip, track, cache_dir=cache_dir)
    return judge_track(clip, track, movement=movement, prescription=prescription, settings=settings, margins=margins,
                       person=None if person is None else str(person))  # fmt: skip


def judge_track(
    clip: Clip,
    track: Track,
    *,
    movement: Movement,
    prescription: Prescription,
    settings: Settings,
    margins: TempoMargins | None = None,
    person: str | None = None,
) -> ReviewData:
    """Judge a track that is already there; the second half of :func:`review_clip`.

    Parameters
    ----------
    clip, track : Clip, Track
        From `read_clip` and `track_pose`.
    movement, prescription, settings, margins
        As in :func:`review_clip`.
    person : str, optional
        The point somebody gave where the track follows that person: then pictures, in which others move, add nothing.
    """
    read = frames_read(clip, track)
    if settings.mirrored == "yes":
        track = unmirrored(track)
        clip = replace(clip, frames=FlippedFrames(clip.frames))
    motion = measure_motion(track, movement, find_doubts(track))
    found = motion.found_fraction >= FOUND_ENOUGH
    if found and person is None and (driver_hidden(motion, movement) or driver_doubted(motion, movement)):
        motion = with_picture_motion(motion, clip)
    repetitions = find_repetitions(motion, movement, prescription) if found else ()
    warnings = _warnings(clip, track, read, movement, prescription, settings, found=found,
                         pointed=person is not None)  # fmt: skip
    other = another_movement(track, movement.name) if found else None
    shown = None if other is None else load_movement(other.movement).title.lower()
    if other is not None:
        warnings = (
            f"The clip looks like the {shown} (chance {100 * other.chance:.0f} %), not the {movement.title.lower()}: "
            "what follows holds only if the movement was named rightly.",
            *warnings,
        )
    return judge_motion(clip, track, motion, repetitions, movement=movement, prescription=prescription,
                        settings=settings, margins=margins, warnings=warnings, person=person,
                        looks_like=shown)  # fmt: skip


def judge_motion(
    clip: Clip,
    track: Track,
    motion: Motion,
    repetitions: tuple[Repetition, ...],
    *,
    movement: Movement,
    prescription: Prescription,
    settings: Settings,
    margins: TempoMargins | None = None,
    warnings: tuple[str, ...] = (),
    corrections: Corrections | None = None,
    person: str | None = None,
    looks_like: str | None = None,
) -> ReviewData:
    """Judge repetitions that are already known, found or given by a coach; no picture is looked at.

    Parameters
    ----------
    clip, track : Clip, Track
        As they are shown: a mirrored clip is already turned back.
    motion : Motion
        Signals of the clip.
    repetitions : tuple of Repetition
        In order of time, numbered from 1.
    movement, prescription, settings, margins
        As in :func:`review_clip`.
    warnings : tuple of str
        What the reader must be told.
    corrections : Corrections, optional
        What a coach changed; an overruled outcome of the set is heeded by the headline and changes no verdict.
    person : str, optional
        The point on the athlete that somebody gave.
    looks_like : str, optional
        Title of another movement that the clip surely shows.
    """
    in_doubt = time_in_doubt(clip)
    found = motion.found_fraction >= FOUND_ENOUGH
    verdicts, pairs = judge_repetitions(motion, movement, repetitions, prescription, settings, time_in_doubt=in_doubt)
    seen = found and bool(driver_series(motion, movement, in_place(motion, movement)))
    whole = judge_set(movement, prescription, repetitions, verdicts, pairs, settings)
    whole += judge_counts(movement, prescription, repetitions, settings, seen=seen)
    tempo = judge_tempo(repetitions, prescription, settings, margins or TempoMargins(), time_in_doubt=in_doubt)
    counted = {r.number for r in repetitions if r.counted}
    said = tuple(v for v in verdicts if v.repetition in counted) + whole
    headline = write_headline(movement, prescription, said, tempo, counted=len(counted), found=found,
                              overruled=() if corrections is None else corrections.state.overruled,
                              numbers=None if corrections is None else corrections.numbers,
                              looks_like=looks_like, cut=any(is_cut(r, movement) for r in repetitions))  # fmt: skip
    return ReviewData(
        clip=clip,
        track=track,
        motion=motion,
        movement=movement,
        prescription=prescription,
        settings=settings,
        repetitions=repetitions,
        measurements=pairs,
        verdicts=verdicts + whole,
        tempo=tempo,
        counts=_counts(movement, prescription, repetitions),
        headline=headline,
        warnings=warnings,
        side_proven=settings.mirrored != "unknown",
        cuebook_version=cuebook.__version__,
        corrections=corrections,
        person=person,
        looks_like=looks_like,
    )


def time_in_doubt(clip: Clip) -> bool:
    """Return whether no time of a clip can be judged: it looks like slow motion of an unknown rate."""
    return clip.slow_motion and clip.capture_rate_hz is None


def _share(progress: Callable[[float], None] | None) -> Callable[[int, int], None] | None:
    if progress is None:
        return None
    return lambda done, total: progress(done / max(1, total))


def _counts(movement: Movement, prescription: Prescription, repetitions: tuple) -> dict[str, int | None]:
    counted = [r for r in repetitions if r.counted]
    sided = movement.sides != "both"
    return {
        "prescribed": prescription.repetitions,
        "left": sum(r.side == "left" for r in counted) if sided else None,
        "right": sum(r.side == "right" for r in counted) if sided else None,
        "both": None if sided else len(counted),
        "incomplete": sum(not r.complete for r in repetitions),
    }


def _warnings(
    clip: Clip,
    track: Track,
    read: int,
    movement: Movement,
    prescription: Prescription,
    settings: Settings,
    *,
    found: bool,
    pointed: bool = False,
) -> tuple[str, ...]:
    out = list(clip.warnings)
    damage = damage_warning(clip, read)
    if damage and damage not in out:
        out.append(damage)
    if not found:
        out.append("The athlete was not in the picture for most of the clip, so nothing was judged.")
    if time_in_doubt(clip):
        out.append("The clip looks like slow motion: state the rate it was captured at, until then no time is judged.")
    if pointed:
        out.append("Only the person pointed at was followed; from where somebody else came near nothing is judged.")
    elif track.others_seen:
        out.append("A second person was seen; the one who was followed may not be the athlete all the time.")
    if found and np.nanmean(track.light) < 0.18:
        out.append("The picture is dark, so joints are placed less surely: put a lamp in front of you.")
    if settings.mirrored == "unknown" and movement.sides != "both":
        out.append(
            "Left and right are as they appear in the picture: was it filmed with the selfie camera, which mirrors?"
        )
    if prescription.side is not None and settings.mirrored == "unknown":
        out.append(f"The {prescription.side} side was asked for, but the clip does not prove which side is which.")
    return tuple(out)


@dataclass(frozen=True, slots=True)
class FlippedFrames:
    """Frames of a mirrored clip, turned back: a callable with the signature of ``Clip.frames``."""

    frames: Callable[..., Iterator[tuple[float, NDArray[np.uint8]]]]

    def __call__(self, *args: object, **options: object) -> Iterator[tuple[float, NDArray[np.uint8]]]:
        """Return the frames of the clip, each turned left to right."""
        for time_s, picture in self.frames(*args, **options):
            yield time_s, np.ascontiguousarray(picture[:, ::-1])
