"""The landmarks a pose backend saw, frame by frame, untouched."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .arrays import increasing_times, sealed

LANDMARKS: tuple[str, ...] = (
    "nose", "left_eye_inner", "left_eye", "left_eye_outer", "right_eye_inner", "right_eye", "right_eye_outer",
    "left_ear", "right_ear", "mouth_left", "mouth_right",
    "left_shoulder", "right_shoulder", "left_elbow", "right_elbow", "left_wrist", "right_wrist",
    "left_pinky", "right_pinky", "left_index", "right_index", "left_thumb", "right_thumb",
    "left_hip", "right_hip", "left_knee", "right_knee", "left_ankle", "right_ankle",
    "left_heel", "right_heel", "left_foot_index", "right_foot_index",
)  # fmt: skip
"""Canonical landmark names; backends convert to this order, nobody else does."""

_INDEX = {name: i for i, name in enumerate(LANDMARKS)}


def landmark_index(name: str) -> int:
    """Return the place of a landmark in the canonical order.

    Raises
    ------
    KeyError
        If there is no such landmark.
    """
    return _INDEX[name]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Track:
    """Raw landmarks of one person over a clip.

    Attributes
    ----------
    times_s : ndarray, shape (F,)
        Time stamps of the analysed frames, seconds from the clip's first frame.
    xy_px : ndarray, shape (F, 33, 2)
        Picture coordinates in pixels of the upright clip, x right, y down; NaN where nobody was found.
    world_m : ndarray, shape (F, 33, 3)
        The model's own estimate in metres about the hip centre, x right, y down, z away from the camera; NaN as above.
    score : ndarray, shape (F, 33)
        The model's own visibility, 0 to 1; NaN as above.
    light : ndarray, shape (F,)
        Mean brightness of the picture, 0 to 1.
    width_px, height_px : int
        Size of the upright clip.
    backend, backend_version : str
        What produced the landmarks.
    others_seen : bool
        Whether a second person was seen.
    """

    times_s: NDArray[np.float64]
    xy_px: NDArray[np.float64]
    world_m: NDArray[np.float64]
    score: NDArray[np.float64]
    light: NDArray[np.float64]
    width_px: int
    height_px: int
    backend: str
    backend_version: str
    others_seen: bool = False

    def __post_init__(self) -> None:
        times = increasing_times(self.times_s)
        count, marks = len(times), len(LANDMARKS)
        object.__setattr__(self, "times_s", times)
        for name, shape in (("xy_px", (count, marks, 2)), ("world_m", (count, marks, 3)), ("score", (count, marks)),
                            ("light", (count,))):  # fmt: skip
            object.__setattr__(self, name, sealed(getattr(self, name), name=name, shape=shape))

    @property
    def found(self) -> NDArray[np.bool_]:
        """Whether somebody was found, per frame, shape (F,)."""
        return np.isfinite(self.xy_px[:, 0, 0])

    def xy(self, name: str) -> NDArray[np.float64]:
        """Picture coordinates (F, 2) of one landmark, in pixels."""
        return self.xy_px[:, _INDEX[name]]

    def world(self, name: str) -> NDArray[np.float64]:
        """Model coordinates (F, 3) of one landmark, in metres."""
        return self.world_m[:, _INDEX[name]]
