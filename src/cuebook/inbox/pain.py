"""Words of an athlete that come before every cue: pain, and the signs to stop and get help."""

from __future__ import annotations

import re

_STEMS = (
    r"pain(?:s|ful|fully)?", r"hurt\w*", r"(?:head|back|stomach|heart|tooth)?ach(?:e|es|ed|ing|y)", r"sore(?:r|ness)?",
    r"sharp", r"stabbing", r"burning", r"pop(?:s|ped|ping)?", r"swollen", r"swell\w*", r"numb(?:ness)?", r"tingl\w*",
    r"pins and needles", r"dizz\w+", r"faint\w*", r"light[- ]?headed\w*", r"black(?:s|ed|ing)?[- ]?out", r"chest",
    r"breastbone", r"breathless\w*", r"(?:short|shortness|out) of breath", r"pinch\w*", r"pulled", r"tweak\w*",
    r"twinge\w*", r"injur\w+", r"strained", r"weak(?:er|ness)?", r"heart", r"palpitation\w*", r"confus\w+",
    r"collaps\w+", r"nause\w+", r"vomit\w*", r"bleed\w*", r"gave way", r"cramp\w*",
)  # fmt: skip
"""Pain and injury, and the signs of `cuebook.movements.cautions` as people write them; common practice of the trade,
no source. Better one too many."""
_WORDS = re.compile(rf"(?<![a-z])(?:{'|'.join(_STEMS)})(?![a-z])")


def pain_words(message: str) -> tuple[str, ...]:
    """Return the words of pain in an athlete's message, in order.

    Parameters
    ----------
    message : str
        As it was written.
    """
    return tuple(dict.fromkeys(_WORDS.findall(message.lower())))


def look_first(who: str, file: str, message: str) -> str:
    """Return what a coach is told of a message with words of pain, empty where it holds none.

    Parameters
    ----------
    who : str
        The athlete, empty where nobody is named.
    file : str
        The clip it came with.
    message : str
        As it was written.
    """
    found = pain_words(message)
    if not found:
        return ""
    wrote = f'{who or "Somebody"} wrote with {file}: "{message}" ({", ".join(found)}).'
    return f"{wrote} Pain ends the set, so speak with them before any cue."
