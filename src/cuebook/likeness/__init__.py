"""Which movement of the library a clip looks like."""

from .guess import Guess
from .recognise import another_movement, recognise

__all__ = ["Guess", "another_movement", "recognise"]
