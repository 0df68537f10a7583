"""The contact sheet in a notebook."""

from __future__ import annotations

import logging
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import anywidget
import ipywidgets
import traitlets

from cuebook.errors import BatchError, CuebookError, InboxError
from cuebook.inbox.entries import REASONS, STATES, Inbox
from cuebook.inbox.sort import sort_inbox
from cuebook.inbox.write import Folder
from cuebook.movements.cautions import CAUTION
from cuebook.widgets.assets import joined, style

from .group import needs_a_look, plot_cues
from .rows import sheet_rows
from .scoring import SCORES, start, to_score
from .stills import kept_strip
from .triage import Triage

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from cuebook.batch.background import Scoring
    from cuebook.batch.job import Event

log = logging.getLogger(__name__)

STRIPS = "strips"
_PER_SECOND = 5.0
"""Steps of a batch that are shown at most in a second."""


class SheetView(anywidget.AnyWidget):
    """The table of clips; `ContactSheet` answers what is done on it.

    Attributes
    ----------
    rows : list of dict
        From `cuebook.sheet.rows.sheet_rows`.
    decisions : dict
        State, reason and person by short hash of the clip.
    scoring : dict
        ``going``, ``done``, ``total`` and ``words`` of the batch, empty before one.
    results : dict
        What a batch said of each clip, by file.
    words : dict
        States, reasons and the caution, as people read them.
    """

    _esm = joined("sheet.js")
    _css = style("sheet.css")
    rows = traitlets.List().tag(sync=True)
    decisions = traitlets.Dict().tag(sync=True)
    scoring = traitlets.Dict().tag(sync=True)
    results = traitlets.Dict().tag(sync=True)
    words = traitlets.Dict({"states": STATES, "reasons": REASONS, "caution": CAUTION}).tag(sync=True)


