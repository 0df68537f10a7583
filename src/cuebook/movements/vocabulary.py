"""The words a movement file may use, beside the names of measures, which their own folder lists."""

from __future__ import annotations

from typing import get_args

from cuebook.model.motion import ViewName
from cuebook.model.movement import Event, SideRule, SourceKind

DRIVERS: tuple[str, ...] = ("knee_flexion", "hip_flexion", "elbow_flexion", "shoulder_flexion", "trunk_rotation")
"""Signals that can drive a repetition."""

FAMILIES: tuple[str, ...] = ("standing", "prone", "supine", "side-lying")
PATTERNS: tuple[str, ...] = ("squat", "hinge", "lunge", "push", "pull", "rotate", "brace", "stretch")
LIMBS: tuple[str, ...] = ("working", "other", "near", "both")
VIEWS: tuple[str, ...] = tuple(v for v in get_args(ViewName) if v != "unknown")
EVENTS: tuple[str, ...] = get_args(Event)
SIDES: tuple[str, ...] = get_args(SideRule)
SOURCE_KINDS: tuple[str, ...] = get_args(SourceKind)
