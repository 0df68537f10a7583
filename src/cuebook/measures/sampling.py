"""Reading a signal at an event, or saying why it cannot be read there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from cuebook.model import Measurement, Motion, NotMeasurable, Signal

from .registry import Occasion, Result

HALF_WINDOW_S = 0.09
"""An angle at an instant is the middle value of the frames this near to it (house choice, about three at 30 a
second)."""
SEEN_WINDOW_S = 0.2
HOLD_INSET_S = 0.1
TOO_UNSURE = "from this view the angle is too unsure to be stated"
IN_PERSON = "A phone cannot tell this surely from here; show it to your coach in person."


def read_angle(occasion: Occasion, signal_name: str, *, name: str, sign: float = 1.0) -> Result:
    """Read an angle at the occasion's event.

    Parameters
    ----------
    occasion : Occasion
        What to look at.
    signal_name : str
        Signal to read.
    name : str
        Name of the measure without its event.
    sign : float
        -1 turns the sense round.

    Returns
    -------
    Measurement or NotMeasurable
        Not measurable where the signal is missing in most frames around the event; the reason is that of the doubtful
        stretch, of the view, or that the joint is hidden.
    """
    full = f"{name}_at_{occasion.event}"
    signal = occasion.motion.signals[signal_name]
    at = event_time(occasion)

    def missing(reason: str) -> NotMeasurable:
        return NotMeasurable(measure=full, unit="deg", side=occasion.side, reason=reason, refilm=occasion.refilm)

    if signal.why_not:
        return missing(signal.why_not)
    if at is None:
        return missing("that moment is not in the clip")
    near = np.abs(signal.times_s - at) <= SEEN_WINDOW_S
    known = signal.measured
    if not near.any() or known[near].mean() < 0.5:
        reason = why_lost(occasion.motion, signal, at)
        return replace(missing(reason), refilm=IN_PERSON) if reason == TOO_UNSURE else missing(reason)
    inside = known & (np.abs(signal.times_s - at) <= HALF_WINDOW_S)
    if not inside.any():
        inside = known & near
    value = sign * float(np.median(signal.values[inside]))
    return Measurement(
        measure=full,
        value=value,
        noise=float(np.median(signal.noise[inside])),
        shared=float(np.median(signal.shared[inside])),
        unit="deg",
        side=occasion.side,
        at_s=at,
        method=signal.method,
    )


def event_time(occasion: Occasion) -> float | None:
    """Return when the occasion's event happens, seconds, or None where the clip does not show it."""
    rep = occasion.repetition
    if occasion.event == "turn":
        return rep.turn_s
    if occasion.event == "start":
        return None if rep.start_s is None else max(float(occasion.motion.times_s[0]), rep.start_s - HOLD_INSET_S)
    if occasion.event == "end":
        return rep.edges[3] + HOLD_INSET_S / 2 if len(rep.edges) == 4 else None
    return second_turn_time(occasion)


def second_turn_time(occasion: Occasion) -> float | None:
    """Return when the movement's second driver is at its extreme before the next repetition, or None."""
    driver = occasion.movement.driver
    rep = occasion.repetition
    if driver.second_signal is None or len(rep.edges) != 4:
        return None
    signal = best_side(occasion.motion, driver.second_signal)
    stop = occasion.next_start_s if occasion.next_start_s is not None else float(signal.times_s[-1])
    inside = (signal.times_s >= rep.edges[3] - 0.2) & (signal.times_s <= stop) & signal.trusted
    if not inside.any():
        return None
    places = np.flatnonzero(inside)
    values = signal.values[places]
    top = float(values.max())
    high = places[values >= top - 0.06 * max(top - float(values.min()), 1.0)]
    return float(np.median(signal.times_s[high]))


def best_side(motion: Motion, name: str) -> Signal:
    """Return the left or right signal of that name with the smaller uncertainty."""

    def spread(signal: Signal) -> float:
        return float(np.nanmedian(signal.sigma)) if np.isfinite(signal.sigma).any() else np.inf

    return min((motion.signals[f"{s}_{name}"] for s in ("left", "right")), key=spread)


def why_lost(motion: Motion, signal: Signal, at_s: float) -> str:
    """Return in words why a signal is missing at an instant."""
    side = signal.name.split("_")[0]
    for doubt in motion.doubts:
        other = {"left": "right", "right": "left"}.get(side, "neither")
        if not doubt.what.startswith(other) and doubt.start_s - 0.2 <= at_s <= doubt.end_s + 0.2:
            return f"the {doubt.what} cannot be trusted there ({doubt.reason})"
    if np.isfinite(signal.values).any() and not signal.measured.any():
        return TOO_UNSURE
    return "the joint is hidden or out of the picture there"
