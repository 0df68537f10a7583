"""Clips to raw landmarks: backends, the model files they need, and tracks kept on disk."""

from .backends import DEFAULT_BACKEND, PoseBackend, PoseSession, backends, find_backend
from .doubt import find_doubts
from .follow import Pointed, follow_person, parse_pointed
from .models import add_model, list_models
from .pointing import points_of_clips
from .second_opinion import with_second_opinion
from .seen import Seen
from .track import frames_read, track_pose

__all__ = [
    "DEFAULT_BACKEND",
    "Pointed",
    "PoseBackend",
    "PoseSession",
    "Seen",
    "add_model",
    "backends",
    "find_backend",
    "find_doubts",
    "follow_person",
    "frames_read",
    "list_models",
    "parse_pointed",
    "points_of_clips",
    "track_pose",
    "with_second_opinion",
]
