"""Points that somebody named on the command line, for one clip or for several by their names."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import PurePosixPath

from cuebook.errors import PoseError

from .follow import parse_pointed


def points_of_clips(said: Sequence[str], names: Sequence[str]) -> dict[str, str]:
    """Return the point on the athlete for every clip that was named with one.

    Parameters
    ----------
    said : sequence of str
        Each ``X,Y@T``, where there is a single clip, or ``CLIP=X,Y@T``.
    names : sequence of str
        The clips as they are shown; a clip may be named by its whole path or by its last part.

    Returns
    -------
    dict of str to str
        The point as text, by name.

    Raises
    ------
    PoseError
        If a point cannot be read, several clips are there and none is named, or there is no such clip.
    """
    out: dict[str, str] = {}
    for text in said:
        named, equals, point = text.rpartition("=")
        parse_pointed(point)
        fits = _fits(named.strip(), names) if equals else list(names)
        if len(fits) != 1:
            raise PoseError(_refusal(named.strip(), point, fits, names))
        if fits[0] in out:
            raise PoseError(f"Two points are named for {fits[0]}: leave the one on the athlete.")
        out[fits[0]] = point.strip()
    return out


def _fits(named: str, names: Sequence[str]) -> list[str]:
    whole = named.replace("\\", "/").removeprefix("./").casefold()
    exact = [name for name in names if name.replace("\\", "/").casefold() == whole]
    return exact or [name for name in names if PurePosixPath(name.replace("\\", "/")).name.casefold() == whole]


def _refusal(named: str, point: str, fits: Sequence[str], names: Sequence[str]) -> str:
    if not names:
        return f"There is no clip for the point {point}: check the folder."
    if not named:
        return f"The point {point} does not say in which of {len(names)} clips: write {names[0]}={point}."
    if not fits:
        return f"There is no clip {named} for the point {point}: name one that is there, such as {names[0]}."
    return f"{len(fits)} clips are called {named}: write the path below the folder, such as {fits[0]}={point}."
