"""Landmarks to joint angles with uncertainty, and the view they were seen from."""

from .mirror import unmirrored
from .picture import with_picture_motion
from .place import in_place
from .signals import measure_motion
from .view import RIGHT_VIEW_DEG, degrees_off, nearest_view

__all__ = [
    "RIGHT_VIEW_DEG",
    "degrees_off",
    "in_place",
    "measure_motion",
    "nearest_view",
    "unmirrored",
    "with_picture_motion",
]
