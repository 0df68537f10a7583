"""How long the inverted V and the plank between two push-ups are held.

The V is held while the hips stay within a tenth of their swing of the highest flexion; the plank is the stay with
arms and body straight, before and after the V. House definitions: no published one was found.
"""

from __future__ import annotations

import numpy as np

from cuebook.model import Measurement, NotMeasurable

from .registry import Measure, Occasion, Result
from .sampling import best_side, why_lost

HELD_SHARE = 0.10
TIME_U_S = 0.12
"""Standard uncertainty of a hold read by a level: two ends of a slow approach (formula of bm-F9 at 2 deg and a 2 s
swing)."""


def _stay(occasion: Occasion):
    """Return frames, values and whether they are known, of the second driver between this repetition and the next."""
    signal = best_side(occasion.motion, occasion.movement.driver.second_signal)
    stop = occasion.next_start_s if occasion.next_start_s is not None else float(signal.times_s[-1])
    inside = (signal.times_s >= occasion.repetition.edges[3]) & (signal.times_s <= stop)
    return signal, inside


def _take(occasion: Occasion, *, name: str, high: bool) -> Result:
    rep, driver = occasion.repetition, occasion.movement.driver

    def missing(reason: str) -> NotMeasurable:
        return NotMeasurable(measure=name, unit="s", side="both", reason=reason, refilm=occasion.refilm)

    if driver.second_signal is None or len(rep.edges) != 4:
        return missing("the part after the push-up is not in the clip")
    signal, inside = _stay(occasion)
    known = inside & signal.trusted
    if known.sum() < 0.6 * max(1, inside.sum()) or known.sum() < 5:
        return missing(why_lost(occasion.motion, signal, rep.edges[3]))
    times, values = signal.times_s[known], signal.values[known]
    top, low = float(np.percentile(values, 99)), float(np.percentile(values, 5))
    swing = top - low
    if swing < (driver.second_min_swing or 0.0):
        return missing("the hips were not raised after the push-up")
    held = values >= top - HELD_SHARE * swing if high else values <= low + HELD_SHARE * swing
    step = float(np.median(np.diff(signal.times_s)))
    return Measurement(measure=name, value=float(held.sum() * step), noise=TIME_U_S, shared=0.05, unit="s", side="both",
                       at_s=float(np.median(times[held])), method=signal.method)  # fmt: skip


def _inverted_v(occasion: Occasion) -> Result:
    return _take(occasion, name="inverted_v_hold_s", high=True)


def _plank(occasion: Occasion) -> Result:
    return _take(occasion, name="plank_hold_s", high=False)


MEASURES = (
    Measure(name="inverted_v_hold_s", unit="s", events=("phase",), sided=False, take=_inverted_v),
    Measure(name="plank_hold_s", unit="s", events=("phase",), sided=False, take=_plank),
)
