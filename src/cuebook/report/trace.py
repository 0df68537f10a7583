"""The angle over time as a small inline drawing: repetitions, target, uncertainty, outcomes at the turns."""

from __future__ import annotations

from html import escape

import numpy as np
from numpy.typing import NDArray

from cuebook.model import Cue, ReviewData, Signal

from .choice import base_measure, rep_verdict
from .words import limit_words, measure_words, plain

WIDTH, HEIGHT = 680.0, 300.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 62.0, 12.0, 34.0, 40.0
_MOST_POINTS = 420


class _Axes:
    """Turns seconds and values into places in the drawing."""

    def __init__(self, times_s: NDArray[np.float64], low: float, high: float) -> None:
        self.start_s, self.end_s = float(times_s[0]), max(float(times_s[-1]), float(times_s[0]) + 0.1)
        self.low, self.high = low, high

    def x(self, time_s: float) -> float:
        share = (min(max(time_s, self.start_s), self.end_s) - self.start_s) / (self.end_s - self.start_s)
        return _LEFT + share * (WIDTH - _LEFT - _RIGHT)

    def y(self, value: float) -> float:
        share = (min(max(value, self.low), self.high) - self.low) / (self.high - self.low)
        return HEIGHT - _BOTTOM - share * (HEIGHT - _BOTTOM - _TOP)


def trace_svg(data: ReviewData, signal: Signal, cue: Cue | None) -> str:
    """Return an SVG element with the signal over the whole clip.

    Parameters
    ----------
    data : ReviewData
        Gives repetitions, doubtful stretches and outcomes.
    signal : Signal
        What is drawn; its standard uncertainty is the band around the line.
    cue : Cue or None
        The cue whose limit and outcomes are drawn, if it is judged on this signal.
    """
    times, values, spread = _thinned(signal)
    judged = cue if cue is not None and signal.name.endswith(base_measure(cue.measure)) else None
    mirrored = signal.name == "trunk_rotation" and any(r.side == "right" for r in data.repetitions)
    bands = _target_bands(judged, mirrored=mirrored)
    axes = _Axes(times, *_range(values, spread, bands))
    parts = [_repetition_bands(data, axes), _targets(judged, bands, axes, signal.unit), _doubts(data, axes)]
    parts += [_grid(axes, signal.unit), _band(axes, times, values, spread), _line(axes, times, values)]
    parts.append(_turns(data, axes, judged, signal))
    label = escape(f"{measure_words(signal.name)} in degrees over the seconds of the clip, with its uncertainty")
    return (
        f'<svg class="trace" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" role="img" aria-label="{label}">'
        '<defs><pattern id="doubt" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        '<path d="M0 0V7" class="hatch"/></pattern></defs>' + "".join(parts) + "</svg>"
    )


