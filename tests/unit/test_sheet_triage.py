"""Decisions on clips: on disk at once, taken back without end, never written twice, readable after a crash."""

from __future__ import annotations

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


def test_a_line_that_a_crash_cut_off_is_left_out_and_another_is_named(tmp_path: Path) -> None:
    Triage(tmp_path, who="Dov Hessel").decide("aa", "usable")
    file = tmp_path / FILE
    whole = file.read_text(encoding="utf-8")
    file.write_text(whole + '{"clip": "bb", "sta', encoding="utf-8")
    assert list(Triage(tmp_path, who="x").standing) == ["aa"]
    file.write_text('{"clip": "bb", "sta\n' + whole, encoding="utf-8")
    with pytest.raises(InboxError, match="line 1"):
        Triage(tmp_path, who="x")


def test_a_decision_after_a_cut_line_is_not_lost(tmp_path: Path) -> None:
    Triage(tmp_path, who="Dov Hessel").decide("aa", "usable")
    file = tmp_path / FILE
    file.write_text(file.read_text(encoding="utf-8") + '{"clip": "bb", "sta', encoding="utf-8")
    Triage(tmp_path, who="Dov Hessel").decide("cc", "partly")
    assert set(Triage(tmp_path, who="x").standing) == {"aa", "cc"}


def test_a_place_that_cannot_be_written_is_one_sentence(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(OutputError, match="not kept"):
        Triage(tmp_path / "file" / "inside", who="x").decide("aa", "usable")
