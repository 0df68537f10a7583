"""Movements and their cues as files a coach can write, and the tempo a coach prescribes."""

from .cautions import CAUTION, STOP_AND_GET_HELP, STOP_AND_TELL_THE_COACH
from .load import check_movement, list_movements, load_movement
from .prescribe import prescribe
from .tempo import TempoMargins, parse_tempo, repetition_seconds, time_under_tension
from .workspace import find_workspace, read_settings

__all__ = [
    "CAUTION",
    "STOP_AND_GET_HELP",
    "STOP_AND_TELL_THE_COACH",
    "TempoMargins",
    "check_movement",
    "find_workspace",
    "list_movements",
    "load_movement",
    "parse_tempo",
    "prescribe",
    "read_settings",
    "repetition_seconds",
    "time_under_tension",
]
