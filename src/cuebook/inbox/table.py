"""Reading a table that a person wrote in a spreadsheet: any case of heading, comma or semicolon."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

from cuebook.errors import InboxError


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of a table.

    Attributes
    ----------
    file : str
        Name of the table.
    number : int
        Line in the file, the headings being line 1.
    cells : dict of str to str
        By heading in lower case, stripped; headings that are missing give an empty text.
    """

    file: str
    number: int
    cells: dict[str, str]

    def refuse(self, why: str) -> InboxError:
        """Return the error for this line; `why` names the cell and says what to do."""
        return InboxError(f"{self.file} line {self.number}: {why}")


def read_table(path: Path, *, known: tuple[str, ...], needed: tuple[str, ...] = ()) -> list[Line]:
    """Read a table, leaving out empty lines and columns nobody here asks for.

    Parameters
    ----------
    path : Path
        UTF-8 text, with or without a byte order mark.
    known : tuple of str
        Headings that are read.
    needed : tuple of str
        Headings that must be there.

    Raises
    ------
    InboxError
        If the file cannot be read, has no headings, lacks a needed one, or has one that is nearly right.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError as cause:
        raise InboxError(f"There is no file {path.name}: check its name and folder.") from cause
    except (OSError, UnicodeDecodeError) as cause:
        raise InboxError(f"{path.name} cannot be read as a table: save it as 'CSV UTF-8' ({cause}).") from cause
    first = text.partition("\n")[0]
    delimiter = max(",;\t", key=first.count)
    rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter))
    if not rows or not any(cell.strip() for cell in rows[0]):
        raise InboxError(f"{path.name} has no headings: the first line must hold {', '.join(needed or known)}.")
    headings = [cell.strip().lower() for cell in rows[0]]
    _check_headings(path.name, headings, known, needed)
    out = []
    for number, row in enumerate(rows[1:], start=2):
        cells = dict.fromkeys(known, "") | {h: c.strip() for h, c in zip(headings, row, strict=False) if h in known}
        if any(cells.values()):
            out.append(Line(file=path.name, number=number, cells=cells))
    return out


def write_table(headings: tuple[str, ...], rows: list[dict[str, object]]) -> str:
    """Return a table as text; cells that a spreadsheet would take for a formula get an apostrophe in front."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(headings)
    for row in rows:
        writer.writerow([_cell(row.get(heading, "")) for heading in headings])
    return text.getvalue()


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.4g}"
    text = str(value)
    return f"'{text}" if text[:1] in "=+-@" and not text[1:2].isdigit() and len(text) > 1 else text


def _check_headings(file: str, headings: list[str], known: tuple[str, ...], needed: tuple[str, ...]) -> None:
    if missing := [name for name in needed if name not in headings]:
        raise InboxError(f"{file} has no column '{missing[0]}': its first line holds {', '.join(headings)}.")
    for heading in headings:
        near = get_close_matches(heading, known, n=1, cutoff=0.8)
        if heading and heading not in known and near and near[0] not in headings:
            raise InboxError(f"{file} has a column '{heading}': did you mean '{near[0]}'?")
