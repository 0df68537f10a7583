"""The error tree: who catches what, and that a message says what to do."""

from __future__ import annotations

import inspect

import pytest

from cuebook import errors
from cuebook.errors import CuebookError, MissingExtra, ModelError, MovementError, TempoError, UnknownName

ALL = [e for _, e in inspect.getmembers(errors, inspect.isclass) if issubclass(e, CuebookError)]


@pytest.mark.parametrize("error", ALL, ids=lambda e: e.__name__)
def test_everything_descends_from_one_root(error: type) -> None:
    assert issubclass(error, CuebookError)
    assert error.__doc__
    assert error is CuebookError or error.__name__ in (errors.__doc__ or "")


@pytest.mark.parametrize(
    ("error", "builtin"),
    [(ModelError, ValueError), (MovementError, ValueError), (TempoError, ValueError), (UnknownName, LookupError),
     (MissingExtra, ImportError)],
)  # fmt: skip
def test_errors_are_also_what_python_programmers_expect(error: type, builtin: type) -> None:
    assert issubclass(error, builtin)


def test_a_misspelt_name_gets_its_neighbour() -> None:
    found = UnknownName("movement", "squad", ["squat", "push-up"])
    assert str(found) == "There is no movement called 'squad': did you mean squat?"
    assert found.name == "squad"


def test_a_strange_name_gets_the_list_in_order() -> None:
    assert str(UnknownName("backend", "zzz", ["b", "a"])) == "There is no backend called 'zzz': known: a, b."


def test_a_missing_extra_says_how_to_install_it() -> None:
    found = MissingExtra("parquet", "Writing Parquet")
    assert found.extra == "parquet"
    assert "Writing Parquet" in str(found)
    assert "pip install 'cuebook[parquet]'" in str(found)
