"""Everyday words of the four phases."""

from __future__ import annotations

from cuebook.model import Cue, Movement, Verdict

_PHASES_UP_AND_DOWN = {
    "eccentric": "lowering",
    "long_hold": "pause low",
    "concentric": "lifting",
    "short_hold": "pause high",
}
_PHASES_ROTATION = {
    "eccentric": "turning back",
    "long_hold": "pause centre",
    "concentric": "turning out",
    "short_hold": "pause turned",
}


_SPOKEN_UP_AND_DOWN = _PHASES_UP_AND_DOWN | {"long_hold": "pause at the bottom", "short_hold": "pause at the top"}
_SPOKEN_ROTATION = _PHASES_ROTATION | {"long_hold": "pause in the middle", "short_hold": "pause turned out"}


def spoken_phases(movement: Movement) -> dict[str, str]:
    """Return the word of each phase as it stands in a sentence."""
    rotates = movement.driver.signal == "trunk_rotation"
    return dict(_SPOKEN_ROTATION if rotates else _SPOKEN_UP_AND_DOWN)


def phase_words(movement: Movement) -> dict[str, str]:
    """Return the everyday word of each of the four phases for this movement."""
    rotates = movement.driver.signal == "trunk_rotation"
    return dict(_PHASES_ROTATION if rotates else _PHASES_UP_AND_DOWN)


def advice(cue: Cue, verdict: Verdict) -> str:
    """Return what to say of a cue that is not met: its sentence, or less of it where the value lies above a band."""
    high, low = verdict.limit.high, verdict.limit.low
    if low is not None and high is not None and verdict.value is not None and verdict.value > (low + high) / 2:
        return f"A little less next time: {cue.target}."
    return cue.say
