"""Landmarks of drawn athletes without a drawing, judged or ready to be judged, for tests of what follows the pose."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np

from cuebook.model import Clip, Doubt, Motion, Movement, Prescription, Repetition, Track
from cuebook.motion import measure_motion
from cuebook.movements import load_movement
from cuebook.pose import find_doubts
from cuebook.repetitions import find_repetitions
from cuebook.synthetic import Camera, ClipSpec, Picture, Truth, landmarks

FILMED = {
    "squat": ("both", 80.0),
    "split-squat": ("left", 80.0),
    "rear-foot-elevated-split-squat-with-rotation": ("right", -45.0),
    "lateral-lunge": ("alternating", 10.0),
    "standing-knee-raise": ("left", 80.0),
    "push-up": ("both", 80.0),
    "push-up-to-inverted-v": ("both", 80.0),
    "glute-bridge": ("both", 80.0),
    "side-lying-thoracic-rotation": ("left", -80.0),
    "standing-trunk-rotation": ("alternating", -45.0),
}
"""Working side, and camera azimuth in degrees, from which each movement is usually filmed."""


@lru_cache(maxsize=64)
def stick(movement: str, azimuth_deg: float, *, side: str | None = None, reps: int = 2, rate_hz: float = 15.0,
          faults: tuple[str, ...] = (), mirrored: bool = False) -> tuple[Track, Truth]:  # fmt: skip
    """Return the track of a perfect pose model, and the truth."""
    spec = ClipSpec(name="stick", body="ash", movement=movement, side=side or FILMED[movement][0], reps=reps, seed=3,
                    camera=Camera(azimuth_deg=azimuth_deg), picture=Picture(rate_hz=rate_hz, mirrored=mirrored),
                    faults=faults)  # fmt: skip
    return landmarks(spec)


@lru_cache(maxsize=64)
def moved(movement: str, azimuth_deg: float) -> tuple[Movement, Motion, tuple[Repetition, ...]]:
    """Return movement, motion and repetitions of a stick clip."""
    track, _ = stick(movement, azimuth_deg)
    known = load_movement(movement)
    motion = measure_motion(track, known, find_doubts(track))
    return known, motion, find_repetitions(motion, known, Prescription())


def clip_of(track: Track, *, slow_motion: bool = False) -> Clip:
    """Return a clip that goes with a track and has no pictures."""
    return Clip(path=Path("stick.mp4"), sha256="0" * 64, times_s=track.times_s, width_px=track.width_px,
                height_px=track.height_px, rotation_deg=0, nominal_rate_hz=15.0, variable_rate=False, codec="none",
                slow_motion=slow_motion, capture_rate_hz=None, warnings=(), frames=lambda *_: iter(()))  # fmt: skip


def spoilt(track: Track, change) -> Track:
    """Return a copy whose picture coordinates `change` has altered in place."""
    xy = np.array(track.xy_px)
    change(xy)
    return replace(track, xy_px=xy)


def said(doubts: tuple[Doubt, ...]) -> list[tuple[str, str]]:
    """Return what is doubted and why."""
    return [(d.what, d.reason) for d in doubts]
