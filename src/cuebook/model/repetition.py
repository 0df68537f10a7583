"""One repetition and its four phases."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from cuebook.errors import ModelError

from .motion import Side
from .prescription import PHASES


@dataclass(frozen=True, slots=True, kw_only=True)
class Repetition:
    """One repetition by the definitions of the design.

    Attributes
    ----------
    number : int
        From 1, in order of time.
    side : {"left", "right", "both"}
        The working side as the athlete calls it.
    start_s, turn_s, end_s : float or None
        Leaving the start end, the extreme (or the middle of the hold there), and the end of the stay after it; None
        where the clip does not show it.
    complete : bool
        Reaches the smallest swing and returns at least 70 % of the way.
    counted : bool
        Complete and of the side that was asked for.
    chance : float
        Chance that it counts, from the uncertainty of its swing and its way back.
    phases : mapping of str to float or None
        Seconds per phase; None where the clip does not show it or the stay has no end.
    phases_u : mapping of str to float or None
        Standard uncertainty of each, seconds.
    gaps : mapping of str to float or None
        For both holds: seconds between the two moving phases before the rule for short gaps is applied.
    edges : tuple of float
        Starts and ends of the moving phases, in order of time, seconds.
    edges_u : tuple of float
        Standard uncertainty of each, seconds.
    swing : float
        Size of the movement in the driver's unit.
    doubtful : bool
        Whether the driver lies in a doubtful stretch for a good part of the repetition.
    """

    number: int
    side: Side
    start_s: float | None
    turn_s: float
    end_s: float | None
    complete: bool
    counted: bool
    chance: float
    phases: Mapping[str, float | None]
    phases_u: Mapping[str, float | None]
    gaps: Mapping[str, float | None] = field(default_factory=dict)
    edges: tuple[float, ...] = ()
    edges_u: tuple[float, ...] = ()
    swing: float = 0.0
    doubtful: bool = False

    def __post_init__(self) -> None:
        for name in ("phases", "phases_u"):
            values = dict(getattr(self, name))
            if set(values) != set(PHASES):
                raise ModelError(
                    f"repetition {self.number} must name the four phases, but {name} has {sorted(values)}."
                )
            object.__setattr__(self, name, MappingProxyType(values))
        object.__setattr__(self, "gaps", MappingProxyType(dict(self.gaps)))
        if self.start_s is not None and self.turn_s < self.start_s:
            raise ModelError(
                f"repetition {self.number} turns at {self.turn_s:.3f} s, before its start {self.start_s:.3f} s."
            )
