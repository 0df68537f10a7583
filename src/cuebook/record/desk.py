"""The coach's desk without a screen: one review, its corrections, notes and marks, kept as they are made."""

from __future__ import annotations

import json
import threading
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from cuebook.assess.corrected import Rejudge
from cuebook.errors import ModelError, UnknownName
from cuebook.model import DeskState, Draft, Repetition, ReviewData
from cuebook.model.draft import MOST_WORDS
from cuebook.movements import TempoMargins, find_workspace, read_settings
from cuebook.repetitions import proposed_spans
from cuebook.report import draft_feedback, still_at, write_feedback, write_reference

from .book import EditBook
from .carry import added_since, carried
from .clips import found_form, keep_clip, keep_review, record_path, reviews
from .connect import Record
from .drafts import drafts_of, keep_draft, keep_reference
from .editing import Editing
from .edits import Occasion
from .log import EditLog, Step, add_event, keep_values, now
from .screen import desk_form

READ_ANEW = "The clip was read anew and differs from before: your corrections were carried over; look again."


def open_desk(data: ReviewData, *, author: str, record: str | Path | Record | None = None,
              margins: TempoMargins | None = None) -> Desk:  # fmt: skip
    """Open the desk of a judged clip; what was done before is there again.

    Parameters
    ----------
    data : ReviewData
        The review as measured.
    author : str
        Who works at the desk.
    record : str, Path or Record, optional
        The record; default: that of the workspace, else a file beside the clip.
    margins : TempoMargins, optional
        What the coach grants on times; default: those of the workspace.

    Raises
    ------
    RecordError
        If the record cannot be opened or written.
    ModelError
        If the author has no name.
    """
    if not author.strip():
        raise ModelError("A desk needs the name of who works at it: give author='…'.")
    if data.corrections is not None:
        raise ModelError("A desk starts from the review as measured: give it the one that holds no corrections.")
    if margins is None:
        _, margins = read_settings(find_workspace(data.clip.path.resolve().parent))
    own = not isinstance(record, Record)
    opened = Record(record_path(data.clip.path) if record is None else record) if own else record
    return Desk(data, author=author.strip(), record=opened, margins=margins, closes=own)


