"""One clip judged: verdicts, tempo, headline and all that was needed to reach them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from cuebook.errors import ModelError

from .clip import Clip
from .measurement import Measurement, Unit
from .motion import Motion, Side
from .movement import Limit, Movement, Source
from .prescription import Prescription
from .repetition import Repetition
from .track import Track

if TYPE_CHECKING:
    from .corrections import Corrections

Outcome = Literal["met", "near", "not_met", "not_measurable"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """One cue of one repetition, or of the whole set, with its outcome.

    Attributes
    ----------
    repetition : int or None
        Number of the repetition; None speaks of the whole set.
    cue : str
        Name of the cue.
    side : {"left", "right", "both"}
        Whose limb.
    outcome : {"met", "near", "not_met", "not_measurable"}
        What was decided.
    chance : float or None
        Chance that the limit holds; None when not measurable.
    value, uncertainty : float or None
        Measured value and its standard uncertainty.
    unit : str
        Unit of both.
    limit : Limit
        The band.
    source : Source
        Where the band comes from.
    at_s : float or None
        When it was taken.
    method : str or None
        How it was measured.
    reason, refilm : str or None
        Why it is not measurable, and how to film it.
    repetitions_met, repetitions_judged : int or None
        For the whole set: how many repetitions met the cue, out of how many that were measured.
    """

    repetition: int | None
    cue: str
    side: Side
    outcome: Outcome
    chance: float | None
    value: float | None
    uncertainty: float | None
    unit: Unit
    limit: Limit
    source: Source
    at_s: float | None = None
    method: str | None = None
    reason: str | None = None
    refilm: str | None = None
    repetitions_met: int | None = None
    repetitions_judged: int | None = None

    def __post_init__(self) -> None:
        if self.outcome == "not_measurable":
            if self.value is not None or self.chance is not None or self.uncertainty is not None:
                raise ModelError(f"the verdict on {self.cue} is not measurable and yet has a value.")
            if not self.reason or not self.refilm:
                raise ModelError(f"the verdict on {self.cue} is not measurable and must say why and how to film it.")
        elif self.value is None or self.chance is None or self.uncertainty is None:
            raise ModelError(
                f"the verdict on {self.cue} is {self.outcome} and must have value, uncertainty and chance."
            )

    def __bool__(self) -> bool:
        raise TypeError("a verdict has four outcomes and no truth value: compare its .outcome")


@dataclass(frozen=True, slots=True, kw_only=True)
class TempoResult:
    """Prescribed against measured tempo over a set; times in seconds, None where not measured.

    Attributes
    ----------
    median, median_u : mapping of str to float or None
        Median of each phase over the counted repetitions and its standard uncertainty.
    outside : mapping of str to float or None
        Share of repetitions outside the coach's margin; None without a prescription.
    outcomes : mapping of str to str
        Outcome of each prescribed phase.
    reasons : mapping of str to str
        Why a phase was not measurable.
    drift_ratio, drift_ratio_u : float or None
        Median eccentric of the last third over that of the first third.
    drift_outcome : str or None
        Outcome of the drift.
    """

    median: Mapping[str, float | None]
    median_u: Mapping[str, float | None]
    outside: Mapping[str, float | None]
    outcomes: Mapping[str, Outcome]
    reasons: Mapping[str, str]
    drift_ratio: float | None
    drift_ratio_u: float | None
    drift_outcome: Outcome | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Headline:
    """What is said of a set: one true praise, one thing to change, one next step; at most 60 words together."""

    praise: str
    fix: str
    next: str

    @property
    def words(self) -> int:
        """Number of words of all three together."""
        return len(f"{self.praise} {self.fix} {self.next}".split())


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """Named settings kept with every review.

    Attributes
    ----------
    met_at, not_met_at : float
        Chances at which a cue is met or not met.
    backend : str
        Pose backend.
    mirrored : {"yes", "no", "unknown"}
        Whether the clip is a mirror picture.
    x_seconds : float
        Longest phase that counts as ``X``.
    """

    met_at: float = 0.90
    not_met_at: float = 0.10
    backend: str = "mediapipe-full"
    mirrored: Literal["yes", "no", "unknown"] = "unknown"
    x_seconds: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ReviewData:
    """Everything that report, record and widgets need of one judged clip.

    Attributes
    ----------
    clip, track, motion, movement, prescription, settings
        What it was made from.
    repetitions : tuple of Repetition
        In order of time.
    measurements : tuple
        Pairs of repetition number and Measurement.
    verdicts : tuple of Verdict
        Per repetition, then those of the whole set.
    tempo : TempoResult
        Phases over the set.
    counts : mapping of str to int or None
        Prescribed and counted repetitions per side.
    headline : Headline
        What is said of the set.
    warnings : tuple of str
        Sentences for the reader.
    side_proven : bool
        Whether left and right are known to be the athlete's.
    cuebook_version : str
        Version that made it.
    corrections : Corrections or None
        What a coach changed, where somebody did.
    person : str or None
        The point on the athlete that somebody gave, ``"X,Y@T"`` in pixels and seconds; the track follows that person.
    looks_like : str or None
        Title of another movement that the clip surely shows, in small letters; then nothing in it is praised.
    """

    clip: Clip
    track: Track
    motion: Motion
    movement: Movement
    prescription: Prescription
    settings: Settings
    repetitions: tuple[Repetition, ...]
    measurements: tuple[tuple[int, Measurement], ...]
    verdicts: tuple[Verdict, ...]
    tempo: TempoResult
    counts: Mapping[str, int | None]
    headline: Headline
    warnings: tuple[str, ...]
    side_proven: bool
    cuebook_version: str
    corrections: Corrections | None = None
    person: str | None = None
    looks_like: str | None = None
