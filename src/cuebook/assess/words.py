"""Everyday words of the four phases, and what is said of a cue."""

from __future__ import annotations

from cuebook.model import Cue, Movement, Prescription, Verdict

CUT_OFF = "The clip begins or ends within a repetition, so none is whole."
LET_IT_RUN = "Let the clip run from before the first repetition to after the last."
_UP_AND_DOWN = {
    "eccentric": ("lowering", "lowering"),
    "long_hold": ("pause at the bottom", "bottom pause"),
    "concentric": ("lifting", "lifting"),
    "short_hold": ("pause at the top", "top pause"),
}
_ROTATION = {
    "eccentric": ("turning back", "turning back"),
    "long_hold": ("pause in the middle", "middle pause"),
    "concentric": ("turning out", "turning out"),
    "short_hold": ("pause at the far end", "far pause"),
}
_TWO_PARTS = {"short_hold": ("stay in plank and V", "plank and V")}
"""Of a movement with a second part, the short hold contains it."""


def _words(movement: Movement) -> dict[str, tuple[str, str]]:
    words = _ROTATION if movement.driver.signal == "trunk_rotation" else _UP_AND_DOWN
    return words | _TWO_PARTS if movement.driver.second_signal else words


def spoken_phases(movement: Movement) -> dict[str, str]:
    """Return the word of each phase as it stands in a sentence."""
    return {phase: spoken for phase, (spoken, _) in _words(movement).items()}


def phase_words(movement: Movement) -> dict[str, str]:
    """Return the word of each phase where there is little room, as in the head of a table."""
    return {phase: short for phase, (_, short) in _words(movement).items()}


def is_rest(movement: Movement, prescription: Prescription, phase: str) -> bool:
    """Tell whether a phase is the rest between repetitions: the hold at the start end, with 0 s asked.

    Such a pause is the athlete's own and nobody is told to change it.
    """
    start = "short_hold" if movement.driver.first == "eccentric" else "long_hold"
    return phase == start and prescription.tempo is not None and prescription.tempo.slot(phase) == 0


def advice(cue: Cue, verdict: Verdict) -> str:
    """Return what to say of a cue that is not met: its sentence, or less of it where the value lies above a band."""
    high, low = verdict.limit.high, verdict.limit.low
    if low is not None and high is not None and verdict.value is not None and verdict.value > (low + high) / 2:
        return f"A little less next time: {cue.target}."
    return cue.say