def _thinned(signal: Signal) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    step = max(1, -(-len(signal.times_s) // _MOST_POINTS))
    values = np.where(signal.measured, signal.values, np.nan)
    return signal.times_s[::step], values[::step], signal.sigma[::step]


def _target_bands(cue: Cue | None, *, mirrored: bool) -> list[tuple[float | None, float | None]]:
    """Return the bands in which the cue is met; a turn to the right mirrors one to the left."""
    if cue is None:
        return []
    low, high = cue.limit.low, cue.limit.high
    if not mirrored:
        return [(low, high)]
    return [(low, high), (None if high is None else -high, None if low is None else -low)]


def _range(values: NDArray[np.float64], spread: NDArray[np.float64], bands: list) -> tuple[float, float]:
    """Return the ends of the value axis, on round numbers, with the limits inside."""
    ends = [v for band in bands for v in band if v is not None]
    known = values[np.isfinite(values)]
    if known.size:
        pad = float(np.nanmax(np.where(np.isfinite(spread), spread, 0.0)))
        ends += [float(known.min()) - min(pad, 10), float(known.max()) + min(pad, 10)]
    if not ends:
        ends = [0.0, 90.0]
    low, high = 10 * np.floor(min(ends) / 10), 10 * np.ceil((max(ends) + 8) / 10)
    return float(low), float(max(high, low + 20))


def _repetition_bands(data: ReviewData, axes: _Axes) -> str:
    parts = []
    for i, rep in enumerate(data.repetitions):
        start, end = rep.start_s, rep.end_s
        x0, x1 = axes.x(axes.start_s if start is None else start), axes.x(axes.end_s if end is None else end)
        parts.append(_upright("rep even" if i % 2 else "rep", x0, x1))
        name = f"{rep.number}{ {'left': ' L', 'right': ' R'}.get(rep.side, '') }"
        at = f'x="{(x0 + x1) / 2:.1f}" y="{_TOP - 9:g}"'
        parts.append(f'<text class="name" {at} text-anchor="middle">{name}</text>')
    return "".join(parts)


def _upright(kind: str, x0: float, x1: float) -> str:
    """Return a stripe over the full height of the plot."""
    size = f'width="{max(2.0, x1 - x0):.1f}" height="{HEIGHT - _TOP - _BOTTOM:g}"'
    return f'<rect class="{kind}" x="{x0:.1f}" y="{_TOP:g}" {size}/>'


def _targets(cue: Cue | None, bands: list, axes: _Axes, unit: str) -> str:
    """Return the bands in which the cue is met, the first one with its limit in words."""
    if cue is None:
        return ""
    parts = []
    for low, high in bands:
        top, bottom = axes.y(axes.high if high is None else high), axes.y(axes.low if low is None else low)
        across = f'x="{_LEFT:g}" width="{WIDTH - _LEFT - _RIGHT:g}"'
        parts.append(f'<rect class="target" {across} y="{top:.1f}" height="{bottom - top:.1f}"/>')
        for end in (low, high):
            if end is not None:
                parts.append(f'<path class="limit" d="M{_LEFT:g} {axes.y(end):.1f}H{WIDTH - _RIGHT:g}"/>')
    low, high = bands[0]
    top, bottom = axes.y(axes.high if high is None else high), axes.y(axes.low if low is None else low)
    at = top + 15 if bottom - top > 24 else top - 5 if low is None else bottom + 15
    words = escape(f"asked: {limit_words(cue.limit, unit)}")
    parts.append(f'<text class="asked" x="{WIDTH - _RIGHT - 6:g}" y="{at:.1f}" text-anchor="end">{words}</text>')
    return "".join(parts)


def _doubts(data: ReviewData, axes: _Axes) -> str:
    return "".join(_upright("doubt", axes.x(d.start_s), axes.x(d.end_s)) for d in data.motion.doubts)


def _grid(axes: _Axes, unit: str) -> str:
    sign = "°" if unit == "deg" else ""
    step = next(s for s in (10, 20, 30, 45, 90, 180, 1e9) if (axes.high - axes.low) / s <= 5)
    parts = []
    for value in np.arange(np.ceil(axes.low / step) * step, axes.high + 1e-6, step):
        y = axes.y(float(value))
        parts.append(f'<path class="grid" d="M{_LEFT:g} {y:.1f}H{WIDTH - _RIGHT:g}"/>')
        parts.append(f'<text x="{_LEFT - 7:g}" y="{y + 5:.1f}" text-anchor="end">{plain(float(value))}{sign}</text>')
    seconds = axes.end_s - axes.start_s
    tick = next(s for s in (1, 2, 5, 10, 20, 30, 60, 120, 300, 1e9) if seconds / s <= 7)
    for time_s in np.arange(0, axes.end_s + 1e-6, tick):
        x = axes.x(float(time_s))
        words = f"{time_s:g} s" if time_s else "0"
        anchor = "end" if x > WIDTH - 4 * _RIGHT else "middle"
        parts.append(f'<text x="{x:.1f}" y="{HEIGHT - 10:g}" text-anchor="{anchor}">{words}</text>')
        parts.append(f'<path class="grid" d="M{x:.1f} {HEIGHT - _BOTTOM:g}v5"/>')
    return "".join(parts)


def _runs(values: NDArray[np.float64]) -> list[NDArray[np.intp]]:
    """Return the stretches of at least two measured frames."""
    known = np.flatnonzero(np.isfinite(values))
    return [r for r in np.split(known, np.flatnonzero(np.diff(known) > 1) + 1) if len(r) > 1]


def _band(axes: _Axes, times: NDArray[np.float64], values: NDArray[np.float64], spread: NDArray[np.float64]) -> str:
    wide = np.where(np.isfinite(spread), spread, 0.0)
    parts = []
    for run in _runs(values):
        upper = [f"{axes.x(times[i]):.1f} {axes.y(values[i] + wide[i]):.1f}" for i in run]
        lower = [f"{axes.x(times[i]):.1f} {axes.y(values[i] - wide[i]):.1f}" for i in run[::-1]]
        parts.append(f'<path class="spread" d="M{"L".join(upper + lower)}Z"/>')
    return "".join(parts)


def _line(axes: _Axes, times: NDArray[np.float64], values: NDArray[np.float64]) -> str:
    parts = []
    for run in _runs(values):
        points = "L".join(f"{axes.x(times[i]):.1f} {axes.y(values[i]):.1f}" for i in run)
        parts.append(f'<path class="line" d="M{points}"/>')
    return "".join(parts)


def _turns(data: ReviewData, axes: _Axes, cue: Cue | None, signal: Signal) -> str:
    """Return the outcome marks at the moments that were judged, on the line where it is known."""
    parts = []
    for rep in data.repetitions:
        verdict = None if cue is None else rep_verdict(data, cue.name, rep.number)
        if verdict is None or verdict.value is None:
            continue
        at = verdict.at_s if verdict.at_s is not None else rep.turn_s
        drawn = float(signal.values[int(np.argmin(np.abs(signal.times_s - at)))])
        parts.append(_mark(axes.x(at), axes.y(drawn if np.isfinite(drawn) else verdict.value), verdict.outcome))
    return "".join(parts)


def _mark(x: float, y: float, outcome: str, *, radius: float = 7.0) -> str:
    """Return the mark of an outcome: a full disc, half a disc, a ring."""
    ring = f'<circle class="mark" cx="{x:.1f}" cy="{y:.1f}" r="{radius:g}"/>'
    if outcome == "met":
        return ring.replace("mark", "mark full")
    if outcome == "near":
        return (
            ring + f'<path class="half" d="M{x:.1f} {y - radius:.1f}a{radius:g} {radius:g} 0 0 0 0 {2 * radius:g}Z"/>'
        )
    return ring
