"""Read a prescribed tempo, work out its durations, and the margins a coach grants."""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import isfinite

from cuebook.errors import ModelError, TempoError
from cuebook.model import PHASES, Limit, Tempo
from cuebook.model.prescription import Slot

X_SECONDS = 1.0
"""Seconds that an ``X`` counts for; some coaches count 0, so every function takes it as an argument."""

_SEPARATED = re.compile(r"[-\u2013/:]")
_NUMBER = re.compile(r"\d+(?:[.,]\d+)?|\.\d+")
_MOVING = ("eccentric", "concentric")
_WORDS = {p: p.replace("_", " ") for p in PHASES}
_FORMS = "write four numbers such as 3-1-1-0 (eccentric, long hold, concentric, short hold)"


def parse_tempo(text: str) -> Tempo:
    """Read a tempo such as ``3-1-1-0``, ``3110``, ``3/1/1/0``, ``3:1:1:0`` or ``30X1``.

    Parameters
    ----------
    text : str
        Four slots in the order eccentric, hold at the long end, concentric, hold at the short end. Without
        separators every slot is one sign; decimals and durations from 10 s need separators.

    Returns
    -------
    Tempo
        Seconds per phase; ``"X"`` means as fast as control allows.

    Raises
    ------
    TempoError
        If there are not four slots, a slot is no number, an ``X`` stands in a hold or a 0 in a moving phase.

    Examples
    --------
    >>> str(parse_tempo("30X1"))
    '3-0-X-1'
    """
    slots = _slots(text)
    if len(slots) == 3:
        raise TempoError(
            f"The tempo '{text}' has three numbers, which coaches read in different orders: "
            f"write '{'-'.join([*slots, '0'])}' if you mean eccentric, long hold, concentric and no short hold."
        )
    if len(slots) != 4:
        raise TempoError(f"The tempo '{text}' has {len(slots)} slots instead of four: {_FORMS}.")
    values = {phase: _slot(slot, phase=phase, text=text) for phase, slot in zip(PHASES, slots, strict=True)}
    return Tempo(**values)  # type: ignore[arg-type]


def _slots(text: str) -> list[str]:
    cleaned = "".join(text.split())
    if not cleaned:
        raise TempoError(f"The tempo is empty: {_FORMS}.")
    if _SEPARATED.search(cleaned):
        return _SEPARATED.split(cleaned)
    if not re.fullmatch(r"[0-9xX]+", cleaned):
        raise TempoError(f"The tempo '{text}' cannot be read: {_FORMS}.")
    return list(cleaned)


def _slot(slot: str, *, phase: str, text: str) -> Slot:
    name = _WORDS[phase]
    if slot.upper() == "X":
        if phase not in _MOVING:
            raise TempoError(
                f"The tempo '{text}' has an X as its {name}, but only a moving phase can be X: give seconds."
            )
        return "X"
    if not _NUMBER.fullmatch(slot):
        raise TempoError(f"The tempo '{text}' has '{slot}' as its {name}: give seconds, or X in a moving phase.")
    seconds = float(slot.replace(",", "."))
    if phase in _MOVING and seconds == 0:
        raise TempoError(f"The tempo '{text}' has 0 as its {name}, but a moving phase takes time: give seconds or X.")
    return seconds


def repetition_seconds(tempo: Tempo, *, x_seconds: float = X_SECONDS) -> float:
    """Return the duration of one repetition in seconds, the sum of its four slots.

    Parameters
    ----------
    tempo : Tempo
        The prescription.
    x_seconds : float
        Seconds that an ``X`` counts for, 0 or more.

    Raises
    ------
    ModelError
        If `x_seconds` is negative or not finite.
    """
    if not isfinite(x_seconds) or x_seconds < 0:
        raise ModelError(f"x_seconds must be 0 or more, but it is {x_seconds}.")
    slots = (tempo.slot(phase) for phase in PHASES)
    return sum(x_seconds if isinstance(slot, str) else slot for slot in slots)


