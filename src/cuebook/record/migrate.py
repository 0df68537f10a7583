"""The layout of the record: numbered SQL files, each applied once, in one transaction, after a back-up copy."""

from __future__ import annotations

import os
import sqlite3
from importlib.resources import files
from pathlib import Path

from cuebook.errors import RecordError

APPLICATION_ID = 0x63756562
"""Marks the file as a record (https://www.sqlite.org/pragma.html#pragma_application_id)."""


def migrations(folder: Path | None = None) -> dict[int, str]:
    """Return the SQL of every version of the layout, by number, from 1 without a gap.

    Parameters
    ----------
    folder : Path, optional
        Where the files lie; default: those of the package.
    """
    place = files("cuebook.record") / "migrations" if folder is None else folder
    found = sorted((p.name, p.read_text(encoding="utf-8")) for p in place.iterdir() if p.name.endswith(".sql"))
    return {int(name.split("_")[0]): text for name, text in found}


def version_of(connection: sqlite3.Connection) -> int:
    """Return the version of the layout a file has, 0 for a new one."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def migrate(connection: sqlite3.Connection, path: Path, *, known: dict[int, str] | None = None) -> int:
    """Bring a record to the newest layout and return its version.

    Parameters
    ----------
    connection : sqlite3.Connection
        In autocommit mode.
    path : Path
        The file, for messages and for the name of the back-up.
    known : dict, optional
        SQL by version; default: the package's.

    Raises
    ------
    RecordError
        If the file is newer than this program, or belongs to another one.

    Notes
    -----
    The version is kept in the file's header and changes with the transaction that it is set in
    (https://www.sqlite.org/pragma.html#pragma_user_version).
    """
    known = migrations() if known is None else known
    newest = max(known)
    version = version_of(connection)
    if version > newest:
        raise RecordError(
            f"{path} was written by a newer cuebook (layout {version}, this one knows {newest}): update cuebook first."
        )
    mark = connection.execute("PRAGMA application_id").fetchone()[0]
    if mark != APPLICATION_ID and (version or connection.execute("SELECT 1 FROM sqlite_schema LIMIT 1").fetchone()):
        raise RecordError(f"{path} belongs to another program: choose another name for the record.")
    if version == newest:
        return version
    if version > 0:
        _copy(connection, path.with_name(f"{path.stem}.layout-{version}.backup{path.suffix}"))
    for number in range(version + 1, newest + 1):
        _apply(connection, number, known[number])
    return newest


def _copy(connection: sqlite3.Connection, target: Path) -> None:
    partial = target.with_name(f".{target.name}.{os.getpid()}.partial")
    copy = sqlite3.connect(partial)
    try:
        connection.backup(copy)
    finally:
        copy.close()
    os.replace(partial, target)


def _apply(connection: sqlite3.Connection, number: int, text: str) -> None:
    """Apply one version in one transaction; another program may have done it meanwhile."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        if version_of(connection) < number:
            for statement in statements(text):
                connection.execute(statement)
            connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            connection.execute(f"PRAGMA user_version = {number}")
    except BaseException:
        connection.execute("ROLLBACK")
        raise
    connection.execute("COMMIT")


def statements(text: str) -> list[str]:
    """Return the single statements of an SQL file; those of a trigger stay together."""
    out, running = [], ""
    for line in text.splitlines(keepends=True):
        running += line
        if sqlite3.complete_statement(running):
            out.append(running)
            running = ""
    return [*out, running] if running.strip() else out
