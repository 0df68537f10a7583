"""The edits of one review as they stand: made, undone and done again, always on top of what is in the record."""

from __future__ import annotations

import hashlib
import threading
import uuid
from collections.abc import Callable, Mapping
from typing import Any

from cuebook.errors import CuebookError, ModelError, RecordError, UnknownName
from cuebook.model import Change, DeskState, Movement

from .connect import Record
from .edits import MAKES_ONE, Occasion, applied, checked, words_of
from .log import Correction, EditLog, Step, now

Finish = Callable[[dict[str, Any], DeskState], dict[str, Any]]

_TRIES = 50
_CROWDED = "Somebody else corrects the same review at this moment: wait a moment and try again."
_GONE_BACK = {"undo": "Taken back", "redo": "Done again"}
_SHORT = {"add": "a", "note": "n", "mark": "m"}


class EditBook:
    """The edits of one review.

    Parameters
    ----------
    record : Record
        Where they are kept.
    review_id : int
        Row of the measured review.
    author : str
        Who edits.
    start : DeskState
        Before any edit.
    movement : Movement
        Its side rule and cues.
    clip_s : float
        Length of the clip, seconds.
    finish : callable, optional
        ``finish(edit, state after it)`` gives the edit with what has to be looked up once, such as turns.

    Attributes
    ----------
    message : str
        One sentence where an earlier edit could not be made again, or empty.
    """

    def __init__(self, record: Record, review_id: int, *, author: str, start: DeskState, movement: Movement,
                 clip_s: float, finish: Finish | None = None) -> None:  # fmt: skip
        self.author, self.message = author, ""
        self._movement, self._clip_s, self._finish = movement, clip_s, finish
        self._lock = threading.RLock()
        self._log = EditLog(record, review_id)
        self._states: dict[int | None, tuple[DeskState, tuple[Change, ...]]] = {None: (start, ())}
        self._head = self._log.head()
        self._load(self._head)

    @property
    def now(self) -> tuple[DeskState, tuple[Change, ...]]:
        """What is in force, and the changes that led there; what another program did meanwhile is seen."""
        with self._lock:
            self._head = self._log.head()
            return self._load(self._head)

    @property
    def state(self) -> DeskState:
        """What is in force."""
        return self.now[0]

    @property
    def undo_words(self) -> str:
        """What undo would take back, or empty."""
        with self._lock:
            return "" if self._head is None else self._log.get(self._head).words

    @property
    def redo_words(self) -> str:
        """What redo would do again, or empty."""
        with self._lock:
            found = self._log.follower(self._head)
        return "" if found is None else found.words

    def history(self) -> tuple[Step, ...]:
        """Return everything that was done, undone and done again, oldest first."""
        return self._log.steps()

    def said_of(self, action: str, key: str) -> str:
        """Return what an undo or redo with that key really did, in words."""
        steps = self._log.steps(key)
        if not steps:
            return f"There is nothing to {action}."
        return f"{_GONE_BACK[action]}: {steps[-1].words}."

    def apply(
        self, edit: Mapping[str, Any], *, key: str | None = None, keep: Mapping[str, Any] | None = None
    ) -> DeskState:
        """Make an edit; see :meth:`Desk.apply`."""
        if edit.get("kind") in ("undo", "redo"):
            return self.go(edit["kind"], key=key)
        wanted = checked(edit)
        own = uuid.uuid4().hex if key is None else key
        if wanted["kind"] in MAKES_ONE:
            wanted["id"] = _SHORT[wanted["kind"]] + hashlib.sha256(own.encode()).hexdigest()[:8]
        with self._lock:
            for _ in range(_TRIES):
                self._head = self._log.head()
                if (key is not None and self._log.knows(key)) or self._do(wanted, own, keep):
                    return self._load(self._head)[0]
        raise RecordError(_CROWDED)

    def go(self, action: str, *, key: str | None = None) -> DeskState:
        """Undo or redo one edit; with nothing left, or with a key seen before, the state stays as it is."""
        with self._lock:
            for _ in range(_TRIES):
                self._head = self._log.head()
                if key is not None and self._log.knows(key):
                    break
                edit = self._undone() if action == "undo" else self._log.follower(self._head)
                if edit is None:
                    break
                to = edit.parent_id if action == "undo" else edit.id
                state = self._load(to)[0]
                if self._log.go(action, edit, who=self.author, head=self._head, to=to, state=state, key=key):
                    self._head = to
                    break
            else:
                raise RecordError(_CROWDED)
            return self._load(self._head)[0]

    def _undone(self) -> Correction | None:
        return None if self._head is None else self._log.get(self._head)

    def _occasion(self, who: str, at: str) -> Occasion:
        return Occasion(movement=self._movement, clip_s=self._clip_s, who=who, at=at)

    def _load(self, head: int | None) -> tuple[DeskState, tuple[Change, ...]]:
        """Return state and changes at an edit, from the nearest one that is known."""
        waiting: list[Correction] = []
        at = head
        while at not in self._states:
            waiting.append(self._log.get(at))
            at = waiting[-1].parent_id
        for edit in reversed(waiting):
            state, changes = self._states[edit.parent_id]
            self._states[edit.id] = self._after(edit, state, changes)
        return self._states[head]

    def _after(self, kept: Correction, state: DeskState, changes: tuple[Change, ...]):
        try:
            state = applied(state, kept.edit, self._occasion(kept.who, kept.at))
        except CuebookError as error:
            self.message = f"An earlier correction ({kept.words}) could not be made again: {error}"
            return state, changes
        return state, (*changes, Change(at=kept.at, who=kept.who, what=kept.words))

    def _do(self, edit: dict[str, Any], key: str, keep: Mapping[str, Any] | None) -> bool:
        """Make an edit on what stands; False where somebody else was quicker."""
        state, changes = self._load(self._head)
        at = now()
        on = self._occasion(self.author, at)
        try:
            after = applied(state, edit, on)
        except (ModelError, UnknownName):
            if self._stands(edit):
                return True
            raise
        if after is state:
            return True
        if self._finish is not None:
            edit = self._finish(edit, after)
            after = applied(state, edit, on)
        words = words_of(edit, state)
        made = self._log.do(edit, words=words, who=self.author, at=at, key=key, head=self._head, state=after,
                            keep=keep)  # fmt: skip
        if made is None:
            return False
        self._states[made] = after, (*changes, Change(at=at, who=self.author, what=words))
        self._head = made
        return True

    def _stands(self, edit: Mapping[str, Any]) -> bool:
        """Return whether the very same edit is in force already."""
        wanted = _bare(edit)
        at = self._head
        while at is not None:
            kept = self._log.get(at)
            if _bare(kept.edit) == wanted:
                return True
            at = kept.parent_id
        return False


def _bare(edit: Mapping[str, Any]) -> dict[str, Any]:
    return {k: v for k, v in edit.items() if k not in ("id", "turns")}
