"""Pure functions that take one value from one repetition."""

from .registry import Measure, Occasion, find_measure, full_name, measures

__all__ = ["Measure", "Occasion", "find_measure", "full_name", "measures"]
