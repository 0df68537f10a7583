"""The record of a workspace: clips, reviews, corrections, notes, marks, drafts, in one SQLite file."""

from .clips import last_seen, person_before, record_path
from .connect import Record
from .desk import Desk, open_desk
from .log import Step

__all__ = ["Desk", "Record", "Step", "last_seen", "open_desk", "person_before", "record_path"]
