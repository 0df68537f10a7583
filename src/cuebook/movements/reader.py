"""Read one table of a movement file strictly: what is unknown, missing or of the wrong kind is refused."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from math import isfinite
from typing import Any, NoReturn

from cuebook.errors import MovementError

from .lines import Place, line_of


@dataclass(slots=True)
class Table:
    """One table of a movement file, with the means to name the line of each of its keys.

    Attributes
    ----------
    values : mapping
        What the parser read.
    place : tuple
        Where the table stands in the file.
    file : str
        Name of the file for messages.
    places : dict
        Lines of the whole file.
    label : str
        The table in words, for messages.
    """

    values: Mapping[str, Any]
    place: Place
    file: str
    places: dict[Place, int]
    label: str

    def refuse(self, problem: str, *, key: str | None = None, cause: Exception | None = None) -> NoReturn:
        """Raise a MovementError of one sentence with the file and the line."""
        line = line_of(self.places, self.place if key is None else (*self.place, key))
        where = f"{self.file}, line {line}" if line else self.file
        raise MovementError(f"{where}: {problem}{'' if problem.endswith('?') else '.'}") from cause

    def only(self, *known: str) -> None:
        """Refuse a key that is not known here; asked first, so that a misspelt key is called just that."""
        for key in self.values:
            if key not in known:
                self.refuse(f"{self.label} has the unknown key '{key}', {_hint(key, known)}", key=key)

    def get(self, key: str, *, default: Any = None, required: bool = True) -> Any:
        """Return a value as parsed, refusing a required key that is missing."""
        if key not in self.values:
            if required:
                self.refuse(f"{self.label} has no '{key}', add it")
            return default
        return self.values[key]

    def text(self, key: str, *, required: bool = True) -> str:
        """Return a text that is not empty."""
        value = self.get(key, default="", required=required)
        if not isinstance(value, str) or (key in self.values and not value.strip()):
            self.refuse(f"'{key}' must be a text between quotes", key=key)
        return value.strip()

    def number(self, key: str, *, required: bool = True) -> float | None:
        """Return a finite number, or None for an optional one that is missing."""
        value = self.get(key, required=required)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int | float) or not isfinite(value):
            self.refuse(f"'{key}' must be a number, but it is {value!r}", key=key)
        return float(value)

    def positive(self, key: str) -> float:
        """Return a number above zero."""
        value = self.number(key)
        if value is None or value <= 0:
            self.refuse(f"'{key}' must be above zero, but it is {value:g}", key=key)
        return value

    def choice(self, key: str, known: Iterable[str], *, default: str | None = None) -> str:
        """Return a text that is one of the known words."""
        value = self.get(key, default=default, required=default is None)
        names = tuple(known)
        if value not in names:
            self.refuse(f"'{key}' is {value!r}, {_hint(value, names)}", key=key)
        return value

    def words(self, key: str, *, known: Iterable[str] | None = None, required: bool = True) -> tuple[str, ...]:
        """Return a list of texts, each among the known words where these are given."""
        value = self.get(key, default=[], required=required)
        if not isinstance(value, list) or not all(isinstance(v, str) and v.strip() for v in value):
            self.refuse(f"'{key}' must be a list of texts", key=key)
        if required and not value:
            self.refuse(f"'{key}' is empty, name at least one", key=key)
        names = tuple(known) if known is not None else tuple(value)
        for word in value:
            if word not in names:
                self.refuse(f"'{key}' holds {word!r}, {_hint(word, names)}", key=key)
        return tuple(value)

    def flag(self, key: str) -> bool:
        """Return true or false; false where the key is missing."""
        value = self.get(key, default=False, required=False)
        if not isinstance(value, bool):
            self.refuse(f"'{key}' must be true or false", key=key)
        return value

    def child(self, key: str, *, label: str) -> Table:
        """Return a table inside this one."""
        value = self.get(key)
        if not isinstance(value, dict):
            self.refuse(f"'{key}' must be a table", key=key)
        return Table(value, (*self.place, key), self.file, self.places, label)

    def children(self, key: str, *, label: str, required: bool = False) -> tuple[Table, ...]:
        """Return the tables of an array, each labelled with its name or number."""
        value = self.get(key, default=[], required=required)
        if not isinstance(value, list) or not all(isinstance(v, dict) for v in value):
            self.refuse(f"'{key}' must be written as tables, each under [[{key}]]", key=key)
        return tuple(
            Table(v, (*self.place, key, i), self.file, self.places, _label(label, v, i)) for i, v in enumerate(value)
        )


def _label(label: str, values: Mapping[str, Any], index: int) -> str:
    name = values.get("name")
    return f"{label} '{name}'" if isinstance(name, str) and name else f"{label} number {index + 1}"


def _hint(value: object, names: tuple[str, ...]) -> str:
    near = get_close_matches(str(value), names, n=2)
    return f"did you mean {' or '.join(near)}?" if near else f"known are {', '.join(sorted(names))}"
