"""What a backend sees in one picture."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Seen:
    """Landmarks of one person in one picture, in the canonical order.

    Attributes
    ----------
    xy : ndarray, shape (33, 2)
        Place as a share of the picture's width and height, x right, y down.
    world_m : ndarray, shape (33, 3)
        The model's estimate in metres about the hip centre.
    score : ndarray, shape (33,)
        The model's visibility, 0 to 1.
    """

    xy: NDArray[np.float64]
    world_m: NDArray[np.float64]
    score: NDArray[np.float64]
