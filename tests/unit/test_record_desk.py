"""The desk: edits are kept as they are made, cells may run twice, and nothing measured is ever written over."""

from __future__ import annotations

import json
import threading
from dataclasses import replace

import numpy as np
import pytest

from cuebook.errors import ModelError, RecordError, UnknownName
from cuebook.model import Draft, Picture
from cuebook.record import Record, open_desk, record_path
from cuebook.report.tables import review_json
from tests.record_samples import COACH, desk_in, judged


def test_a_new_desk_shows_the_review_as_measured(tmp_path) -> None:
    with desk_in(tmp_path) as desk:
        assert desk.data is desk.proposed
        assert [s.id for s in desk.state.spans] == ["r1", "r2", "r3"]
        assert not desk.can_undo
        assert not desk.can_redo
        assert desk.message == ""
        assert desk.undo().spans == desk.redo().spans == desk.state.spans
        assert desk.history() == ()


def test_everything_is_there_again_after_a_restart(tmp_path) -> None:
    with desk_in(tmp_path) as desk:
        desk.move("r2", "start", desk.state.spans[1].start_s + 0.2)
        desk.split("r3", desk.state.spans[2].turn_s)
        desk.note("Knees drift in.", at_s=4.0, repetition="r2", joint="left_knee", severity="change")
        desk.mark("angle", 4.0, ["left_hip", "left_knee", "left_ankle"])
        desk.overrule("depth", "met", repetition="r1", reason="the mat is thick")
        desk.keep(half_note={"text": "Heels"}, position_s=3.2)
        desk.undo()
        before = desk.state, desk.as_json()
    with desk_in(tmp_path) as desk:
        assert (desk.state, desk.as_json()) == before
        assert desk.kept["half_note"] == {"text": "Heels"}
        assert desk.redo_words == "see met in depth, repetition 1"
        assert [o.outcome for o in desk.redo().overruled] == ["met"]
        desk.keep(half_note=None)
        assert desk.kept["half_note"] is None
        assert desk.kept["position_s"] == 3.2


def test_a_cell_run_twice_changes_nothing(tmp_path) -> None:
    def cell(desk) -> None:
        third = judged().repetitions[2]
        desk.merge(1, 2)
        desk.drop(3)
        desk.add(third.start_s, third.end_s, turn_s=third.turn_s)
        desk.note("Good depth.", at_s=4.0, severity="praise")
        desk.mark("plumb", 4.0, ["left_knee"])
        desk.overrule("depth", "near", reason="camera is low")
        desk.keep(position_s=4.0)

    with desk_in(tmp_path) as desk:
        cell(desk)
        once, steps = desk.state, len(desk.history())
        cell(desk)
        assert desk.state == once
        assert len(desk.history()) == steps == 6
    with desk_in(tmp_path) as desk:
        cell(desk)
        assert desk.state == once
        assert len(desk.history()) == steps
        assert desk.record.rows("SELECT count(*) FROM review")[0][0] == 1
        assert desk.record.rows("SELECT count(*) FROM clip")[0][0] == 1


def test_a_key_that_was_seen_is_not_done_again_even_when_it_was_undone(tmp_path) -> None:
    with desk_in(tmp_path) as desk:
        edit = {"kind": "note", "text": "Good.", "at_s": 1.0}
        desk.apply(edit, key="k1")
        desk.apply(edit, key="k1")
        desk.undo()
        assert desk.apply(edit, key="k1").notes == ()
        assert len(desk.apply(edit, key="k2").notes) == 1


def test_undo_and_redo_cross_all_kinds_of_edit_without_a_limit(tmp_path) -> None:
    with desk_in(tmp_path) as desk:
        states = [desk.state]
        note = desk.note("One", at_s=1.0).notes[0].id
        states.append(desk.state)
        for k in range(30):
            desk.change_note(note, text=f"Note {k}")
            states.append(desk.state)
        desk.mark("circle", 2.0, ["left_knee"], size=0.2)
        states.append(desk.state)
        desk.drop("r1")
        states.append(desk.state)
        for wanted in reversed(states[:-1]):
            assert desk.undo() == wanted
        assert desk.undo() == states[0]
        for wanted in states[1:]:
            assert desk.redo() == wanted
        assert desk.redo() == states[-1]
        desk.undo()
        desk.note("Another way", at_s=2.0)
        assert not desk.can_redo
        assert [s.action for s in desk.history()].count("undo") == len(states)


