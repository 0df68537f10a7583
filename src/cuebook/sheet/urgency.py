"""Which clip to look at first."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from cuebook.inbox.entries import Entry
from cuebook.inbox.pain import pain_words


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Urgency:
    """Place in the order of review; the smaller, the sooner.

    Attributes
    ----------
    rank : int
        0 words of pain, 1 new movement or load, 2 everything else, 3 copies of another clip.
    waited : int
        Days since the last feedback, negative; the longest wait comes first.
    words : str
        Why, for the coach; empty where nothing is special.
    """

    rank: int
    waited: int
    words: str


def urgency_of(entry: Entry, *, today: date) -> Urgency:
    """Tell how soon a clip should be looked at.

    Parameters
    ----------
    entry : Entry
        With the athlete's message, whether movement or load is new, and the day of the last feedback.
    today : date
        From which waiting is counted.

    Notes
    -----
    The order is that of the trade: words of pain, then a new movement or load, then the longest without feedback
    (common practice, no source). An athlete who never got feedback has waited longest of all.
    """
    days = None
    if entry.last_feedback:
        days = (today - date.fromisoformat(entry.last_feedback)).days
    waited = -(days if days is not None else 10_000)
    since = (
        "no feedback yet" if days is None else f"{days} days since feedback" if days != 1 else "1 day since feedback"
    )
    if found := pain_words(entry.message):
        return Urgency(rank=0, waited=waited, words=f"wrote of pain ({', '.join(found)})")
    if entry.new:
        return Urgency(rank=1, waited=waited, words="new movement or load")
    if entry.state == "duplicate":
        return Urgency(rank=3, waited=waited, words="")
    return Urgency(rank=2, waited=waited, words=since if entry.athlete else "")
