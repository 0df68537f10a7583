"""The coach's desk: the clip with everything drawn over it, its trace, repetitions, cues, corrections and notes."""

from __future__ import annotations

import logging
import os
import weakref
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import anywidget
import traitlets
from numpy.typing import NDArray

from cuebook.errors import CuebookError, ModelError, UnknownName
from cuebook.model import ReviewData
from cuebook.movements import find_workspace
from cuebook.report.view import Review

from .assets import joined, style
from .live import live_values
from .playback import CopyJob, copy_size
from .scene import make_scene

if TYPE_CHECKING:
    from cuebook.record import Desk as Corrections

    from .feedback_form import FeedbackForm
    from .reference_form import ReferenceForm

log = logging.getLogger(__name__)
_OPEN: weakref.WeakSet[Desk] = weakref.WeakSet()
"""Every desk of this notebook: two of one clip show the same."""


@dataclass(frozen=True, slots=True)
class InRow:
    """The place of a clip among several that are looked at one after the other: all names, and its own from 0."""

    names: Sequence[str]
    index: int

    def as_json(self) -> dict[str, Any]:
        """Return what the browser shows: which of how many, and the neighbours' names, None at an end."""
        before = self.names[self.index - 1] if self.index > 0 else None
        after = self.names[self.index + 1] if self.index + 1 < len(self.names) else None
        return {"place": self.index + 1, "total": len(self.names), "before": before, "after": after}