class Desk(Editing):
    """One review being corrected; :func:`open_desk` makes it.

    Attributes
    ----------
    proposed : ReviewData
        As measured.
    author : str
        Who works at it.
    record : Record
        Where everything is kept.
    review_id : int
        Row of the measured review that the edits belong to.
    message : str
        One sentence for the reader, or empty.
    """

    def __init__(self, data: ReviewData, *, author: str, record: Record, margins: TempoMargins, closes: bool) -> None:
        self.proposed, self.author, self.record = data, author, record
        self.message = record.message
        self._closes = closes
        self._lock = threading.RLock()
        self._judge = Rejudge(data, margins=margins)
        self.clip_id = keep_clip(record, data.clip, who=author)
        measured, _ = keep_review(record, self.clip_id, data, kind="measured", who=author)
        self.review_id, earlier = self._base(measured)
        start = DeskState(spans=proposed_spans(data.repetitions))
        self._book = EditBook(record, self.review_id, author=author, start=start, movement=data.movement,
                              clip_s=data.clip.duration_s, finish=self._with_turns)  # fmt: skip
        if earlier is not None:
            self._carry(earlier, start)
        self.message = self.message or self._book.message

    # -- what stands ---------------------------------------------------------------------------------------------

    @property
    def state(self) -> DeskState:
        """Repetitions, overruled outcomes, notes and marks as they stand."""
        return self._book.state

    @property
    def data(self) -> ReviewData:
        """The review with every correction in it."""
        with self._lock:
            return self._judge.judge(*self._book.now)

    @property
    def can_undo(self) -> bool:
        """Whether there is something to undo."""
        return bool(self._book.undo_words)

    @property
    def can_redo(self) -> bool:
        """Whether there is something to do again."""
        return bool(self._book.redo_words)

    @property
    def undo_words(self) -> str:
        """What undo would take back, or empty."""
        return self._book.undo_words

    @property
    def redo_words(self) -> str:
        """What redo would do again, or empty."""
        return self._book.redo_words

    @property
    def kept(self) -> dict[str, Any]:
        """Half-written note and place in the clip, and whatever else was kept by name."""
        rows = self.record.rows("SELECT name, value_json FROM unfinished WHERE review_id = ?", (self.review_id,))
        return {"half_note": None, "position_s": None} | {r["name"]: json.loads(r["value_json"]) for r in rows}

    def history(self) -> tuple[Step, ...]:
        """Return everything that was done, undone and done again, oldest first."""
        return self._book.history()

    def id_of(self, number: int) -> str:
        """Return the identity of a repetition by its number as it stands now.

        Raises
        ------
        UnknownName
            If there are fewer repetitions.
        """
        spans = self.state.spans
        if not 1 <= number <= len(spans):
            raise UnknownName("repetition", str(number), [str(k + 1) for k in range(len(spans))])
        return spans[number - 1].id

    def repetition(self, identity: str) -> Repetition | None:
        """Return a repetition by its identity, or None."""
        with self._lock:
            found = zip(self.state.spans, self.data.repetitions, strict=True)
            return next((r for s, r in found if s.id == identity), None)

    def as_json(self) -> dict[str, Any]:
        """Return all that a screen shows as plain values."""
        with self._lock:
            return desk_form(self)

    # -- edits ---------------------------------------------------------------------------------------------------

    def said_of(self, action: str, key: str) -> str:
        """Return what an undo or redo that was applied with a key did, as a sentence.

        Another desk may have made a change since: the record alone knows which one was the last.
        """
        return self._book.said_of(action, key)

    def undo(self) -> DeskState:
        """Take the last edit back; with nothing left the state stays as it is."""
        return self._book.go("undo")

    def redo(self) -> DeskState:
        """Do again what was taken back last; with nothing left the state stays as it is."""
        return self._book.go("redo")

    def apply(
        self, edit: Mapping[str, Any], *, key: str | None = None, keep: Mapping[str, Any] | None = None
    ) -> DeskState:
        """Make an edit given as plain values; it is on the disk when this returns.

        Parameters
        ----------
        edit : mapping
            Its kind and fields.
        key : str, optional
            Any text that no other edit has: an edit, undo or redo whose key was seen before is not made again.
        keep : mapping, optional
            Values for :meth:`keep` that are kept together with the edit, or not at all.

        Raises
        ------
        ModelError
            If a value is not possible.
        UnknownName
            If it speaks of something that is not there.
        RecordError
            If it cannot be kept.

        Notes
        -----
        Without a key an edit that changes nothing, or that stands already and cannot be made again, is left out, so
        that a cell run twice changes nothing.
        """
        state = self._book.apply(edit, key=key, keep=keep)
        if keep:  # an edit that was made before, or changes nothing, writes nothing
            kept = self.kept
            open_still = {name: value for name, value in keep.items() if kept.get(name) != value}
            if open_still:
                self.keep(**open_still)
        return state

    def keep(self, **values: Any) -> None:
        """Keep a half-written note, the place in the clip, or any plain value by name; not part of undo.

        Parameters
        ----------
        **values
            ``half_note``, ``position_s`` or another name; None forgets it.
        """
        with self.record.writing() as db:
            keep_values(db, self.review_id, values)

    # -- versions and drafts -------------------------------------------------------------------------------------

    def save_review(self) -> int:
        """Append the review as it stands to its versions and return the version; the same again adds nothing."""
        kind = "measured" if self.data.corrections is None else "corrected"
        return keep_review(self.record, self.clip_id, self.data, kind=kind, who=self.author)[1]

    def save_draft(self, draft: Draft) -> Draft:
        """Keep a version of the feedback; the same as the last one adds nothing.

        Raises
        ------
        ModelError
            If it has more than 60 words, or none.
        """
        return keep_draft(self.record, self.review_id, draft, who=self.author)

    def drafts(self) -> tuple[Draft, ...]:
        """Return every version of the feedback, oldest first."""
        return drafts_of(self.record, self.review_id)

    @property
    def draft(self) -> Draft | None:
        """The last version of the feedback, None where none was kept."""
        kept = self.drafts()
        return kept[-1] if kept else None

    def draft_feedback(self) -> Draft:
        """Return feedback drafted from the corrected review and the notes, at most 60 words and one picture."""
        return draft_feedback(self.data)

    def write_feedback(self, folder: str | Path, *, draft: Draft | None = None, athlete: str | None = None) -> Path:
        """Keep a draft and write its page, picture and text into a folder; nothing is sent.

        Parameters
        ----------
        folder : str or Path
            Where to; an existing folder is replaced only if it holds feedback.
        draft : Draft, optional
            Default: the one kept last, else a fresh one.
        athlete : str, optional
            Whom it is for.

        Raises
        ------
        ModelError
            If the draft has more than 60 words, or none.
        OutputError
            If the folder holds something else, or cannot be written.
        ClipError
            If the clip can no longer be read.
        """
        said = self.save_draft(draft or self.draft or self.draft_feedback())
        written = write_feedback(self.data, said, folder, athlete=athlete)
        with self.record.writing() as db:
            add_event(db, who=self.author, what=f"write version {said.version} of the feedback into a folder",
                      subject=f"review {self.review_id}")  # fmt: skip
        return written

    def write_reference(self, folder: str | Path, *, repetition: str, sentences: Sequence[str] = (),
                        positions: Mapping[str, float] | None = None, credit: str = "",
                        consent: str = "") -> Path:  # fmt: skip
        """Write a reference clip of a model repetition into a folder and note it in the record.

        Parameters
        ----------
        folder : str or Path
            Where to; an existing folder is replaced only if it holds a reference.
        repetition : str
            Identity of the model repetition.
        sentences : sequence of str
            Up to three cues to think of.
        positions : mapping of str to float, optional
            When ``start``, ``turn`` and ``end`` are shown, seconds.
        credit : str
            Who or what is shown, said on the page.
        consent : str
            What the person shown agreed to, kept out of the page.

        Raises
        ------
        ModelError
            If the repetition is not whole, a position lies outside it, or there are too many sentences.
        OutputError
            If the folder holds something else, or cannot be written.
        ClipError
            If the clip can no longer be read.
        """
        written = write_reference(self.data, folder, repetition=repetition, sentences=sentences, positions=positions,
                                  credit=credit, consent=consent, who=self.author)  # fmt: skip
        keep_reference(self.record, self.review_id, written, who=self.author)
        return written

    def still_at(self, at_s: float, *, marks: bool = True) -> bytes:
        """Return the athlete at an instant as JPEG, with the coach's marks of that instant."""
        return still_at(self.data, at_s, marks=marks)

    def close(self) -> None:
        """Close the record, if it was opened for this desk."""
        if self._closes:
            self.record.close()

    def __enter__(self) -> Desk:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def __repr__(self) -> str:
        done = len(self._book.now[1])
        return f"<Desk of {self.proposed.clip.path.name}: {self.proposed.movement.name}, {done} corrections in force>"

    # -- inside --------------------------------------------------------------------------------------------------

    def _with_turns(self, edit: dict[str, Any], after: DeskState) -> dict[str, Any]:
        """Return an edit with the turns found in the repetitions it makes."""
        if all(s.turn_s is not None for s in after.spans):
            return edit
        with self._lock:
            found = zip(after.spans, self._judge.repetitions(after.spans), strict=True)
        return {**edit, "turns": {s.id: round(r.turn_s, 3) for s, r in found if s.turn_s is None}}

    def _base(self, measured: int) -> tuple[int, Mapping[str, Any] | None]:
        """Return the review the edits belong to, and the state of an earlier reading that is to be carried over."""
        kept = [r for r in reviews(self.record, self.clip_id, self.proposed.movement.name) if r["kind"] == "measured"]
        mine = next(r for r in kept if r["id"] == measured)
        person = mine["settings"].get("person")
        steps = {r["id"]: EditLog(self.record, r["id"]).last_step() for r in kept}
        edited = [r for r in kept if steps[r["id"]] is not None and r["settings"].get("person") == person]
        if not edited:
            return measured, None
        last = max(edited, key=lambda r: steps[r["id"]])
        fitting = [r for r in edited if found_form(r["body"]) == found_form(mine["body"])]
        own = max(fitting, key=lambda r: steps[r["id"]])["id"] if fitting else measured
        return own, (None if last["id"] == own else last)

    def _carry(self, earlier: Mapping[str, Any], start: DeskState) -> None:
        """Take over what was done last on another reading of the clip, which found other repetitions.

        A reading that was corrected before keeps its own repetitions and outcomes; notes and marks that were made
        since are added.
        """
        on = Occasion(movement=self.proposed.movement, clip_s=self.proposed.clip.duration_s, who=self.author, at=now())
        mine, other = EditLog(self.record, self.review_id), EditLog(self.record, earlier["id"])
        before, begun = self.state, mine.last_step() is not None
        state = carried(other, earlier["body"], before if begun else start, on, keep_spans=begun)
        if begun:
            state = added_since(before, state, mine)
        self.apply({"kind": "carry", "state": state}, key=f"carry {earlier['id']} {other.last_step()}")
        rows = self.record.rows("SELECT name, value_json FROM unfinished WHERE review_id = ?", (earlier["id"],))
        self.keep(**{r["name"]: json.loads(r["value_json"]) for r in rows})
        said = drafts_of(self.record, earlier["id"])
        if said and 0 < said[-1].words <= MOST_WORDS:
            self.save_draft(replace(said[-1], picture=None))
        if self.state != before:
            self.message = READ_ANEW
