"""Rooms to film in: floor patterns and wall colours."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Colour = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Room:
    """Colours of a room, red green blue from 0 to 1."""

    floor: Colour
    wall: Colour
    board: Colour
    shelf: Colour


ROOMS: dict[str, Room] = {
    "wood": Room((0.58, 0.43, 0.29), (0.80, 0.78, 0.73), (0.90, 0.90, 0.88), (0.42, 0.30, 0.20)),
    "grey": Room((0.44, 0.45, 0.46), (0.66, 0.70, 0.73), (0.40, 0.42, 0.44), (0.82, 0.82, 0.80)),
    "mat": Room((0.62, 0.56, 0.48), (0.74, 0.77, 0.70), (0.86, 0.85, 0.80), (0.30, 0.34, 0.30)),
    "carpet": Room((0.40, 0.36, 0.40), (0.84, 0.80, 0.76), (0.72, 0.66, 0.60), (0.24, 0.22, 0.26)),
}


def floor_texture(name: str, seed: int, *, light: float = 1.0) -> NDArray[np.uint8]:
    """Return the picture of a floor, (512, 512, 3): planks for "wood", a mottle for the others."""
    random = np.random.default_rng(seed + 1)
    size = 512
    base = np.array(ROOMS[name].floor)
    if name == "wood":
        rows, columns = 40, 8
        tone = random.uniform(0.86, 1.10, (rows, columns))
        y, x = np.mgrid[0:size, 0:size]
        row = y * rows // size
        column = ((x + (row % 2) * size // (2 * columns)) * columns // size) % columns
        shade = tone[row, column] + 0.03 * random.normal(size=(size, 1)) + 0.02 * random.normal(size=(size, size))
        shade = shade * np.where((y * rows) % size < rows, 0.72, 1.0)
    else:
        coarse = np.kron(random.normal(size=(64, 64)), np.ones((8, 8)))
        shade = 1.0 + 0.035 * coarse + 0.05 * random.normal(size=(size, size))
    return np.clip(230 * light * base * shade[..., None], 0, 255).astype(np.uint8)