def test_the_tables_show_what_is_in_force(tmp_path) -> None:
    with desk_in(tmp_path) as desk:
        desk.note("One", at_s=1.0)
        desk.note("Two", severity="stop", cue="depth")
        desk.mark("arrow", 2.0, ["left_knee"], to=(0.3, 0.0))
        desk.overrule("depth", "met", reason="seen")
        desk.undo()

        def rows(table: str) -> list[dict]:
            return [dict(r) for r in desk.record.rows(f"SELECT * FROM {table} ORDER BY 1, 2")]

        assert sorted((n["text"], n["severity"]) for n in rows("note")) == [("One", "remark"), ("Two", "stop")]
        assert [(m["kind"], m["to_x"], json.loads(m["joints_json"])) for m in rows("mark")] == [
            ("arrow", 0.3, ["left_knee"])
        ]
        assert rows("overruled") == []
        desk.redo()
        assert [(o["cue"], o["outcome"], o["author"]) for o in rows("overruled")] == [("depth", "met", COACH)]
        for _ in range(4):
            desk.undo()
        assert rows("note") == rows("mark") == rows("overruled") == []


@pytest.mark.parametrize(
    ("edit", "error", "message"),
    [
        ({"kind": "fly"}, ModelError, "no edit called 'fly'"),
        ({"kind": "note", "text": "  "}, ModelError, "needs a text"),
        ({"kind": "note", "text": "x", "severity": "bad"}, ModelError, "stop, change, praise, remark"),
        ({"kind": "note", "text": "x", "cue": "depht"}, UnknownName, "did you mean depth"),
        ({"kind": "note", "text": "x", "at_s": 99.0}, ModelError, "outside the clip"),
        ({"kind": "note", "text": "x", "colour": "red"}, ModelError, "has no 'colour'"),
        ({"kind": "note", "text": "x", "repetition": "r9"}, UnknownName, "no repetition called 'r9'"),
        ({"kind": "drop_note", "note": "n1"}, UnknownName, "no note called 'n1'"),
        ({"kind": "move", "repetition": "r1", "boundary": "start", "to_s": None}, ModelError, "needs a time"),
        ({"kind": "mark", "mark_kind": "angle", "at_s": 1.0, "joints": ["left_knee"]}, ModelError, "tied to 3"),
        ({"kind": "mark", "mark_kind": "line", "at_s": 1.0, "joints": ["left_knee", "tail"]}, ModelError, "'tail'"),
        ({"kind": "mark", "mark_kind": "arrow", "at_s": 1.0, "joints": ["left_knee"]}, ModelError, "direction"),
        ({"kind": "mark", "mark_kind": "blob", "at_s": 1.0, "joints": []}, ModelError, "not 'blob'"),
        ({"kind": "overrule", "cue": "depth", "outcome": "met"}, ModelError, "needs a reason"),
        ({"kind": "overrule", "cue": "depth", "outcome": "fine", "reason": "x"}, ModelError, "not 'fine'"),
        ({"kind": "overrule", "cue": "deep", "outcome": "met", "reason": "x"}, UnknownName, "no cue called"),
    ],
)
def test_what_is_refused_leaves_nothing_behind(tmp_path, edit, error, message: str) -> None:
    with desk_in(tmp_path) as desk:
        with pytest.raises(error, match=message):
            desk.apply(edit)
        assert desk.history() == ()
        assert desk.record.rows("SELECT count(*) FROM correction")[0][0] == 0


