"""Rendered clips with known truth, their tracks, and what the truth says in the words of the signals."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from cuebook.clip import read_clip
from cuebook.model import Clip, Movement, Track
from cuebook.movements import load_movement
from cuebook.pose import track_pose
from cuebook.synthetic.truth import Truth, read_truth


@dataclass(frozen=True, slots=True, eq=False)
class Case:
    """One rendered clip.

    Attributes
    ----------
    path : Path
    truth : Truth
    clip : Clip
    track : Track
    movement : Movement
    """

    path: Path
    truth: Truth
    clip: Clip
    track: Track
    movement: Movement


def sets_folder() -> Path:
    """Return the folder that holds the rendered sets: ``$CUEBOOK_CLIP_SETS``, else ``.sets`` in the working folder."""
    return Path(os.environ.get("CUEBOOK_CLIP_SETS", ".sets"))


def load_case(path: Path, *, workers: int = 1) -> Case:
    """Return one clip with its truth and its track, which is kept beside the set."""
    truth = read_truth(path.with_suffix(".truth.json"))
    clip = read_clip(path)
    track = track_pose(clip, workers=workers, cache_dir=path.parent / "tracks")
    return Case(path, truth, clip, track, load_movement(truth.spec.movement))


def load_set(name: str, *, only: str = "") -> list[Case]:
    """Return all cases of a set in order of name, those whose name holds `only`."""
    return [load_case(p) for p in sorted((sets_folder() / name).glob("[!.]*.mp4")) if only in p.stem]


def true_signal(truth: Truth, name: str, times_s: np.ndarray) -> np.ndarray:
    """Return the true course of a signal at given instants, NaN while getting into place.

    Hip flexion is the angle between trunk and thigh in space with the sign of the one across the hip line, so that an
    extended hip is negative.
    """
    angles = truth.angles_deg
    if name.endswith("hip_flexion"):
        side = name.split("_")[0]
        values = angles[f"{side}_hip_included"] * np.where(angles[name] < 0, -1.0, 1.0)
    else:
        values = angles[name]
    inside = np.interp(times_s, truth.times_s, truth.in_set.astype(float)) > 0.99
    return np.where(inside, np.interp(times_s, truth.times_s, values), np.nan)


def true_yaw(truth: Truth) -> float:
    """Return the median true azimuth of the camera during the set, degrees."""
    return float(np.median(truth.camera_yaw_deg[truth.in_set]))
