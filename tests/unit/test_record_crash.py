"""The plug is pulled: a program that writes is ended at any moment, and all that it was told is kept is there."""

from __future__ import annotations

import json
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from cuebook.record import Record
from cuebook.record.book import EditBook
from tests.edit_samples import book_of, new_review

CHILD = """
import itertools, sys
from pathlib import Path
from cuebook.record import Record
from tests.edit_samples import book_of
book = book_of(Record(Path(sys.argv[1]) / "record.sqlite"), 1)
run = sys.argv[2]
print("ready", flush=True)
for k in itertools.count():
    text = f"{run}-{k}"
    book.apply({"kind": "note", "text": text, "at_s": 1.0})
    print(text, flush=True)
    if k % 7 == 6:
        book.go("undo")
        print(f"-{text}", flush=True)
"""
KILLS = 20


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="this system has no SIGKILL")
def test_nothing_that_was_kept_is_lost_when_a_writer_is_killed(tmp_path) -> None:
    """SIGKILL only: a power cut cannot be tested here; ``synchronous=FULL`` is what guards against it."""
    with Record(tmp_path / "record.sqlite") as record:
        assert new_review(record) == 1
    chance = random.Random(20261125)
    told: set[str] = set()
    for run in range(KILLS):
        told = _killed(tmp_path, run, chance.uniform(0.0, 0.4), told)
        with Record(tmp_path / "record.sqlite") as record:
            assert record.rows("PRAGMA integrity_check")[0][0] == "ok"
            assert record.rows("PRAGMA foreign_key_check") == []
            book = book_of(record, 1)
            found = {n.text for n in book.state.notes}
            lost = told - found - _unheard_undo(book, record)
            assert not lost, f"run {run} lost {sorted(lost)}"
            assert len(found - told) <= 1, "at most the edit whose answer was not heard"
            assert {r["text"] for r in record.rows("SELECT text FROM note")} == found
            told = found
    assert len(told) > KILLS


def _unheard_undo(book: EditBook, record: Record) -> set[str]:
    """The last note, where it was undone and the answer was not heard."""
    steps = book.history()
    if not steps or steps[-1].action != "undo":
        return set()
    return {json.loads(record.rows("SELECT body_json FROM correction ORDER BY id DESC LIMIT 1")[0][0])["text"]}


def _killed(folder: Path, run: int, after_s: float, told: set[str]) -> set[str]:
    """Let a program write for a while, kill it, and return the notes that stand by what it said."""
    here = Path(__file__).parents[2]
    command = [sys.executable, "-c", CHILD, str(folder), str(run)]
    child = subprocess.Popen(command, cwd=here, stdout=subprocess.PIPE, text=True)
    assert child.stdout is not None
    assert child.stdout.readline() == "ready\n"
    time.sleep(after_s)
    child.kill()
    said = child.stdout.read()
    child.wait(timeout=60)
    child.stdout.close()
    out = set(told)
    for line in said.splitlines(keepends=True):
        text = line.strip()
        if line.endswith("\n"):
            out = out - {text[1:]} if text.startswith("-") else out | {text}
    return out
