"""What a sorted inbox leaves on disk: tables, messages and the clips under their new names."""

from __future__ import annotations

import json
import logging
import shutil
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path

import cuebook
from cuebook.clip import file_hash
from cuebook.errors import OutputError
from cuebook.whole import whole_file, write_whole

from .answers import answers_text
from .entries import REASONS, STATES, Entry, Finding, Inbox
from .gather import is_litter
from .library import Library
from .messages import messages_text, missing_text, refilm_requests
from .pain import pain_words
from .receive import Received, holds_memory, memory_text
from .table import write_table

log = logging.getLogger(__name__)

SCHEMA = 1
RESULT, TABLE, ANSWERS, MESSAGES, MISSING, MEMORY = (
    "inbox.json", "inbox.csv", "answers.csv", "messages.txt", "missing.txt", "looks.json",
)  # fmt: skip
CLIPS, TRACKS = "clips", "tracks"
READY = ("usable", "partly")
"""States whose clips are copied under their new names: those that can be judged."""

_COLUMNS = (
    *("file", "state", "state_words", "reason", "refilm", "athlete", "athlete_from", "movement", "movement_from"),
    *("looks_like", "looks_like_chance", "looks_like_sure", "side", "mirrored", "set", "captured", "captured_from"),
    *("message", "pain", "new", "last_feedback", "new_name", "kept", "quality", "duration_s", "frames", "width_px"),
    *("height_px", "rate_hz", "variable_rate", "rotation_deg", "capture_rate_hz", "codec", "size_bytes", "received"),
    *("sha256", "looked"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Folder:
    """The folder that holds the result; made when something is written."""

    path: Path
    earlier: Mapping[str, object]

    @classmethod
    def at(cls, source: Path, out: str | Path | None) -> Folder:
        """Return the folder for an inbox, after checking that it may be written.

        Raises
        ------
        OutputError
            If it is a file, the inbox itself, or holds something that is no sorted inbox.
        """
        path = Path(out) if out is not None else source.resolve().with_name(f"{source.resolve().name}.sorted")
        if path.resolve() == source.resolve():
            raise OutputError(f"{path} is the inbox itself, in which nothing is changed: give --out another folder.")
        if path.exists() and not path.is_dir():
            raise OutputError(f"{path} is a file: give --out a folder.")
        result = path / RESULT
        if path.is_dir() and any(path.iterdir()) and not _is_ours(path):
            raise OutputError(f"{path} holds no sorted inbox: give --out a new or an empty folder.")
        return cls(path=path, earlier=_earlier(result))

    def tracks(self, workspace: Path | None) -> Path:
        """Return where landmarks are kept: the workspace's cache, else beside the result."""
        return workspace / "cache" if workspace is not None else self.path / TRACKS

    def begin(self, received: Sequence[Received]) -> None:
        """Write what was learnt from opening the files, so that a run that is stopped from now on can be continued.

        Raises
        ------
        OutputError
            If it cannot be written.
        """
        try:
            self.path.mkdir(parents=True, exist_ok=True)
        except OSError as cause:
            raise OutputError(f"{self.path} cannot be written ({cause.strerror}): choose another --out.") from cause
        self._put(MEMORY, memory_text(received))

    def names_before(self) -> dict[str, str]:
        """Return the names that an earlier run gave, by hash."""
        files = self.earlier.get("files", [])
        return {f["sha256"]: f["new_name"] for f in files if f.get("new_name")}  # type: ignore[union-attr]

    def write(
        self,
        inbox: Inbox,
        received: Sequence[Received],
        *,
        answered: Sequence[Mapping[str, str]],
        library: Library,
        copy: bool,
        now: datetime,
    ) -> None:
        """Write everything; each file appears whole or not at all, the result itself last.

        Parameters
        ----------
        inbox : Inbox
            What was found.
        received : sequence of Received
            Where the files lie, and what to remember of them.
        answered : sequence of mapping
            Lines of ``answers.csv`` that hold an answer.
        library : Library
            For titles and filming cards.
        copy : bool
            Whether to copy clips.
        now : datetime
            The present.

        Raises
        ------
        OutputError
            If it cannot be written.
        """
        requests = refilm_requests(inbox.entries, before=self.earlier.get("refilm_asked", {}), today=now.date())  # type: ignore[arg-type]
        try:
            self.path.mkdir(parents=True, exist_ok=True)
            if copy:
                copy_clips(inbox, {one.file: one.path for one in received}, self.path / CLIPS)
            self._put(MEMORY, memory_text(received))
            self._put(ANSWERS, answers_text(inbox.questions, answered))
            self._put(MESSAGES, messages_text(inbox, requests=requests, library=library))
            self._put(MISSING, missing_text(inbox, today=now.date(), library=library))
            self._put(TABLE, table_text(inbox))
            self._put(RESULT, result_text(inbox, requests=requests, now=now))
        except OSError as cause:
            raise OutputError(f"{self.path} cannot be written ({cause.strerror}): choose another --out.") from cause

    def _put(self, name: str, text: str) -> None:
        write_whole(self.path / name, text)


def copy_clips(inbox: Inbox, paths: Mapping[str, Path], folder: Path) -> None:
    """Copy the clips that can be judged under their new names, and take away copies that are no longer wanted.

    Parameters
    ----------
    inbox : Inbox
        With the new names.
    paths : mapping of str to Path
        Where the received files lie.
    folder : Path
        Where the copies go. Only files of ours are in it: those whose hash is that of a received file are removed
        where the clip changed its name or its state.
    """
    wanted = {entry.new_name: entry for entry in inbox.entries if entry.state in READY and entry.new_name}
    known = {entry.sha256 for entry in inbox.entries}
    folder.mkdir(exist_ok=True)
    present = {path.name: path for path in folder.iterdir() if path.is_file() and not path.name.startswith(".")}
    for name, path in present.items():
        entry = wanted.get(name)
        if entry is not None and path.stat().st_size == entry.size_bytes and file_hash(path) == entry.sha256:
            continue
        if entry is not None or file_hash(path) in known:
            path.unlink()
    for name, entry in wanted.items():
        if not (folder / name).exists():
            with whole_file(folder / name) as passing:
                shutil.copy2(paths[entry.file], passing)


def result_text(inbox: Inbox, *, requests: Mapping[str, Mapping[str, str]], now: datetime) -> str:
    """Return ``inbox.json``."""
    return json.dumps(
        {
            "schema": SCHEMA,
            "cuebook_version": cuebook.__version__,
            "folder": inbox.folder,
            "made": now.isoformat(timespec="seconds"),
            "counts": inbox.counts,
            "files": [{**asdict(entry), "refilm": list(entry.refilm)} for entry in inbox.entries],
            "owed": [asdict(owed) for owed in inbox.owed],
            "missing": [asdict(owed) for owed in inbox.missing],
            "refilm_asked": requests,
            "ignored": list(inbox.ignored),
        },
        ensure_ascii=False,
        indent=1,
    )


def table_text(inbox: Inbox) -> str:
    """Return ``inbox.csv``: one line a file."""
    return write_table(_COLUMNS, [_row(entry) for entry in inbox.entries])


def _row(entry: Entry) -> dict[str, object]:
    row: dict[str, object] = {
        "file": entry.file, "state": entry.state, "state_words": STATES[entry.state], "reason": entry.reason,
        "refilm": ", ".join(REASONS[r] for r in entry.refilm),
        "athlete": entry.athlete.value, "athlete_from": entry.athlete.by,
        "movement": entry.movement.value, "movement_from": entry.movement.by, "side": entry.side.value,
        "mirrored": entry.mirrored.value, "set": entry.set_number.value,
        "captured": entry.captured.value, "captured_from": entry.captured.by,
        "message": entry.message, "pain": ", ".join(pain_words(entry.message)),
        "new": entry.new, "last_feedback": entry.last_feedback, "new_name": entry.new_name,
        "kept": entry.kept, "size_bytes": entry.size_bytes, "received": entry.received, "sha256": entry.sha256,
        "looked": entry.looked,
        "quality": "; ".join(_figure(f) for f in entry.findings),
    }  # fmt: skip
    if entry.guess is not None:
        row |= {"looks_like": entry.guess.movement, "looks_like_chance": round(entry.guess.chance, 3),
                "looks_like_sure": entry.guess.sure}  # fmt: skip
    if entry.facts is not None:
        row |= {name: getattr(entry.facts, name) for name in _COLUMNS if hasattr(entry.facts, name)}
    return row


def _figure(finding: Finding) -> str:
    value, limit, unit = finding.value, finding.limit, finding.unit
    if value is None:
        return finding.word
    end = "" if unit == "1" else f" {unit}"
    against = "" if limit is None else f", limit {limit:g}{end}"
    return f"{finding.word} ({value:.3g}{end}{against})"


def asked_before(folder: Path) -> Mapping[str, Mapping[str, str]]:
    """Return whom an earlier run asked to film which clip again, and when."""
    asked = _earlier(folder / RESULT).get("refilm_asked", {})
    return asked if isinstance(asked, dict) else {}


def _is_ours(folder: Path) -> bool:
    """Tell whether a folder holds a sorted inbox, or what one left that was stopped before its end."""
    if (folder / RESULT).is_file() or holds_memory(folder / MEMORY):
        return True
    names = {path.name for path in folder.iterdir() if not is_litter(path)}
    tracks = folder / TRACKS
    return names == {TRACKS} and tracks.is_dir() and all(_is_track(path) for path in tracks.iterdir())


def _is_track(path: Path) -> bool:
    return path.suffix == ".npz" or path.name.startswith(".")


def _earlier(result: Path) -> Mapping[str, object]:
    if not result.is_file():
        return {}
    try:
        stored = json.loads(result.read_text(encoding="utf-8"))
        return stored if isinstance(stored, dict) and stored.get("schema") == SCHEMA else {}
    except (OSError, ValueError) as cause:
        log.warning("%s cannot be read (%s): names and requests start anew", result.name, cause)
        return {}
