"""The list of questions as a table with an empty column, and the answers read from it on the next run."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from cuebook.errors import InboxError, PoseError
from cuebook.pose import parse_pointed
from cuebook.whole import write_whole

from .entries import Question
from .library import Library
from .names import slug
from .table import Line, read_table, write_table

COLUMNS = ("clip", "file", "asks", "to", "message", "suggestion", "answer")
KINDS = ("athlete", "movement", "mirrored", "capture_rate", "person", "date")

Answers = dict[str, dict[str, str]]
"""By short hash of the clip, then by what was asked."""


def read_answers(path: Path, *, library: Library, roster: Sequence[str] = ()) -> tuple[Answers, list[dict[str, str]]]:
    """Read what has been answered; nothing where there is no such file.

    Parameters
    ----------
    path : Path
        ``answers.csv`` as an earlier run wrote it.
    library : Library
        Movements that may be answered.
    roster : sequence of str
        Athletes that the manifest names: one of them is never made a second person by another spelling.

    Returns
    -------
    answers : Answers
        Only those given.
    rows : list of dict
        The lines they stand in, so that they can be kept.

    Raises
    ------
    InboxError
        If the table cannot be read or answers cannot be used; the message names every such line.
    """
    if not path.is_file():
        return {}, []
    answers: Answers = {}
    rows, refused = [], []
    for line in read_table(path, known=COLUMNS, needed=("clip", "asks", "answer")):
        if not line.cells["answer"]:
            continue
        asks = line.cells["asks"]
        try:
            answers.setdefault(line.cells["clip"].lstrip("'"), {})[asks] = _checked(line, asks, library, roster)
        except InboxError as error:
            refused.append(str(error))
        rows.append(line.cells)
    if refused:
        raise InboxError("\n".join(refused))
    return answers, rows


def keep_answer(path: Path, *, clip: str, file: str, asks: str, answer: str, library: Library) -> None:
    """Write one answer into the table of questions; it is on disk, and checked, when this returns.

    Parameters
    ----------
    path : Path
        ``answers.csv``; made where there is none.
    clip, file, asks : str
        Short hash of the clip, its name, and what was asked, one of `KINDS`.
    answer : str
        What was said; an earlier answer to the same question is replaced.
    library : Library
        Movements that may be answered.

    Raises
    ------
    InboxError
        If the table cannot be read or the answer cannot be used.
    OutputError
        If it cannot be written.
    """
    given = {"clip": clip, "asks": asks, "answer": answer}
    _checked(Line(file=path.name, number=0, cells=given), asks, library)
    lines = read_table(path, known=COLUMNS, needed=("clip", "asks", "answer")) if path.is_file() else []
    rows = with_answer([dict(line.cells) for line in lines], clip=clip, file=file, asks=asks, answer=answer)
    write_whole(path, write_table(COLUMNS, [dict(row) for row in rows]))


def with_answer(
    rows: Sequence[dict[str, str]], *, clip: str, file: str, asks: str, answer: str
) -> list[dict[str, str]]:
    """Return lines of the table of questions with one answer in them; it takes the place of an earlier one."""
    given = {"clip": clip, "file": file, "asks": asks, "to": "coach", "message": "", "suggestion": "", "answer": answer}
    place = [(row["clip"].lstrip("'"), row["asks"]) for row in rows]
    if (clip, asks) not in place:
        return [*rows, given]
    at = place.index((clip, asks))
    return [*rows[:at], {**rows[at], "answer": answer}, *rows[at + 1 :]]


def answers_text(questions: Sequence[Question], answered: Sequence[Mapping[str, str]]) -> str:
    """Return the table for the next run: open questions first, with an empty answer, then those answered."""
    open_rows: list[dict[str, object]] = [
        {"clip": q.clip, "file": q.file, "asks": q.asks, "to": q.to, "message": q.message, "suggestion": q.suggestion}
        for q in questions
    ]
    done = {(row["clip"].lstrip("'"), row["asks"]) for row in answered}
    still = [row for row in open_rows if (row["clip"], row["asks"]) not in done]
    return write_table(COLUMNS, [*still, *(dict(row) for row in answered)])


def _checked(line: Line, asks: str, library: Library, roster: Sequence[str] = ()) -> str:
    text = line.cells["answer"]
    if asks not in KINDS:
        raise line.refuse(f"'asks' is '{asks}': leave that column as it was written.")
    if asks == "athlete":
        return _athlete(line, text, roster)
    if asks == "movement":
        if text.lower() == "yes" and line.cells.get("suggestion"):
            text = line.cells["suggestion"]
        found = library.find(text)
        if found is None:
            raise line.refuse(f"there is no movement called '{text}'{library.hint(text)}")
        return found
    if asks == "mirrored":
        if text.lower() not in ("yes", "no"):
            raise line.refuse(
                f"the answer is '{text}': write yes if the selfie camera filmed it, no if not, nothing if nobody knows."
            )
        return text.lower()
    if asks == "capture_rate":
        try:
            if 5.0 <= float(text) <= 2000.0:
                return text
        except ValueError:
            pass
        raise line.refuse(f"the answer is '{text}': write frames per second, such as 240.")
    if asks == "person":
        try:
            parse_pointed(text)
        except PoseError as refused:
            raise line.refuse(str(refused)) from None
    return text


def _athlete(line: Line, text: str, roster: Sequence[str]) -> str:
    """Return the athlete as the manifest spells the name; a part of a name must be written in full."""
    same = [name for name in roster if slug(name) == slug(text)]
    if same:
        return same[0]
    part = [name for name in dict.fromkeys(roster) if f"-{slug(text)}-" in f"-{slug(name)}-"]
    if part:
        raise line.refuse(f"'{text}' is a part of {' and of '.join(part)}: write the whole name of whom you mean.")
    return text
