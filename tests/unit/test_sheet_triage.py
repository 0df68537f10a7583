"""Decisions on clips: on disk at once, taken back without end, never written twice, readable after a crash."""

from __future__ import annotations

import signal
import subprocess
import sys
from pathlib import Path

import pytest

from cuebook.errors import InboxError, OutputError, UnknownName
from cuebook.sheet.triage import FILE, Triage


def test_a_decision_is_on_disk_and_found_again(tmp_path: Path) -> None:
    triage = Triage(tmp_path, who="Dov Hessel")
    triage.decide("aa", "usable")
    triage.decide("bb", "refilm", reason="feet_missing")
    again = Triage(tmp_path, who="Orla Vennick").standing
    assert {c: (d.state, d.reason, d.who) for c, d in again.items()} == {
        "aa": ("usable", "", "Dov Hessel"),
        "bb": ("refilm", "feet_missing", "Dov Hessel"),
    }


def test_the_last_decision_holds_and_undo_goes_back_step_by_step(tmp_path: Path) -> None:
    triage = Triage(tmp_path, who="Dov Hessel")
    triage.decide("aa", "usable")
    triage.decide("bb", "partly")
    triage.decide("aa", "damaged")
    assert triage.undo() == "aa"
    assert triage.standing["aa"].state == "usable"
    assert triage.undo() == "bb"
    assert "bb" not in triage.standing
    triage.decide("cc", "usable")
    assert triage.undo() == "cc"
    assert triage.undo() == "aa"
    assert triage.standing == {}
    assert triage.undo() is None
    assert len(triage.history) == 8, "taking back is written too"
    assert Triage(tmp_path, who="x").standing == {}


def test_the_same_press_of_a_key_is_written_once(tmp_path: Path) -> None:
    triage = Triage(tmp_path, who="Dov Hessel")
    triage.decide("aa", "usable", key="k1")
    triage.decide("aa", "usable", key="k1")
    assert len(triage.history) == 1


@pytest.mark.parametrize(
    ("state", "reason", "kind"),
    [("fine", "", UnknownName), ("refilm", "", InboxError), ("refilm", "bad mood", UnknownName)],
)
def test_what_cannot_be_decided_is_refused_and_not_written(
    tmp_path: Path, state: str, reason: str, kind: type[Exception]
) -> None:
    triage = Triage(tmp_path, who="Dov Hessel")
    with pytest.raises(kind):
        triage.decide("aa", state, reason=reason)
    assert not (tmp_path / FILE).exists()


@pytest.mark.parametrize("cut", ['{"clip": "bb", "sta', '{"clip": "bb", "who": "Zo\u00eb', "\0\0\0"])
def test_a_line_that_a_crash_cut_off_is_left_out_and_nothing_after_it_is_lost(tmp_path: Path, cut: str) -> None:
    Triage(tmp_path, who="Dov Hessel").decide("aa", "usable")
    file = tmp_path / FILE
    file.write_bytes(file.read_bytes() + cut.encode("utf-8")[:-1])
    assert list(Triage(tmp_path, who="x").standing) == ["aa"]
    before = file.read_bytes()
    Triage(tmp_path, who="Dov Hessel").decide("cc", "partly")
    assert file.read_bytes().startswith(before), "what stands in the file is never changed"
    assert set(Triage(tmp_path, who="x").standing) == {"aa", "cc"}


def test_a_whole_line_that_cannot_be_understood_is_named(tmp_path: Path) -> None:
    (tmp_path / FILE).write_text('{"clip": "bb", "mood": "bad"}\n', encoding="utf-8")
    with pytest.raises(InboxError, match="line 1"):
        Triage(tmp_path, who="x")


def test_two_notebooks_on_one_inbox_see_and_keep_what_the_other_decided(tmp_path: Path) -> None:
    coach, helper = Triage(tmp_path, who="Orla Vennick"), Triage(tmp_path, who="Dov Hessel")
    helper.decide("aa", "usable", key="k1")
    coach.decide("bb", "partly", key="k2")
    coach.decide("aa", "usable", key="k1")
    assert len(coach.history) == 2, "the press of a key that the other has written is not written again"
    assert helper.undo() == "bb"
    assert coach.undo() == "aa"
    assert Triage(tmp_path, who="x").standing == {}


def test_a_decision_is_kept_when_the_process_is_killed_right_after_it(tmp_path: Path) -> None:
    code = f"""
import os, pathlib, signal
from cuebook.sheet.triage import Triage
triage = Triage(pathlib.Path({str(tmp_path)!r}), who="Dov Hessel")
for number in range(40):
    triage.decide(f"clip {{number}}", "usable", key=str(number))
    print(number, flush=True)
os.kill(os.getpid(), signal.SIGKILL)
"""
    ended = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert ended.returncode == -signal.SIGKILL, ended.stderr
    assert len(Triage(tmp_path, who="x").standing) == len(ended.stdout.split()) == 40


def test_a_place_that_cannot_be_written_is_one_sentence(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(OutputError, match="not kept"):
        Triage(tmp_path / "file" / "inside", who="x").decide("aa", "usable")
