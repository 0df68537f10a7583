"""Clips to raw landmarks: backends, the model files they need, and tracks kept on disk."""

from .backends import DEFAULT_BACKEND, PoseBackend, PoseSession, backends, find_backend
from .doubt import find_doubts
from .models import add_model, list_models
from .second_opinion import with_second_opinion
from .seen import Seen
from .track import frames_read, track_pose

__all__ = [
    "DEFAULT_BACKEND",
    "PoseBackend",
    "PoseSession",
    "Seen",
    "add_model",
    "backends",
    "find_backend",
    "find_doubts",
    "frames_read",
    "list_models",
    "track_pose",
    "with_second_opinion",
]