def test_an_overruled_outcome_stands_beside_the_measured_one(tmp_path) -> None:
    with desk_in(tmp_path) as desk:
        measured = review_json(desk.proposed)
        desk.overrule("depth", "not_met", repetition="r2", reason="hips rose first")
        shown = [v for v in desk.as_json()["verdicts"] if v["cue"] == "depth" and v["repetition"] == 2]
        assert [v["overruled"]["outcome"] for v in shown] == ["not_met"] * len(shown)
        assert shown[0]["repetition_id"] == "r2"
        after = review_json(desk.data)
        assert after["verdicts"] == measured["verdicts"]
        assert set(after) - set(measured) == {"corrections"}
        told = after["corrections"]["overruled"][0]
        assert (told["repetition"], told["cue"], told["outcome"], told["who"]) == (2, "depth", "not_met", COACH)
        assert told["measured"] == [{"side": v["side"], "outcome": v["outcome"]} for v in shown]
        assert desk.overrule("depth", None, repetition="r2").overruled == ()


def test_a_written_review_tells_what_was_corrected(tmp_path) -> None:
    with desk_in(tmp_path) as desk:
        first = desk.proposed.repetitions[0]
        desk.drop("r1")
        desk.note("Left knee drifts.", at_s=4.0, severity="change")
        body = review_json(desk.data)
        told = body["corrections"]
        assert [c["what"] for c in told["changes"]] == ["drop repetition 1", "write a note"]
        assert {c["who"] for c in told["changes"]} == {COACH}
        assert told["proposed_repetitions"][0]["start_s"] == round(first.start_s, 3)
        assert len(told["proposed_repetitions"]) == 3
        assert len(body["repetitions"]) == body["counts"]["both"] == 2
        assert told["notes"][0]["text"] == "Left knee drifts."


def test_versions_of_a_review_are_only_added_when_something_changed(tmp_path) -> None:
    with desk_in(tmp_path) as desk:
        assert desk.save_review() == 1
        desk.drop("r1")
        assert desk.save_review() == 2
        assert desk.save_review() == 2
        desk.undo()
        assert desk.save_review() == 1
        desk.redo()
        assert desk.save_review() == 2
        kinds = [r["kind"] for r in desk.record.rows("SELECT kind FROM review ORDER BY version")]
        assert kinds == ["measured", "corrected"]


def test_drafts_are_versions_with_at_most_sixty_words(tmp_path) -> None:
    with desk_in(tmp_path) as desk:
        assert desk.draft is None
        draft = Draft(praise="Even tempo.", fix="Push the floor away.", next="Same load.",
                      picture=Picture(kind="still", at_s=4.0, cue="depth", repetition="r2"))  # fmt: skip
        first = desk.save_draft(draft)
        assert (first.version, first.who, first.picture) == (1, COACH, draft.picture)
        assert desk.save_draft(draft).version == 1
        assert desk.save_draft(replace(draft, next="Two more each.")).version == 2
        with pytest.raises(ModelError, match="has 67 words and 60 are the most: take out 7"):
            desk.save_draft(replace(draft, fix=" ".join(["word"] * 63)))
        with pytest.raises(ModelError, match="no words"):
            desk.save_draft(Draft(praise="", fix=" ", next="–"))
        assert [d.version for d in desk.drafts()] == [1, 2]
    with desk_in(tmp_path) as desk:
        assert desk.draft.next == "Two more each."


def test_two_threads_may_write_at_one_desk(tmp_path) -> None:
    with desk_in(tmp_path) as desk:

        def write(who: int) -> None:
            for k in range(10):
                desk.note(f"{who} {k}", at_s=float(k))

        threads = [threading.Thread(target=write, args=(k,)) for k in range(4)]
        for t in threads:
            t.start()
        for t in threads:
            t.join()
        assert len(desk.state.notes) == len(desk.history()) == 40


def test_two_desks_of_one_review_see_each_other(tmp_path) -> None:
    with desk_in(tmp_path) as one, desk_in(tmp_path, author="Dov Hessel") as other:
        one.note("From one", at_s=1.0)
        other.note("From the other", at_s=2.0)
        one.drop("r1")
        assert one.state == other.state
        assert [n.who for n in one.state.notes] == [COACH, "Dov Hessel"]
        other.undo()
        assert len(one.state.spans) == 3


