"""Frozen types that every other folder speaks; no input or output, no numerics beyond one-line properties."""

from .clip import Clip
from .measurement import Measurement, NotMeasurable
from .motion import Doubt, Motion, Signal, View
from .movement import Cue, Driver, FilmingCard, Limit, Movement, Source, Variant
from .prescription import PHASES, Prescription, Tempo
from .repetition import Repetition
from .review import Headline, Outcome, ReviewData, Settings, TempoResult, Verdict
from .track import LANDMARKS, Track, landmark_index

__all__ = [
    "LANDMARKS",
    "PHASES",
    "Clip",
    "Cue",
    "Doubt",
    "Driver",
    "FilmingCard",
    "Headline",
    "Limit",
    "Measurement",
    "Motion",
    "Movement",
    "NotMeasurable",
    "Outcome",
    "Prescription",
    "Repetition",
    "ReviewData",
    "Settings",
    "Signal",
    "Source",
    "Tempo",
    "TempoResult",
    "Track",
    "Variant",
    "Verdict",
    "View",
    "landmark_index",
]
