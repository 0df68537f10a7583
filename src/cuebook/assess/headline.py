"""What is said of a set: one true praise, one thing to change, one next step."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from cuebook.model import Headline, Movement, Outcome, Overruled, Prescription, TempoResult, Verdict

from .words import CUT_OFF, LET_IT_RUN, advice, is_rest, spoken_phases

MOST_WORDS = 60


def write_headline(
    movement: Movement,
    prescription: Prescription,
    verdicts: tuple[Verdict, ...],
    tempo: TempoResult,
    *,
    counted: int,
    found: bool,
    overruled: Sequence[Overruled] = (),
    numbers: Mapping[str, int] | None = None,
    looks_like: str | None = None,
    cut: bool = False,
) -> Headline:
    """Choose the three sentences from the verdicts on the whole set.

    Parameters
    ----------
    movement : Movement
        Its cues bring the sentences.
    prescription : Prescription
        What was asked for.
    verdicts : tuple of Verdict
        Those on the whole set decide; those on single repetitions, where given, name the ones that missed a cue.
    tempo : TempoResult
        Phases against the prescription.
    counted : int
        Number of counted repetitions.
    found : bool
        Whether the athlete was in the picture for most of the clip.
    overruled : sequence of Overruled
        Outcomes that a coach sees otherwise; the headline follows the coach.
    numbers : mapping of str to int, optional
        Number of each repetition by its identity, for outcomes of single repetitions.
    looks_like : str, optional
        Another movement that the clip surely shows: then nothing is praised or changed.
    cut : bool
        Whether the clip begins or ends within a repetition.

    Returns
    -------
    Headline
        At most 60 words together.
    """
    if not found:
        return Headline(
            praise="Thank you for filming your set.",
            fix="We could not see you well enough to judge anything.",
            next=_film_again(movement),
        )
    if looks_like is not None:
        return Headline(
            praise="Thank you for filming your set.",
            fix=f"It looks like the {looks_like}, and it was judged as the {movement.title.lower()}.",
            next="Say which of the two it was before anything here is used.",
        )
    if counted == 0:
        return Headline(
            praise="Thank you for filming your set.",
            fix=CUT_OFF if cut else "No whole repetition could be counted in this clip.",
            next=LET_IT_RUN if cut else _film_again(movement),
        )
    whole = [_said(v, overruled) for v in verdicts if v.repetition is None]
    own = {o.cue for o in overruled if o.repetition is None}
    single = [_said(v, overruled, numbers or {}) for v in verdicts if v.repetition is not None and v.cue not in own]
    judged = {p: o for p, o in tempo.outcomes.items() if not is_rest(movement, prescription, p)}
    missed = {s.cue for s in single if s.outcome == "not_met" != s.verdict.outcome}
    praise = _praise(movement, whole, judged, counted, missed)
    fix, about = (
        _cue_fix(movement, whole)
        or _moving_fix(movement, prescription, tempo, judged)
        or _hold_fix(movement, prescription, tempo, judged)
        or _count_fix(whole)
        or _single_fix(movement, single)
        or _near_fix(movement, whole)
        or (_nothing_to_change(whole, judged), None)
    )
    return _fitted(Headline(praise=praise, fix=fix, next=_next(movement, whole, judged, about)))


@dataclass(frozen=True, slots=True)
class _Said:
    """A verdict with the outcome that counts: the coach's, where there is one."""

    verdict: Verdict
    outcome: Outcome

    @property
    def cue(self) -> str:
        return self.verdict.cue

    @property
    def side(self) -> str:
        return self.verdict.side


def _said(verdict: Verdict, overruled: Sequence[Overruled], numbers: Mapping[str, int] | None = None) -> _Said:
    """Return a verdict with the coach's outcome of the same repetition, or of the set, where there is one."""
    of = {None: None} | dict(numbers or {})
    own = [
        o.outcome
        for o in overruled
        if of.get(o.repetition, -1) == verdict.repetition and o.concerns(verdict.cue, verdict.side)
    ]
    return _Said(verdict, own[-1] if own else verdict.outcome)


def _film_again(movement: Movement) -> str:
    if not movement.filming:
        return "Film again with the whole body in the picture."
    card = movement.filming[0]
    return f"Film again: phone {card.place}, {card.height}, {card.distance}, {card.check}."


