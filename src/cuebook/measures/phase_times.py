"""Seconds of each phase of a repetition, and the ratio of lowering to raising.

Phases by the definitions of the design: a moving phase lasts while the driver is faster than 5 % of the phase's own
peak speed; a gap between two of them is a hold from 0.3 s and 8 % of both together.
"""

from __future__ import annotations

from functools import partial
from math import hypot

from cuebook.model import PHASES, Measurement, NotMeasurable

from .registry import Measure, Occasion, Result

SHARED_TIME_U_S = 0.03
"""Part of a phase time's uncertainty common to the set: the ends of the shape are read alike in every repetition."""


def _missing(occasion: Occasion, name: str, unit: str, reason: str) -> NotMeasurable:
    return NotMeasurable(measure=name, unit=unit, side=occasion.repetition.side, reason=reason, refilm=occasion.refilm)


def _take(occasion: Occasion, *, phase: str) -> Result:
    rep = occasion.repetition
    value, spread = rep.phases[phase], rep.phases_u[phase]
    if value is None or spread is None:
        return _missing(occasion, f"{phase}_s", "s", "that phase is not whole in the clip")
    if rep.doubtful:
        return _missing(occasion, f"{phase}_s", "s", "the moving joint was lost during that repetition")
    return Measurement(measure=f"{phase}_s", value=value, noise=spread, shared=SHARED_TIME_U_S, unit="s", side=rep.side,
                       at_s=rep.turn_s, method="shape of the driver")  # fmt: skip


def _ratio(occasion: Occasion) -> Result:
    rep = occasion.repetition
    lower, rise = rep.phases["eccentric"], rep.phases["concentric"]
    lower_u, rise_u = rep.phases_u["eccentric"], rep.phases_u["concentric"]
    name = "eccentric_concentric_ratio"
    if not lower or not rise or lower_u is None or rise_u is None:
        return _missing(occasion, name, "ratio", "one of the two phases is not whole in the clip")
    if rep.doubtful:
        return _missing(occasion, name, "ratio", "the moving joint was lost during that repetition")
    ratio = lower / rise
    noise = ratio * hypot(lower_u / lower, rise_u / rise)
    shared = ratio * SHARED_TIME_U_S * hypot(1 / lower, 1 / rise)
    return Measurement(measure=name, value=ratio, noise=noise, shared=shared, unit="ratio", side=rep.side,
                       at_s=rep.turn_s, method="shape of the driver")  # fmt: skip


MEASURES = (
    *(
        Measure(name=f"{phase}_s", unit="s", events=("phase",), sided=False, take=partial(_take, phase=phase))
        for phase in PHASES
    ),
    Measure(name="eccentric_concentric_ratio", unit="ratio", events=("phase",), sided=False, take=_ratio),
)
