"""The words and numbers that people read: outcomes, phases, measures, limits."""

from __future__ import annotations

from cuebook.assess.headline import tempo_sentence as phase_sentence
from cuebook.assess.words import is_rest, spoken_phases
from cuebook.model import PHASES, Cue, Limit, Movement, Prescription, ReviewData, Source, Verdict, heading

OUTCOME_WORDS: dict[str, str] = {
    "met": "met",
    "near": "too close to call",
    "not_met": "not met",
    "not_measurable": "not measurable",
}
"""Outcome in words, short enough for a picture."""

OUTCOME_CELLS: dict[str, str] = OUTCOME_WORDS | {"near": "near", "not_measurable": "not seen"}
"""Outcome in the cells of a narrow table; the page explains them."""

_STEADY_WORDS: dict[str, str] = {
    "met": "The {} did not get quicker through the set.",
    "near": "Whether the {} got quicker through the set is too close to call.",
    "not_met": "The {} got quicker towards the end of the set.",
    "not_measurable": "Whether the {} got quicker could not be measured.",
}

REST = "– not judged"
"""What stands in the place of an outcome where 0 s were asked between repetitions."""

MINUS = "\N{MINUS SIGN}"
"""A hyphen before a number is read as a dash, and lost at the end of a line."""

_PLAIN_MEASURES = {
    "inverted_v_hold": "stay in the V",
    "plank_hold": "stay in the plank",
    "eccentric_concentric_ratio": "lowering over lifting",
}

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
        return spoken_phases(movement)[phase]
    base = measure.split("_at_")[0].removesuffix("_s")
    return _PLAIN_MEASURES.get(base, base.replace("_", " "))


def cue_title(name: str, movement: Movement | None = None) -> str:
    """Return the heading of a cue: its own where the movement is given and knows the cue, else its name in words."""
    cue = None if movement is None else movement.cue(name)
    return heading(name) if cue is None else cue.heading


def steady_words(movement: Movement, outcome: str) -> str:
    """Return what is said of the drift over a set."""
    return _STEADY_WORDS[outcome].format(spoken_phases(movement)["eccentric"])


def plain(value: float, places: int = 0) -> str:
    """Return a number with a real minus sign, and never a minus before nothing.

    Examples
    --------
    >>> plain(-3.2) == MINUS + "3"
    True
    >>> plain(-0.3)
    '0'
    """
    return f"{round(value, places) + 0.0:.{places}f}".replace("-", MINUS)


def number(value: float, unit: str) -> str:
    """Return a value with its unit: whole degrees, tenths of a second, two decimals otherwise."""
    if unit == "deg":
        return f"{plain(value)}°"
    if unit == "s":
        return f"{plain(value, 1)} s"
    return plain(value, 0 if unit == "1" else 2)


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
        return f"{plain(value, 1)} ± {max(0.1, uncertainty):.1f} s"
    if unit == "1":
        return f"{plain(value)} ± {uncertainty:.1f}" if uncertainty >= 0.05 else plain(value)
    return f"{plain(value, 2)} ± {max(0.01, uncertainty):.2f}"


def angle_words(value: float, uncertainty: float | None) -> str:
    """Return a marked angle in words: a measured flexion with its uncertainty, or what it looks like in the picture."""
    if uncertainty is None:
        return f"{value:.0f}° in the picture"
    return f"flexion {with_uncertainty(value, uncertainty, 'deg')}"


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


def phase_outcome(movement: Movement, prescription: Prescription, phase: str, outcome: str | None) -> str:
    """Return the outcome of a phase for a table: mark and word, rest between repetitions as such, empty without one."""
    if outcome is None:
        return ""
    return REST if is_rest(movement, prescription, phase) else f"{OUTCOME_MARKS[outcome]} {OUTCOME_CELLS[outcome]}"


def rest_note(movement: Movement, prescription: Prescription) -> str | None:
    """Return the sentence about a pause that is rest and therefore not judged, None where there is none."""
    phase = next((p for p in PHASES if is_rest(movement, prescription, p)), None)
    if phase is None:
        return None
    word = spoken_phases(movement)[phase]
    why = "holds the second part" if movement.driver.second_signal else "is your rest between repetitions"
    return f"No time was asked for the {word}: it {why} and is not judged."


def tempo_sentence(data: ReviewData) -> str:
    """Return one sentence on the tempo of a set: the first phase that is off and what to do, else the drift."""
    movement, tempo = data.movement, data.tempo
    judged = {p: o for p, o in tempo.outcomes.items() if not is_rest(movement, data.prescription, p)}
    if all(outcome == "not_measurable" for outcome in judged.values()):
        return "The tempo could not be measured in this clip."
    if off := next((p for p, outcome in judged.items() if outcome == "not_met"), None):
        return phase_sentence(off, movement, data.prescription, tempo)
    if tempo.drift_outcome == "not_met":
        return f"The {spoken_phases(movement)['eccentric']} gets quicker through the set: keep the count to the end."
    if all(outcome == "met" for outcome in judged.values()):
        return "The tempo was kept."
    return "No phase is off for certain, but not every one could be told."


def prescribed_text(prescription: Prescription, phase: str) -> str:
    """Return the prescription of one phase in words, empty without a tempo."""
    if prescription.tempo is None:
        return ""
    slot = prescription.tempo.slot(phase)
    return "fast" if slot == "X" else f"{slot:g} s"
