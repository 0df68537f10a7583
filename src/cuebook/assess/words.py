"""Everyday words of the four phases."""

from __future__ import annotations

from cuebook.model import Movement

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


def phase_words(movement: Movement) -> dict[str, str]:
    """Return the everyday word of each of the four phases for this movement."""
    rotates = movement.driver.signal == "trunk_rotation"
    return dict(_PHASES_ROTATION if rotates else _PHASES_UP_AND_DOWN)
