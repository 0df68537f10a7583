"""Find the line of a key in a TOML text; the standard parser keeps none."""

from __future__ import annotations

import re

Place = tuple[str | int, ...]

_HEADER = re.compile(r"^\s*(\[\[?)\s*([^\[\]]+?)\s*\]\]?\s*(#.*)?$")
_KEY = re.compile(r"""^\s*((?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*')(?:\s*\.\s*(?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*'))*)\s*=""")
_STRING = re.compile(r'"(?:\\.|[^"\\])*"|\'[^\']*\'')


def line_numbers(text: str) -> dict[Place, int]:
    """Return the line of every table and key of a TOML text.

    Parameters
    ----------
    text : str
        A text that the standard parser accepts.

    Returns
    -------
    dict
        From a place such as ``("cue", 0, "measure")`` to its line, counted from 1; a place ends with a number
        where it is one table of an array of tables.
    """
    places: dict[Place, int] = {}
    counts: dict[Place, int] = {}
    table: Place = ()
    depth, closing = 0, ""
    for number, line in enumerate(text.splitlines(), start=1):
        if closing:
            closing = "" if line.count(closing) % 2 else closing
            continue
        if depth == 0 and (header := _HEADER.match(line)):
            table = _open_table(header.group(2), array=header.group(1) == "[[", counts=counts)
            places[table] = number
            continue
        if depth == 0 and (key := _KEY.match(line)):
            places[table + _split(key.group(1))] = number
        closing = _left_open(line)
        bare = _STRING.sub("", line).split("#", 1)[0]
        depth = max(0, depth + bare.count("[") + bare.count("{") - bare.count("]") - bare.count("}"))
    return places


def line_of(places: dict[Place, int], place: Place) -> int | None:
    """Return the line of a place, or of the nearest thing around it; None where nothing is known."""
    while place:
        if place in places:
            return places[place]
        place = place[:-1]
    return None


def _split(dotted: str) -> Place:
    return tuple(part.strip().strip("\"'") for part in dotted.split("."))


def _open_table(dotted: str, *, array: bool, counts: dict[Place, int]) -> Place:
    """Return the place of a table header, with the running number of every array of tables on its way."""
    place: Place = ()
    names = _split(dotted)
    for i, name in enumerate(names):
        place = (*place, name)
        if array and i == len(names) - 1:
            counts[place] = counts.get(place, -1) + 1
        if place in counts:
            place = (*place, counts[place])
    return place


def _left_open(line: str) -> str:
    """Return the triple quote that a line opens and does not close, or an empty text."""
    return next((mark for mark in ('"""', "'''") if line.count(mark) % 2), "")
