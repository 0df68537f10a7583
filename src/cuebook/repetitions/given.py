"""Repetitions whose boundaries a coach gave: the same definitions, between the boundaries as they were put."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from cuebook.model import PHASES, Motion, Movement, Prescription, Repetition, Span
from cuebook.motion import in_place

from .drivers import DriverSeries, driver_series
from .edges import Found, hold_between
from .find import numbered, with_second_driver
from .fits import Candidates, fit_swings
from .sizes import found_of
from .turning import Swing, rough_ends

TOUCH_S = 0.02
"""Boundaries nearer than this are one (less than a frame)."""
PIN_U_S = 0.07
"""Standard uncertainty of a boundary that a person placed: two frames of thirty a second (house choice)."""
BEYOND_S = 1.2
"""Where the other side begins before this one is back, the way back is followed this far beyond the boundary, and not
beyond the other's turn (as when repetitions are found)."""
MISFIT_SHARE = 0.1
"""A shape that misses the driver by more than this share of the swing does not decide how far the swing went."""
FEWEST_SAMPLES = 4
"""A driver known in fewer frames of a span shows nothing there."""


class GivenRepetitions:
    """Turns spans into repetitions with phases; what was read before is kept, so that an edit costs little.

    Parameters
    ----------
    motion : Motion
        Signals of the clip.
    movement : Movement
        Driver, ends, smallest swing and side rule.
    prescription : Prescription
        The side that was asked for decides what is counted.
    proposed : sequence of Repetition
        The repetitions as they were found; number n has the identity ``r<n>``.
    """

    def __init__(
        self, motion: Motion, movement: Movement, prescription: Prescription, proposed: Sequence[Repetition]
    ) -> None:
        self._motion, self._movement, self._prescription = motion, movement, prescription
        self._proposed = {span_id(r.number): r for r in proposed}
        self._as_found = proposed_spans(proposed)
        self._place = in_place(motion, movement)
        self._kept: dict[tuple, Found] = {}

    def read(self, spans: Sequence[Span]) -> tuple[Repetition, ...]:
        """Return the repetitions of some spans, numbered from 1 in their order.

        A repetition that nobody touched, between neighbours that nobody touched, is the one that was found.

        Parameters
        ----------
        spans : sequence of Span
            In order of time.
        """
        spans = list(spans)
        if tuple(spans) == self._as_found:
            return tuple(self._proposed.values())
        found = [self._found(s, _room(spans, k)) for k, s in enumerate(spans)]
        for k, span in enumerate(spans):
            if k + 1 < len(spans) and touching(span, spans[k + 1]):
                if spans[k + 1].origin != "proposed":
                    found[k] = _met(found[k], found[k + 1])
            elif "end" in span.pinned and span.end_s is not None:
                found[k] = replace(found[k], edges=(*found[k].edges[:3], max(found[k].edges[2], span.end_s)))
        out = [self._repetition(spans, found, k) for k in range(len(spans))]
        return with_second_driver(self._motion, self._movement, tuple(out))

    def _repetition(self, spans: list[Span], found: list[Found], k: int) -> Repetition:
        span, own = spans[k], self._proposed.get(spans[k].id)
        if own is not None and self._untouched(spans, k):
            return replace(own, number=k + 1)
        before = found[k - 1] if k and touching(spans[k - 1], span) else None
        after = found[k + 1] if k + 1 < len(spans) and touching(span, spans[k + 1]) else None
        rep = numbered(
            self._motion, self._movement, found, k, before=before, after=after, prescription=self._prescription
        )
        if span.origin == "proposed" and own is not None:
            return replace(rep, complete=own.complete, counted=own.counted, chance=own.chance, doubtful=own.doubtful)
        if own is not None and _within(own, span):
            wanted = self._prescription.side in (None, span.side) or span.side == "both"
            rep = replace(rep, complete=own.complete, counted=own.complete and wanted, chance=own.chance,
                          doubtful=own.doubtful)  # fmt: skip
        rep = _pinned(rep, span)
        return rep if np.isfinite(found[k].level_u) else _by_eye(rep, span, self._prescription)

    def _untouched(self, spans: list[Span], k: int) -> bool:
        """Return whether a span and its neighbours are as they were found."""
        around = tuple(spans[max(0, k - 1) : k + 2])
        place = next((i for i, s in enumerate(self._as_found) if s == spans[k]), None)
        return place is not None and self._as_found[max(0, place - 1) : place + 2] == around

    def _found(self, span: Span, room_s: tuple[float, float]) -> Found:
        own = self._proposed.get(span.id)
        if own is not None and span.origin == "proposed":
            return _as_found(own)
        if own is not None and _within(own, span):
            return replace(_moved(_as_found(own), span), side=span.side)
        turn_s = span.turn_s if "turn" in span.pinned else None
        key = (span.id, span.side, span.start_s, turn_s, span.end_s, span.pinned, room_s)
        if key not in self._kept:
            self._kept[key] = self._fitted(span, room_s)
        return self._kept[key]

    def _fitted(self, span: Span, room_s: tuple[float, float]) -> Found:
        """Find the edges of a span anew from the driver inside it."""
        times = self._motion.times_s
        low = max(float(times[0]), room_s[0])
        high = min(float(times[-1]), room_s[1])
        inside = (times >= low - 1e-6) & (times <= high + 1e-6)
        series = self._series(span.side, inside)
        known = inside & np.isfinite(series.values) if series is not None else np.zeros_like(inside)
        if series is None or known.sum() < FEWEST_SAMPLES:
            return _unseen(span, low, high)
        own = _candidates(series, known, times, span)
        swing = own.swings[0]
        shape, noise = fit_swings(self._motion, self._movement, own, [], room_s=(low, high))[0]
        found = found_of(self._motion, own, swing, noise, shape, hidden=False)
        top = float(own.values[swing.turn])
        out, back = top - float(own.values[swing.before]), top - float(own.values[swing.after])
        if shape is not None and shape.residual > MISFIT_SHARE * max(out, back):
            found = replace(found, size=out, back=back)
        start = found.edges[0] if span.start_s is None else span.start_s
        edges = (start, *(max(start, e) for e in found.edges[1:]))
        return _moved(replace(found, side=span.side, swing=swing, edges=edges), span)

    def _series(self, side: str, inside: np.ndarray) -> DriverSeries | None:
        """Return the driver of a side within a span: of two, the one of that side, unless it hardly moves there."""
        found = driver_series(self._motion, self._movement, self._place | inside)

        def swing(x: DriverSeries) -> float:
            values = x.values[inside & np.isfinite(x.values)]
            return float(np.ptp(values)) if values.size >= FEWEST_SAMPLES else 0.0

        own = next((x for x in found if x.side == side), None)
        best = max(found, key=swing, default=None)
        if own is None or (best is not None and swing(own) < 0.2 * swing(best)):
            return best
        return own


