"""What is said of a set: one true praise, one thing to change, one next step."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cuebook.model import Headline, Movement, Outcome, Overruled, Prescription, TempoResult, Verdict

from .words import advice, spoken_phases

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
) -> Headline:
    """Choose the three sentences from the verdicts on the whole set.

    Parameters
    ----------
    movement : Movement
        Its cues bring the sentences.
    prescription : Prescription
        What was asked for.
    verdicts : tuple of Verdict
        Those on the whole set are used.
    tempo : TempoResult
        Phases against the prescription.
    counted : int
        Number of counted repetitions.
    found : bool
        Whether the athlete was in the picture for most of the clip.
    overruled : sequence of Overruled
        Outcomes of the whole set that a coach sees otherwise; the headline follows the coach.

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
    if counted == 0:
        return Headline(
            praise="Thank you for filming your set.",
            fix="No whole repetition could be counted in this clip.",
            next=_film_again(movement),
        )
    whole = [_said(v, overruled) for v in verdicts if v.repetition is None]
    praise = _praise(movement, prescription, whole, tempo, counted)
    fix, cue_name = _fix(movement, prescription, whole, tempo)
    return _fitted(Headline(praise=praise, fix=fix, next=_next(movement, whole, tempo, cue_name)))


@dataclass(frozen=True, slots=True)
class _Said:
    """A verdict on the set with the outcome that counts: the coach's, where there is one."""

    verdict: Verdict
    outcome: Outcome

    @property
    def cue(self) -> str:
        return self.verdict.cue


def _said(verdict: Verdict, overruled: Sequence[Overruled]) -> _Said:
    own = [o.outcome for o in overruled if o.repetition is None and o.concerns(verdict.cue, verdict.side)]
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


def _praise(
    movement: Movement, prescription: Prescription, whole: list[_Said], tempo: TempoResult, counted: int
) -> str:
    failed = {v.cue for v in whole if v.outcome == "not_met"}
    for v in _ordered(movement, whole, "met"):
        cue = movement.cue(v.cue)
        if cue is not None and v.cue not in failed:
            return cue.praise
    for phase, outcome in tempo.outcomes.items():
        if outcome == "met":
            return f"Your {spoken_phases(movement)[phase]} kept to the count."
    if any(v.cue == "repetitions" and v.outcome == "met" for v in whole):
        return "Every repetition asked for is there."
    return f"{counted} whole repetition{'s' if counted != 1 else ''}, filmed and sent: thank you."


def _fix(
    movement: Movement, prescription: Prescription, whole: list[_Said], tempo: TempoResult
) -> tuple[str, str | None]:
    for v in _ordered(movement, whole, "not_met"):
        cue = movement.cue(v.cue)
        if cue is not None:
            return advice(cue, v.verdict), cue.name
    moving = [p for p in ("eccentric", "concentric") if tempo.outcomes.get(p) == "not_met"]
    if moving:
        return tempo_sentence(moving[0], movement, prescription, tempo), "tempo"
    if tempo.drift_outcome == "not_met":
        word = spoken_phases(movement)["eccentric"]
        share = f"{100 * (tempo.drift_ratio or 0.0):.0f} %"
        return f"By the end the {word} took {share} of its first time: keep counting to the last.", "tempo"
    asked = prescription.tempo
    holds = [
        p
        for p in ("long_hold", "short_hold")
        if tempo.outcomes.get(p) == "not_met" and asked is not None and asked.slot(p) != 0
    ]
    if holds:
        return tempo_sentence(holds[0], movement, prescription, tempo), "tempo"
    short = next((v for v in whole if v.cue == "repetitions" and v.outcome == "not_met"), None)
    if short is not None and short.verdict.value is not None and short.verdict.limit.low is not None:
        side = "" if short.verdict.side == "both" else f" on the {short.verdict.side} side"
        counted, asked_for = short.verdict.value, short.verdict.limit.low
        return f"{counted:.0f} of {asked_for:.0f} repetitions counted{side}.", "repetitions"
    near = _ordered(movement, whole, "near")
    if near:
        cue = movement.cue(near[0].cue)
        if cue is not None:
            name = cue.name.replace("-", " ").capitalize()
            said = advice(cue, near[0].verdict)
            return f"{name}: too close to call from this clip. Keep in mind: {said[0].lower()}{said[1:]}", None
    rest = next((p for p in ("long_hold", "short_hold") if tempo.outcomes.get(p) == "not_met"), None)
    if rest is not None:
        return tempo_sentence(rest, movement, prescription, tempo), "tempo"
    return "Nothing to change that this clip can show.", None


def tempo_sentence(phase: str, movement: Movement, prescription: Prescription, tempo: TempoResult) -> str:
    """Return one sentence on a phase that is off its prescription."""
    asked = prescription.tempo.slot(phase) if prescription.tempo is not None else None
    took = tempo.median[phase]
    word = spoken_phases(movement)[phase]
    if took is None or asked is None:
        return f"The {word} could not be measured."
    if asked == "X":
        return f"The {word} took {took:.1f} s; move as fast as you can control."
    if phase.endswith("hold"):
        if asked == 0:
            return f"The {word} lasted {took:.1f} s; turn round at once."
        return f"The {word} lasted {took:.1f} s of {asked:g} s asked."
    pace = "slow down" if took < asked else "move on a little"
    return f"The {word} took {took:.1f} s for {asked:g} s asked: {pace}."


def _next(movement: Movement, whole: list[_Said], tempo: TempoResult, cue_name: str | None) -> str:
    if cue_name == "tempo":
        return "Next set: count aloud through every phase."
    if cue_name == "repetitions":
        return "Next set: finish each repetition all the way back before the next."
    if cue_name is not None:
        if movement.easier:
            return (
                f"Next set: think of that alone; if it will not come, try the easier form, {movement.easier[0].name}."
            )
        return "Next set: think of that alone."
    lost = [v for v in _ordered(movement, whole, "not_measurable") if v.verdict.refilm]
    if lost:
        return f"Next time: {lost[0].verdict.refilm}"
    if any(v.outcome == "near" for v in whole) or "near" in tempo.outcomes.values():
        return "Same again next time, filmed the same way, so that we can compare."
    if movement.harder:
        return f"Ask your coach whether it is time for the harder form, {movement.harder[0].name}."
    return "Same again next time."


def _fitted(headline: Headline) -> Headline:
    """Shorten the next step where all three together are longer than 60 words."""
    spare = headline.words - MOST_WORDS
    if spare <= 0:
        return headline
    kept = headline.next.split()[:-spare] if spare < len(headline.next.split()) else []
    return Headline(praise=headline.praise, fix=headline.fix, next=" ".join(kept).rstrip(",;:") + ("." if kept else ""))
