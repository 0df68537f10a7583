"""A coach's folder: known by its ``cuebook.toml``, with settings, own movements and cached tracks in it."""

from __future__ import annotations

import tomllib
from dataclasses import fields
from pathlib import Path

from cuebook.errors import MovementError
from cuebook.model import Settings
from cuebook.pose.backends import backends

from .lines import line_numbers
from .reader import Table
from .tempo import TempoMargins

MARK = "cuebook.toml"
"""The file that makes a folder a workspace; it may be empty."""

_MARGINS = tuple(f.name for f in fields(TempoMargins))


def find_workspace(start: Path) -> Path | None:
    """Return the nearest folder from `start` upwards that holds a ``cuebook.toml``, or None.

    Parameters
    ----------
    start : Path
        A folder, or a file in it.
    """
    here = start.resolve()
    return next((folder for folder in (here, *here.parents) if (folder / MARK).is_file()), None)


def read_settings(workspace: Path | None) -> tuple[Settings, TempoMargins]:
    """Return the settings of a workspace and the margins it grants on tempo; the usual ones without a workspace.

    Parameters
    ----------
    workspace : Path or None
        A folder with a ``cuebook.toml``: ``[outcome]`` may hold ``met_at`` and ``not_met_at``, ``[pose]`` the
        ``backend``, ``[tempo]`` any margin.

    Raises
    ------
    MovementError
        If the file is not valid; the message names the line.
    """
    if workspace is None:
        return Settings(), TempoMargins()
    path = workspace / MARK
    try:
        text = path.read_text(encoding="utf-8")
        values = tomllib.loads(text)
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise MovementError(f"{MARK} cannot be read: {str(error).rstrip('.')}.") from error
    table = Table(values, (), MARK, line_numbers(text), "the workspace")
    table.only("outcome", "pose", "tempo")
    margins = _margins(table)
    return _settings(table, x_seconds=margins.x_s), margins


def _settings(table: Table, *, x_seconds: float) -> Settings:
    usual = Settings()
    outcome, pose = _part(table, "outcome"), _part(table, "pose")
    outcome.only("met_at", "not_met_at")
    pose.only("backend")
    met_at, not_met_at = outcome.number("met_at", required=False), outcome.number("not_met_at", required=False)
    met_at = usual.met_at if met_at is None else met_at
    not_met_at = usual.not_met_at if not_met_at is None else not_met_at
    if not 0 < not_met_at < 0.5 < met_at < 1:
        outcome.refuse(
            f"'not_met_at' ({not_met_at:g}) must lie between 0 and 0.5, 'met_at' ({met_at:g}) between 0.5 and 1"
        )
    return Settings(
        met_at=met_at,
        not_met_at=not_met_at,
        backend=pose.choice("backend", backends(), default=usual.backend),
        x_seconds=x_seconds,
    )


def _margins(table: Table) -> TempoMargins:
    tempo = _part(table, "tempo")
    tempo.only(*_MARGINS)
    return TempoMargins(**{name: tempo.positive(name) for name in _MARGINS if name in tempo.values})


def _part(table: Table, key: str) -> Table:
    if key in table.values:
        return table.child(key, label=f"the table [{key}]")
    return Table({}, (key,), table.file, table.places, f"the table [{key}]")
