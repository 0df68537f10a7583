"""What a coach changes in a review: the repetitions, overruled outcomes, notes, marks on the picture."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from cuebook.errors import ModelError

from .motion import Side
from .repetition import Repetition
from .review import Outcome
from .track import LANDMARKS

Boundary = Literal["start", "turn", "end"]
Origin = Literal["proposed", "corrected", "added"]
Severity = Literal["stop", "change", "praise", "remark"]
MarkKind = Literal["line", "plumb", "angle", "arrow", "circle", "text"]

BOUNDARIES: tuple[Boundary, ...] = ("start", "turn", "end")
OUTCOMES: tuple[Outcome, ...] = ("met", "near", "not_met", "not_measurable")
SEVERITIES: tuple[Severity, ...] = ("stop", "change", "praise", "remark")
"""How a note is meant: stop first, one thing to change, one true praise, or for the coach only."""
JOINTS: tuple[str, ...] = (*LANDMARKS, "mid_shoulder", "mid_hip")
"""What a mark or a note can be tied to: the landmarks and the middles of both girdles."""

MARK_JOINTS: Mapping[MarkKind, tuple[int, ...]] = {
    "line": (2,),
    "plumb": (1,),
    "angle": (3,),
    "arrow": (1, 2),
    "circle": (1,),
    "text": (1,),
}
"""How many joints each kind of mark is tied to; an arrow from one joint needs a direction."""
FARTHEST_TRUNKS = 6.0
"""A free place further than this from its joint lies outside any picture."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """Where one repetition lies, as proposed or as a coach put it.

    Attributes
    ----------
    id : str
        Stays the same when others are split, joined or dropped.
    origin : {"proposed", "corrected", "added"}
        Who put it there.
    side : {"left", "right", "both"}
        The working side.
    start_s, turn_s, end_s : float or None
        Seconds; None where the clip does not show it, a turn of None is found from the driver.
    pinned : tuple of str
        The boundaries that a coach placed.
    """

    id: str
    origin: Origin
    side: Side
    start_s: float | None
    turn_s: float | None
    end_s: float | None
    pinned: tuple[Boundary, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Overruled:
    """An outcome a coach sees otherwise; it stands beside the measured one and never replaces it.

    Attributes
    ----------
    cue : str
        Name of the cue.
    repetition : str or None
        Identity of the repetition, None for the whole set.
    side : {"left", "right", "both"} or None
        Whose limb; None means every side that was judged.
    outcome : str
        What the coach decides.
    reason : str
        Why, in the coach's words.
    who, at : str
        Who decided, and when in UTC.
    """

    cue: str
    repetition: str | None
    side: Side | None
    outcome: Outcome
    reason: str
    who: str = ""
    at: str = ""

    @property
    def place(self) -> tuple[str, str | None, str | None]:
        """Return what is overruled: cue, repetition and side."""
        return self.cue, self.repetition, self.side

    def concerns(self, cue: str, side: str) -> bool:
        """Return whether it speaks of a cue on a side."""
        return self.cue == cue and self.side in (None, side)


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """A remark on a clip, at an instant, on a repetition, or on the whole set.

    Attributes
    ----------
    id : str
        Stays the same when the text changes.
    text : str
        In the coach's words.
    at_s : float or None
        Instant in the clip, seconds.
    repetition : str or None
        Identity of the repetition.
    joint, cue : str or None
        What it is about.
    severity : {"stop", "change", "praise", "remark"}
        How it is meant.
    who, at : str
        Who wrote it, and when it was written or last changed, in UTC.
    """

    id: str
    text: str
    at_s: float | None = None
    repetition: str | None = None
    joint: str | None = None
    cue: str | None = None
    severity: Severity = "remark"
    who: str = ""
    at: str = ""

    def __post_init__(self) -> None:
        if not self.text.strip():
            raise ModelError("A note needs a text: write a few words first.")
        if self.severity not in SEVERITIES:
            raise ModelError(f"A note is one of {', '.join(SEVERITIES)}, not '{self.severity}'.")
        if self.joint is not None and self.joint not in JOINTS:
            raise ModelError(f"There is no joint called '{self.joint}' to tie a note to.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """Something drawn on the picture of one instant, tied to joints.

    Attributes
    ----------
    id : str
        Stays the same when the mark is changed.
    kind : {"line", "plumb", "angle", "arrow", "circle", "text"}
        A line between two joints, a plumb line through one, an angle at the middle one of three, an arrow from a joint
        to another or to a free place, a circle round a joint or a free place, words beside one.
    at_s : float
        Instant in the clip, seconds.
    joints : tuple of str
        Names of the joints.
    to : tuple of float or None
        The free place where an arrow points, a circle lies or words stand: from the joint, in trunk lengths, x right,
        y down, so that it moves with the joint.
    size : float or None
        Radius of a circle in trunk lengths.
    text : str or None
        Words beside the mark.
    who, at : str
        Who drew it, and when it was drawn or last changed, in UTC.
    """

    id: str
    kind: MarkKind
    at_s: float
    joints: tuple[str, ...]
    to: tuple[float, float] | None = None
    size: float | None = None
    text: str | None = None
    who: str = ""
    at: str = ""

    def __post_init__(self) -> None:
        if self.kind not in MARK_JOINTS:
            raise ModelError(f"A mark is one of {', '.join(MARK_JOINTS)}, not '{self.kind}'.")
        unknown = [j for j in self.joints if j not in JOINTS]
        if unknown:
            raise ModelError(f"There is no joint called '{unknown[0]}' to tie a mark to.")
        if len(self.joints) not in MARK_JOINTS[self.kind] or len(set(self.joints)) < len(self.joints):
            wanted = " or ".join(str(n) for n in MARK_JOINTS[self.kind])
            raise ModelError(f"A mark of the kind {self.kind} is tied to {wanted} different joints: choose them first.")
        if self.kind == "arrow" and len(self.joints) == 1 and self.to is None:
            raise ModelError("An arrow needs a second joint or a direction: say where it points.")
        if self.to is not None and not all(abs(v) <= FARTHEST_TRUNKS for v in self.to):
            raise ModelError(f"A mark hangs on a joint within {FARTHEST_TRUNKS:g} trunk lengths: pick a nearer one.")
        if self.kind == "text" and not (self.text or "").strip():
            raise ModelError("Words on a picture need a text: write a few words first.")
        if self.size is not None and not 0.0 < self.size <= 2.0:
            raise ModelError(f"A circle of {self.size:g} trunk lengths cannot be drawn: use 0.05 to 2.")


@dataclass(frozen=True, slots=True, kw_only=True)
class DeskState:
    """Everything a coach has changed or added, as it stands.

    Attributes
    ----------
    spans : tuple of Span
        In order of time.
    overruled : tuple of Overruled
        In the order in which they were decided.
    notes : tuple of Note
        In order of time, those on the whole set first.
    marks : tuple of Mark
        In order of time.
    """

    spans: tuple[Span, ...] = ()
    overruled: tuple[Overruled, ...] = ()
    notes: tuple[Note, ...] = ()
    marks: tuple[Mark, ...] = ()

    def span(self, identity: str) -> Span | None:
        """Return the repetition of that identity, or None."""
        return next((s for s in self.spans if s.id == identity), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One change that is in force: when in UTC, by whom, and what in words."""

    at: str
    who: str
    what: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Corrections:
    """What a coach changed in a review, kept beside what was measured.

    Attributes
    ----------
    changes : tuple of Change
        Those in force, in order.
    proposed : tuple of Repetition
        The repetitions as they were found.
    state : DeskState
        Notes, marks and overruled outcomes.
    numbers : mapping of str to int
        Number of each repetition by its identity.
    """

    changes: tuple[Change, ...]
    proposed: tuple[Repetition, ...]
    state: DeskState
    numbers: Mapping[str, int] = field(default_factory=dict)

    def overruled_at(self, cue: str, repetition: int | None, side: str) -> Overruled | None:
        """Return what a coach decided instead of one verdict, the last word counting, or None."""
        of_place = [o for o in self.state.overruled if o.concerns(cue, side) and self._number(o) == repetition]
        return of_place[-1] if of_place else None

    def _number(self, overruled: Overruled) -> int | None:
        """Return the number of the repetition that was overruled; -1 where it is no longer there."""
        return None if overruled.repetition is None else self.numbers.get(overruled.repetition, -1)
