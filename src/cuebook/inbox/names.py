"""New names that are safe on every system and never collide."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

LONGEST_PART, LONGEST_NAME = 48, 120
"""Characters; a whole path on Windows may hold 260, of which folders take their share."""

ENDINGS = (".mp4", ".mov", ".m4v", ".3gp", ".3g2", ".mkv", ".webm", ".avi", ".mts", ".m2ts", ".mpg", ".wmv")
"""Endings under which clips arrive."""

_RESERVED = {"con", "prn", "aux", "nul", *(f"com{i}" for i in range(10)), *(f"lpt{i}" for i in range(10))}
_SPELT = str.maketrans(
    {"ß": "ss", "ø": "o", "Ø": "o", "ł": "l", "Ł": "l", "æ": "ae", "Æ": "ae", "œ": "oe", "đ": "d", "ð": "d", "þ": "th"}
)


def slug(text: str) -> str:
    """Return lower-case letters, digits and single hyphens, at most 48, that say about the same.

    Parameters
    ----------
    text : str
        Any text; letters of other scripts are kept, since file systems of today can hold them.
    """
    plain = unicodedata.normalize("NFKD", text.translate(_SPELT))
    plain = unicodedata.normalize("NFC", "".join(c for c in plain if not unicodedata.combining(c)))
    return re.sub(r"[\W_]+", "-", plain.casefold()).strip("-")[:LONGEST_PART].strip("-")


def clip_name(*, athlete: str, date: str, movement: str, set_number: str, side: str, suffix: str) -> str:
    """Return ``athlete_date_movement_set-2_left.mp4``; parts that are not known are left out.

    Parameters
    ----------
    athlete : str
        Pseudonym or name.
    date : str
        ISO date, with or without a time, which is left out.
    movement, set_number, side : str
        Empty where not known.
    suffix : str
        Ending of the received file; one that is not usual for a video gives ``.mp4``.
    """
    nth = f"set-{slug(set_number)}" if set_number else ""
    parts = [slug(athlete) or "unknown", date[:10], slug(movement), nth, side]
    stem = "_".join(part for part in parts if part)[:LONGEST_NAME]
    if stem.split("_")[0] in _RESERVED:
        stem = f"x-{stem}"
    return stem + (suffix.lower() if suffix.lower() in ENDINGS else ".mp4")


def without_collisions(wanted: Iterable[tuple[str, str]], *, taken: dict[str, str] | None = None) -> dict[str, str]:
    """Return a name per key, numbered where several want the same one.

    Parameters
    ----------
    wanted : iterable of (key, name)
        In order; case does not make two names differ, since some systems ignore it.
    taken : dict of str to str, optional
        Names given before, by key: a key that wants the same again, up to the number, keeps its name.
    """
    before = taken or {}
    pairs = list(wanted)
    given: dict[str, str] = {}
    used: set[str] = set()
    for key, name in pairs:
        old = before.get(key, "")
        if old and _unnumbered(old) == _unnumbered(name) and old.casefold() not in used:
            given[key] = old
            used.add(old.casefold())
    for key, name in pairs:
        if key in given:
            continue
        stem, dot, ending = name.rpartition(".")
        number, free = 1, name
        while free.casefold() in used:
            number += 1
            free = f"{stem}_clip-{number}{dot}{ending}"
        given[key] = free
        used.add(free.casefold())
    return given


def _unnumbered(name: str) -> str:
    return re.sub(r"_clip-\d+(?=\.[^.]*$)", "", name.casefold())
