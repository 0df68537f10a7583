"""One message per person: what to film again, and what is asked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from cuebook.model import Movement

from .entries import REASONS, Entry, Inbox
from .library import Library
from .pain import look_first
from .questions import COACH, clip_words, day_words

REFILM_EVERY_DAYS = 7
"""Nobody is asked to film again more than once a week (common practice, no source)."""

ADVICE = {
    "feet_missing": "Two steps further from the phone, so that your feet stay in the picture.",
    "hands_missing": "A step back, or the phone on its side, so that your hands stay in the picture.",
    "too_dark": "A lamp or the window in front of you, not behind you.",
    "moved_camera": "The phone leaning against something that stands still, not in a hand.",
    "two_people": "Only you in the picture, if that can be done.",
    "too_far": "The phone nearer, so that you fill most of the picture's height.",
    "too_short": "Let it run for the whole set, from before the first repetition to after the last.",
    "slow_motion": "Normal speed, not slow motion.",
    "side_unknown": "The camera on the back of the phone, not the selfie camera.",
    "wrong_movement": "Please film the movement that was on your sheet.",
    "file_damaged": "Please send the file once more, as it was filmed.",
}
"""What to do about each reason; for a wrong view the movement's own filming card says it."""

Asked = Mapping[str, Mapping[str, str]]
"""By athlete: short hash of the clip to be filmed again and the ISO date on which that was asked."""


def refilm_requests(entries: Sequence[Entry], *, before: Asked, today: date) -> dict[str, dict[str, str]]:
    """Choose whom to ask to film which clip again: one clip a person, at most once a week.

    Parameters
    ----------
    entries : sequence of Entry
        All files.
    before : Asked
        What earlier runs asked.
    today : date
        The date of this run.

    Returns
    -------
    dict
        Like `before`, with what is asked now; requests younger than a week are kept.
    """
    out = {who: dict(what) for who, what in before.items()}
    for entry in sorted(entries, key=lambda e: e.captured.value):
        who = entry.athlete.value
        if entry.state != "refilm" or not who:
            continue
        last = out.get(who)
        if last is None or (today - date.fromisoformat(last["on"])).days >= REFILM_EVERY_DAYS:
            out[who] = {"clip": entry.clip, "on": today.isoformat()}
    return out


def messages_text(inbox: Inbox, *, requests: Asked, library: Library) -> str:
    """Return all messages as plain text, one block a person, the coach's questions last.

    Parameters
    ----------
    inbox : Inbox
        What was received.
    requests : Asked
        From `refilm_requests`.
    library : Library
        For titles and filming cards.
    """
    people: dict[str, list[str]] = {}
    for entry in inbox.entries:
        who = entry.athlete.value
        if entry.state == "damaged" and who:
            text = f"{entry.file} came, but it cannot be opened. {ADVICE['file_damaged']}"
            people.setdefault(who, []).append(text)
        if entry.state == "refilm" and requests.get(who, {}).get("clip") == entry.clip:
            people.setdefault(who, []).append(refilm_message(entry, library))
    for question in inbox.questions:
        people.setdefault(question.to, []).append(question.message)
    ordered = sorted(people, key=lambda who: (who == COACH, who.casefold()))
    letters = [_letter(who, people[who]) for who in ordered] or ["Nobody has to be asked anything."]
    return "\n\n".join([*_before(inbox), *letters]) + "\n"


def _before(inbox: Inbox) -> list[str]:
    """Return what the coach should know before anything is sent: words of pain, names that may be one person's."""
    first = [text for e in inbox.entries if (text := look_first(e.athlete.value, e.file, e.message))]
    first += [alike_words(one, other) for one, other in inbox.alike]
    return ["For the coach, before anything is sent\n" + "\n".join(f"- {text}" for text in first)] if first else []


def alike_words(one: str, other: str) -> str:
    """Return what a coach is told of two names that are nearly the same."""
    return f"{one} and {other} are nearly the same name. If they are one person, write one of them."


def _letter(who: str, texts: Sequence[str]) -> str:
    if who == COACH:
        return "For the coach to answer\n" + "\n".join(f"- {text}" for text in texts)
    return f"To {who}\nHello {who}, thank you for filming.\n" + "\n".join(f"- {text}" for text in texts)


def refilm_message(entry: Entry, library: Library) -> str:
    """Return the request to film a clip again: the reason, where the phone goes, nothing else."""
    reasons = entry.refilm
    advice = [ADVICE[r] for r in reasons if r in ADVICE]
    movement = library.movements.get(entry.movement.value)
    if movement is not None and (card := _place(movement)):
        advice.append(card)
    named = [REASONS[r] for r in reasons] or [f.word for f in entry.findings if f.weight == "blocks"]
    why = ", ".join(named) or "it does not show enough"
    spoken = clip_words(entry, library)
    return (
        f"{spoken[0].upper()}{spoken[1:]} cannot be judged yet: {why}. When you train next and nothing hurts, "
        f"please film that set again. {' '.join(advice)}"
    )


def missing_text(inbox: Inbox, *, today: date, library: Library) -> str:
    """Return who owes what as plain lines, those overdue first."""
    late = [o for o in inbox.missing if o.due and o.due < today.isoformat()]
    rest = [o for o in inbox.missing if o not in late]
    lines = []
    for owed in (*late, *rest):
        when = f", due {day_words(owed.due)}" if owed.due else ""
        past = ", overdue" if owed in late else ""
        some = f", {owed.arrived} of {owed.asked} came" if owed.arrived else ""
        note = f" ({owed.waiting} came and cannot be judged yet)" if owed.waiting else ""
        lines.append(f"{owed.athlete}: {library.title(owed.movement)}{when}{past}{some}{note}")
    return "\n".join(lines) + "\n" if lines else "Nothing is missing.\n"


def _place(movement: Movement) -> str:
    if not movement.filming:
        return ""
    card = movement.filming[0]
    turned = {"landscape": ", on its side", "portrait": ", upright"}.get(card.orientation, "")
    return f"Phone: {card.place}, {card.height}, {card.distance}{turned}; check that {card.check}."