def _ordered(movement: Movement, verdicts: list[_Said], outcome: str) -> list[_Said]:
    """Verdicts of one outcome, by priority; cues that touch on safety come first."""
    rank = {c.name: (not c.safety, c.priority) for c in movement.cues}
    chosen = [v for v in verdicts if v.outcome == outcome and v.cue in rank]
    return sorted(chosen, key=lambda v: rank[v.cue])


def _praise(movement: Movement, whole: list[_Said], judged: dict[str, str], counted: int, missed: set[str]) -> str:
    """Praise a cue that the set meets; never one of which the coach saw a repetition that does not."""
    failed = {v.cue for v in whole if v.outcome == "not_met"} | missed
    for v in _ordered(movement, whole, "met"):
        cue = movement.cue(v.cue)
        if cue is not None and v.cue not in failed:
            return cue.praise
    for phase, outcome in judged.items():
        if outcome == "met":
            return f"Your {spoken_phases(movement)[phase]} kept to the count."
    if any(v.cue == "repetitions" and v.outcome == "met" for v in whole):
        return "Every repetition asked for is there."
    return f"{counted} whole repetition{'s' if counted != 1 else ''}, filmed and sent: thank you."


Fix = tuple[str, str | None]
"""The sentence, and what it is about: the name of a cue, ``tempo``, ``repetitions``, or nothing that is certain."""


def _nothing_to_change(whole: list[_Said], judged: dict[str, str]) -> str:
    """Say that nothing is to be changed, or that the clip cannot tell."""
    told = {*(v.outcome for v in whole), *judged.values()}
    if told and told <= {"not_measurable"}:
        return "This clip cannot tell yet what to change."
    return "Nothing to change that this clip can show."


def _cue_fix(movement: Movement, whole: list[_Said]) -> Fix | None:
    """Name the most important cue that is not met."""
    for v in _ordered(movement, whole, "not_met"):
        cue = movement.cue(v.cue)
        if cue is not None:
            side = f"{v.side.capitalize()} side: " if cue.limb == "working" and _sides_differ(whole, v) else ""
            said = advice(cue, v.verdict)
            return (f"{side}{_lower(said)}" if side else said), cue.name
    return None


def _moving_fix(movement: Movement, asked: Prescription, tempo: TempoResult, judged: dict[str, str]) -> Fix | None:
    """Name the moving phase that is off its prescription, or that got quicker."""
    for phase in ("eccentric", "concentric"):
        if judged.get(phase) == "not_met":
            return tempo_sentence(phase, movement, asked, tempo), "tempo"
    if tempo.drift_outcome == "not_met":
        word = spoken_phases(movement)["eccentric"]
        share = f"{100 * (tempo.drift_ratio or 0.0):.0f} %"
        return (
            f"Your {word} got quicker: by the end it took {share} of the time of the first ones. Keep counting.",
            "tempo",
        )
    return None


def _hold_fix(movement: Movement, asked: Prescription, tempo: TempoResult, judged: dict[str, str]) -> Fix | None:
    """Name the hold that is off its prescription; one between repetitions with 0 s asked never is."""
    for phase in ("long_hold", "short_hold"):
        if judged.get(phase) == "not_met":
            return tempo_sentence(phase, movement, asked, tempo), "tempo"
    return None


def _count_fix(whole: list[_Said]) -> Fix | None:
    """Say how many repetitions counted where too few did."""
    short = next((v for v in whole if v.cue == "repetitions" and v.outcome == "not_met"), None)
    if short is None or short.verdict.value is None or short.verdict.limit.low is None:
        return None
    side = "" if short.side == "both" else f" on the {short.side} side"
    counted, asked = short.verdict.value, short.verdict.limit.low
    return f"{counted:.0f} of {asked:.0f} repetitions counted{side}.", "repetitions"


def _single_fix(movement: Movement, single: list[_Said]) -> Fix | None:
    """Name the repetitions that missed a cue which the set as a whole did not miss."""
    missed = _ordered(movement, single, "not_met")
    cue = movement.cue(missed[0].cue) if missed else None
    if cue is None:
        return None
    found = {v.verdict.repetition for v in missed if v.cue == cue.name}
    numbers = sorted(number for number in found if number is not None)
    return f"{cue.heading}: not met in {_listed(numbers)}. {advice(cue, missed[0].verdict)}", cue.name