class Desk(anywidget.AnyWidget):
    """A review on the desk, in a notebook.

    Every correction, overruled outcome and note is written to the record before the browser is told that it is kept.

    Parameters
    ----------
    corrections : cuebook.record.Desk
        The opened review with what was corrected in it.
    copy : CopyJob
        The playback copy of the clip.
    beside : tuple of ReviewData and CopyJob, optional
        A review to put beside this one, with the playback copy of its clip.
    row : InRow, optional
        Its place among several clips.

    Attributes
    ----------
    frame : int
        The frame in view; setting it moves the picture.
    focus_wanted : bool
        Whether the keys shall go to this desk as soon as it is shown.
    """

    _esm = joined("desk.js")
    _css = style("desk.css")
    facts = traitlets.Dict().tag(sync=True)
    live = traitlets.Dict().tag(sync=True)
    frame = traitlets.Int(0).tag(sync=True)
    focus_wanted = traitlets.Bool(False).tag(sync=True)

    def __init__(
        self,
        corrections: Corrections,
        *,
        copy: CopyJob,
        beside: tuple[ReviewData, CopyJob] | None = None,
        row: InRow | None = None,
    ) -> None:
        data = corrections.data
        scene = make_scene(data, size_px=copy_size(data.clip))
        name = ":".join(filter(None, (data.clip.sha256[:16], data.movement.name, data.person)))
        facts = scene.facts | {"name": name, "row": None if row is None else row.as_json()}
        self._beside = None if beside is None else (make_scene(beside[0], size_px=copy_size(beside[0].clip)), beside[1])
        facts["beside"] = None if beside is None else self._beside[0].facts | {"repetitions": turns(beside[0])}
        place = corrections.kept.get("position_s")
        super().__init__(
            facts=facts,
            live=live_values(data, corrections.as_json()),
            frame=first_frame(data) if place is None else int(abs(data.clip.times_s - place).argmin()),
        )
        self._corrections, self._copy, self._arrays = corrections, copy, scene.arrays
        self._turn: Callable[[int], None] | None = None
        _OPEN.add(self)
        self.on_msg(self._heard)
        self.observe(self._moved, names="frame")

    @property
    def review(self) -> Review:
        """The review as it stands now, corrections included."""
        return Review(self._corrections.data)

    @property
    def measured(self) -> Review:
        """The review as measured, without any correction."""
        return Review(self._corrections.proposed)

    @property
    def corrections(self) -> Corrections:
        """The record of this review: edits, notes, history, drafts."""
        return self._corrections

    def on_turn(self, call: Callable[[int], None]) -> None:
        """Set what happens when somebody asks for the next clip (1) or the previous one (-1)."""
        self._turn = call

    def remember(self) -> None:
        """Keep the place in the clip, and with it that this clip was in view last."""
        self._corrections.keep(position_s=self._now_s())

    def feedback(self, folder: str | Path | None = None, *, athlete: str | None = None) -> FeedbackForm:
        """Open the form for what the athlete is told; nothing is sent from it.

        Parameters
        ----------
        folder : str or Path, optional
            Where page, picture and text are written on request; default: ``<stem>.feedback`` beside the clip.
        athlete : str, optional
            Whom it is for.
        """
        from .feedback_form import FeedbackForm

        return FeedbackForm(self._corrections, folder=self._beside_clip(folder, "feedback"), athlete=athlete)

    def reference(self, folder: str | Path | None = None) -> ReferenceForm:
        """Open the form that makes this clip a reference: model repetition, key positions, cue sentences.

        Parameters
        ----------
        folder : str or Path, optional
            Where the reference is written; default: ``<stem>.reference`` beside the clip.
        """
        from .reference_form import ReferenceForm

        form = ReferenceForm(self._corrections, folder=self._beside_clip(folder, "reference"), now_s=self._now_s)
        self.observe(lambda _: form.refresh(), names="live")
        return form

    def _now_s(self) -> float:
        times = self._corrections.data.clip.times_s
        return float(times[min(max(0, self.frame), len(times) - 1)])

    def _beside_clip(self, folder: str | Path | None, kind: str) -> Path:
        clip = self._corrections.data.clip.path.resolve()
        return Path(folder) if folder is not None else clip.parent / f"{clip.stem}.{kind}"

    def _heard(self, _widget: Any, message: Mapping[str, Any], buffers: list[memoryview]) -> None:
        """Answer the browser; an error becomes a sentence on the desk instead of a line in a log."""
        kind = message.get("type")
        if kind == "need":
            self._send_figures("figures", self._arrays)
            self._copy.when_done(lambda: self._send_clip("clip", self._copy))
        elif kind == "need-beside" and self._beside is not None:
            scene, copy = self._beside
            self._send_figures("beside-figures", scene.arrays)
            copy.when_done(lambda: self._send_clip("beside-clip", copy))
        elif kind == "keep":
            self._corrections.keep(**message["values"])
        elif kind == "edit":
            self._edit(message["key"], message["edit"], message.get("keep"))
        elif kind == "look":
            self._refresh_or_log()
        elif kind == "turn" and self._turn is not None:
            self._turn(1 if message["by"] > 0 else -1)
        elif kind == "still":
            self.send({"type": "still", "words": self._save_still(float(message["at_s"]), bytes(buffers[0]))})

    def _edit(self, key: str, edit: dict[str, Any], keep: dict[str, Any] | None = None) -> None:
        """Make a change and say what became of it: a refused one is over, one that failed is sent again."""
        refused = failed = words = None
        try:
            self._corrections.apply(edit, key=key, keep=keep)
        except (ModelError, UnknownName) as error:
            refused = str(error)
        except CuebookError as error:
            failed = str(error)
        except Exception as error:
            log.exception("an edit failed")
            failed = f"This change could not be made ({type(error).__name__}: {error})."
        else:
            words = self._shown_everywhere(key, edit.get("kind", ""))
        self.send({"type": "done", "key": key, "refused": refused, "failed": failed, "words": words})

    def _shown_everywhere(self, key: str, kind: str) -> str | None:
        """Show what is kept on each desk of this review, and return what undo or redo did, in words.

        Where that fails the change is on disk all the same, and is confirmed.
        """
        try:
            for desk in (self, *(d for d in _OPEN if d is not self and d.same_review(self))):
                desk.refresh()
            return self._corrections.said_of(kind, key) if kind in ("undo", "redo") else None
        except Exception:
            log.exception("the desk could not be brought up to date")
            return None

    def _refresh_or_log(self) -> None:
        try:
            self.refresh()
        except Exception:
            log.exception("the desk could not be brought up to date")

    def same_review(self, other: Desk) -> bool:
        """Return whether another desk shows the same review in the same record."""
        mine, its = self._corrections, other.corrections
        return mine.review_id == its.review_id and mine.record.path.resolve() == its.record.path.resolve()

    def _save_still(self, at_s: float, picture: bytes) -> str:
        """Write the marked picture as the browser shows it, and return where it is in words."""
        clip = self._corrections.data.clip.path
        folder = clip.resolve().parent / f"{clip.stem}.stills"
        name = f"{clip.stem}-{at_s:06.2f}s.jpg"
        try:
            folder.mkdir(exist_ok=True)
            partial = folder / f".{name}.partial"
            partial.write_bytes(picture)
            os.replace(partial, folder / name)
        except OSError as error:
            return f"The picture could not be saved in {folder.name} ({error.strerror})."
        return f"Saved as {folder.name}/{name}."

    def refresh(self) -> None:
        """Show what the record holds now, for instance after an edit made in Python."""
        self.live = live_values(self._corrections.data, self._corrections.as_json())

    def _moved(self, change: Mapping[str, Any]) -> None:
        times = self._corrections.data.clip.times_s
        self._corrections.keep(position_s=float(times[min(max(0, change["new"]), len(times) - 1)]))

    def _send_figures(self, kind: str, arrays: Mapping[str, NDArray]) -> None:
        kinds = [a.dtype.str.lstrip("<|") for a in arrays.values()]
        self.send({"type": kind, "names": list(arrays), "kinds": kinds}, buffers=[a.tobytes() for a in arrays.values()])

    def _send_clip(self, kind: str, copy: CopyJob) -> None:
        if copy.wait(0):
            self.send({"type": kind}, buffers=[copy.path.read_bytes()])
        else:
            self.send({"type": kind, "failed": f"There is no picture: {copy.failure}"})

    def _repr_mimebundle_(self, **options: Any) -> Any:
        """Add a still and a table for where widgets are not shown."""
        bundle = super()._repr_mimebundle_(**options)
        values, metadata = bundle if isinstance(bundle, tuple) else (bundle, {})
        if values is None:
            return bundle
        return values | {"text/html": self.review._repr_html_(), "text/plain": repr(self)}, metadata

    def __repr__(self) -> str:
        data = self._corrections.data
        return f"<Desk for {data.clip.path.name}: {data.movement.name}, {len(data.repetitions)} repetitions>"


def first_frame(data: ReviewData) -> int:
    """Return the frame that is in view at first: the last one before the first repetition starts.

    The key for the next repetition goes on to the first one from there.
    """
    start = next((r.start_s for r in data.repetitions), None)
    return 0 if start is None else max(0, int(data.clip.times_s.searchsorted(start)) - 1)


def turns(data: ReviewData) -> list[dict[str, Any]]:
    """Return the repetitions of a review that is put beside another: their numbers and the times of their turns."""
    return [{"number": r.number, "side": r.side, "turn_s": r.turn_s} for r in data.repetitions]


def kept_beside(clip: Path) -> Path:
    """Return the folder for landmarks and playback copies of a clip.

    The cache of the workspace; without one the folder of landmarks in the clip's review; without a review a folder
    ``<stem>.desk`` beside the clip.

    Parameters
    ----------
    clip : Path
        The clip.
    """
    clip = clip.resolve()
    workspace = find_workspace(clip.parent)
    if workspace is not None:
        return workspace / "cache"
    reviewed = clip.parent / f"{clip.stem}.review"
    return reviewed / "track" if (reviewed / "review.json").is_file() else clip.parent / f"{clip.stem}.desk"
