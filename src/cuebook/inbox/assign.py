"""Whose clip it is and which movement: from an answer, the manifest, the folders, the file's name."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import PurePosixPath

from .entries import UNKNOWN, Known
from .library import Library
from .manifest import Row
from .names import slug

_SET = re.compile(r"(?:^|[-_ ])set[-_ ]?(\d{1,2})(?=$|[-_ .])", re.IGNORECASE)
_SIDE = re.compile(r"(?:^|[-_ ])(left|right)(?=$|[-_ .])", re.IGNORECASE)
_NO_NAME = re.compile(
    r"(dcim|camera|kamera|video|videos|clips?|inbox|new|media|movies|downloads?|photos?|sent|received|attachments?"
    r"|messages?|chats?|e ?mails?|mails?|recordings?|new folder|unsorted|misc"
    r"|week \d+|day \d+|set \d+|left|right|\d+[a-z]{0,6}|\d[\d ]*)",
    re.IGNORECASE,
)
"""Folder names that phones, computers and weeks give, and that are nobody's name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Belongs:
    """What people said about a file; every value is empty where nobody did."""

    athlete: Known = UNKNOWN
    movement: Known = UNKNOWN
    side: Known = UNKNOWN
    set_number: Known = UNKNOWN
    date: Known = UNKNOWN
    mirrored: Known = UNKNOWN
    capture_rate: Known = UNKNOWN
    person: Known = UNKNOWN
    message: Known = UNKNOWN
    new: Known = UNKNOWN
    last_feedback: Known = UNKNOWN

    def over(self, other: Belongs) -> Belongs:
        """Return these values, filled up with those of `other` where they are empty."""
        names = self.__dataclass_fields__
        return Belongs(**{name: getattr(self, name) or getattr(other, name) for name in names})


def from_answers(answers: Mapping[str, str]) -> Belongs:
    """Return what was answered about a clip; the keys are what was asked."""
    names = {"athlete": "athlete", "movement": "movement", "mirrored": "mirrored", "capture_rate": "capture_rate",
             "person": "person", "date": "date"}  # fmt: skip
    return Belongs(**{names[asks]: Known(value=text, by="answer") for asks, text in answers.items() if asks in names})


def from_row(row: Row | None) -> Belongs:
    """Return what the manifest says about a file."""
    if row is None:
        return Belongs()
    said = {
        "athlete": row.athlete, "movement": row.movement, "side": row.side, "set_number": row.set, "date": row.date,
        "mirrored": row.mirrored, "capture_rate": row.capture_rate_hz, "person": row.person,
        "message": row.message, "new": row.new, "last_feedback": row.last_feedback,
    }  # fmt: skip
    return Belongs(**{name: Known(value=text, by="manifest") for name, text in said.items() if text})


def from_path(file: str, *, library: Library, roster: Iterable[str]) -> Belongs:
    """Return what the folders and the name of a file say.

    Parameters
    ----------
    file : str
        Path below the inbox.
    library : Library
        Movements: a folder may be called like one, a file name may hold its name as whole words.
    roster : iterable of str
        Athletes of the manifest. Where there are any, their names are looked for first, in folders and in the file's
        name; the name of another folder is taken where none of them is found, unless it looks like a short form of one.
    """
    path = PurePosixPath(file)
    by_slug = {slug(name): name for name in roster}
    out = Belongs()
    for part in path.parts[:-1]:
        out = _folder(part, library, by_slug).over(out)
    out = out.over(_file_name(path.stem, library, by_slug))
    if by_slug and not out.athlete:
        free = [part for part in path.parts[:-1] if _is_name(part, library) and not _shortened(part, by_slug)]
        return out.over(Belongs(athlete=Known(value=free[-1].strip(), by="folder"))) if free else out
    return out


def _folder(part: str, library: Library, roster: Mapping[str, str]) -> Belongs:
    if (movement := library.find(part)) is not None:
        return Belongs(movement=Known(value=movement, by="folder"))
    found = _details(part, "folder")
    if roster:
        name = _longest_inside(part, roster)
        found = found.over(Belongs(athlete=Known(value=name, by="folder"))) if name else found
    elif _is_name(part, library):
        found = found.over(Belongs(athlete=Known(value=part.strip(), by="folder")))
    if not found.movement and (movement := library.inside(part)) is not None:
        return Belongs(movement=Known(value=movement, by="folder")).over(found)
    return found


def _file_name(stem: str, library: Library, roster: Mapping[str, str]) -> Belongs:
    name, movement = _longest_inside(stem, roster), library.inside(stem)
    found = _details(stem, "file name")
    if name:
        found = found.over(Belongs(athlete=Known(value=name, by="file name")))
    return found.over(Belongs(movement=Known(value=movement, by="file name"))) if movement else found


def _details(text: str, by: str) -> Belongs:
    number, side = _SET.search(text), _SIDE.search(text)
    return Belongs(
        set_number=Known(value=str(int(number[1])), by=by) if number else UNKNOWN,
        side=Known(value=side[1].lower(), by=by) if side else UNKNOWN,
    )


def _is_name(part: str, library: Library) -> bool:
    """Tell whether a folder may be called after somebody: not after a movement, a phone or a week."""
    plain = slug(part)
    named = library.find(part) is not None or library.inside(part) is not None
    return bool(plain) and not named and not _NO_NAME.fullmatch(plain.replace("-", " "))


def _shortened(part: str, roster: Mapping[str, str]) -> bool:
    """Tell whether a folder may mean somebody of the manifest by a part of the name, which is asked, not guessed."""
    words = slug(part).split("-")
    return any(all(any(full.startswith(w) for full in name.split("-")) for w in words) for name in roster)


def _longest_inside(text: str, roster: Mapping[str, str]) -> str:
    padded = f"-{slug(text)}-"
    fits = [said for said in roster if said and f"-{said}-" in padded]
    return roster[max(fits, key=len)] if fits else ""
