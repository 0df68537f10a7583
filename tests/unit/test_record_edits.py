"""Any order of edits, undo, redo and restart leads where a plain list of states leads."""

from __future__ import annotations

import shutil
import tempfile
from itertools import pairwise
from pathlib import Path

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from cuebook.errors import ModelError, UnknownName
from cuebook.record import Record
from cuebook.record.book import EditBook
from tests.edit_samples import CLIP_S, START, book_of, new_review

TIMES = st.floats(0.0, CLIP_S).map(lambda t: round(t, 2))


class Editing(RuleBasedStateMachine):
    """A list of states and a place in it is the plain model of undo and redo."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp())
        self.record = Record(self.folder / "record.sqlite")
        self.review = new_review(self.record)

    @initialize()
    def open(self) -> None:
        self.book = self._book()
        self.states = [START]
        self.place = 0
        self.steps = 0

    def _book(self) -> EditBook:
        return book_of(self.record, self.review)

    def _edit(self, **edit) -> None:
        before = self.book.state
        try:
            after = self.book.apply(edit)
        except (ModelError, UnknownName):
            assert self.book.state == before
            return
        if after != before:
            self.states = [*self.states[: self.place + 1], after]
            self.place += 1
            self.steps += 1

    def _span(self, data: st.DataObject) -> str:
        return data.draw(st.sampled_from([s.id for s in self.book.state.spans] or ["r1"]))

    @rule(data=st.data(), boundary=st.sampled_from(["start", "turn", "end"]), to_s=TIMES)
    def move(self, data, boundary, to_s) -> None:
        self._edit(kind="move", repetition=self._span(data), boundary=boundary, to_s=to_s)

    @rule(data=st.data(), at_s=TIMES)
    def split(self, data, at_s) -> None:
        self._edit(kind="split", repetition=self._span(data), at_s=at_s)

    @rule(data=st.data())
    def merge(self, data) -> None:
        self._edit(kind="merge", first=self._span(data), second=self._span(data))

    @rule(data=st.data())
    def drop(self, data) -> None:
        self._edit(kind="drop", repetition=self._span(data))

    @rule(start_s=TIMES, length_s=st.floats(0.2, 5.0))
    def add(self, start_s, length_s) -> None:
        self._edit(kind="add", start_s=start_s, end_s=start_s + length_s, turn_s=start_s + length_s / 2, side=None)

    @rule(text=st.text("ab ", min_size=0, max_size=3), severity=st.sampled_from(["stop", "change", "praise", "remark"]))
    def note(self, text, severity) -> None:
        self._edit(kind="note", text=text, severity=severity)

    @precondition(lambda self: self.book.state.notes)
    @rule(data=st.data(), text=st.sampled_from(["x", "y"]), drops=st.booleans())
    def change_note(self, data, text, drops) -> None:
        chosen = data.draw(st.sampled_from([n.id for n in self.book.state.notes]))
        self._edit(
            **(
                {"kind": "drop_note", "note": chosen}
                if drops
                else {"kind": "change_note", "note": chosen, "text": text}
            )
        )

    @rule(at_s=TIMES, joint=st.sampled_from(["left_knee", "right_hip", "tail"]))
    def mark(self, at_s, joint) -> None:
        self._edit(kind="mark", mark_kind="plumb", at_s=at_s, joints=[joint])

    @rule(data=st.data(), outcome=st.sampled_from(["met", "not_met", None]))
    def overrule(self, data, outcome) -> None:
        self._edit(kind="overrule", cue="depth", repetition=self._span(data), outcome=outcome, reason="seen")

    @rule(times=st.integers(1, 4))
    def undo(self, times) -> None:
        for _ in range(times):
            if self.place:
                self.steps += 1
            self.place = max(0, self.place - 1)
            assert self.book.go("undo") == self.states[self.place]

    @rule(times=st.integers(1, 4))
    def redo(self, times) -> None:
        for _ in range(times):
            if self.place + 1 < len(self.states):
                self.steps += 1
            self.place = min(len(self.states) - 1, self.place + 1)
            assert self.book.go("redo") == self.states[self.place]

    @rule()
    def restart(self) -> None:
        self.record.close()
        self.book = self._book()

    @invariant()
    def stands_where_the_list_stands(self) -> None:
        state, changes = self.book.now
        assert state == self.states[self.place]
        assert len(changes) == self.place
        assert bool(self.book.undo_words) == (self.place > 0)
        assert bool(self.book.redo_words) == (self.place + 1 < len(self.states))
        assert len(self.book.history()) == self.steps

    @invariant()
    def spans_are_in_order_and_do_not_overlap(self) -> None:
        spans = self.book.state.spans
        assert len({s.id for s in spans}) == len(spans)
        for one, other in pairwise(spans):
            assert one.end_s <= other.start_s + 1e-9
        for span in spans:
            known = [t for t in (span.start_s, span.turn_s, span.end_s) if t is not None]
            assert known == sorted(known)

    @invariant()
    def tables_show_what_is_in_force(self) -> None:
        state = self.book.state
        notes = {(r["id"], r["text"]) for r in self.record.rows("SELECT id, text FROM note")}
        assert notes == {(n.id, n.text) for n in state.notes}
        assert {r["id"] for r in self.record.rows("SELECT id FROM mark")} == {m.id for m in state.marks}
        shown = {(r["repetition"], r["outcome"]) for r in self.record.rows("SELECT repetition, outcome FROM overruled")}
        assert shown == {(o.repetition, o.outcome) for o in state.overruled}

    def teardown(self) -> None:
        self.record.close()
        shutil.rmtree(self.folder, ignore_errors=True)


TestEditing = Editing.TestCase
TestEditing.settings = settings(max_examples=25, stateful_step_count=25, deadline=None, derandomize=True,
                                suppress_health_check=list(HealthCheck))  # fmt: skip