def test_corrections_are_carried_over_to_a_reading_that_found_other_repetitions(tmp_path) -> None:
    with desk_in(tmp_path) as desk:
        desk.move("r2", "start", desk.state.spans[1].start_s + 0.2)
        desk.note("Stays", at_s=6.0, repetition="r2")
        desk.overrule("depth", "met", repetition="r3", reason="seen")
        corrected = [(s.start_s, s.end_s) for s in desk.state.spans]
    found = judged()
    other = replace(found, repetitions=tuple(replace(r, number=k + 1) for k, r in enumerate(found.repetitions[1:])))
    with desk_in(tmp_path, other) as desk:
        assert "carried over" in desk.message
        assert np.allclose([(s.start_s, s.end_s) for s in desk.state.spans], corrected, atol=1e-3)
        assert desk.state.notes[0].repetition == desk.state.spans[1].id
        assert desk.state.overruled[0].repetition == desk.state.spans[2].id
        assert len(desk.data.repetitions) == 3
        assert len(desk.undo().spans) == 2
    with desk_in(tmp_path, other) as desk:
        assert len(desk.state.spans) == 2, "what was undone is not carried over again"
        desk.note("Made on the other reading", at_s=6.5, repetition="r1")
    with desk_in(tmp_path) as desk:
        assert [(s.start_s, s.end_s) for s in desk.state.spans] == corrected, "the first reading keeps its own"
        assert [n.text for n in desk.state.notes] == ["Stays", "Made on the other reading"]
        assert desk.state.notes[1].repetition == "r2", "the note stays with the repetition that lies in its place"
        desk.drop_note(desk.state.notes[1].id)
    with desk_in(tmp_path, other) as desk:
        desk.note("And once more", at_s=7.0)
    with desk_in(tmp_path) as desk:
        assert [n.text for n in desk.state.notes] == ["Stays", "And once more"], "nothing taken away comes back"


def test_only_notes_are_carried_over_where_no_repetition_was_corrected(tmp_path) -> None:
    with desk_in(tmp_path) as desk:
        desk.note("Stays", at_s=6.0, repetition="r2")
        desk.note("Of one that is gone", repetition="r1")
    found = judged()
    other = replace(found, repetitions=tuple(replace(r, number=k + 1) for k, r in enumerate(found.repetitions[1:])))
    with desk_in(tmp_path, other) as desk:
        assert [s.origin for s in desk.state.spans] == ["proposed", "proposed"]
        assert {n.text: n.repetition for n in desk.state.notes} == {"Stays": "r1", "Of one that is gone": None}
        assert desk.data.repetitions == other.repetitions


def test_where_the_record_is(tmp_path) -> None:
    clip = tmp_path / "inbox" / "IMG_0042.mp4"
    clip.parent.mkdir()
    assert record_path(clip) == tmp_path / "inbox" / "IMG_0042.desk.sqlite"
    (tmp_path / "cuebook.toml").touch()
    assert record_path(clip) == tmp_path / "record.sqlite"


def test_a_desk_needs_a_name_and_a_review_as_measured(tmp_path) -> None:
    with pytest.raises(ModelError, match="name of who works"):
        open_desk(judged(), author=" ", record=tmp_path / "record.sqlite")
    with desk_in(tmp_path) as desk:
        desk.drop("r1")
        with pytest.raises(ModelError, match="as measured"):
            open_desk(desk.data, author=COACH, record=tmp_path / "record.sqlite")


def test_a_record_that_was_given_stays_open(tmp_path) -> None:
    with Record(tmp_path / "record.sqlite") as record:
        open_desk(judged(), author=COACH, record=record).close()
        assert record.rows("SELECT count(*) FROM clip")[0][0] == 1


def test_a_folder_that_cannot_be_written_is_named(tmp_path) -> None:
    (tmp_path / "file").write_text("no folder")
    with pytest.raises(RecordError, match="cannot be opened"):
        open_desk(judged(), author=COACH, record=tmp_path / "file" / "record.sqlite")
