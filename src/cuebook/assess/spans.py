"""Moving, splitting, joining, dropping and adding repetitions: pure functions of spans; every refusal is a sentence."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import pairwise

from cuebook.errors import ModelError, UnknownName
from cuebook.model import BOUNDARIES, Movement, Span
from cuebook.model.corrections import Boundary
from cuebook.repetitions import touching

SHORTEST_WAY_S = 0.1
"""A boundary is kept this far from the next one (house choice: three frames of thirty a second)."""
SHORTEST_S = 0.3
"""A repetition that a coach gives lasts at least this long (house choice)."""

Spans = tuple[Span, ...]


def moved(spans: Spans, identity: str, boundary: Boundary, to_s: float, *, clip_s: float) -> Spans:
    """Move one boundary; where two repetitions share it, it moves for both.

    Parameters
    ----------
    spans : tuple of Span
        In order of time.
    identity : str
        Which repetition.
    boundary : {"start", "turn", "end"}
        Which boundary.
    to_s : float
        Where to, seconds.
    clip_s : float
        Length of the clip.

    Raises
    ------
    UnknownName
        If there is no such repetition.
    ModelError
        If the boundary would pass another one.
    """
    if boundary not in BOUNDARIES:
        raise ModelError(f"A repetition has a start, a turn and an end, but no '{boundary}'.")
    k = place_of(spans, identity)
    to_s = _inside(to_s, clip_s)
    if getattr(spans[k], f"{boundary}_s") == to_s and (boundary in spans[k].pinned):
        return spans
    out = list(spans)
    before, after = _neighbours(spans, k)
    out[k] = _placed(spans[k], boundary, to_s)
    if boundary == "start" and before is not None:
        if touching(before, spans[k]):
            out[k - 1] = _placed(before, "end", to_s)
        elif before.end_s is not None and to_s < before.end_s:
            out[k - 1] = _placed(before, "end", to_s)
    if boundary == "end" and after is not None:
        if touching(spans[k], after) or (after.start_s is not None and to_s > after.start_s):
            out[k + 1] = _placed(after, "start", to_s)
    for i in range(max(0, k - 1), min(len(out), k + 2)):
        _check(out[i], i + 1)
    return tuple(out)


def split(spans: Spans, identity: str, at_s: float) -> Spans:
    """Make two repetitions of one, with a common boundary; their turns are looked for anew.

    Raises
    ------
    UnknownName
        If there is no such repetition.
    ModelError
        If the instant does not lie well inside it.
    """
    k = place_of(spans, identity)
    span, at_s = spans[k], round(float(at_s), 3)
    low, high = span.start_s, span.end_s
    if (low is not None and at_s - low < SHORTEST_S) or (high is not None and high - at_s < SHORTEST_S):
        raise ModelError(
            f"Repetition {k + 1} cannot be split at {at_s:.2f} s: choose an instant {SHORTEST_S:g} s or more inside it."
        )
    first = replace(span, id=f"{span.id}a", origin="corrected", end_s=at_s, turn_s=None,
                    pinned=(*(p for p in span.pinned if p == "start"), "end"))  # fmt: skip
    second = replace(span, id=f"{span.id}b", origin="corrected", start_s=at_s, turn_s=None,
                     pinned=("start", *(p for p in span.pinned if p == "end")))  # fmt: skip
    return (*spans[:k], first, second, *spans[k + 1 :])


def merged(spans: Spans, first: str, second: str) -> Spans:
    """Make one repetition of two neighbours of the same side; its turn is looked for anew.

    Raises
    ------
    UnknownName
        If one of them is not there.
    ModelError
        If they are not neighbours, or of different sides.
    """
    i, j = sorted((place_of(spans, first), place_of(spans, second)))
    if j != i + 1:
        raise ModelError(f"Repetitions {i + 1} and {j + 1} are not neighbours and cannot be joined.")
    one, other = spans[i], spans[j]
    if one.side != other.side:
        raise ModelError(f"Repetition {i + 1} is of the {one.side} side and {j + 1} of the {other.side}: not joined.")
    pinned = (*(p for p in one.pinned if p == "start"), *(p for p in other.pinned if p == "end"))
    whole = Span(id=f"{one.id}+{other.id}", origin="corrected", side=one.side, start_s=one.start_s, turn_s=None,
                 end_s=other.end_s, pinned=pinned)  # fmt: skip
    return (*spans[:i], whole, *spans[j + 1 :])


def dropped(spans: Spans, identity: str) -> Spans:
    """Take a repetition out; the stay before it is not known to last any longer.

    Raises
    ------
    UnknownName
        If there is no such repetition.
    """
    k = place_of(spans, identity)
    return (*spans[:k], *spans[k + 1 :])


def added(spans: Spans, identity: str, *, start_s: float, end_s: float, turn_s: float | None, side: str | None,
          movement: Movement, clip_s: float) -> Spans:  # fmt: skip
    """Put in a repetition that was missed; the stay of the one before it is cut where it begins.

    Parameters
    ----------
    spans : tuple of Span
        In order of time.
    identity : str
        Of the new one.
    start_s, end_s, turn_s : float
        Its boundaries, seconds; a turn of None is looked for.
    side : {"left", "right", "both"} or None
        Working side; None takes that of the repetition before it.
    movement : Movement
        Its side rule.
    clip_s : float
        Length of the clip.

    Raises
    ------
    ModelError
        If it is too short, outside the clip, or lies over the turn of another one.
    """
    start_s, end_s = _inside(start_s, clip_s), _inside(end_s, clip_s)
    turn_s = None if turn_s is None else _inside(turn_s, clip_s)
    if end_s - start_s < SHORTEST_S:
        raise ModelError(f"A repetition from {start_s:.2f} to {end_s:.2f} s is too short: give it {SHORTEST_S:g} s.")
    k = sum((s.turn_s if s.turn_s is not None else s.start_s or 0.0) <= start_s for s in spans)
    before, after = (spans[k - 1] if k else None), (spans[k] if k < len(spans) else None)
    if after is not None and (after.turn_s if after.turn_s is not None else after.end_s or clip_s) < end_s:
        raise ModelError(f"The new repetition would lie over repetition {k + 1}: move or drop that one first.")
    out = list(spans)
    if before is not None and before.end_s is not None and before.end_s > start_s:
        if before.end_s > end_s:
            end_s = before.end_s
        out[k - 1] = _placed(before, "end", start_s)
        _check(out[k - 1], k)
    if after is not None and after.start_s is not None and after.start_s < end_s:
        if before is None or before.end_s != end_s:
            out[k] = _placed(after, "start", end_s)
            _check(out[k], k + 1)
    chosen = _side(side, movement, before or after)
    new = Span(id=identity, origin="added", side=chosen, start_s=start_s, turn_s=turn_s, end_s=end_s,
               pinned=("start", *(("turn",) if turn_s is not None else ()), "end"))  # fmt: skip
    _check(new, k + 1)
    return (*out[:k], new, *out[k:])


def sided(spans: Spans, identity: str, side: str, *, movement: Movement) -> Spans:
    """Say which side works in a repetition.

    Raises
    ------
    UnknownName
        If there is no such repetition.
    ModelError
        If the movement does not have that side.
    """
    k = place_of(spans, identity)
    chosen = _side(side, movement, None)
    if spans[k].side == chosen:
        return spans
    origin = "added" if spans[k].origin == "added" else "corrected"
    return (*spans[:k], replace(spans[k], side=chosen, origin=origin), *spans[k + 1 :])


def with_turns(spans: Spans, turns: Mapping[str, float]) -> Spans:
    """Return spans whose open turns are filled in with those that were found, by identity."""
    return tuple(
        replace(s, turn_s=round(float(turns[s.id]), 3)) if s.turn_s is None and s.id in turns else s for s in spans
    )


def place_of(spans: Spans, identity: str) -> int:
    """Return the place of a repetition in the list.

    Raises
    ------
    UnknownName
        If it is not there.
    """
    for k, span in enumerate(spans):
        if span.id == identity:
            return k
    raise UnknownName("repetition", identity, [s.id for s in spans])


def _neighbours(spans: Spans, k: int) -> tuple[Span | None, Span | None]:
    return (spans[k - 1] if k else None), (spans[k + 1] if k + 1 < len(spans) else None)


def _placed(span: Span, boundary: Boundary, to_s: float) -> Span:
    pinned = tuple(b for b in BOUNDARIES if b == boundary or b in span.pinned)
    origin = "added" if span.origin == "added" else "corrected"
    return replace(span, **{f"{boundary}_s": to_s, "pinned": pinned, "origin": origin})


def _inside(at_s: float, clip_s: float) -> float:
    at_s = round(float(at_s), 3)
    if not -0.001 <= at_s <= clip_s + 0.1:
        raise ModelError(f"{at_s:.2f} s lies outside the clip, which lasts {clip_s:.2f} s.")
    return min(max(at_s, 0.0), round(clip_s, 3))


def _check(span: Span, number: int) -> None:
    """Refuse boundaries that are out of order or too near to each other."""
    known = [(n, v) for n in BOUNDARIES if (v := getattr(span, f"{n}_s")) is not None]
    for (first, at), (second, then) in pairwise(known):
        if then - at < SHORTEST_WAY_S:
            raise ModelError(
                f"The {second} of repetition {number} must come after its {first}, but {then:.2f} s is not later than "
                f"{at:.2f} s by {SHORTEST_WAY_S:g} s."
            )


def _side(side: str | None, movement: Movement, like: Span | None) -> str:
    if side is None:
        side = "both" if movement.sides == "both" else like.side if like is not None else "left"
    allowed = ("both",) if movement.sides == "both" else ("left", "right")
    if side not in allowed:
        raise ModelError(f"A repetition of {movement.title} works {' or '.join(allowed)}, not '{side}'.")
    return side
