"""The full look at a clip: the athlete's pose, and what it says about quality and movement."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from cuebook.clip import damage_warning, read_clip
from cuebook.errors import ClipError, PoseError
from cuebook.likeness import Guess, recognise
from cuebook.model import Clip, Movement, Track
from cuebook.pose import follow_person, frames_read, parse_pointed, track_pose

from .assign import Belongs
from .entries import Finding
from .framing import findings_of_pose, findings_of_view
from .library import Library
from .pace import SLOWEST_SHARE, beat_s
from .receive import Received


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """What the pose says.

    Attributes
    ----------
    findings : tuple of Finding
        Quality.
    guess : Guess or None
        Which movement it looks like.
    trouble : str
        Why the clip cannot be used after all, empty if it can.
    """

    findings: tuple[Finding, ...] = ()
    guess: Guess | None = None
    trouble: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Watch:
    """Callable that studies one clip.

    Attributes
    ----------
    library : Library
        Movements, for the views their cues need.
    tracks : Path
        Folder in which landmarks are kept, so that the next run and the review need not look again.
    quick : bool
        Whether to leave the pose out, except of clips in which somebody pointed at the athlete: whether that person
        can be followed must be known.
    """

    library: Library
    tracks: Path
    quick: bool = False

    def __call__(self, one: Received, belongs: Belongs) -> Study | None:
        """Return what the pose says; None where nobody looked.

        Parameters
        ----------
        one : Received
            A clip that can be opened.
        belongs : Belongs
            What is known of it.
        """
        if self.quick and not belongs.person:
            return None
        rate = float(belongs.capture_rate.value) if belongs.capture_rate else None
        try:
            clip = read_clip(one.path, capture_rate_hz=rate)
            track = None if belongs.person else track_pose(clip, cache_dir=self.tracks)
        except ClipError as refused:
            return Study(trouble=str(refused))
        if track is None:
            try:
                track = follow_person(clip, parse_pointed(belongs.person.value), cache_dir=self.tracks)
            except PoseError as refused:
                ask = Finding(word="two people", reason="two_people", value=None, limit=None, unit="1", weight="asks",
                              sentence=str(refused))  # fmt: skip
                return Study(findings=(ask,))
        guess = recognise(track)
        movement = self.library.movements.get(belongs.movement.value or (guess.movement if guess.sure else ""))
        return study_track(clip, track, guess=guess, movement=movement, belongs=belongs)


def study_track(clip: Clip, track: Track, *, guess: Guess, movement: Movement | None, belongs: Belongs) -> Study:
    """Return what a track says about a clip.

    Parameters
    ----------
    clip, track : Clip, Track
        From `read_clip` and `track_pose`.
    guess : Guess
        Which movement it looks like.
    movement : Movement or None
        Which it is, as far as known: views are compared with its cues.
    belongs : Belongs
        What was said about it.
    """
    found = findings_of_pose(track, person_known=bool(belongs.person))
    if (damage := damage_warning(clip, frames_read(clip, track))) is not None:
        found.append(
            Finding(
                word="damaged",
                reason="file_damaged",
                value=round(float(track.times_s[-1]), 2),
                limit=None,
                unit="s",
                weight="part",
                sentence=damage,
            )
        )
    another = movement is not None and guess.sure and guess.movement != movement.name
    if movement is not None and not another and not any(f.weight == "blocks" for f in found):
        found += findings_of_view(track, movement)
        if not clip.slow_motion and not belongs.capture_rate:
            found += slow_looking(track, movement)
    return Study(findings=tuple(found), guess=guess)


def slow_looking(track: Track, movement: Movement) -> list[Finding]:
    """Return a finding where repetitions take so long that the clip is likely to be slow motion."""
    period = beat_s(track)
    limit = SLOWEST_SHARE * movement.driver.rep_s[1]
    if period is None or period <= limit:
        return []
    return [
        Finding(
            word="slow motion",
            reason="slow_motion",
            value=round(period, 1),
            limit=round(limit, 1),
            unit="s",
            weight="part",
            sentence=f"A repetition takes {period:.0f} s: it looks like slow motion, and until "
            "the capture rate is known no time is judged.",
        )
    ]
