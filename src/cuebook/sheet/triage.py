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
        self._lock = threading.RLock()
        self._size = 0
        self._log: list[Decision] = []
        self._look()

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
            self._look()
            if key and any(d.key == key for d in self._log):
                return
            self._append(decision)

    def undo(self, *, key: str = "") -> str | None:
        """Take the last decision back; the one before it holds again. Return the clip, None if nothing is left."""
        with self._lock:
            self._look()
            if key and any(d.key == f"undo:{key}" for d in self._log):
                return None
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
        """Add one line; nothing that stands in the file is ever changed."""
        line = json.dumps(asdict(decision), ensure_ascii=False) + "\n"
        try:
            self._file.parent.mkdir(parents=True, exist_ok=True)
            with self._file.open("ab") as file:
                file.write((b"" if self._ends_whole() else b"\n") + line.encode("utf-8"))
                file.flush()
                os.fsync(file.fileno())
        except OSError as problem:
            raise OutputError(
                f"{self._file} cannot be written ({problem.strerror}): the decision is not kept."
            ) from problem
        self._look()

    def _ends_whole(self) -> bool:
        """Tell whether the last line was written to its end."""
        if self._file.stat().st_size == 0:
            return True
        with self._file.open("rb") as file:
            file.seek(-1, os.SEEK_END)
            return file.read(1) == b"\n"

    def _look(self) -> None:
        """Read the file where it has grown, also by another notebook that is open on the same inbox."""
        size = self._file.stat().st_size if self._file.is_file() else 0
        if size != self._size:
            self._log, self._size = _decisions(self._file) if size else [], size


def _decisions(file: Path) -> list[Decision]:
    """Read all decisions; lines that a crash cut off are left out, since they were never said to be kept."""
    try:
        data = file.read_bytes()
    except OSError as problem:
        raise InboxError(f"{file} cannot be read ({problem.strerror}): check who may read it.") from problem
    out = []
    for number, line in enumerate(data.split(b"\n"), start=1):
        if not line.strip(b"\0\r "):
            continue
        try:
            out.append(Decision(**json.loads(line.decode("utf-8"))))
        except (ValueError, TypeError) as cause:
            if not line.rstrip().endswith(b"}"):
                continue
            raise InboxError(
                f"{file.name} line {number} cannot be read: take that line out, or restore the file."
            ) from cause
    return out
