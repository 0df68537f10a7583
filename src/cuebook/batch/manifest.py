"""Reading a manifest: a table of clips and of what was asked of each, as a spreadsheet writes it."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from cuebook.errors import BatchError

COLUMNS = ("clip", "movement", "athlete", "side", "tempo", "repetitions", "mirrored", "capture_rate", "person")
"""Columns that mean something; only ``clip`` has to be there. The others are copied into the table of clips."""

_ALSO = {"file": "clip", "reps": "repetitions", "capture_rate_hz": "capture_rate"}
_MOST_COLUMNS = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One clip as it was asked for, still as text.

    Attributes
    ----------
    where : str
        Line or file, for messages.
    clip : Path
        The file.
    name : str
        The clip as it is shown.
    values : dict
        Known columns and their text, without the empty ones.
    extra : dict
        The other columns as they are.
    """

    where: str
    clip: Path
    name: str
    values: dict[str, str] = field(default_factory=dict)
    extra: dict[str, str] = field(default_factory=dict)


def read_manifest(path: Path) -> tuple[list[Row], tuple[str, ...]]:
    """Read a manifest and return its rows and the names of the columns that are not known here.

    Commas, semicolons or tabs separate the cells; UTF-8 with or without a mark, UTF-16 and the old Western code page
    are read. Clips are looked for beside the manifest.

    Parameters
    ----------
    path : Path
        The file.

    Raises
    ------
    BatchError
        If it cannot be read, has no column ``clip``, or rows are wider than the heading; lines are named.
    """
    text = _text(path)
    lines = _cells(path, text)
    heading_line, heading = next(lines, (0, []))
    names = [_ALSO.get(n, n) for n in ("_".join(cell.split()).lower() for cell in heading)]
    _check_heading(path, heading_line, names)
    original = {name: " ".join(cell.split()) for name, cell in zip(names, heading, strict=True)}
    rows, wide = [], []
    for line, cells in lines:
        if len(cells) > len(names) and any(cell.strip() for cell in cells[len(names) :]):
            wide.append(f"line {line} has {len(cells)} cells, but the heading has {len(names)} columns")
            continue
        found = {name: cell.strip() for name, cell in zip(names, cells, strict=False) if name}
        rows.append(_row(path, line, found, original))
    if wide:
        refuse_lines(path, wide)
    return rows, tuple(original[n] for n in names if n and n not in COLUMNS)


def refuse_lines(path: Path, problems: list[str], *, most: int = 5) -> None:
    """Raise a BatchError that names the first lines that are wrong and how many more there are."""
    more = f"; and {len(problems) - most} more" if len(problems) > most else ""
    said = f"{path.name} cannot be used: {'; '.join(p.rstrip('.') for p in problems[:most])}{more}"
    raise BatchError(said if said.endswith("?") else f"{said}.")


def _row(path: Path, line: int, found: dict[str, str], original: dict[str, str]) -> Row:
    text = found.pop("clip", "")
    return Row(
        where=f"line {line}",
        clip=_beside(path.parent, text) if text else Path(),
        name=text,
        values={name: found[name] for name in COLUMNS if found.get(name)},
        extra={original[name]: cell for name, cell in found.items() if name not in COLUMNS},
    )


def _beside(folder: Path, text: str) -> Path:
    """Return the path of a clip; one written with backslashes is found on any system."""
    path = folder / text
    other = folder / text.replace("\\", "/")
    return other if "\\" in text and not path.exists() else path


def _text(path: Path) -> str:
    if not path.exists():
        raise BatchError(f"There is no folder or manifest {path}: check its name.")
    try:
        data = path.read_bytes()
    except OSError as cause:
        raise BatchError(f"The manifest {path} cannot be read ({cause.strerror}): check its name.") from cause
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        codings: tuple[str, ...] = ("utf-16",)
    else:
        codings = ("utf-8-sig", "cp1252")
    for coding in codings:
        try:
            text = data.decode(coding)
        except UnicodeDecodeError:
            continue
        if "\x00" not in text:
            return text
    raise BatchError(f"{path.name} is no table of text: save it as CSV (UTF-8) from the spreadsheet.")


def _cells(path: Path, text: str) -> Iterator[tuple[int, list[str]]]:
    """Yield the number of the line and the cells of every row that is not empty."""
    first = next((line for line in text.splitlines() if line.strip()), "")
    separator = max(",;\t", key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True, skipinitialspace=True)
    before = 0
    try:
        for cells in reader:
            line, before = before + 1, reader.line_num
            if any(cell.strip() for cell in cells):
                yield line, cells
    except csv.Error as cause:
        raise BatchError(f"{path.name}, line {before + 1}: {cause}: save it as CSV from the spreadsheet.") from cause


def _check_heading(path: Path, line: int, names: list[str]) -> None:
    if "clip" not in names:
        raise BatchError(
            f"{path.name} has no column 'clip' in its first line: it names the columns, of {', '.join(COLUMNS)}."
        )
    doubled = sorted({n for n in names if n and names.count(n) > 1})
    if doubled:
        raise BatchError(f"{path.name}, line {line}: the column '{doubled[0]}' stands there twice: leave one.")
    if len(names) > _MOST_COLUMNS:
        raise BatchError(f"{path.name} has {len(names)} columns: leave the {_MOST_COLUMNS} that are needed.")
