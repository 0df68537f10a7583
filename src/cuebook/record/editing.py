"""The edits of a desk by name, for a cell of a notebook; each is the same edit as the one a screen sends."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping, Sequence
from typing import Any

from cuebook.model import DeskState


class Editing(ABC):
    """Edits by name. A repetition is its identity, or the number it was found with."""

    @abstractmethod
    def apply(
        self, edit: Mapping[str, Any], *, key: str | None = None, keep: Mapping[str, Any] | None = None
    ) -> DeskState:
        """Make an edit given as plain values."""

    def move(self, rep: str | int, boundary: str, to_s: float) -> DeskState:
        """Move the start, turn or end of a repetition; a boundary that two share moves for both."""
        return self.apply({"kind": "move", "repetition": _id(rep), "boundary": boundary, "to_s": to_s})

    def split(self, rep: str | int, at_s: float) -> DeskState:
        """Make two repetitions of one."""
        return self.apply({"kind": "split", "repetition": _id(rep), "at_s": at_s})

    def merge(self, first: str | int, second: str | int) -> DeskState:
        """Make one repetition of two neighbours."""
        return self.apply({"kind": "merge", "first": _id(first), "second": _id(second)})

    def drop(self, rep: str | int) -> DeskState:
        """Take a repetition out."""
        return self.apply({"kind": "drop", "repetition": _id(rep)})

    def add(self, start_s: float, end_s: float, *, turn_s: float | None = None, side: str | None = None) -> DeskState:
        """Put in a repetition that was missed."""
        return self.apply({"kind": "add", "start_s": start_s, "turn_s": turn_s, "end_s": end_s, "side": side})

    def set_side(self, rep: str | int, side: str) -> DeskState:
        """Say which side works in a repetition."""
        return self.apply({"kind": "side", "repetition": _id(rep), "side": side})

    def overrule(self, cue: str, outcome: str | None, *, repetition: str | int | None = None, side: str | None = None,
                 reason: str = "") -> DeskState:  # fmt: skip
        """See an outcome otherwise than it was measured, with the reason; an outcome of None takes that back."""
        rep = None if repetition is None else _id(repetition)
        return self.apply(
            {"kind": "overrule", "cue": cue, "repetition": rep, "side": side, "outcome": outcome, "reason": reason}
        )

    def note(self, text: str, *, at_s: float | None = None, repetition: str | int | None = None,
             joint: str | None = None, cue: str | None = None, severity: str = "remark") -> DeskState:  # fmt: skip
        """Write a note; the very same one again changes nothing."""
        rep = None if repetition is None else _id(repetition)
        return self.apply({"kind": "note", "text": text, "at_s": at_s, "repetition": rep, "joint": joint, "cue": cue,
                           "severity": severity})  # fmt: skip

    def change_note(self, note_id: str, **fields: Any) -> DeskState:
        """Change some fields of a note."""
        return self.apply({"kind": "change_note", "note": note_id, **fields})

    def drop_note(self, note_id: str) -> DeskState:
        """Take a note away."""
        return self.apply({"kind": "drop_note", "note": note_id})

    def mark(
        self,
        kind: str,
        at_s: float,
        joints: Sequence[str],
        *,
        to: tuple[float, float] | None = None,
        size: float | None = None,
        text: str | None = None,
    ) -> DeskState:
        """Draw a mark on the picture of an instant; the very same one again changes nothing."""
        return self.apply({"kind": "mark", "mark_kind": kind, "at_s": at_s, "joints": list(joints), "to": to,
                           "size": size, "text": text})  # fmt: skip

    def change_mark(self, mark_id: str, **fields: Any) -> DeskState:
        """Change some fields of a mark."""
        return self.apply({"kind": "change_mark", "mark": mark_id, **fields})

    def drop_mark(self, mark_id: str) -> DeskState:
        """Take a mark away."""
        return self.apply({"kind": "drop_mark", "mark": mark_id})


def _id(rep: str | int) -> str:
    """Return the identity of a repetition; a number means the one that was found with it."""
    return f"r{rep}" if isinstance(rep, int) else rep
