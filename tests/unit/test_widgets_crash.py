"""The kernel is ended right before or right after its answer to an edit: what the browser was told is true."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from cuebook.record import Record
from tests.edit_samples import book_of, new_review
from tests.record_samples import desk_in

KERNEL = """
import json, os, signal, sys
from pathlib import Path
from cuebook.widgets.desk import Desk
from tests.edit_samples import book_of
from cuebook.record import Record

class Answering:
    # The kernel's side of the desk without a screen: the same handler, on a record of its own.
    _edit, _shown_everywhere = Desk._edit, Desk._shown_everywhere
    def __init__(self, folder):
        self._corrections = book_of(Record(Path(folder) / "record.sqlite"), 1)
    def refresh(self):
        if die == "before":
            os.kill(os.getpid(), signal.SIGKILL)
    def send(self, content):
        print(json.dumps(content), flush=True)
        if die == "after":
            os.kill(os.getpid(), signal.SIGKILL)

die = ""
desk = Answering(sys.argv[1])
print("ready", flush=True)
for line in sys.stdin:
    message = json.loads(line)
    die = message.pop("die")
    desk._edit(message["key"], message["edit"])
"""

pytestmark = pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="this system has no SIGKILL")


class Browser:
    """The browser's side: an edit stays in the queue until it is answered, and is sent again to the next kernel."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.queue, self.kernels = folder, [], 0
        self.words = {}  # what an undo or redo is expected to say it did, by key
        self._child: subprocess.Popen | None = None

    def _kernel(self) -> subprocess.Popen:
        if self._child is None or self._child.poll() is not None:
            self.close()
            self._child = subprocess.Popen(
                [sys.executable, "-c", KERNEL, str(self.folder)], cwd=Path(__file__).parents[2], text=True,
                stdin=subprocess.PIPE, stdout=subprocess.PIPE,
            )  # fmt: skip
            assert self._child.stdout.readline() == "ready\n"
            self.kernels += 1
        return self._child

    def edit(self, key: str, edit: dict, *, die: str = "") -> None:
        """Make an edit; `die` ends the kernel before or after its answer, and then the next one is asked."""
        self.queue.append({"key": key, "edit": edit, "die": die})
        while self.queue:
            kernel, message = self._kernel(), self.queue[0]
            dies = bool(message["die"])
            kernel.stdin.write(json.dumps(message) + "\n")
            kernel.stdin.flush()
            answer = kernel.stdout.readline()
            message["die"] = ""
            if answer:
                told = json.loads(answer)
                assert told.pop("words") == self.words.get(message["key"])
                assert told == {"type": "done", "key": message["key"], "refused": None, "failed": None}
                self.queue.pop(0)
            if dies:
                kernel.wait(60)

    def close(self) -> None:
        """End the kernel."""
        if self._child is not None:
            for pipe in (self._child.stdin, self._child.stdout):
                pipe.close()
            self._child.wait(30)


@pytest.fixture
def browser_side(tmp_path):
    with Record(tmp_path / "record.sqlite") as record:
        assert new_review(record) == 1
    side = Browser(tmp_path)
    yield side
    side.close()


@pytest.mark.parametrize("die", ["after", "before"])
def test_a_note_is_there_once_however_the_kernel_ends(browser_side, tmp_path, die) -> None:
    for k in range(4):
        browser_side.edit(f"k{k}", {"kind": "note", "text": f"note {k}", "at_s": 1.0 + k}, die=die)
    with Record(tmp_path / "record.sqlite") as record:
        texts = [n.text for n in book_of(record, 1).state.notes]
    assert texts == [f"note {k}" for k in range(4)]
    assert browser_side.kernels >= 4


@pytest.mark.parametrize("die", ["after", "before"])
def test_an_undo_whose_answer_was_not_heard_takes_back_one_edit_only(browser_side, tmp_path, die) -> None:
    browser_side.words = {"c": "Taken back: write a note.", "d": "Done again: write a note."}
    browser_side.edit("a", {"kind": "note", "text": "stays", "at_s": 1.0})
    browser_side.edit("b", {"kind": "note", "text": "goes", "at_s": 2.0})
    browser_side.edit("c", {"kind": "undo"}, die=die)
    with Record(tmp_path / "record.sqlite") as record:
        assert [n.text for n in book_of(record, 1).state.notes] == ["stays"]
    browser_side.edit("d", {"kind": "redo"}, die=die)
    with Record(tmp_path / "record.sqlite") as record:
        assert [n.text for n in book_of(record, 1).state.notes] == ["stays", "goes"]


def test_an_undo_sent_twice_to_the_same_kernel_is_made_once(tmp_path) -> None:
    with desk_in(tmp_path) as desk:
        for text in ("one", "two", "three"):
            desk.note(text, at_s=1.0)
        desk.apply({"kind": "undo"}, key="u1")
        desk.apply({"kind": "undo"}, key="u1")
        assert [n.text for n in desk.state.notes] == ["one", "two"]
        desk.apply({"kind": "redo"}, key="r1")
        desk.apply({"kind": "redo"}, key="r1")
        assert [n.text for n in desk.state.notes] == ["one", "two", "three"]


def test_a_note_and_the_end_of_its_being_typed_are_kept_together(tmp_path) -> None:
    note = {"kind": "note", "text": "Heels down.", "at_s": 1.0}
    with desk_in(tmp_path) as desk:
        desk.keep(half_note={"text": "Heels down."}, position_s=1.0)
        desk.apply(note, key="n1", keep={"half_note": None})
        assert (desk.kept["half_note"], desk.kept["position_s"]) == (None, 1.0)
        desk.keep(half_note={"text": "Heels down."})
        desk.apply(note, key="n1", keep={"half_note": None})
        assert desk.kept["half_note"] is None, "also where the note was there already"
        assert len(desk.state.notes) == 1


def test_what_is_confirmed_is_confirmed_even_if_the_screen_fails(tmp_path, monkeypatch) -> None:
    """An answer that never comes would make the browser send the edit for ever."""
    from cuebook.widgets.desk import Desk

    said = []
    with desk_in(tmp_path) as kept:
        desk = Desk.__new__(Desk)
        monkeypatch.setattr(Desk, "_corrections", kept, raising=False)
        monkeypatch.setattr(Desk, "refresh", lambda _self: 1 / 0)
        monkeypatch.setattr(Desk, "send", lambda _self, content, buffers=None: said.append(content))
        desk._edit("k", {"kind": "note", "text": "kept", "at_s": 1.0})
        assert said == [{"type": "done", "key": "k", "refused": None, "failed": None, "words": None}]
        assert [n.text for n in kept.state.notes] == ["kept"]
