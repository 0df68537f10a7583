"""The feedback drafted from a corrected review and the coach's notes: at most 60 words and one picture."""

from __future__ import annotations

import re
from dataclasses import replace

from cuebook.model import MOST_WORDS, Draft, Note, Picture, ReviewData, count_words

from .choice import deciding, main_cue
from .marks import SAME_INSTANT_S

STOP_NEXT = "Stop this movement for now, and talk to me before you train it again."
PLAIN_PRAISE = "Thank you for filming the whole set: that is how it gets better."
ONE_THING_NEXT = "Next set: think of that alone."


def draft_feedback(data: ReviewData) -> Draft:
    """Draft what an athlete is told; a coach edits it, and nobody sends it but the coach.

    Parameters
    ----------
    data : ReviewData
        The review with its corrections.

    Returns
    -------
    Draft
        One true praise, one thing and one next step. A note of the coach takes the place of what was measured: one
        that says stop before one that asks for a change. Remarks stay with the coach.
    """
    said = data.headline
    praise, change = _last(data, "praise"), _thing(data)
    draft = Draft(praise=said.praise, fix=said.fix, next=said.next, picture=_picture(data, change))
    if praise is not None:
        draft = replace(draft, praise=_sentence(praise.text))
    if change is not None:
        step = STOP_NEXT if change.severity == "stop" else ONE_THING_NEXT
        cue = None if change.cue is None else data.movement.cue(change.cue)
        if cue is not None and draft.praise == cue.praise:  # one thing is not praised and changed at once
            draft = replace(draft, praise=PLAIN_PRAISE)
        draft = replace(draft, fix=_sentence(change.text), next=step)
    return shortened(draft)


def shortened(draft: Draft) -> Draft:
    """Return a draft of at most 60 words: whole sentences go first, from the next step, the praise, then the thing."""
    for part in ("next", "praise", "fix"):
        spare = draft.words - MOST_WORDS
        if spare <= 0:
            return draft
        text = getattr(draft, part)
        keep = max(0, count_words(text) - spare)
        if part == "next" and text == STOP_NEXT:
            continue
        draft = replace(draft, **{part: _first_words(text, keep)})
    return draft


def _first_words(text: str, keep: int) -> str:
    """Return the first whole sentences of at most so many words, or the first words where not one sentence fits."""
    whole = ""
    for sentence in re.findall(r"[^.!?]+[.!?]*\s*", text):
        if count_words(whole + sentence) > keep:
            break
        whole += sentence
    if whole.strip() or keep < 3:
        return whole.strip()
    return " ".join(text.split()[:keep]).rstrip(",;:–-") + " …"


def _notes(data: ReviewData, severity: str) -> list[Note]:
    return [] if data.corrections is None else [n for n in data.corrections.state.notes if n.severity == severity]


def _last(data: ReviewData, severity: str) -> Note | None:
    """Return the note of a kind that was written last."""
    return max(_notes(data, severity), key=lambda n: n.at, default=None)


def _thing(data: ReviewData) -> Note | None:
    """Return the note that says what matters most: stop, else the change whose cue comes first, else the last one."""
    stop = _last(data, "stop")
    if stop is not None:
        return stop
    rank = {c.name: (not c.safety, c.priority) for c in data.movement.cues}
    named = [n for n in _notes(data, "change") if n.cue in rank]
    if named:
        return min(named, key=lambda n: rank[n.cue])
    return _last(data, "change")


def _sentence(text: str) -> str:
    text = " ".join(text.split())
    return text if text[-1:] in ".!?…" else f"{text}."


def _picture(data: ReviewData, change: Note | None) -> Picture | None:
    """Choose the picture: the coach's marks nearest to the note, else the deciding moment of the note's or main cue."""
    marks = () if data.corrections is None else data.corrections.state.marks
    if marks:
        wanted = change.at_s if change is not None and change.at_s is not None else None
        best = marks[-1] if wanted is None else min(marks, key=lambda m: abs(m.at_s - wanted))
        return Picture(kind="marked", at_s=best.at_s, repetition=identity_at(data, best.at_s))
    named = None if change is None or change.cue is None else data.movement.cue(change.cue)
    for cue in (named, main_cue(data)):
        pair = None if cue is None else deciding(data, cue)
        if cue is not None and pair is not None and pair[1].value is not None:
            rep, verdict = pair
            at_s = verdict.at_s if verdict.at_s is not None else rep.turn_s
            return Picture(kind="still", at_s=at_s, cue=cue.name, repetition=identity_of(data, rep.number))
    if change is not None and change.at_s is not None:
        return Picture(kind="marked", at_s=change.at_s, repetition=identity_at(data, change.at_s))
    return None


def identity_of(data: ReviewData, number: int) -> str:
    """Return the identity of a repetition by its number as it stands."""
    numbers = {} if data.corrections is None else data.corrections.numbers
    return next((i for i, n in numbers.items() if n == number), f"r{number}")


def number_of(data: ReviewData, identity: str | None) -> int | None:
    """Return the number of a repetition by its identity, None where it is not there."""
    if identity is None:
        return None
    if data.corrections is not None:
        return data.corrections.numbers.get(identity)
    return next((r.number for r in data.repetitions if f"r{r.number}" == identity), None)


def identity_at(data: ReviewData, at_s: float) -> str | None:
    """Return the identity of the repetition that runs at an instant, None between repetitions."""
    for rep in data.repetitions:
        low, high = rep.start_s or 0.0, rep.end_s if rep.end_s is not None else rep.turn_s
        if low - SAME_INSTANT_S <= at_s < high:
            return identity_of(data, rep.number)
    return None
