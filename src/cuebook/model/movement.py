"""A movement as data: what drives a repetition, what is judged, how to film it."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf
from typing import Literal

from cuebook.errors import ModelError

SourceKind = Literal["published", "common_practice", "from_memory", "house"]
SideRule = Literal["both", "one", "alternating"]
Event = Literal["start", "turn", "second_turn", "end", "phase", "set"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """Where a figure comes from; anything but ``published`` is shown as such."""

    kind: SourceKind
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """The band within which a cue is met; either end may be open.

    Attributes
    ----------
    low, high : float or None
        Ends of the band in the unit of the measure, None where open.
    """

    low: float | None
    high: float | None

    def __post_init__(self) -> None:
        if self.low is None and self.high is None:
            raise ModelError("a limit needs a low or a high end.")
        if self.low is not None and self.high is not None and self.low >= self.high:
            raise ModelError(
                f"a limit must rise, but its low end {self.low:g} is not below its high end {self.high:g}."
            )

    @property
    def ends(self) -> tuple[float, float]:
        """Both ends as numbers, infinite where open."""
        return (-inf if self.low is None else self.low, inf if self.high is None else self.high)


def heading(name: str) -> str:
    """Return a name with hyphens as a heading: ``hip-past-90`` becomes ``Hip past 90``."""
    return name[:1].upper() + name[1:].replace("-", " ")


@dataclass(frozen=True, slots=True, kw_only=True)
class Cue:
    """One thing that is judged.

    Attributes
    ----------
    name : str
        Short name, lower case with hyphens.
    measure : str
        Name of the measure that is judged.
    event : {"start", "turn", "second_turn", "end", "phase", "set"}
        When in the repetition it is taken; ``second_turn`` is the turn of the second driver.
    limb : {"working", "other", "near", "both"}
        Whose limb: the working side, the other one, the side towards the camera, or the midline.
    limit : Limit
        The target widened by the margin.
    target, margin : str, float
        The target in words and the margin the coach grants, in the unit of the measure.
    say : str
        One sentence for the athlete, at most ten words.
    praise : str
        What to say when it is met.
    why : str
        Why it matters.
    priority : int
        1 is said first.
    views : tuple of str
        Views from which it can be judged.
    refilm : str
        Where to put the phone to judge it.
    source : Source
        Where the limit comes from.
    safety : bool
        Whether a failure is a reason to change the movement first.
    title : str
        Heading for people; empty where it is the name with spaces, see `heading`.
    """

    name: str
    measure: str
    event: Event
    limb: Literal["working", "other", "near", "both"]
    limit: Limit
    target: str
    margin: float
    say: str
    praise: str
    why: str
    priority: int
    views: tuple[str, ...]
    refilm: str
    source: Source
    safety: bool = False
    title: str = ""

    @property
    def heading(self) -> str:
        """Name of the cue for people."""
        return self.title or heading(self.name)


@dataclass(frozen=True, slots=True, kw_only=True)
class Driver:
    """The signal whose swing makes a repetition.

    Attributes
    ----------
    signal : str
        Name without the side: ``knee_flexion``.
    first : {"eccentric", "concentric"}
        The phase that leaves the start end.
    turn : {"high", "low", "either"}
        Whether the signal is high or low at the turn; ``either`` for a swing to both sides of a neutral start.
    min_swing : float
        Smallest swing of a repetition, in the signal's unit.
    rep_s : tuple of float
        Shortest and longest plausible repetition, seconds.
    second_signal : str or None
        A second driver that must follow for the repetition to be complete.
    second_min_swing : float or None
        Its smallest swing.
    """

    signal: str
    first: Literal["eccentric", "concentric"]
    turn: Literal["high", "low", "either"]
    min_swing: float
    rep_s: tuple[float, float]
    second_signal: str | None = None
    second_min_swing: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Variant:
    """An easier or harder form of a movement."""

    name: str
    how: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmingCard:
    """Where the phone goes."""

    view: str
    place: str
    height: str
    distance: str
    orientation: str
    check: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Movement:
    """One movement of the library.

    Attributes
    ----------
    name, title : str
        Name in commands and files, and name for people.
    family : str
        Kind of position for the bias table: ``standing``, ``prone``, ``supine``, ``side-lying``.
    patterns : tuple of str
        Movement patterns of the trade.
    sides : {"both", "one", "alternating"}
        Whether both limbs work together, one side per set, or both in turn.
    driver : Driver
        What makes a repetition.
    views : tuple of str
        Views from which the driver can be measured.
    cues : tuple of Cue
        What is judged, in order of priority.
    faults : tuple of str
        Usual faults in words.
    easier, harder : tuple of Variant
        Variants.
    substitutes : tuple of str
        Kit that can stand in.
    filming : tuple of FilmingCard
        Where the phone goes, one card per view.
    cautions : tuple of str
        What to mind with this movement.
    source : Source
        Where the movement's figures come from.
    """

    name: str
    title: str
    family: str
    patterns: tuple[str, ...]
    sides: SideRule
    driver: Driver
    views: tuple[str, ...]
    cues: tuple[Cue, ...]
    faults: tuple[str, ...]
    easier: tuple[Variant, ...]
    harder: tuple[Variant, ...]
    substitutes: tuple[str, ...]
    filming: tuple[FilmingCard, ...]
    cautions: tuple[str, ...]
    source: Source
    long_end: str = ""
    short_end: str = ""
    examples: tuple[dict, ...] = field(default=())

    def cue(self, name: str) -> Cue | None:
        """Return the cue of that name, or None."""
        return next((c for c in self.cues if c.name == name), None)
