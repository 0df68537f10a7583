"""Opening every file once: hash, container, a few pictures, date; what was learnt is remembered by hash."""

from __future__ import annotations

import json
import logging
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

from cuebook.clip import file_hash, read_clip
from cuebook.clip.read import SHORTEST_CLIP_S
from cuebook.clip.stamps import read_stamps
from cuebook.errors import ClipError
from cuebook.model import Clip

from .dates import captured, date_in_name, received
from .entries import UNKNOWN, Facts, Known
from .pictures import Looks, look_at

log = logging.getLogger(__name__)

MEMORY_VERSION = 1
"""Raised whenever what is learnt from a file changes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Received:
    """One file and what it says by itself.

    Attributes
    ----------
    path : Path
        Where it lies.
    file : str
        Path below the inbox.
    size_bytes, sha256, received : int, str, str
        As in `Entry`.
    trouble : str
        Why it is no clip that can be used, empty if it is one.
    short_s : float or None
        Its length, where that alone is the trouble.
    facts, looks, captured, warnings
        None or empty where there is trouble.
    """

    path: Path
    file: str
    size_bytes: int
    sha256: str
    received: str
    trouble: str = ""
    short_s: float | None = None
    facts: Facts | None = None
    looks: Looks | None = None
    captured: Known = UNKNOWN
    warnings: tuple[str, ...] = ()


def receive(
    files: Sequence[Path], folder: Path, *, memory: Path, progress: Callable[[float], None] | None = None
) -> list[Received]:
    """Open every file.

    Parameters
    ----------
    files : sequence of Path
        From `gather`.
    folder : Path
        The inbox, for names.
    memory : Path
        File in which an earlier run remembered what it learnt; read, not written.
    progress : callable or None
        Called with the share done.
    """
    known = _remembered(memory)
    out = []
    for number, path in enumerate(files, start=1):
        out.append(_receive(path, path.relative_to(folder).as_posix(), known))
        if progress is not None:
            progress(number / len(files))
    return out


def memory_text(received: Sequence[Received]) -> str:
    """Return what to remember of all files, as JSON."""
    clips = {}
    for one in received:
        if one.sha256:
            clips[one.sha256] = {
                "trouble": one.trouble,
                "short_s": one.short_s,
                "facts": None if one.facts is None else asdict(one.facts),
                "looks": None if one.looks is None else one.looks.packed(),
                "captured": asdict(one.captured),
                "warnings": list(one.warnings),
            }
    return json.dumps({"version": MEMORY_VERSION, "clips": clips}, indent=1)


def holds_memory(memory: Path) -> bool:
    """Tell whether a file is what an earlier run remembered, whichever version wrote it."""
    try:
        stored = json.loads(memory.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return False
    return isinstance(stored, dict) and {"version", "clips"} <= stored.keys()


def _remembered(memory: Path) -> dict[str, dict]:
    try:
        stored = json.loads(memory.read_text(encoding="utf-8"))
        return stored["clips"] if stored["version"] == MEMORY_VERSION else {}
    except FileNotFoundError:
        return {}
    except (OSError, ValueError, KeyError, TypeError) as cause:
        log.warning("%s cannot be read (%s), so every file is opened again", memory.name, cause)
        return {}


def _receive(path: Path, file: str, known: dict[str, dict]) -> Received:
    try:
        head = {"path": path, "file": file, "size_bytes": path.stat().st_size, "received": received(path)}
        sha256 = file_hash(path)
    except OSError as cause:
        why = f"{path.name} cannot be read ({cause.strerror}): check who may read the file."
        return Received(path=path, file=file, size_bytes=0, sha256="", received="", trouble=why)
    if (stored := known.get(sha256)) is not None:
        try:
            return Received(**head, sha256=sha256, **_unpacked(stored, path))
        except (KeyError, ValueError, TypeError) as cause:
            log.warning("what was remembered of %s cannot be used (%s)", path.name, cause)
    return Received(**head, sha256=sha256, **_opened(path))


def _unpacked(stored: dict, path: Path) -> dict:
    looks, facts, when = stored["looks"], stored["facts"], Known(**stored["captured"])
    if when and when.by != "camera":
        named = date_in_name(path.stem)
        when = Known(value=named, by="file name") if named else Known(value=received(path), by="file time")
    return {
        "trouble": stored["trouble"],
        "short_s": stored["short_s"],
        "facts": None if facts is None else Facts(**facts),
        "looks": None if looks is None else Looks.unpacked(looks),
        "captured": when,
        "warnings": tuple(stored["warnings"]),
    }


def _opened(path: Path) -> dict:
    import av

    try:
        clip = read_clip(path)
        looks = look_at(clip)
        if looks is None:
            return {"trouble": f"Not one picture of {path.name} can be decoded: copy it from the phone again."}
        return {"facts": facts_of(clip), "looks": looks, "captured": captured(path), "warnings": clip.warnings}
    except ClipError as refused:
        return {"trouble": str(refused), "short_s": _short(path)}
    except av.FFmpegError as cause:
        return {"trouble": f"{path.name} cannot be decoded ({cause.strerror}): copy it from the phone again."}


def _short(path: Path) -> float | None:
    """Return the length of a clip that was refused for being too short, None if that was not why."""
    import av

    try:
        stamps = read_stamps(path)
    except (ClipError, av.FFmpegError):
        return None
    length_s = float(stamps.times_s[-1])
    return length_s if 0.0 < length_s < SHORTEST_CLIP_S and not stamps.broken else None


def facts_of(clip: Clip) -> Facts:
    """Return what the container says about a clip."""
    return Facts(
        duration_s=round(clip.duration_s, 3),
        frames=len(clip.times_s),
        width_px=clip.width_px,
        height_px=clip.height_px,
        rate_hz=round(clip.nominal_rate_hz, 3),
        variable_rate=clip.variable_rate,
        rotation_deg=clip.rotation_deg,
        codec=clip.codec,
        slow_motion=clip.slow_motion,
        capture_rate_hz=clip.capture_rate_hz,
    )
