"""Writing one table as CSV for a spreadsheet and as Parquet for analysts, row by row, whatever its length."""

from __future__ import annotations

import csv
import os
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

from cuebook.errors import OutputError

from .rows import Kind, Row

if TYPE_CHECKING:
    import pyarrow

ROWS_AT_ONCE = 2000
"""Rows gathered before they are written to Parquet."""

_RUN_AS_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def parquet_missing() -> str | None:
    """Return None if Parquet can be written, else a sentence that says what to install."""
    try:
        import pyarrow.parquet  # noqa: F401
    except ImportError as missing:
        if isinstance(missing, ModuleNotFoundError):
            return "Parquet needs the extra 'parquet': pip install 'cuebook[parquet]'; the tables are there as CSV."
        said = str(missing).splitlines()[0].rstrip(".")
        return f"Parquet could not be written ({said}): install the extra 'parquet' again; the tables are there as CSV."
    return None


def safe_cell(text: str) -> str:
    """Return a text that a spreadsheet shows and does not run as a formula: one that looks like it gets a ``'``."""
    return f"'{text}" if text.startswith(_RUN_AS_FORMULA) else text


class Sheet:
    """One table that is being written; both files appear under their names only when it is closed.

    Used as a context manager, it leaves nothing behind if the block raises.

    Parameters
    ----------
    folder : Path
        Where it is written.
    name : str
        Name without ending.
    columns : mapping
        Names of the columns and what is in them.
    parquet : bool
        Whether to write Parquet as well.

    Notes
    -----
    The CSV begins with a byte order mark, by which spreadsheets know UTF-8; decimals have a point. Texts are made safe
    in the CSV only.
    """

    def __init__(self, folder: Path, name: str, columns: Mapping[str, Kind], *, parquet: bool) -> None:
        self._columns, self._rows = dict(columns), []
        self._path = folder / f"{name}.csv"
        self._partial = folder / f".{name}.{os.getpid()}.partial"
        self._parquet: pyarrow.parquet.ParquetWriter | None = None
        self._parquet_path = folder / f"{name}.parquet"
        self._parquet_partial = folder / f".{name}.{os.getpid()}.parquet.partial"
        self._file: IO[str] = self._opened()
        self._writer = csv.writer(self._file, lineterminator="\n")
        self._writer.writerow([safe_cell(name) for name in self._columns])
        if parquet:
            self._begin_parquet()

    def write(self, row: Row) -> None:
        """Append one row; columns it lacks are empty."""
        cells = [row.get(name) for name in self._columns]
        self._writer.writerow([_csv_cell(cell) for cell in cells])
        if self._parquet is not None:
            self._rows.append(cells)
            if len(self._rows) >= ROWS_AT_ONCE:
                self._flush()

    def __enter__(self) -> Sheet:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: object) -> None:
        try:
            if kind is None and self._parquet is not None:
                self._flush()
            self._file.close()
            if self._parquet is not None:
                self._parquet.close()
            if kind is None:
                self._appear()
        except OSError as cause:
            raise OutputError(f"{self._path} cannot be written ({cause.strerror}): make room there.") from cause
        finally:
            for partial in (self._partial, self._parquet_partial):
                with suppress(OSError):
                    partial.unlink(missing_ok=True)

    def _appear(self) -> None:
        os.replace(self._partial, self._path)
        if self._parquet is not None:
            os.replace(self._parquet_partial, self._parquet_path)
        else:
            self._parquet_path.unlink(missing_ok=True)

    def _opened(self) -> IO[str]:
        try:
            return self._partial.open("w", encoding="utf-8-sig", newline="")
        except OSError as cause:
            raise OutputError(f"{self._path} cannot be written ({cause.strerror}): choose another folder.") from cause

    def _begin_parquet(self) -> None:
        import pyarrow as pa
        import pyarrow.parquet as pq

        kinds = {"text": pa.string(), "number": pa.float64(), "whole": pa.int64(), "flag": pa.bool_()}
        self._schema = pa.schema([(name, kinds[kind]) for name, kind in self._columns.items()])
        self._parquet = pq.ParquetWriter(str(self._parquet_partial), self._schema)

    def _flush(self) -> None:
        import pyarrow as pa

        columns = list(zip(*self._rows, strict=True)) if self._rows else [()] * len(self._columns)
        arrays = [pa.array(list(cells), type=field.type) for cells, field in zip(columns, self._schema, strict=True)]
        if self._parquet is not None:
            self._parquet.write_table(pa.Table.from_arrays(arrays, schema=self._schema))
        self._rows = []


def _csv_cell(cell: Any) -> Any:
    if isinstance(cell, bool):
        return str(cell).lower()
    return safe_cell(cell) if isinstance(cell, str) else cell
