"""The angle over time as a matplotlib drawing, for notebooks and papers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cuebook.model import ReviewData

from .choice import base_measure, judged_signal, main_cue, rep_verdict
from .words import OUTCOME_WORDS, limit_words, measure_words

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_MARKERS = {
    "met": {"fillstyle": "full"},
    "near": {"fillstyle": "left"},
    "not_met": {"fillstyle": "full", "markerfacecolor": "white"},
}
_INK, _LIMIT = "#1c2026", "#0072b2"


def plot_trace(data: ReviewData, ax: Axes | None = None) -> Axes:
    """Draw the signal of the main cue with its uncertainty, repetitions, limit and outcomes; return the axes.

    Parameters
    ----------
    data : ReviewData
        The judged clip.
    ax : Axes or None
        Where to draw; a new figure if None.
    """
    if ax is None:
        from matplotlib import pyplot as plt

        _, ax = plt.subplots(figsize=(8, 3.2), layout="constrained")
    cue = main_cue(data)
    signal = judged_signal(data, cue)
    ax.set_xlabel("time (s)")
    ax.spines[["top", "right"]].set_visible(False)
    _draw_repetitions(data, ax)
    if signal is None:
        ax.set_title(f"{data.movement.title}: nothing could be measured", loc="left", pad=16)
        return ax
    ax.fill_between(signal.times_s, signal.values - signal.sigma, signal.values + signal.sigma, color=_INK, alpha=0.2,
                    linewidth=0, label="standard uncertainty")  # fmt: skip
    ax.plot(signal.times_s, signal.values, color=_INK, linewidth=1.4)
    ax.set_ylabel(f"{measure_words(signal.name)} ({'°' if signal.unit == 'deg' else signal.unit})")
    title = data.movement.title
    if cue is not None and signal.name.endswith(base_measure(cue.measure)):
        for end in (cue.limit.low, cue.limit.high):
            if end is not None:
                ax.axhline(end, color=_LIMIT, linestyle="--", linewidth=1.2)
        _draw_outcomes(data, ax, cue.name)
        title = f"{title}: asked {limit_words(cue.limit, signal.unit)}"
    ax.set_title(title, loc="left", pad=16)
    return ax


def _draw_repetitions(data: ReviewData, ax: Axes) -> None:
    for rep in data.repetitions:
        start = rep.start_s if rep.start_s is not None else float(data.motion.times_s[0])
        end = rep.end_s if rep.end_s is not None else float(data.motion.times_s[-1])
        ax.axvspan(start, end, color="#ecece7" if rep.number % 2 else "#f8f8f5", zorder=0, linewidth=0)
        place = {"xycoords": ("data", "axes fraction"), "ha": "center", "va": "bottom"}
        ax.annotate(str(rep.number), ((start + end) / 2, 1.0), fontsize=8, **place)


def _draw_outcomes(data: ReviewData, ax: Axes, cue: str) -> None:
    told: set[str] = set()
    for rep in data.repetitions:
        verdict = rep_verdict(data, cue, rep.number)
        if verdict is None or verdict.value is None or verdict.uncertainty is None:
            continue
        at = verdict.at_s if verdict.at_s is not None else rep.turn_s
        label = None if verdict.outcome in told else OUTCOME_WORDS[verdict.outcome]
        told.add(verdict.outcome)
        look = {"marker": "o", "color": _INK, "capsize": 2, "linestyle": "none", "markerfacecoloralt": "white"}
        ax.errorbar([at], [verdict.value], yerr=[verdict.uncertainty], label=label, **look, **_MARKERS[verdict.outcome])
    if told:
        ax.legend(loc="upper left", bbox_to_anchor=(1.0, 1.0), frameon=False, fontsize=8)
