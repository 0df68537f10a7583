"""What is sounded and shown at which second of a guided set."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from cuebook.errors import ModelError
from cuebook.model import Movement, Tempo
from cuebook.movements.tempo import X_SECONDS

COUNT_IN_S = 5
"""Seconds counted down before the first repetition (common practice, no source)."""
_NUMBERS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
LAST_CALL_S = 0.55
"""How long before the last repetition it is called."""
_ROOM_S = 0.4
"""Least time between two words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Beat:
    """One instant of a guided set.

    Attributes
    ----------
    time_s : float
        Seconds from the first number of the count-in.
    word : str
        Spoken, one of `cuebook.guide.sounds.words`; empty for a tone alone.
    pitch : {"low", "high", ""}
        The tone that begins here; empty where a phase merely goes on.
    kind : {"count-in", "phase", "count", "last", "end"}
    phase : str
        The phase that begins or goes on, empty during the count-in and at the end.
    repetition : int
        From 1; 0 during the count-in.
    lasts_s : float
        How long the phase that begins here lasts; 0 elsewhere.
    """

    time_s: float
    word: str
    pitch: str
    kind: str
    phase: str = ""
    repetition: int = 0
    lasts_s: float = 0.0


def phase_order(movement: Movement) -> tuple[str, str, str, str]:
    """Return the four phases in the order in which a repetition of this movement runs through them."""
    if movement.driver.first == "eccentric":
        return ("eccentric", "long_hold", "concentric", "short_hold")
    return ("concentric", "short_hold", "eccentric", "long_hold")


def call_words(movement: Movement) -> dict[str, str]:
    """Return the one word that is called when each phase begins."""
    turns = movement.driver.signal == "trunk_rotation"
    away, home = ("turn", "back") if turns else ("up", "down")
    return {"eccentric": home, "concentric": away, "long_hold": "hold", "short_hold": "hold"}


def set_beats(
    movement: Movement,
    tempo: Tempo,
    repetitions: int,
    *,
    count_in_s: int = COUNT_IN_S,
    x_seconds: float = X_SECONDS,
) -> tuple[Beat, ...]:
    """Lay out a whole set: count-in, then every phase with its call, its tone and its counted seconds.

    Parameters
    ----------
    movement : Movement
        Its driver decides the order of the phases and the words called.
    tempo : Tempo
        Seconds per phase; a phase of 0 s is left out.
    repetitions : int
        At least one.
    count_in_s : int
        Seconds counted down before the first repetition, 0 to 10.
    x_seconds : float
        Seconds that an ``X`` gets.

    Returns
    -------
    tuple of Beat
        In order of time; the last one ends the set.

    Raises
    ------
    ModelError
        If there is no repetition, the count-in is out of range or `x_seconds` is not above 0.
    """
    if repetitions < 1 or not 0 <= count_in_s <= len(_NUMBERS) or x_seconds <= 0:
        raise ModelError(
            f"a guided set needs a repetition, a count-in of 0 to {len(_NUMBERS)} s and an X above 0 s, "
            f"but it has {repetitions}, {count_in_s} and {x_seconds:g}."
        )
    beats = [
        Beat(time_s=float(k), word=_NUMBERS[count_in_s - k - 1], pitch="low", kind="count-in")
        for k in range(count_in_s)
    ]
    now = float(count_in_s)
    calls = call_words(movement)
    for number in range(1, repetitions + 1):
        if 1 < number == repetitions:
            beats = _with_last_call(beats, now)
        for phase in phase_order(movement):
            slot = tempo.slot(phase)
            lasts = x_seconds if isinstance(slot, str) else slot
            if lasts > 0:
                beats += _phase(phase, calls[phase], number, now, lasts)
                now += lasts
    return (*beats, Beat(time_s=now, word="done", pitch="high", kind="end"))


def _phase(phase: str, call: str, number: int, start_s: float, lasts_s: float) -> list[Beat]:
    """Call the phase at its start and count each further second that is whole within it."""
    pitch = "low" if phase in ("eccentric", "long_hold") else "high"
    begin = Beat(time_s=start_s, word=call, pitch=pitch, kind="phase", phase=phase, repetition=number, lasts_s=lasts_s)
    counted = [
        Beat(time_s=start_s + k, word=_NUMBERS[k], pitch="", kind="count", phase=phase, repetition=number)
        for k in range(1, min(ceil(lasts_s), len(_NUMBERS)))
        if lasts_s - k > 0.4
    ]
    return [begin, *counted]


def _with_last_call(beats: list[Beat], start_s: float) -> list[Beat]:
    """Call the last repetition shortly before it starts; a counted second gives way to it, the call of a phase not."""
    at = start_s - LAST_CALL_S
    near = [b for b in beats if b.time_s - at > -_ROOM_S]
    if any(b.kind != "count" for b in near):
        return beats
    before = [b for b in beats if b not in near]
    number = beats[-1].repetition
    return [*before, Beat(time_s=at, word="last", pitch="", kind="last", phase=beats[-1].phase, repetition=number)]
