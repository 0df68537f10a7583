"""Pose backends, one file each: listing this folder is the whole registry.

A file named ``<anything>.py`` without a leading underscore must define ``BACKEND``, an object that meets
`PoseBackend`. Nothing else has to be edited to add one.
"""

from __future__ import annotations

import importlib
import importlib.util
from functools import cache
from pathlib import Path
from typing import Protocol, runtime_checkable

import numpy as np
from numpy.typing import NDArray

from cuebook.errors import PoseError, UnknownName
from cuebook.pose.seen import Seen

DEFAULT_BACKEND = "mediapipe-full"


class PoseSession(Protocol):
    """A running model that follows one person through consecutive pictures."""

    def landmarks(self, picture: NDArray[np.uint8]) -> Seen | None:
        """Return the landmarks in an RGB picture (H, W, 3), None if nobody is found."""

    def people(self, picture: NDArray[np.uint8]) -> NDArray[np.float64]:
        """Return hip point and circle point (P, 2, 2) of everybody detected, as shares of width and height."""

    def close(self) -> None:
        """Free what the session holds."""


@runtime_checkable
class PoseBackend(Protocol):
    """A way to find landmarks.

    Attributes
    ----------
    name : str
        Lower case with hyphens; unique.
    version : str
        Part of the key of stored tracks: changes whenever results may change.
    """

    name: str
    version: str

    def why_missing(self) -> str | None:
        """Return None if the backend can be opened, else a sentence that says what to do."""

    def open(self, *, alone: bool = False) -> PoseSession:
        """Start a session; `alone` says that the process does nothing else. Raises `PoseError` if a part is missing."""


def backends(*, folder: Path | None = None) -> dict[str, PoseBackend]:
    """Return all backends by name, in order of their names.

    Parameters
    ----------
    folder : Path or None
        Where to look, by default this folder.

    Raises
    ------
    PoseError
        If a file defines no backend, or two files the same name.
    """
    return dict(_listed(Path(__file__).parent if folder is None else folder))


def find_backend(name: str) -> PoseBackend:
    """Return the backend of that name.

    Raises
    ------
    UnknownName
        If there is none.
    """
    known = backends()
    if name not in known:
        raise UnknownName("pose backend", name, known)
    return known[name]


@cache
def _listed(folder: Path) -> tuple[tuple[str, PoseBackend], ...]:
    found: dict[str, tuple[PoseBackend, str]] = {}
    for file in sorted(folder.glob("[!_]*.py")):
        backend = _load(file)
        if backend.name in found:
            raise PoseError(
                f"Two pose backends are called '{backend.name}': {found[backend.name][1]} and {file.name}; rename one."
            )
        found[backend.name] = (backend, file.name)
    return tuple((name, backend) for name, (backend, _) in sorted(found.items()))


def _load(file: Path) -> PoseBackend:
    if file.parent == Path(__file__).parent:
        module = importlib.import_module(f"{__name__}.{file.stem}")
    else:
        spec = importlib.util.spec_from_file_location(f"cuebook_backend_{file.stem}", file)
        if spec is None or spec.loader is None:
            raise PoseError(f"{file.name} cannot be loaded as a pose backend: check that it is a Python file.")
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
    backend = getattr(module, "BACKEND", None)
    if not isinstance(backend, PoseBackend):
        raise PoseError(f"{file.name} defines no BACKEND with name, version, why_missing() and open(): add it.")
    return backend
