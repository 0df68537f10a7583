"""Connections to the record: one per thread, safe settings, short transactions, errors as sentences."""

from __future__ import annotations

import logging
import sqlite3
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from cuebook.errors import RecordError

from .migrate import migrate

log = logging.getLogger(__name__)

BUSY_MS = 5000
"""How long a write waits for another program's."""
_SHARED_DRIVES = ("nfs", "nfs4", "cifs", "smb3", "smbfs", "afpfs", "9p", "fuse.sshfs", "fuse.rclone", "davfs")
_SYNCED_FOLDERS = ("dropbox", "onedrive", "google drive", "googledrive", "icloud", "nextcloud", "mobile documents")
NOT_WAL = (
    "The record lies in a folder that is shared or synchronised, so it is kept in a slower and safer way; a folder on "
    "this machine's own disk would be better."
)


class Record:
    """An open record.

    Parameters
    ----------
    path : Path
        The file; made if it is not there.

    Attributes
    ----------
    path : Path
        The same.
    message : str
        One sentence for the reader where the record could not be opened in the usual way, else empty.

    Raises
    ------
    RecordError
        If the file is no record, is newer than this program, or cannot be written.

    Notes
    -----
    ``synchronous=FULL`` and the write-ahead log: a commit that has returned is on the disk, also after a power cut
    (https://www.sqlite.org/pragma.html#pragma_synchronous).
    """

    def __init__(self, path: str | Path) -> None:
        self.path = Path(path)
        self.message = ""
        self._lock = threading.Lock()
        self._open: dict[int, sqlite3.Connection] = {}
        with _as_sentence(self.path):
            self.path.parent.mkdir(parents=True, exist_ok=True)
            migrate(self._connection(), self.path)

    def _connection(self) -> sqlite3.Connection:
        """Return the connection of this thread."""
        me = threading.get_ident()
        with self._lock:
            found = self._open.get(me)
        if found is not None:
            return found
        made = sqlite3.connect(self.path, timeout=BUSY_MS / 1000, isolation_level=None, check_same_thread=False)
        made.row_factory = sqlite3.Row
        made.execute(f"PRAGMA busy_timeout = {BUSY_MS}")
        made.execute("PRAGMA foreign_keys = ON")
        self._journal(made)
        made.execute("PRAGMA synchronous = FULL")
        with self._lock:
            self._open[me] = made
        return made

    def _journal(self, connection: sqlite3.Connection) -> None:
        """Choose the write-ahead log, or the plain journal where that is refused or not safe."""
        if log_is_safe(self.path):
            try:
                if connection.execute("PRAGMA journal_mode = WAL").fetchone()[0] == "wal":
                    return
            except sqlite3.OperationalError as error:
                if "lock" in str(error) and "protocol" not in str(error):
                    raise
        connection.execute("PRAGMA journal_mode = DELETE")
        if not self.message:
            self.message = NOT_WAL
            log.warning(NOT_WAL)

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """Give a connection inside one write transaction: all of it is kept, or nothing.

        Raises
        ------
        RecordError
            If the record is busy or cannot be written.
        """
        with _as_sentence(self.path):
            connection = self._connection()
            connection.execute("BEGIN IMMEDIATE")
            try:
                yield connection
            except BaseException:
                connection.execute("ROLLBACK")
                raise
            connection.execute("COMMIT")

    def rows(self, question: str, values: tuple = ()) -> list[sqlite3.Row]:
        """Return the rows of a query.

        Parameters
        ----------
        question : str
            A SELECT with question marks.
        values : tuple
            One per question mark.

        Raises
        ------
        RecordError
            If the record cannot be read.
        """
        with _as_sentence(self.path):
            return self._connection().execute(question, values).fetchall()

    def backup(self, target: str | Path) -> Path:
        """Copy the record as it stands into another file, also while it is in use, and return that file."""
        target = Path(target)
        with _as_sentence(target):
            copy = sqlite3.connect(target)
            try:
                self._connection().backup(copy)
            finally:
                copy.close()
        return target

    def close(self) -> None:
        """Close the connections of all threads; the record can be used again, which opens new ones."""
        with self._lock:
            connections, self._open = list(self._open.values()), {}
        for connection in connections:
            connection.close()

    def __enter__(self) -> Record:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def __repr__(self) -> str:
        return f"<Record {self.path}>"


def log_is_safe(path: Path, *, mounts: Path = Path("/proc/mounts")) -> bool:
    """Return whether the write-ahead log may be used: not on a network drive, nor in a synchronised folder.

    Parameters
    ----------
    path : Path
        The record.
    mounts : Path
        Where the system lists what is mounted.

    References
    ----------
    https://www.sqlite.org/wal.html: "WAL does not work over a network filesystem."
    """
    folder = path.resolve().parent
    if any(part.lower().startswith(_SYNCED_FOLDERS) for part in folder.parts):
        return False
    try:
        lines = [line.split() for line in mounts.read_text(encoding="utf-8", errors="replace").splitlines()]
    except OSError:
        return True
    places = [(Path(f[1].replace("\\040", " ")), f[2]) for f in lines if len(f) > 2]
    holding = [(len(place.parts), kind) for place, kind in places if folder.is_relative_to(place)]
    return max(holding, default=(0, ""))[1] not in _SHARED_DRIVES


@contextmanager
def _as_sentence(path: Path) -> Iterator[None]:
    """Turn errors of the database and the disk into sentences."""
    try:
        yield
    except sqlite3.OperationalError as error:
        said = str(error)
        if "locked" in said or "busy" in said:
            raise RecordError(f"{path} is in use by another program: wait a moment and try again.") from error
        if "full" in said:
            raise RecordError(f"{path} cannot be written, the disk is full: make room and try again.") from error
        raise RecordError(f"{path} cannot be opened or written ({said}): choose a folder of your own.") from error
    except sqlite3.IntegrityError:
        raise
    except sqlite3.DatabaseError as error:
        raise RecordError(f"{path} is no record or is damaged ({error}): put a back-up in its place.") from error
    except OSError as error:
        raise RecordError(f"{path} cannot be opened ({error.strerror}): choose a folder of your own.") from error
