"""Decisions on received clips, appended to a file line by line: none is lost, every one can be taken back."""

from __future__ import annotations

import json
import os
import threading
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path

from cuebook.errors import InboxError, OutputError, UnknownName
from cuebook.inbox.entries import REASONS, STATES

FILE = "triage.jsonl"
NEEDS_REASON = "refilm"


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """What somebody decided about a clip.

    Attributes
    ----------
    clip : str
        Short hash of its content.
    state : str
        A key of `cuebook.inbox.entries.STATES`; empty where a decision was taken back.
    reason : str
        A key of `cuebook.inbox.entries.REASONS`, for clips to be filmed again; else empty.
    who, at : str
        Name, and UTC time in ISO 8601.
    key : str
        Unique name of the press of a key: the same one is not written twice.
    """

    clip: str
    state: str
    reason: str
    who: str
    at: str
    key: str


class Triage:
    """All decisions on the clips of one inbox.

    Parameters
    ----------
    folder : Path
        The sorted inbox.
    who : str
        Who decides.

    Raises
    ------
    InboxError
        If the file of decisions cannot be read.
    """

    def __init__(self, folder: Path, *, who: str) -> None:
        self._file, self._who = folder / FILE, who
        self._lock = threading.Lock()
        self._cut_at: int | None = None
        self._log = self._read()

    @property
    def standing(self) -> dict[str, Decision]:
        """The decision that holds now for each clip that has one."""
        out: dict[str, Decision] = {}
        for decision in self._log:
            if decision.state:
                out[decision.clip] = decision
            else:
                out.pop(decision.clip, None)
        return out

    @property
    def history(self) -> tuple[Decision, ...]:
        """Everything that was ever decided, in order of time."""
        return tuple(self._log)

    def decide(self, clip: str, state: str, *, reason: str = "", key: str = "") -> None:
        """Decide about a clip; it is on disk when this returns.

        Parameters
        ----------
        clip : str
            Short hash.
        state : str
            A key of `STATES`, or empty to go back to what was proposed.
        reason : str
            A key of `REASONS`; needed to have a clip filmed again.
        key : str
            Unique name of this decision; one that was written before is not written again.

        Raises
        ------
        UnknownName
            If there is no such state or reason.
        InboxError
            If a clip is to be filmed again without a reason.
        OutputError
            If it cannot be written.
        """
        if state and state not in STATES:
            raise UnknownName("state", state, STATES)
        if reason and reason not in REASONS:
            raise UnknownName("reason to film again", reason, REASONS)
        if state == NEEDS_REASON and not reason:
            raise InboxError("A clip to be filmed again needs a reason: the athlete has to know what to change.")
        at = datetime.now(UTC).isoformat(timespec="seconds")
        decision = Decision(clip=clip, state=state, reason=reason, who=self._who, at=at, key=key)
        with self._lock:
            if key and any(d.key == key for d in self._log):
                return
            self._append(decision)
            self._log.append(decision)

    def undo(self, *, key: str = "") -> str | None:
        """Take the last decision back; the one before it holds again. Return the clip, None if nothing is left."""
        depth: list[Decision] = []
        for decision in self._log:
            if decision.key.startswith("undo:"):
                if depth:
                    depth.pop()
            else:
                depth.append(decision)
        if not depth:
            return None
        last = depth.pop()
        before = next((d for d in reversed(depth) if d.clip == last.clip), None)
        state, reason = (before.state, before.reason) if before else ("", "")
        self.decide(last.clip, state, reason=reason, key=f"undo:{key or len(self._log)}")
        return last.clip

    def _append(self, decision: Decision) -> None:
        line = json.dumps(asdict(decision), ensure_ascii=False) + "\n"
        try:
            self._file.parent.mkdir(parents=True, exist_ok=True)
            if self._cut_at is not None:
                os.truncate(self._file, self._cut_at)
            with self._file.open("a", encoding="utf-8") as file:
                file.write(line)
                file.flush()
                os.fsync(file.fileno())
            self._cut_at = None
        except OSError as problem:
            raise OutputError(
                f"{self._file} cannot be written ({problem.strerror}): the decision is not kept."
            ) from problem

    def _read(self) -> list[Decision]:
        """Read what is there; a last line that a crash cut off is left out."""
        if not self._file.is_file():
            return []
        lines = self._file.read_text(encoding="utf-8").split("\n")
        out = []
        for number, line in enumerate(lines, start=1):
            if not line:
                continue
            try:
                out.append(Decision(**json.loads(line)))
            except (ValueError, TypeError) as cause:
                if number == len(lines):
                    self._cut_at = self._file.stat().st_size - len(line.encode("utf-8"))
                    break
                raise InboxError(
                    f"{self._file.name} line {number} cannot be read: take that line out, or restore the file."
                ) from cause
        return out
