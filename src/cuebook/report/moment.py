"""What is true at one moment of a clip: which repetition, which phase and for how long, what was decided last."""

from __future__ import annotations

from dataclasses import dataclass

from cuebook.assess.words import phase_words
from cuebook.model import PHASES, Movement, Repetition, ReviewData, Verdict

from .choice import rep_verdict
from .words import OUTCOME_MARKS, OUTCOME_WORDS, cue_title, limit_words, with_uncertainty

_AFTER_THE_WAY_BACK = ("inverted_v_hold_s", "plank_hold_s")


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """One phase of one repetition on the clip's time line; `end_s` is None where the clip does not show its end."""

    repetition: Repetition
    phase: str
    start_s: float
    end_s: float | None


def phase_order(movement: Movement) -> tuple[str, ...]:
    """Return the four phases in the order in which a repetition of this movement runs through them."""
    return PHASES if movement.driver.first == "eccentric" else (*PHASES[2:], *PHASES[:2])


def stretches(data: ReviewData) -> tuple[Stretch, ...]:
    """Return the phases of all repetitions on the time line, those of zero length left out."""
    found = []
    for rep in data.repetitions:
        at = rep.start_s
        for phase in phase_order(data.movement):
            seconds = rep.phases[phase]
            if at is None:
                break
            if seconds is None or seconds > 0:
                end = None if seconds is None else at + seconds
                found.append(Stretch(repetition=rep, phase=phase, start_s=at, end_s=end))
                at = end
    return tuple(found)


def stretch_at(found: tuple[Stretch, ...], time_s: float) -> Stretch | None:
    """Return the phase that runs at a time; one without an end runs until the next repetition or the end."""
    running = [s for s in found if s.start_s <= time_s and (s.end_s is None or time_s < s.end_s)]
    return running[-1] if running else None


def running_text(data: ReviewData, stretch: Stretch, time_s: float) -> str:
    """Return the phase with its running seconds against the prescription: ``lowering 2.1 of 3 s``."""
    word = phase_words(data.movement)[stretch.phase]
    seconds = max(0.0, time_s - stretch.start_s)
    tempo = data.prescription.tempo
    slot = None if tempo is None else tempo.slot(stretch.phase)
    if slot == "X":
        return f"{word} {seconds:.1f} s, fast"
    if slot is None or slot == 0:
        return f"{word} {seconds:.1f} s"
    return f"{word} {seconds:.1f} of {slot:g} s"


def repetition_text(data: ReviewData, rep: Repetition) -> str:
    """Return the name of a repetition: ``Rep 3 of 8``, with its side where sides take turns."""
    side = "" if rep.side == "both" else f", {rep.side}"
    return f"Rep {rep.number} of {len(data.repetitions)}{side}"


def decided_at(data: ReviewData, rep: Repetition) -> float:
    """Return when the outcome of a repetition may be shown: once its way back is over."""
    order = phase_order(data.movement)
    known = [rep.phases[p] for p in order[:3]]
    if rep.start_s is None or any(v is None for v in known):
        return rep.end_s if rep.end_s is not None else rep.turn_s
    return rep.start_s + sum(v for v in known if v is not None)


def known_at(data: ReviewData, rep: Repetition, verdict: Verdict) -> float:
    """Return when an outcome of a repetition may be shown: after its own event, and after the way back."""
    decided, at = decided_at(data, rep), verdict.at_s
    cue = data.movement.cue(verdict.cue)
    if cue is None or at is None:
        return decided
    if cue.measure in _AFTER_THE_WAY_BACK and verdict.value is not None:
        at += verdict.value / 2
    return max(decided, at)


def outcome_lines(
    data: ReviewData, rep: Repetition, first: str | None, *, time_s: float | None = None
) -> tuple[str, ...]:
    """Return the outcomes of one repetition in words, the deciding cue first and with its numbers.

    Cues that were not measurable come last and only by name.

    Parameters
    ----------
    data : ReviewData
        The judged clip.
    rep : Repetition
        The repetition.
    first : str or None
        Name of the deciding cue.
    time_s : float or None
        Leave out what only shows later than this, and name what has just shown itself first; everything if None.
    """
    found = [rep_verdict(data, c.name, rep.number) for c in data.movement.cues]
    shown = [(known_at(data, rep, v), v) for v in found if v is not None]
    known = [(at, v) for at, v in shown if time_s is None or at <= time_s]
    measured = [(at, v) for at, v in known if v.outcome != "not_measurable"]
    decided = decided_at(data, rep)
    measured.sort(key=lambda pair: (time_s is None or pair[0] <= decided, pair[1].cue != first))
    lines = [] if rep.counted else ["not counted: " + ("other side" if rep.complete else "not complete")]
    lines += [_outcome_line(v, cue_title(v.cue, data.movement), full=i == 0) for i, (_, v) in enumerate(measured)]
    missing = [_within(cue_title(v.cue, data.movement)) for _, v in known if v.outcome == "not_measurable"]
    if missing:
        lines.append(f"{OUTCOME_MARKS['not_measurable']} not measurable: {', '.join(missing)}")
    return tuple(lines)


def _within(title: str) -> str:
    """Return a heading as it stands within a sentence."""
    return title[:1].lower() + title[1:]


def _outcome_line(verdict: Verdict, title: str, *, full: bool) -> str:
    head = f"{OUTCOME_MARKS[verdict.outcome]} {title}: {OUTCOME_WORDS[verdict.outcome]}"
    if verdict.value is None or verdict.uncertainty is None:
        return head
    text = f"{head}, {with_uncertainty(verdict.value, verdict.uncertainty, verdict.unit)}"
    return f"{text} (asked {limit_words(verdict.limit, verdict.unit)})" if full else text


def doubt_text(data: ReviewData, time_s: float) -> str | None:
    """Return which part of the body is hard to see at a time, or None."""
    parts = dict.fromkeys(d.what for d in data.motion.doubts if d.start_s <= time_s <= d.end_s)
    return f"hard to see here: {', '.join(parts)}" if parts else None
