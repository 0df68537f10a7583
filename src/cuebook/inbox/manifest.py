"""Who sent what, and who owes what: a table the coach keeps."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path, PurePosixPath

from cuebook.errors import InboxError, PoseError
from cuebook.pose import parse_pointed

from .library import Library
from .table import Line, read_table

COLUMNS = (
    *("file", "athlete", "movement", "side", "set", "date", "due", "mirrored", "capture_rate_hz", "person"),
    *("message", "new", "last_feedback"),
)
"""A line with a `file` says what that file is; a line without one says which clip is owed, until `due`.

`message` holds the athlete's own words, `new` says yes where movement or load is new, `last_feedback` when this athlete
last heard from the coach.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One line of the manifest, checked; every cell is empty where the line does not say."""

    line: int
    file: str
    athlete: str
    movement: str
    side: str
    set: str
    date: str
    due: str
    mirrored: str
    capture_rate_hz: str
    person: str
    message: str
    new: str
    last_feedback: str


def read_manifest(path: Path, *, library: Library) -> tuple[Row, ...]:
    """Read and check a manifest.

    Parameters
    ----------
    path : Path
        A CSV file with some of `COLUMNS`.
    library : Library
        Movements that may be named, by name or title.

    Raises
    ------
    InboxError
        If it cannot be read or cells cannot be used; the message names every such line.
    """
    lines = read_table(path, known=COLUMNS)
    if not {"athlete", "file"} & {name for line in lines for name, cell in line.cells.items() if cell}:
        raise InboxError(f"{path.name} names neither files nor athletes: give it columns 'file' and 'athlete'.")
    rows, refused = [], []
    for line in lines:
        try:
            rows.append(_row(line, library))
        except InboxError as error:
            refused.append(str(error))
    if refused:
        raise InboxError("\n".join(refused))
    return tuple(rows)


def match_files(rows: Sequence[Row], files: Sequence[str], *, manifest: str) -> dict[str, Row]:
    """Return the row of each received file that the manifest names.

    A name is compared without regard to case, first as a path below the inbox, then as the last part of one.

    Parameters
    ----------
    rows : sequence of Row
        From `read_manifest`.
    files : sequence of str
        Paths below the inbox.
    manifest : str
        Its name, for messages.

    Raises
    ------
    InboxError
        If a name fits several files, or two rows name the same file.
    """
    paths = {file.casefold(): file for file in files}
    by_name: dict[str, list[str]] = {}
    for file in files:
        by_name.setdefault(PurePosixPath(file).name.casefold(), []).append(file)
    out: dict[str, Row] = {}
    for row in rows:
        if not row.file:
            continue
        named = row.file.replace("\\", "/").removeprefix("./").casefold()
        fits = [paths[named]] if named in paths else by_name.get(PurePosixPath(named).name, [])
        if "/" in named and named not in paths:
            fits = []
        if len(fits) > 1:
            raise InboxError(
                f"{manifest} line {row.line}: {len(fits)} files are called {row.file}, "
                f"so write the path below the folder, such as {fits[0]}."
            )
        if fits and fits[0] in out:
            raise InboxError(f"{manifest} lines {out[fits[0]].line} and {row.line} both name {fits[0]}: keep one.")
        if fits:
            out[fits[0]] = row
    return out


def checked_date(text: str) -> str:
    """Return an ISO date, the same as given.

    Raises
    ------
    ValueError
        If it is none.
    """
    return date.fromisoformat(text).isoformat()


def _row(line: Line, library: Library) -> Row:
    cells = dict(line.cells)
    if cells["movement"]:
        found = library.find(cells["movement"])
        if found is None:
            raise line.refuse(f"there is no movement called '{cells['movement']}'{library.hint(cells['movement'])}")
        cells["movement"] = found
    for name, choices in (("side", ("left", "right")), ("mirrored", ("yes", "no")), ("new", ("yes", "no"))):
        cells[name] = cells[name].lower()
        if cells[name] and cells[name] not in choices:
            raise line.refuse(f"'{name}' is '{cells[name]}': write {' or '.join(choices)}, or leave it empty.")
    for name in ("date", "due", "last_feedback"):
        if cells[name]:
            try:
                cells[name] = checked_date(cells[name])
            except ValueError:
                raise line.refuse(f"'{name}' is '{cells[name]}': write a date as 2026-01-14.") from None
    if cells["capture_rate_hz"] and not _is_rate(cells["capture_rate_hz"]):
        raise line.refuse(f"'capture_rate_hz' is '{cells['capture_rate_hz']}': write frames per second, such as 240.")
    if cells["person"]:
        try:
            parse_pointed(cells["person"])
        except PoseError as refused:
            raise line.refuse(str(refused)) from None
    return Row(line=line.number, **cells)


def _is_rate(text: str) -> bool:
    try:
        return 5.0 <= float(text) <= 2000.0
    except ValueError:
        return False