class ContactSheet(ipywidgets.VBox):
    """A sorted inbox as a sheet of clips: decide, score the rest, open the desk on one.

    Parameters
    ----------
    inbox : Inbox
        What was received.
    source : Path
        Where the files lie.
    folder : Path
        The sorted inbox: decisions, strips and scores are kept in it.
    who : str
        Who decides.
    today : date
        From which waiting is counted.
    options : dict
        For scoring, such as ``tempo`` or ``workers``.

    Raises
    ------
    InboxError
        If the file of decisions cannot be read.
    """

    def __init__(
        self, inbox: Inbox, *, source: Path, folder: Path, who: str, today: date, options: dict[str, Any]
    ) -> None:
        self.inbox, self.folder = inbox, folder
        self._source, self._who, self._options = source, who, options
        self._triage = Triage(folder, who=who)
        self._entries = {e.clip: e for e in inbox.entries if e.facts is not None}
        self._strips = ThreadPoolExecutor(max_workers=1, thread_name_prefix="strips")
        self._scoring: Scoring | None = None
        self._told_at = 0.0
        self.view = SheetView(rows=sheet_rows(inbox, today=today), decisions=self._standing(), results=self._results())
        self.view.on_msg(self._heard)
        self.place = ipywidgets.Output()
        super().__init__([self.view, self.place])

    @property
    def states(self) -> dict[str, str]:
        """The state that stands for every clip, by short hash: what was decided, else what the inbox proposed."""
        return {clip: e.state for clip, e in self._entries.items()} | {
            clip: d.state for clip, d in self._triage.standing.items()
        }

    def decide(self, clip: str, state: str, *, reason: str = "", key: str = "") -> None:
        """Decide about a clip, as a key on the sheet does.

        Parameters
        ----------
        clip : str
            Short hash.
        state : str
            A key of `cuebook.inbox.entries.STATES`.
        reason : str
            Why it is to be filmed again, a key of `cuebook.inbox.entries.REASONS`.
        key : str
            Unique name of the decision.

        Raises
        ------
        UnknownName
            If there is no such state or reason.
        InboxError
            If a clip is to be filmed again without a reason.
        OutputError
            If it cannot be written.
        """
        self._triage.decide(clip, state, reason=reason, key=key)
        self.view.decisions = self._standing()

    def undo(self, *, key: str = "") -> str | None:
        """Take the last decision back and return its clip; None if there is none left."""
        clip = self._triage.undo(key=key)
        self.view.decisions = self._standing()
        return clip

    def score(self) -> Scoring:
        """Score every clip that stands as usable and whose movement is known, in the background.

        Raises
        ------
        InboxError
            If there is nothing to score.
        """
        if self._scoring is not None and self._scoring.going:
            return self._scoring
        rows = to_score(self.inbox.entries, self.states, clips=self._source)
        self._scoring = start(rows, self.folder, heard=self._step, **self._options)
        self.view.scoring = {"going": True, "done": 0, "total": len(rows), "words": "starting"}
        return self._scoring

    def stop(self) -> None:
        """Stop scoring; what is done stays done."""
        if self._scoring is not None:
            self._scoring.stop()

    def table(self, name: str = "cues") -> pd.DataFrame | None:
        """Return a table of the last batch: ``clips``, ``repetitions`` or ``cues``; None before one.

        Raises
        ------
        BatchError
            If there is no table of that name.
        """
        import pandas as pd

        if name not in ("clips", "repetitions", "cues"):
            raise BatchError(f"There is no table '{name}': ask for clips, repetitions or cues.")
        file = self.folder / SCORES / f"{name}.csv"
        return pd.read_csv(file) if file.is_file() else None

    def plot_cues(self, ax: Axes | None = None) -> Axes:
        """Draw which cue fails most in the group.

        Raises
        ------
        BatchError
            If nothing was scored yet.
        """
        cues = self.table("cues")
        if cues is None or cues.empty:
            raise BatchError("Nothing was scored yet: press 'score the rest' first.")
        return plot_cues(cues, ax)

    def needs_a_look(self) -> pd.DataFrame:
        """Name the clips a coach should look at, each with the reason; words of pain first."""
        return needs_a_look(self.view.rows, self.table("clips"), self.table("cues"))

    def open_desk(self, clip: str) -> None:
        """Open the desk on a clip below the sheet.

        Parameters
        ----------
        clip : str
            Short hash.

        Raises
        ------
        InboxError
            If the movement of the clip is not known yet.
        """
        import cuebook

        entry = self._entries[clip]
        if not entry.movement:
            raise InboxError(f"{entry.file}: say first which movement it shows, in answers.csv of the sorted inbox.")
        asked = {k: v for k, v in self._options.items() if k in ("tempo", "repetitions")}
        desk = cuebook.desk(
            self._source / entry.file,
            movement=entry.movement.value,
            author=self._who,
            mirrored=entry.mirrored.value or "unknown",
            capture_rate_hz=float(entry.capture_rate.value) if entry.capture_rate else None,
            cache_dir=self.folder / "tracks",
            **asked,
        )
        self.place.clear_output()
        self.place.append_display_data(desk)

    def _heard(self, _widget: Any, message: Mapping[str, Any], _buffers: list) -> None:
        """Answer the browser; an error becomes a sentence on the sheet instead of a line in a log."""
        try:
            self._answer(message)
        except CuebookError as error:
            self._say(str(error))
        except Exception as error:
            log.exception("the contact sheet could not do what was asked")
            self._say(f"This could not be done ({type(error).__name__}: {error}).")

    def _answer(self, message: Mapping[str, Any]) -> None:
        kind = message.get("type")
        if kind == "strips":
            for clip in message["clips"]:
                self._strips.submit(self._send_strip, clip)
        elif kind == "decide":
            self.decide(message["clip"], message["state"], reason=message.get("reason", ""), key=message["key"])
        elif kind == "undo":
            clip = self.undo(key=message["key"])
            self._say("There is nothing to take back." if clip is None else "Taken back.", clip=clip)
        elif kind == "score":
            self.score()
        elif kind == "stop":
            self.stop()
        elif kind == "open":
            self._say("Opening the desk below. A clip that was not scored yet takes about as long as it lasts.")
            self.open_desk(message["clip"])

    def _say(self, sentence: str, **more: Any) -> None:
        self.view.send({"type": "say", "sentence": sentence, **more})

    def _send_strip(self, clip: str) -> None:
        entry = self._entries.get(clip)
        if entry is None:
            return
        try:
            strip = kept_strip(self._source / entry.file, self.folder / STRIPS, clip)
        except CuebookError as error:
            self.view.send({"type": "strip", "clip": clip, "failed": str(error)})
            return
        self.view.send({"type": "strip", "clip": clip}, buffers=[strip])

    def _standing(self) -> dict[str, dict[str, str]]:
        return {
            clip: {"state": d.state, "reason": d.reason, "who": d.who, "at": d.at}
            for clip, d in self._triage.standing.items()
        }

    def _step(self, event: Event) -> None:
        """Show a step of the batch; comes from the batch's thread."""
        from cuebook.batch.progress import line

        now = datetime.now().timestamp()
        over = event.done == event.total and event.stage not in ("started", "reading", "writing")
        if not over and now - self._told_at < 1 / _PER_SECOND:
            return
        self._told_at = now
        going = not over and self._scoring is not None and self._scoring.going
        self.view.scoring = {"going": going, "done": event.done, "total": event.total, "words": line(event)}
        if over or event.stage not in ("reading", "writing", "started"):
            self.view.results = self._results()

    def _results(self) -> dict[str, dict[str, str]]:
        """Return what the last batch said of each file, in a few words."""
        clips, cues = self.table("clips"), self.table("cues")
        if clips is None:
            return {}
        out = {}
        for row in clips.to_dict("records"):
            file = row.get("received_as", row["clip"])
            if row["state"] != "scored":
                out[str(file)] = {"words": str(row["state"]).replace("_", " "), "more": str(row["reason"])}
                continue
            counts = {}
            if cues is not None:
                own = cues[(cues["clip"] == row["clip"]) & cues["repetition"].isna()]
                counts = own["outcome"].value_counts().to_dict()
            words = {"met": "met", "near": "near", "not_met": "not met", "not_measurable": "not measurable"}
            said = ", ".join(f"{counts[o]} {w}" for o, w in words.items() if counts.get(o))
            out[str(file)] = {
                "words": f"{row['counted']:.0f} reps; cues: {said or 'none judged'}",
                "more": str(row["fix"]),
            }
        return out

    def __repr__(self) -> str:
        return f"<ContactSheet of {self.inbox.folder}: {len(self.view.rows)} clips, {len(self.view.decisions)} decided>"


