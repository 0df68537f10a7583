"""Signals to repetitions: turning points, the fitted shape of each repetition, phases and holds."""

from cuebook.motion import in_place

from .drivers import driver_doubted, driver_hidden, driver_series
from .find import find_repetitions
from .given import GivenRepetitions, proposed_spans, touching

__all__ = [
    "GivenRepetitions",
    "driver_doubted",
    "driver_hidden",
    "driver_series",
    "find_repetitions",
    "in_place",
    "proposed_spans",
    "touching",
]
