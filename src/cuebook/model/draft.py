"""What an athlete is told of a set: three short texts and one picture, drafted by cuebook and edited by the coach."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from cuebook.errors import ModelError

MOST_WORDS = 60
"""More is not read by an athlete (common practice of the trade, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """The one picture of a draft.

    Attributes
    ----------
    kind : {"still", "marked"}
        The measured angle of a cue drawn, or the coach's own marks.
    at_s : float
        Instant in the clip, seconds.
    cue : str or None
        The cue whose angle is drawn.
    repetition : str or None
        Identity of the repetition.
    """

    kind: Literal["still", "marked"]
    at_s: float
    cue: str | None = None
    repetition: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """One version of what an athlete is told.

    Attributes
    ----------
    praise, fix, next : str
        One true praise, one thing, one next step.
    picture : Picture or None
        The picture that goes with it.
    version : int
        From 1; 0 where it was not kept yet.
    who, at : str
        Who kept it, and when in UTC.
    """

    praise: str
    fix: str
    next: str
    picture: Picture | None = None
    version: int = 0
    who: str = ""
    at: str = ""

    @property
    def text(self) -> str:
        """All three texts, one paragraph each."""
        return "\n\n".join(t.strip() for t in (self.praise, self.fix, self.next) if t.strip())

    @property
    def words(self) -> int:
        """Number of words of all three together."""
        return count_words(self.text)

    def checked(self) -> Draft:
        """Return the draft itself, if it may be sent as it is.

        Raises
        ------
        ModelError
            If it has more than 60 words, or none.
        """
        if self.words > MOST_WORDS:
            over = self.words - MOST_WORDS
            raise ModelError(f"The feedback has {self.words} words and {MOST_WORDS} are the most: take out {over}.")
        if self.words == 0:
            raise ModelError("The feedback has no words: write at least one sentence.")
        return self


def count_words(text: str) -> int:
    """Return the number of words of a text: what stands between spaces and has a letter or a digit."""
    return sum(any(c.isalnum() for c in part) for part in text.split())
