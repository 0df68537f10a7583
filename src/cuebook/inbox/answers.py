"""The list of questions as a table with an empty column, and the answers read from it on the next run."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from pathlib import Path

from .entries import Question
from .library import Library
from .table import Line, read_table, write_table

COLUMNS = ("clip", "file", "asks", "to", "message", "suggestion", "answer")
KINDS = ("athlete", "movement", "mirrored", "capture_rate", "person", "date")

Answers = dict[str, dict[str, str]]
"""By short hash of the clip, then by what was asked."""

PERSON = re.compile(r"\s*(\d+(?:\.\d+)?)\s*,\s*(\d+(?:\.\d+)?)\s*@\s*(\d+(?:\.\d+)?)\s*")
"""A point in a picture and the second at which it is shown: ``X,Y@T``."""


def read_answers(path: Path, *, library: Library) -> tuple[Answers, list[dict[str, str]]]:
    """Read what has been answered; nothing where there is no such file.

    Parameters
    ----------
    path : Path
        ``answers.csv`` as an earlier run wrote it.
    library : Library
        Movements that may be answered.

    Returns
    -------
    answers : Answers
        Only those given.
    rows : list of dict
        The lines they stand in, so that they can be kept.

    Raises
    ------
    InboxError
        If the table cannot be read or an answer cannot be used; the message names the line.
    """
    if not path.is_file():
        return {}, []
    answers: Answers = {}
    rows = []
    for line in read_table(path, known=COLUMNS, needed=("clip", "asks", "answer")):
        if not line.cells["answer"]:
            continue
        asks = line.cells["asks"]
        if asks not in KINDS:
            raise line.refuse(f"'asks' is '{asks}': leave that column as it was written.")
        answers.setdefault(line.cells["clip"].lstrip("'"), {})[asks] = _checked(line, asks, library)
        rows.append(line.cells)
    return answers, rows


def answers_text(questions: Sequence[Question], answered: Sequence[Mapping[str, str]]) -> str:
    """Return the table for the next run: open questions first, with an empty answer, then those answered."""
    open_rows: list[dict[str, object]] = [
        {"clip": q.clip, "file": q.file, "asks": q.asks, "to": q.to, "message": q.message, "suggestion": q.suggestion}
        for q in questions
    ]
    done = {(row["clip"].lstrip("'"), row["asks"]) for row in answered}
    still = [row for row in open_rows if (row["clip"], row["asks"]) not in done]
    return write_table(COLUMNS, [*still, *(dict(row) for row in answered)])


def _checked(line: Line, asks: str, library: Library) -> str:
    text = line.cells["answer"]
    if asks == "movement":
        found = library.find(text)
        if found is None:
            raise line.refuse(f"there is no movement called '{text}'{library.hint(text)}.")
        return found
    if asks == "mirrored":
        if text.lower() not in ("yes", "no"):
            raise line.refuse(f"the answer is '{text}': write yes if the selfie camera filmed it, else no.")
        return text.lower()
    if asks == "capture_rate":
        try:
            if 5.0 <= float(text) <= 2000.0:
                return text
        except ValueError:
            pass
        raise line.refuse(f"the answer is '{text}': write frames per second, such as 240.")
    if asks == "person" and not PERSON.fullmatch(text):
        raise line.refuse(f"the answer is '{text}': write a point of the athlete and its second, such as 320,400@2.5.")
    return text
