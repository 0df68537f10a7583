"""The words and numbers that people read: outcomes, phases, measures, limits."""

from __future__ import annotations

from cuebook.assess.words import phase_words
from cuebook.model import PHASES, Cue, Limit, Movement, Prescription, Source, Verdict

OUTCOME_WORDS: dict[str, str] = {
    "met": "met",
    "near": "too close to call",
    "not_met": "not met",
    "not_measurable": "not measurable",
}
"""Outcome in words, short enough for a picture."""

OUTCOME_CELLS: dict[str, str] = OUTCOME_WORDS | {"near": "near", "not_measurable": "not seen"}
"""Outcome in the cells of a narrow table; the page explains them."""

STEADY_WORDS: dict[str, str] = {
    "met": "The lowering stayed steady through the set.",
    "near": "Whether the lowering stayed steady is too close to call.",
    "not_met": "The lowering did not stay steady: it got quicker towards the end.",
    "not_measurable": "Whether the lowering stayed steady could not be measured.",
}
"""What is said of the drift over a set."""

OUTCOME_LONG: dict[str, str] = OUTCOME_WORDS | {"near": "near: too close to call"}
"""Outcome where there is room."""

OUTCOME_MARKS: dict[str, str] = {"met": "●", "near": "◐", "not_met": "○", "not_measurable": "–"}
"""A mark that differs by shape, so that it can be told apart without colour."""

SOURCE_WORDS: dict[str, str] = {
    "published": "published figure",
    "common_practice": "common practice of the trade",
    "from_memory": "remembered figure, not checked",
    "house": "this coach's own figure",
}
"""Where a limit comes from, in words."""

VIEW_WORDS: dict[str, str] = {
    "side": "from the side",
    "front": "from the front",
    "back": "from behind",
    "oblique-front": "from the front at an angle",
    "oblique-back": "from behind at an angle",
    "head-end": "from the head end",
    "foot-end": "from the foot end",
    "unknown": "from a side that could not be told",
}



def measure_name(cue: Cue) -> str:
    """Return the measure of a cue with its event, as the tables name it."""
    if cue.event in ("phase", "set") or "_at_" in cue.measure or cue.measure.endswith(("_s", "_ratio")):
        return cue.measure
    return f"{cue.measure}_at_{cue.event}"


def measure_words(measure: str, movement: Movement | None = None) -> str:
    """Return the name of a measure for people: ``knee_flexion_at_turn`` becomes ``knee flexion``.

    With a movement, the time of a phase gets that movement's word for it.
    """
    phase = measure.removesuffix("_s")
    if movement is not None and phase in PHASES:
        return phase_words(movement)[phase]
    return measure.split("_at_")[0].removesuffix("_s").replace("_", " ")


def cue_title(name: str) -> str:
    """Return the name of a cue as a heading."""
    return name.replace("-", " ").capitalize()


def number(value: float, unit: str) -> str:
    """Return a value with its unit: whole degrees, tenths of a second, two decimals otherwise."""
    if unit == "deg":
        return f"{value:.0f}°".replace("-0°", "0°")
    if unit == "s":
        return f"{value:.1f} s"
    if unit == "1":
        return f"{value:.0f}"
    return f"{value:.2f}"


def with_uncertainty(value: float, uncertainty: float, unit: str) -> str:
    """Return value and standard uncertainty, both in the unit; an uncertainty never reads as none.

    Examples
    --------
    >>> with_uncertainty(104.2, 3.9, "deg")
    '104° ± 4°'
    >>> with_uncertainty(2.61, 0.02, "s")
    '2.6 ± 0.1 s'
    """
    if unit == "deg":
        return f"{number(value, unit)} ± {max(1.0, uncertainty):.0f}°"
    if unit == "s":
        return f"{value:.1f} ± {max(0.1, uncertainty):.1f} s"
    if unit == "1":
        return f"{value:.0f} ± {uncertainty:.1f}" if uncertainty >= 0.05 else f"{value:.0f}"
    return f"{value:.2f} ± {max(0.01, uncertainty):.2f}"


def limit_words(limit: Limit, unit: str) -> str:
    """Return a band in words: ``95° or more``, ``at most 20°``, ``20° to 40°``."""
    if limit.low is None:
        return f"at most {number(limit.high or 0.0, unit)}"
    if limit.high is None:
        return f"{number(limit.low, unit)} or more"
    return f"{number(limit.low, unit)} to {number(limit.high, unit)}"


def verdict_words(verdict: Verdict) -> str:
    """Return one outcome in words, with value, uncertainty and limit where it was measured."""
    word = OUTCOME_LONG[verdict.outcome]
    if verdict.value is None or verdict.uncertainty is None:
        return f"{word}: {verdict.reason}"
    measured = with_uncertainty(verdict.value, verdict.uncertainty, verdict.unit)
    return f"{word}: {measured}, asked {limit_words(verdict.limit, verdict.unit)}"


def source_words(source: Source) -> str:
    """Return where a limit comes from, always saying when it was not published."""
    return SOURCE_WORDS[source.kind]


def set_words(count: int, view: str) -> str:
    """Return the line under a title: how many repetitions, from where the clip was filmed."""
    noun = "repetition" if count == 1 else "repetitions"
    amount = "no repetition" if count == 0 else f"{count} {noun}"
    return f"{amount} counted, filmed {VIEW_WORDS[view]}"


def seconds_text(seconds: float | None, uncertainty: float | None) -> tuple[str, str]:
    """Return seconds and their uncertainty as two texts for a table, a dash where the clip does not show them."""
    if seconds is None:
        return "–", ""
    value, _, spread = with_uncertainty(seconds, uncertainty or 0.0, "s").removesuffix(" s").partition(" ")
    return value, spread


def prescribed_text(prescription: Prescription, phase: str) -> str:
    """Return the prescription of one phase in words, empty without a tempo."""
    if prescription.tempo is None:
        return ""
    slot = prescription.tempo.slot(phase)
    return "fast" if slot == "X" else f"{slot:g} s"
