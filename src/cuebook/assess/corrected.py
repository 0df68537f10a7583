"""A review judged anew with a coach's corrections: every figure follows, from the motion that is in memory."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Mapping, Sequence

from cuebook.model import Change, Corrections, DeskState, Repetition, ReviewData, Span
from cuebook.movements import TempoMargins
from cuebook.repetitions import GivenRepetitions, proposed_spans

from .analyse import judge_motion

KEPT = 32
"""So many earlier states are kept judged, so that undo and redo answer at once."""


class Rejudge:
    """Judges one clip again and again while a coach corrects it.

    Parameters
    ----------
    proposed : ReviewData
        The review as measured.
    margins : TempoMargins, optional
        What the coach grants on times; those the review was made with.
    """

    def __init__(self, proposed: ReviewData, *, margins: TempoMargins | None = None) -> None:
        self.proposed = proposed
        self._margins = margins
        self._given: GivenRepetitions | None = None
        self._kept: OrderedDict[tuple, ReviewData] = OrderedDict()

    def judge(self, state: DeskState, changes: Sequence[Change] = ()) -> ReviewData:
        """Return the review with the corrections of a state; without any change it is the proposed one.

        Parameters
        ----------
        state : DeskState
            Repetitions, overruled outcomes, notes and marks.
        changes : sequence of Change
            What was changed, in words, by whom and when.

        Notes
        -----
        An overruled outcome changes no verdict: it stands beside it, and only the headline heeds it.
        """
        if not changes:
            return self.proposed
        key = (state, tuple(changes))
        if key in self._kept:
            self._kept.move_to_end(key)
            return self._kept[key]
        review = self._judged(state, tuple(changes))
        self._kept[key] = review
        if len(self._kept) > KEPT:
            self._kept.popitem(last=False)
        return review

    def _judged(self, state: DeskState, changes: tuple[Change, ...]) -> ReviewData:
        data = self.proposed
        repetitions = self.repetitions(state.spans)
        numbers = {s.id: r.number for s, r in zip(state.spans, repetitions, strict=True)}
        corrections = Corrections(changes=changes, proposed=data.repetitions, state=state, numbers=numbers)
        return judge_motion(
            data.clip,
            data.track,
            data.motion,
            repetitions,
            movement=data.movement,
            prescription=data.prescription,
            settings=data.settings,
            margins=self._margins,
            warnings=(*data.warnings, *seen_by_eye(state.spans, repetitions)),
            corrections=corrections,
            person=data.person,
            looks_like=data.looks_like,
        )

    def repetitions(self, spans: Sequence[Span]) -> tuple[Repetition, ...]:
        """Return the repetitions of spans, numbered in their order."""
        if tuple(spans) == proposed_spans(self.proposed.repetitions):
            return self.proposed.repetitions
        if self._given is None:
            data = self.proposed
            self._given = GivenRepetitions(data.motion, data.movement, data.prescription, data.repetitions)
        return self._given.read(spans)


def seen_by_eye(spans: Sequence[Span], repetitions: Sequence[Repetition]) -> tuple[str, ...]:
    """Return a warning for each repetition that counts by the coach's word alone."""
    return tuple(
        f"Repetition {r.number} was given by the coach where the angle could not be followed: it counts by eye, and "
        "nothing of it was measured."
        for s, r in zip(spans, repetitions, strict=True)
        if s.origin != "proposed" and r.doubtful and not r.edges
    )


def overruled_words(numbers: Mapping[str, int], repetition: str | None) -> str:
    """Return what an overruled outcome speaks of: ``repetition 3`` or ``the whole set``."""
    if repetition is None:
        return "the whole set"
    number = numbers.get(repetition)
    return "a repetition that is no longer there" if number is None else f"repetition {number}"
