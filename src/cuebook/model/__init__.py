"""Frozen types that every other folder speaks; no input or output, no numerics beyond one-line properties."""

from .clip import Clip
from .corrections import (
    BOUNDARIES,
    JOINTS,
    MARK_JOINTS,
    OUTCOMES,
    SEVERITIES,
    Change,
    Corrections,
    DeskState,
    Mark,
    Note,
    Overruled,
    Span,
)
from .draft import MOST_WORDS, Draft, Picture, count_words
from .measurement import Measurement, NotMeasurable
from .motion import Doubt, Motion, Signal, View
from .movement import Cue, Driver, FilmingCard, Limit, Movement, Source, Variant, heading
from .prescription import PHASES, Prescription, Tempo
from .repetition import Repetition
from .review import Headline, Outcome, ReviewData, Settings, TempoResult, Verdict
from .track import LANDMARKS, Track, landmark_index

__all__ = [
    "BOUNDARIES",
    "JOINTS",
    "LANDMARKS",
    "MARK_JOINTS",
    "MOST_WORDS",
    "OUTCOMES",
    "PHASES",
    "SEVERITIES",
    "Change",
    "Clip",
    "Corrections",
    "Cue",
    "DeskState",
    "Doubt",
    "Draft",
    "Driver",
    "FilmingCard",
    "Headline",
    "Limit",
    "Mark",
    "Measurement",
    "Motion",
    "Movement",
    "NotMeasurable",
    "Note",
    "Outcome",
    "Overruled",
    "Picture",
    "Prescription",
    "Repetition",
    "ReviewData",
    "Settings",
    "Signal",
    "Source",
    "Span",
    "Tempo",
    "TempoResult",
    "Track",
    "Variant",
    "Verdict",
    "View",
    "count_words",
    "heading",
    "landmark_index",
]