def span_id(number: int) -> str:
    """Return the identity of the repetition that was found with that number."""
    return f"r{number}"


def proposed_spans(repetitions: Sequence[Repetition]) -> tuple[Span, ...]:
    """Return the spans of repetitions as they were found."""
    return tuple(
        Span(id=span_id(r.number), origin="proposed", side=r.side, start_s=r.start_s, turn_s=r.turn_s, end_s=r.end_s)
        for r in repetitions
    )


def touching(first: Span, second: Span) -> bool:
    """Return whether a repetition ends where the next begins, so that both have one boundary."""
    if first.end_s is None or second.start_s is None:
        return False
    return abs(second.start_s - first.end_s) <= TOUCH_S


def _room(spans: list[Span], k: int) -> tuple[float, float]:
    """Return the seconds in which the movement of a span is looked for; the other side may overlap with it."""
    span = spans[k]
    low = -np.inf if span.start_s is None else span.start_s
    high = np.inf if span.end_s is None else span.end_s
    if k and spans[k - 1].side != span.side and spans[k - 1].turn_s is not None:
        low = min(low, max(low - BEYOND_S, spans[k - 1].turn_s))
    if k + 1 < len(spans) and spans[k + 1].side != span.side and spans[k + 1].turn_s is not None:
        high = max(high, min(high + BEYOND_S, spans[k + 1].turn_s))
    return float(low), float(high)


def _as_found(rep: Repetition) -> Found:
    """Return a repetition as the swing it was numbered from."""
    start = rep.turn_s if rep.start_s is None else rep.start_s
    end = rep.turn_s if rep.end_s is None else rep.end_s
    whole = len(rep.edges) == 4
    edges = tuple(rep.edges) if whole else (start, rep.turn_s, rep.turn_s, end)
    spread = tuple(rep.edges_u) if len(rep.edges_u) == 4 else (0.15,) * 4
    swing = Swing(before=0, turn=0, after=0, guess_s=edges, opens=rep.start_s is not None,
                  closes=whole or (rep.start_s is None and rep.end_s is not None))  # fmt: skip
    return Found(side=rep.side, swing=swing, shape=None, edges=edges, edges_u=spread, size=rep.swing, size_u=1.0,
                 level_u=1.0, back=rep.swing, doubtful=rep.doubtful)  # fmt: skip


def _within(rep: Repetition, span: Span) -> bool:
    """Return whether moved boundaries still hold the movement that was found between them."""
    if len(rep.edges) != 4 or span.start_s is None or span.end_s is None:
        return False
    e = rep.edges
    start = span.start_s < e[1] - TOUCH_S if "start" in span.pinned else True
    end = span.end_s > e[2] + TOUCH_S if "end" in span.pinned else True
    turn = "turn" not in span.pinned or (span.turn_s is not None and e[1] - TOUCH_S <= span.turn_s <= e[2] + TOUCH_S)
    return start and end and turn


