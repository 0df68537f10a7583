"""What a measure is, and the list of those that exist, read from the files of this folder."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib import import_module
from pathlib import Path
from types import MappingProxyType

from cuebook.errors import ModelError, UnknownName
from cuebook.model import Measurement, Motion, Movement, NotMeasurable, Repetition
from cuebook.model.measurement import Unit
from cuebook.model.motion import Side

Result = Measurement | NotMeasurable


@dataclass(frozen=True, slots=True, kw_only=True)
class Occasion:
    """What a measure is asked to look at.

    Attributes
    ----------
    motion : Motion
        Signals of the clip.
    movement : Movement
        What the athlete does.
    repetition : Repetition
        Which repetition.
    next_start_s : float or None
        When the next repetition leaves, seconds.
    event : str
        ``start``, ``turn``, ``second_turn``, ``end`` or ``phase``.
    side : {"left", "right", "both"}
        Whose limb.
    refilm : str
        How to film it, from the cue.
    """

    motion: Motion
    movement: Movement
    repetition: Repetition
    next_start_s: float | None
    event: str
    side: Side
    refilm: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """One measure.

    Attributes
    ----------
    name : str
        As used in movement files.
    unit : {"deg", "s", "1", "ratio"}
        Unit of its values.
    events : tuple of str
        Events at which it can be taken.
    sided : bool
        Whether left and right are two values.
    take : callable
        ``take(occasion)`` gives a Measurement or NotMeasurable; a pure function.
    """

    name: str
    unit: Unit
    events: tuple[str, ...]
    sided: bool
    take: Callable[[Occasion], Result]


@lru_cache(maxsize=1)
def measures() -> Mapping[str, Measure]:
    """Return all measures by name, collected from the files of this folder.

    Raises
    ------
    ModelError
        If two files define a measure of the same name.
    """
    found: dict[str, Measure] = {}
    origin: dict[str, str] = {}
    for path in sorted(Path(__file__).parent.glob("*.py")):
        if path.stem in ("__init__", "registry", "sampling"):
            continue
        module = import_module(f"{__package__}.{path.stem}")
        for measure in module.MEASURES:
            if measure.name in found:
                raise ModelError(f"the measure {measure.name} is defined in {origin[measure.name]} and in {path.name}.")
            found[measure.name], origin[measure.name] = measure, path.name
    return MappingProxyType(found)


def find_measure(name: str) -> Measure:
    """Return the measure of that name.

    Raises
    ------
    UnknownName
        If there is none; the message lists near matches.
    """
    known = measures()
    if name not in known:
        raise UnknownName("measure", name, known)
    return known[name]


def full_name(measure: Measure, event: str) -> str:
    """Return the name used in outputs: angles carry their event, times do not."""
    return measure.name if event in ("phase", "set") else f"{measure.name}_at_{event}"
