"""Workspaces, settings and movements, each read once while a batch is planned."""

from __future__ import annotations

from pathlib import Path

from cuebook.model import Movement, Settings
from cuebook.movements import TempoMargins, find_workspace, list_movements, load_movement, read_settings


class Shelf:
    """What was read so far; ten thousand clips of one movement share one."""

    def __init__(self) -> None:
        self._workspaces: dict[Path, Path | None] = {}
        self._settings: dict[Path | None, tuple[Settings, TempoMargins]] = {}
        self._names: dict[Path | None, frozenset[str]] = {}
        self._movements: dict[tuple[str, Path | None], Movement] = {}

    def workspace(self, folder: Path) -> Path | None:
        """Return the workspace that a folder lies in."""
        if folder not in self._workspaces:
            self._workspaces[folder] = find_workspace(folder)
        return self._workspaces[folder]

    def settings(self, workspace: Path | None) -> tuple[Settings, TempoMargins]:
        """Return the settings and margins of a workspace."""
        if workspace not in self._settings:
            self._settings[workspace] = read_settings(workspace)
        return self._settings[workspace]

    def names(self, workspace: Path | None) -> frozenset[str]:
        """Return the names of all movements."""
        if workspace not in self._names:
            self._names[workspace] = frozenset(list_movements(workspace=workspace))
        return self._names[workspace]

    def movement(self, name: str, workspace: Path | None) -> Movement:
        """Return a movement by its name or file."""
        if (name, workspace) not in self._movements:
            self._movements[name, workspace] = load_movement(name, workspace=workspace)
        return self._movements[name, workspace]
