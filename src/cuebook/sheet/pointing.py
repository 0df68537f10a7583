"""Pointing at the athlete where two people are in a clip: pictures to point in, and following whom was pointed at."""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

from cuebook.clip import read_clip
from cuebook.errors import CuebookError, InboxError
from cuebook.inbox.entries import STATES, Entry
from cuebook.inbox.framing import FOUND_SHARE
from cuebook.inbox.people import Still, stills_with_people
from cuebook.pose import follow_person, parse_pointed

if TYPE_CHECKING:
    from .screen import SheetView

log = logging.getLogger(__name__)

Share = Callable[[float], None]
_TELL_EVERY_S = 0.2


class Choose(Protocol):
    """Takes the short hash of a clip and a point on the athlete, and returns the clip as it is sorted then."""

    def __call__(self, clip: str, point: str, *, progress: Share | None = None) -> Entry:
        """Follow, keep and sort again."""


class Asking:
    """Asks on the screen who the athlete is, and follows the answer in the background, one clip after the other.

    Parameters
    ----------
    view : SheetView
        The screen.
    choose : callable
        Follows the person at a point and sorts the clip again.
    """

    def __init__(self, view: SheetView, *, choose: Choose) -> None:
        self._view, self._choose = view, choose
        self._looks = ThreadPoolExecutor(max_workers=1, thread_name_prefix="people")
        self._work = ThreadPoolExecutor(max_workers=1, thread_name_prefix="following")
        self._lock = threading.Lock()

    def show(self, entry: Entry, source: Path) -> None:
        """Look for the people in a clip and send pictures with them to the screen."""
        self._looks.submit(self._send_people, entry, source / entry.file)

    def follow(self, clip: str, point: str) -> None:
        """Follow whom somebody pointed at; how it ended is said on the screen."""
        self._show(clip, "waits to be followed")
        self._work.submit(self._follow, clip, point)

    def _send_people(self, entry: Entry, path: Path) -> None:
        try:
            said, pictures = people_message(entry, path)
        except CuebookError as error:
            said, pictures = {"type": "people", "clip": entry.clip, "failed": str(error)}, []
        except Exception as error:  # a thread would swallow it; the coach waits for the picture
            log.exception("the people in a clip could not be looked for")
            said, pictures = {"type": "people", "clip": entry.clip, "failed": f"This could not be done ({error})."}, []
        self._view.send(said, buffers=pictures)

    def _follow(self, clip: str, point: str) -> None:
        told_at = 0.0

        def tell(share: float) -> None:
            nonlocal told_at
            if time.monotonic() - told_at > _TELL_EVERY_S:
                told_at = time.monotonic()
                self._show(clip, f"following the athlete, {share:.0%}")

        kind, said = "refused", ""
        try:
            entry = self._choose(clip, point, progress=tell)
            kind, said = "chosen", f"{entry.file}: {STATES[entry.state]}. {entry.reason}"
        except CuebookError as error:
            said = str(error)
        except Exception as error:  # a thread would swallow it; the coach waits for an answer
            log.exception("the person pointed at could not be followed")
            said = f"This could not be done ({type(error).__name__}: {error})."
        self._show(clip, "")
        self._view.send({"type": kind, "clip": clip, "sentence": said})

    def _show(self, clip: str, words: str) -> None:
        with self._lock:
            others = {name: said for name, said in self._view.following.items() if name != clip}
            self._view.following = others | ({clip: words} if words else {})


def people_message(entry: Entry, path: Path) -> tuple[dict[str, Any], list[bytes]]:
    """Return what a screen needs to ask who the athlete is: pictures, and where people are in them.

    Parameters
    ----------
    entry : Entry
        The received clip.
    path : Path
        Where it lies.

    Raises
    ------
    ClipError
        If the file cannot be used as a clip.
    PoseError
        If the pose backend is missing.
    """
    clip = read_clip(path)
    stills = stills_with_people(clip)
    said = {"type": "people", "clip": entry.clip, "width_px": clip.width_px, "height_px": clip.height_px}
    return said | {"stills": [_still_form(still) for still in stills]}, [still.jpeg for still in stills]


def followed_share(entry: Entry, path: Path, point: str, *, tracks: Path, progress: Share | None = None) -> float:
    """Follow the person at a point and return the share of the clip in which that works.

    Parameters
    ----------
    entry, path : Entry, Path
        The received clip and where it lies.
    point : str
        ``X,Y@T``.
    tracks : Path
        Where landmarks are kept; a point that was followed before costs nothing.
    progress : callable, optional
        Called with the share that is done.

    Raises
    ------
    InboxError
        If the person can be followed in less than half of the clip.
    PoseError
        If nobody is there, or somebody else is too near at that instant.
    ClipError
        If the file cannot be used as a clip.
    """
    rate = float(entry.capture_rate.value) if entry.capture_rate else None
    clip = read_clip(path, capture_rate_hz=rate)
    told = None if progress is None else lambda done, total: progress(done / max(1, total))
    track = follow_person(clip, parse_pointed(point), cache_dir=tracks, progress=told)
    share = float(track.found.mean())
    if share < FOUND_SHARE:
        raise InboxError(_lost(entry, track.times_s[track.found], clip.duration_s))
    return share


def _lost(entry: Entry, followed_s: Sequence[float], duration_s: float) -> str:
    where = f" (from {followed_s[0]:.1f} to {followed_s[-1]:.1f} s)" if len(followed_s) else ""
    return (
        f"In {entry.file} the athlete can be followed for too short a part of {duration_s:.1f} s{where}: the two cross "
        "or come too near to each other. Point in another picture, or have the clip filmed again."
    )


def _still_form(still: Still) -> dict[str, Any]:
    people = [{"x": person.x_px, "y": person.y_px, "r": person.radius_px} for person in still.people]
    return {"time_s": still.time_s, "people": people}
