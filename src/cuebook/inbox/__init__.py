"""From a folder of what phones sent to clips that are sorted, named and ready, and to what must be asked."""

from .entries import STATES, Entry, Finding, Inbox, Question
from .sort import sort_inbox

__all__ = ["STATES", "Entry", "Finding", "Inbox", "Question", "sort_inbox"]