def contact_sheet(
    folder: str | Path,
    *,
    out: str | Path | None = None,
    manifest: str | Path | None = None,
    movement: str | None = None,
    pose: bool = False,
    who: str = "the coach",
    today: date | None = None,
    **options: Any,
) -> ContactSheet:
    """Sort an inbox and show it as a contact sheet.

    Parameters
    ----------
    folder : str or Path
        Where the files were saved; nothing in it is changed.
    out : str or Path, optional
        The sorted inbox; default: the folder's name with ``.sorted`` beside it.
    manifest : str or Path, optional
        Table of files and of clips owed.
    movement : str, optional
        Of every clip that says nothing else.
    pose : bool
        Whether to look for the athlete's pose too, which takes about as long as the clips last.
    who : str
        Who decides.
    today : date, optional
        From which waiting is counted.
    **options
        For scoring: ``tempo``, ``repetitions``, ``workers``, ``video`` and more, see `cuebook.score_clips`.

    Returns
    -------
    ContactSheet

    Raises
    ------
    ClipError
        If the folder cannot be read.
    InboxError
        If manifest, answers or decisions cannot be used.
    OutputError
        If the sorted inbox cannot be written.
    """
    source = Path(folder)
    inbox = sort_inbox(source, out=out, manifest=manifest, movement=movement, pose=pose, copy=False)
    sorted_folder = Folder.at(source, out).path
    return ContactSheet(
        inbox, source=source, folder=sorted_folder, who=who, today=today or date.today(), options=dict(options)
    )