def _near_fix(movement: Movement, whole: list[_Said]) -> Fix | None:
    """Keep the most important cue in mind that the clip cannot decide."""
    for v in _ordered(movement, whole, "near"):
        cue = movement.cue(v.cue)
        if cue is not None:
            side = f", {v.side}" if _sides_differ(whole, v) else ""
            return f"{cue.heading}{side}: too close to call from this clip. Keep an eye on it next time.", None
    return None


def _sides_differ(whole: list[_Said], said: _Said) -> bool:
    """Tell whether the other side has another outcome, or lies at another end of the band."""
    return any(
        v.cue == said.cue and v.side != said.side
        and (v.outcome != said.outcome or _beyond_middle(v.verdict) != _beyond_middle(said.verdict))
        for v in whole
    )  # fmt: skip


def _beyond_middle(verdict: Verdict) -> bool:
    low, high = verdict.limit.ends
    return verdict.value is not None and verdict.value > (low + high) / 2


def _lower(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:]


def _listed(numbers: list[int]) -> str:
    """Return numbers of repetitions in words: ``rep 3``, ``reps 3 and 4``, ``reps 1, 3 and 4``."""
    if len(numbers) == 1:
        return f"rep {numbers[0]}"
    return f"reps {', '.join(map(str, numbers[:-1]))} and {numbers[-1]}"


def tempo_sentence(phase: str, movement: Movement, prescription: Prescription, tempo: TempoResult) -> str:
    """Return one sentence on a phase that is off its prescription: what it took, what was asked, what to do."""
    asked = prescription.tempo.slot(phase) if prescription.tempo is not None else None
    took = tempo.median[phase]
    word = spoken_phases(movement)[phase]
    if took is None or asked is None:
        return f"The {word} could not be measured."
    if phase.endswith("hold"):
        if asked == 0:
            return f"The {word} lasted {took:.1f} s: turn round at once."
        wish = f"stay {_count(asked)}" if took < float(asked) else "move on a little sooner"
        return f"The {word} lasted {took:.1f} s for {asked:g} s asked: {wish}."
    if asked == "X":
        return f"The {word} took {took:.1f} s: move as fast as you can control."
    wish = f"take your time, {_count(asked)}" if took < float(asked) else "move on a little sooner"
    return f"The {word} took {took:.1f} s for {asked:g} s asked: {wish}."


_COUNTED = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def _count(seconds: float | str) -> str:
    """Return how to keep to a time: ``counting to three``."""
    whole = int(float(seconds) + 0.5)
    return f"counting to {_COUNTED[whole - 1]}" if 2 <= whole <= len(_COUNTED) else "a little longer"


def _next(movement: Movement, whole: list[_Said], judged: dict[str, str], about: str | None) -> str:
    if about == "tempo":
        return "Count aloud through every phase of the next set."
    if about == "repetitions":
        return "Finish each repetition of the next set all the way back before the next one."
    if about is not None:
        if movement.easier:
            easier = movement.easier[0].name
            return f"Think of that alone in the next set; if it will not come, try the easier form, {easier}."
        return "Think of that alone in the next set."
    refilm = [v.verdict.refilm for v in _ordered(movement, whole, "not_measurable") if v.verdict.refilm]
    if refilm:
        return f"To see the rest: {_lower(refilm[0])}"
    if any(v.outcome == "near" for v in whole) or "near" in judged.values():
        return "Same again next time, filmed the same way, so that we can compare."
    if movement.harder:
        return f"Ask your coach whether it is time for the harder form, {movement.harder[0].name}."
    return "Same again next time."


def _fitted(headline: Headline) -> Headline:
    """Leave out the last parts of the next step where all three together are longer than 60 words."""
    parts = re.split(r"(?<=[,;:])\s", headline.next)
    while len(parts) > 1 and headline.words > MOST_WORDS:
        parts.pop()
        headline = Headline(praise=headline.praise, fix=headline.fix, next=" ".join(parts).rstrip(",;:") + ".")
    if headline.words <= MOST_WORDS:
        return headline
    return Headline(praise=headline.praise, fix=headline.fix, next="Think of that alone.")