def _moved(found: Found, span: Span) -> Found:
    """Put the edges of a swing where the coach's boundaries ask for it; the others stay as they were read."""
    e, u = list(found.edges), list(found.edges_u)
    if "start" in span.pinned and span.start_s is not None:
        e[0], u[0] = span.start_s, PIN_U_S
    if "end" in span.pinned and span.end_s is not None and (e[3] > span.end_s or not found.swing.closes):
        e[3], u[3] = span.end_s, PIN_U_S
    if "turn" in span.pinned and span.turn_s is not None:
        if not e[1] <= span.turn_s:
            e[1], u[1] = span.turn_s, PIN_U_S
        if not e[2] >= span.turn_s:
            e[2], u[2] = span.turn_s, PIN_U_S
    low = -np.inf if span.start_s is None else span.start_s
    high = span.end_s if "end" in span.pinned and span.end_s is not None else np.inf
    e = [float(x) for x in np.maximum.accumulate(np.clip(e, low, high))]
    swing = replace(found.swing, opens=span.start_s is not None, closes=span.end_s is not None)
    return replace(found, edges=tuple(e), edges_u=tuple(u), swing=swing)


def _met(first: Found, second: Found) -> Found:
    """Let the way back of one last up to the given start of the next, where the gap is too short for a hold."""
    gap = second.edges[0] - first.edges[3]
    if gap <= 0 or hold_between(first, second):
        return first
    edges, spread = first.edges, first.edges_u
    return replace(first, edges=(*edges[:3], second.edges[0]), edges_u=(*spread[:3], PIN_U_S))


def _candidates(series: DriverSeries, known: np.ndarray, times: np.ndarray, span: Span) -> Candidates:
    """Return the one swing of a span in the samples inside it."""
    t, values = times[known], series.values[known]
    last = len(t) - 1
    if span.turn_s is None or "turn" not in span.pinned:
        inner = slice(1, last) if last >= 2 else slice(0, last + 1)
        turn = int(np.argmax(values[inner])) + (inner.start or 0)
    else:
        turn = int(np.argmin(np.abs(t - span.turn_s)))
    turn = int(np.clip(turn, 1, max(1, last - 1)))
    far = np.flatnonzero(values >= (values[turn] + values.min()) / 2)
    first, final = min(turn, int(far[0])), max(turn, int(far[-1]))
    before, after = int(np.argmin(values[: first + 1])), final + int(np.argmin(values[final:]))
    before, after = min(before, turn - 1), max(after, min(turn + 1, last))
    guess = rough_ends(t, values, before, turn, after)
    swing = Swing(before=before, turn=turn, after=after, guess_s=guess, opens=span.start_s is not None,
                  closes=span.end_s is not None)  # fmt: skip
    return Candidates(series=series, known=known, times=t, values=values, swings=[swing], hidden=set())


def _unseen(span: Span, low: float, high: float) -> Found:
    """Return a swing that the driver does not show: only its boundaries are known, its level is not."""
    turn = (low + high) / 2 if span.turn_s is None else span.turn_s
    edges = (low, turn, turn, high)
    swing = Swing(before=0, turn=0, after=0, guess_s=edges, opens=span.start_s is not None,
                  closes=span.end_s is not None)  # fmt: skip
    return Found(side=span.side, swing=swing, shape=None, edges=edges, edges_u=(PIN_U_S,) * 4, size=0.0,
                 size_u=1.0, level_u=np.inf, back=0.0, doubtful=True)  # fmt: skip


def _pinned(rep: Repetition, span: Span) -> Repetition:
    """Return a repetition whose boundaries are exactly those that a coach placed."""
    start = span.start_s if "start" in span.pinned else rep.start_s
    turn = span.turn_s if "turn" in span.pinned and span.turn_s is not None else rep.turn_s
    end = span.end_s if "end" in span.pinned else rep.end_s
    return replace(rep, start_s=start, turn_s=turn if start is None else max(turn, start), end_s=end)


def _by_eye(rep: Repetition, span: Span, prescription: Prescription) -> Repetition:
    """Return a repetition that only the coach saw: it counts by that word, and none of its times is measured."""
    whole = span.start_s is not None and span.end_s is not None
    wanted = prescription.side is None or span.side in (prescription.side, "both")
    blank = dict.fromkeys(PHASES)
    return replace(rep, complete=whole, counted=whole and wanted, chance=1.0 if whole else 0.0, phases=blank,
                   phases_u=blank, gaps={}, edges=(), edges_u=(), swing=0.0, doubtful=True)  # fmt: skip
