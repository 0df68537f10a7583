"""What drives a figure, instant by instant."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Drive:
    """Control values of a movement over time; all arrays have the shape (T,).

    Attributes
    ----------
    angle_deg : ndarray
        Control angle of the movement: the driver itself where the figure can hold it exactly.
    depth : ndarray
        The same as a share of the full movement, 0 at the start end, about 1 at the turn.
    second : ndarray
        Share of the second part: the turn of the trunk at the bottom, or the inverted V; 0 to 1.
    side : ndarray
        Working side: +1 left, -1 right.
    other_deg : ndarray
        Bend of the limb that should be straight: trailing or standing knee, elbows at the start.
    lean_deg : ndarray
        Trunk lean beyond what the movement needs; for a push-up the sag of the hips.
    arms : str
        How the arms are held: "reach", "crossed", "hips" or "clasped".
    """

    angle_deg: NDArray[np.float64]
    depth: NDArray[np.float64]
    second: NDArray[np.float64]
    side: NDArray[np.float64]
    other_deg: NDArray[np.float64]
    lean_deg: NDArray[np.float64]
    arms: str = "clasped"

    @property
    def count(self) -> int:
        """Number of instants."""
        return len(self.angle_deg)
