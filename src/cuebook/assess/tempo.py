"""Prescribed against measured tempo: medians, repetitions outside the margin, and drift over the set."""

from __future__ import annotations

from math import ceil, hypot

import numpy as np

from cuebook.measures.phase_times import SHARED_TIME_U_S
from cuebook.model import PHASES, Limit, Outcome, Prescription, Repetition, Settings, TempoResult
from cuebook.movements import TempoMargins

from .judge import chance_within, outcome_of

JUDGED_ON_GAP_S = 0.5
"""A prescribed hold of this length or more is judged on the gap itself (definition of the design)."""
FEWEST_FOR_DRIFT = 4
SHARED_SHARE = 0.45
"""Part of the variance of a phase's error that the repetitions of one clip have in common, on rendered clips: the way
a body's signals run against the driver is its own."""


def judge_tempo(
    repetitions: tuple[Repetition, ...],
    prescription: Prescription,
    settings: Settings,
    margins: TempoMargins,
    *,
    time_in_doubt: bool = False,
) -> TempoResult:
    """Measure the phases of a set and judge them against the prescribed tempo.

    Parameters
    ----------
    repetitions : tuple of Repetition
        Counted ones are used; phases that the clip does not show whole are left out.
    prescription : Prescription
        Without a tempo the phases are reported and nothing is judged.
    settings : Settings
        The deciding chances.
    margins : TempoMargins
        What the coach grants.
    time_in_doubt : bool
        Whether the clip may be slow motion.

    Returns
    -------
    TempoResult
        A phase that no counted repetition shows is not measurable, with the reason.
    """
    counted = [r for r in repetitions if r.counted and not r.doubtful]
    median: dict[str, float | None] = dict.fromkeys(PHASES)
    spread: dict[str, float | None] = dict.fromkeys(PHASES)
    outside: dict[str, float | None] = dict.fromkeys(PHASES)
    outcomes: dict[str, Outcome] = {}
    reasons: dict[str, str] = {}
    for phase in PHASES:
        slot = None if prescription.tempo is None else prescription.tempo.slot(phase)
        values, us = _times(counted, phase, slot)
        if time_in_doubt:
            values = []
        if values:
            median[phase] = float(np.median(values))
            spread[phase] = hypot(_of_median(values, us), SHARED_TIME_U_S)
        if slot is None:
            continue
        if not values:
            outcomes[phase] = "not_measurable"
            reasons[phase] = _why(counted, time_in_doubt=time_in_doubt)
            continue
        band = margins.band(phase, slot)
        low, high = band.ends
        outside[phase] = float(np.mean([not low <= v <= high for v in values]))
        outcomes[phase] = outcome_of(chance_within(band, median[phase], spread[phase]), settings)
    ratio, ratio_u = (None, None) if time_in_doubt else _drift(counted)
    drift = None
    if ratio is not None and ratio_u is not None:
        drift = outcome_of(chance_within(Limit(low=margins.drift_low, high=None), ratio, ratio_u), settings)
    return TempoResult(
        median=median,
        median_u=spread,
        outside=outside,
        outcomes=outcomes,
        reasons=reasons,
        drift_ratio=ratio,
        drift_ratio_u=ratio_u,
        drift_outcome=drift,
    )


def _of_median(values: list[float], us: list[float]) -> float:
    """Return the standard uncertainty of a median: what repetitions have in common does not shrink with their number.

    The rest is what they are said to scatter, or what they do scatter if that is more.
    """
    mean_square = float(np.mean(np.square(us)))
    scatter = float(np.std(values, ddof=1)) if len(values) > 1 else 0.0
    own = max(float(np.sqrt((1.0 - SHARED_SHARE) * mean_square)), scatter)
    return hypot(float(np.sqrt(SHARED_SHARE * mean_square)), own / np.sqrt(len(values)))


def _times(repetitions: list[Repetition], phase: str, slot: float | str | None) -> tuple[list[float], list[float]]:
    """Return the times of one phase and their uncertainties; of a prescribed hold the gap itself.

    A gap is as sure as its two ends: whether it is long enough to be called a hold does not matter there.
    """
    on_gap = isinstance(slot, int | float) and slot >= JUDGED_ON_GAP_S and phase.endswith("hold")
    values, us = [], []
    for rep in repetitions:
        value = rep.gaps.get(phase) if on_gap else rep.phases[phase]
        u = _gap_u(rep, phase) if on_gap else rep.phases_u[phase]
        if value is not None and u is not None:
            values.append(value)
            us.append(u)
    return values, us


def _gap_u(rep: Repetition, phase: str) -> float | None:
    """Return the standard uncertainty of a gap from the ends beside it (for the stay: of its own repetition)."""
    u = rep.phases_u[phase]
    if u is None or len(rep.edges_u) != 4:
        return u
    at_turn = rep.gaps.get(phase) is not None and abs(rep.gaps[phase] - (rep.edges[2] - rep.edges[1])) < 1e-9
    ends = hypot(rep.edges_u[1], rep.edges_u[2]) if at_turn else hypot(rep.edges_u[3], rep.edges_u[0])
    return min(u, ends)


def _why(counted: list[Repetition], *, time_in_doubt: bool) -> str:
    if time_in_doubt:
        return "the clip may be slow motion: say at what rate it was captured"
    return "that phase is not whole in the clip" if counted else "no repetition was counted"


def _drift(counted: list[Repetition]) -> tuple[float | None, float | None]:
    """Return the median eccentric of the last third over that of the first third, with its uncertainty."""
    usable = [r for r in counted if r.phases["eccentric"]]
    if len(usable) < FEWEST_FOR_DRIFT:
        return None, None
    third = ceil(len(usable) / 3)
    ends = []
    for part in (usable[:third], usable[-third:]):
        values = np.array([r.phases["eccentric"] for r in part])
        noise = float(np.sqrt(np.mean([r.phases_u["eccentric"] ** 2 for r in part])))
        spread = float(np.std(values, ddof=1)) if len(values) > 1 else 0.0
        ends.append((float(np.median(values)), hypot(noise, spread) / np.sqrt(len(values))))
    (first, first_u), (last, last_u) = ends
    ratio = last / first
    return ratio, ratio * hypot(first_u / first, last_u / last)
