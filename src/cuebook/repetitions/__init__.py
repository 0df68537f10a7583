"""Signals to repetitions: turning points, the fitted shape of each repetition, phases and holds."""

from .drivers import driver_hidden, driver_series, in_place
from .find import find_repetitions

__all__ = ["driver_hidden", "driver_series", "find_repetitions", "in_place"]