def time_under_tension(
    tempo: Tempo, repetitions: int, *, sides: int = 1, changeover_s: float = 0.0, x_seconds: float = X_SECONDS
) -> float:
    """Return the working time of one set in seconds.

    Parameters
    ----------
    tempo : Tempo
        The prescription.
    repetitions : int
        Repetitions, per side where there are two.
    sides : {1, 2}
        How many sides are worked one after the other.
    changeover_s : float
        Seconds between the two sides.
    x_seconds : float
        Seconds that an ``X`` counts for.

    Raises
    ------
    ModelError
        If `repetitions` is below 1, `sides` is not 1 or 2, or a duration is negative.
    """
    if repetitions < 1 or sides not in (1, 2) or changeover_s < 0:
        raise ModelError(
            f"a set needs at least one repetition, one or two sides and no negative change-over, "
            f"but it has {repetitions}, {sides} and {changeover_s:g} s."
        )
    return sides * repetitions * repetition_seconds(tempo, x_seconds=x_seconds) + (sides - 1) * changeover_s


@dataclass(frozen=True, slots=True, kw_only=True)
class TempoMargins:
    """How far a phase may be from its prescription; common practice of the trade, so every figure is a setting.

    Attributes
    ----------
    moving_s, moving_share : float
        A moving phase longer than `brisk_s` may differ by this many seconds or this share, whichever is larger.
    brisk_s : float
        Up to this prescription a moving phase has the fixed band `brisk_low_s` to `brisk_high_s`, scaled to it.
    brisk_low_s, brisk_high_s : float
        Band of a moving phase of 1 s.
    hold_short_s : float
        A hold may be shorter than prescribed by this much; longer is fine.
    no_hold_s : float
        Longest stop that still counts as no hold.
    x_s : float
        Longest phase that counts as ``X``.
    drift_low : float
        Smallest ratio of the last third's eccentric to the first third's.
    """

    moving_s: float = 0.5
    moving_share: float = 0.25
    brisk_s: float = 1.0
    brisk_low_s: float = 0.6
    brisk_high_s: float = 1.5
    hold_short_s: float = 0.5
    no_hold_s: float = 0.3
    x_s: float = 1.0
    drift_low: float = 0.70

    def band(self, phase: str, prescribed: Slot) -> Limit:
        """Return the band in seconds within which a phase meets its prescription.

        Parameters
        ----------
        phase : str
            One of the four phases.
        prescribed : float or "X"
            Its slot.

        Raises
        ------
        ModelError
            If there is no such phase or it cannot hold this prescription.

        Notes
        -----
        Between 1 s and 2 s the band runs straight from the fixed one to that of 2 s, so that a small change of the
        prescription never makes a jump.
        """
        if phase not in PHASES:
            raise ModelError(f"there is no phase '{phase}': name one of {', '.join(PHASES)}.")
        if isinstance(prescribed, str):
            return Limit(low=None, high=self.x_s)
        if phase not in _MOVING:
            return self._hold(prescribed)
        return self._moving(prescribed)

    def _hold(self, prescribed_s: float) -> Limit:
        if prescribed_s == 0:
            return Limit(low=None, high=self.no_hold_s)
        return Limit(low=max(prescribed_s - self.hold_short_s, prescribed_s / 2), high=None)

    def _moving(self, prescribed_s: float) -> Limit:
        if prescribed_s <= 0:
            raise ModelError(f"a moving phase takes time, but {prescribed_s:g} s is prescribed.")
        if prescribed_s <= self.brisk_s:
            scale = prescribed_s / self.brisk_s
            return Limit(low=self.brisk_low_s * scale, high=self.brisk_high_s * scale)
        margin = max(self.moving_s, self.moving_share * prescribed_s)
        share = min(1.0, (prescribed_s - self.brisk_s) / self.brisk_s)
        below = (1 - share) * (self.brisk_s - self.brisk_low_s) + share * margin
        above = (1 - share) * (self.brisk_high_s - self.brisk_s) + share * margin
        return Limit(low=prescribed_s - below, high=prescribed_s + above)
