"""The names by which people call the movements of the library."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

from cuebook.model import Movement
from cuebook.movements import list_movements, load_movement

from .names import slug


@dataclass(frozen=True, slots=True, kw_only=True)
class Library:
    """All movements of the package and of a workspace.

    Attributes
    ----------
    movements : dict of str to Movement
        By name.
    """

    movements: dict[str, Movement]

    def find(self, text: str) -> str | None:
        """Return the movement whose name or title is `text`, whatever the case, spaces or hyphens; else None."""
        wanted = slug(text)
        for name, movement in self.movements.items():
            if wanted in (slug(name), slug(movement.title), f"{slug(name)}s", f"{slug(movement.title)}s"):
                return name
        return None

    def inside(self, text: str) -> str | None:
        """Return the movement with the longest name that stands as whole words in `text`; else None."""
        padded = f"-{slug(text)}-"
        fits = [
            (len(said), name)
            for name, movement in self.movements.items()
            for said in (slug(name), slug(movement.title), f"{slug(name)}s")
            if f"-{said}-" in padded
        ]
        return max(fits)[1] if fits else None

    def title(self, name: str) -> str:
        """Return what people call a movement; the name itself where it is not in the library."""
        return self.movements[name].title.lower() if name in self.movements else name

    def hint(self, text: str) -> str:
        """Return what to write instead of a name that is not there."""
        near = get_close_matches(slug(text), self.movements, n=2)
        return f", did you mean {' or '.join(near)}?" if near else f", known are {', '.join(self.movements)}."


def read_library(workspace: Path | None) -> Library:
    """Load every movement.

    Parameters
    ----------
    workspace : Path or None
        A coach's folder with movements of their own.

    Raises
    ------
    MovementError
        If a movement file is not valid.
    """
    names = list_movements(workspace=workspace)
    return Library(movements={name: load_movement(name, workspace=workspace) for name in names})
