"""The contact sheet in a notebook."""

from __future__ import annotations

import logging
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date, datetime
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipywidgets

from cuebook.errors import BatchError, CuebookError, InboxError, UnknownName
from cuebook.inbox.answers import keep_answer
from cuebook.inbox.entries import Entry, Inbox
from cuebook.inbox.library import Library, read_library
from cuebook.inbox.sort import sort_inbox
from cuebook.inbox.write import ANSWERS, Folder
from cuebook.movements import find_workspace

from .group import needs_a_look, plot_cues
from .letters import decided, write_messages
from .pointing import Asking, Share, followed_share
from .results import result_words, scored_files, waiting
from .rows import desk_heading, sheet_rows
from .scoring import SCORES, start, to_score, unseen_words
from .screen import SheetView
from .stills import kept_strip
from .triage import Triage

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from cuebook.batch.background import Scoring
    from cuebook.batch.job import Event
    from cuebook.batch.run import Scored

log = logging.getLogger(__name__)

STRIPS = "strips"
RECORD = "record.sqlite"
"""The record of clips that lie in no workspace, kept in the sorted inbox: nothing is written beside the clips."""
_PER_SECOND = 5.0
"""Steps of a batch that are shown at most in a second."""


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
    sorting : dict
        What `sort_inbox` was asked, so that an answer sorts the inbox again.

    Raises
    ------
    InboxError
        If the file of decisions cannot be read.
    """

    def __init__(
        self,
        inbox: Inbox,
        *,
        source: Path,
        folder: Path,
        who: str,
        today: date,
        options: dict[str, Any],
        sorting: dict[str, Any],
    ) -> None:
        self.inbox, self.folder = inbox, folder
        self._source, self._who, self._today = source, who, today
        self._options, self._sorting = options, sorting
        self._workspace = find_workspace(source)
        self._tracks = folder / "tracks" if self._workspace is None else self._workspace / "cache"
        self._triage = Triage(folder, who=who)
        self._entries = _with_pictures(inbox)
        self._strips = ThreadPoolExecutor(max_workers=1, thread_name_prefix="strips")
        self._scoring: Scoring | None = None
        self._told_at = 0.0
        self._shares: dict[str, float] = {}
        unopened = [e.file for e in inbox.entries if e.facts is None and e.state == "damaged"]
        self.view = SheetView(rows=sheet_rows(inbox, today=today), decisions=self._standing(), results=self._results(),
                              unopened=unopened)  # fmt: skip
        self._asking = Asking(self.view, choose=self.choose_person)
        self.view.on_msg(self._heard)
        if self._triage.standing:
            self._write_messages()
        self.place = ipywidgets.Output()
        super().__init__([self.view, self.place])

    @cached_property
    def _library(self) -> Library:
        return read_library(self._workspace)

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
        self._write_messages()

    def undo(self, *, key: str = "") -> str | None:
        """Take the last decision back and return its clip; None if there is none left."""
        clip = self._triage.undo(key=key)
        self.view.decisions = self._standing()
        self._write_messages()
        return clip

    def _write_messages(self) -> None:
        """Let the messages say what was decided here; until the first decision they are as the inbox wrote them."""
        standing = self._triage.standing
        write_messages(decided(self.inbox, standing), self.folder, library=self._library, today=self._today)

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
        scored = scored_files(self.table("clips"))
        options = {"tracks": self._tracks, "again": True} | self._options
        before, self._shares = self.view.scoring, {}
        self.view.scoring = {"going": True, "done": 0, "total": len(rows), "words": "starting"}
        self.view.results = waiting(self.view.results, [row["received_as"] for row in rows])
        try:
            self._scoring = start(rows, self.folder, heard=self._step, ended=self._ended, **options)
        except CuebookError:
            self.view.scoring = before
            raise
        if sentence := unseen_words(self.inbox.entries, rows, scored=scored):
            self._say(sentence)
        return self._scoring

    def stop(self) -> None:
        """Stop scoring; what is done stays done."""
        if self._scoring is not None:
            self._scoring.stop()

    def choose_person(self, clip: str, point: str, *, progress: Share | None = None) -> Entry:
        """Say who the athlete is where two people are in a clip; the clip is followed, kept and sorted again.

        Parameters
        ----------
        clip : str
            Short hash.
        point : str
            A point on the athlete in a picture in which they stand apart: ``X,Y@T``, in pixels from the top left and
            seconds.
        progress : callable, optional
            Called with the share of the clip that was followed.

        Returns
        -------
        Entry
            The clip as it is sorted now.

        Raises
        ------
        UnknownName
            If there is no such clip.
        InboxError
            If the person can be followed in less than half of the clip; then nothing is kept.
        PoseError
            If nobody is at that point, or somebody else is too near; then nothing is kept.
        """
        entry = self._entry(clip)
        followed_share(entry, self._source / entry.file, point, tracks=self._tracks, progress=progress)
        library = self._library
        keep_answer(self.folder / ANSWERS, clip=clip, file=entry.file, asks="person", answer=point, library=library)
        self.inbox = sort_inbox(self._source, copy=False, earlier=self.inbox, **self._sorting)
        self._entries = _with_pictures(self.inbox)
        standing = self._triage.standing.get(clip)
        if standing is not None and standing.state == "needs_answer":
            self._triage.decide(clip, "")
        self.view.rows = sheet_rows(self.inbox, today=self._today)
        self.view.decisions = self._standing()
        self._write_messages()
        return self._entry(clip)

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
        UnknownName
            If there is no such clip.
        InboxError
            If the movement of the clip is not known yet.
        """
        import cuebook

        entry = self._entry(clip)
        if not entry.movement:
            raise InboxError(f"{entry.file}: say first which movement it shows, in answers.csv of the sorted inbox.")
        asked = {k: v for k, v in self._options.items() if k in ("tempo", "repetitions")}
        desk = cuebook.desk(
            self._source / entry.file,
            movement=entry.movement.value,
            author=self._who,
            mirrored=entry.mirrored.value or "unknown",
            capture_rate_hz=float(entry.capture_rate.value) if entry.capture_rate else None,
            person=entry.person.value or None,
            record=self.folder / RECORD if self._workspace is None else None,
            cache_dir=self._tracks,
            **asked,
        )
        heading = desk_heading(entry, self._triage.standing.get(clip))
        self.place.clear_output()
        self.place.append_display_data(ipywidgets.HTML(heading))
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
            self.view.send({"type": "opened", "clip": message["clip"]})
        elif kind == "people":
            self._asking.show(self._entry(message["clip"]), self._source)
        elif kind == "person":
            self._asking.follow(message["clip"], message["point"])

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

    def _entry(self, clip: str) -> Entry:
        if clip not in self._entries:
            raise UnknownName("clip", clip, self._entries)
        return self._entries[clip]

    def _standing(self) -> dict[str, dict[str, str]]:
        return {
            clip: {"state": d.state, "reason": d.reason, "who": d.who, "at": d.at}
            for clip, d in self._triage.standing.items()
        }

    def _step(self, event: Event) -> None:
        """Show a step of the batch; comes from the batch's thread."""
        from cuebook.batch.progress import words

        now = datetime.now().timestamp()
        passing = event.stage in ("started", "reading", "writing")
        self._shares[event.clip] = event.share if passing else 0.0
        if passing and now - self._told_at < 1 / _PER_SECOND:
            return
        self._told_at = now
        said = words(replace(event, clip=Path(event.clip).name))
        far = round(event.done + min(sum(self._shares.values()), event.total - event.done), 2)
        self.view.scoring = {"going": True, "done": event.done, "total": event.total, "words": said, "far": far}

    def _ended(self, scored: Scored | None, error: BaseException | None) -> None:
        """Show how the batch ended, whether it came to its end, was stopped or failed."""
        now = self.view.scoring
        if scored is not None:
            done = scored.total - scored.states.get("not_done", 0)
            said = f"Stopped, {scored} S goes on from here." if scored.stopped else f"Done, {scored}"
        else:
            done, said = now["done"], f"It ended early: {error}"
        self.view.results = self._results()
        self.view.scoring = {"going": False, "done": done, "total": now["total"], "words": said}

    def _results(self) -> dict[str, dict[str, str]]:
        clips = self.table("clips")
        return {} if clips is None else result_words(clips, self.table("cues"))

    def __repr__(self) -> str:
        return f"<ContactSheet of {self.inbox.folder}: {len(self.view.rows)} clips, {len(self.view.decisions)} decided>"


def _with_pictures(inbox: Inbox) -> dict[str, Entry]:
    """Return the clips that can be opened, by short hash; of copies with the same bytes the one that is kept."""
    ordered = sorted(inbox.entries, key=lambda e: e.state != "duplicate")
    return {e.clip: e for e in ordered if e.facts is not None}


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
    sorting = {"out": out, "manifest": manifest, "movement": movement, "pose": pose}
    inbox = sort_inbox(source, copy=False, **sorting)
    return ContactSheet(
        inbox,
        source=source,
        folder=Folder.at(source, out).path,
        who=who,
        today=today or date.today(),
        options=dict(options),
        sorting=sorting,
    )
