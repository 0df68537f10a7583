"""The kernel's side of the desk: edits reach the record before they are confirmed, and refusals are sentences."""

from __future__ import annotations

import json

import numpy as np
import pytest

import cuebook
from cuebook.errors import CuebookError, RecordError
from cuebook.record import open_desk
from cuebook.widgets.desk import kept_beside
from tests.desk_samples import sample_review


@pytest.fixture(scope="module")
def data(tmp_path_factory):
    return sample_review(tmp_path_factory.mktemp("clip") / "drawn.mp4", reps=2, rate_hz=15.0, width=120, height=212)


@pytest.fixture
def desk(data, tmp_path, monkeypatch):
    """A desk whose messages to the browser are kept in `said`."""
    made = cuebook.desk(data, author="Orla Vennick", record=tmp_path / "record.sqlite", cache_dir=tmp_path / "cache")
    made._copy.wait(120)
    said = []
    monkeypatch.setattr(type(made), "send", lambda _self, content, buffers=None: said.append((content, buffers)))
    made.said = said
    return made


def heard(desk, message, buffers=()):
    desk._heard(desk, message, list(buffers))
    return desk.said


def test_the_browser_gets_every_array_and_the_clip_when_it_asks(desk, data):
    (figures, arrays), (clip, parts) = heard(desk, {"type": "need"})
    assert figures["type"] == "figures"
    assert len(figures["names"]) == len(figures["kinds"]) == len(arrays)
    times = np.frombuffer(arrays[figures["names"].index("times")], "<f8")
    np.testing.assert_array_equal(times, data.clip.times_s)
    assert clip == {"type": "clip"}
    assert parts[0][4:8] == b"ftyp"


def test_the_first_picture_is_the_athlete_about_to_begin(desk, data):
    start = data.repetitions[0].start_s
    assert data.clip.times_s[desk.frame] < start <= data.clip.times_s[desk.frame + 1]


def test_an_edit_is_in_the_record_before_it_is_confirmed(desk, data, tmp_path):
    edit = {"kind": "note", "text": "Heels stay down.", "at_s": 1.0, "repetition": "r1", "joint": None, "cue": None,
            "severity": "praise"}  # fmt: skip
    heard(desk, {"type": "edit", "key": "k1", "edit": edit})
    heard(desk, {"type": "edit", "key": "k1", "edit": edit})  # sent again after a cut line
    done = {"type": "done", "key": "k1", "refused": None, "failed": None, "words": None}
    assert [content for content, _ in desk.said] == [done, done]
    assert [n["text"] for n in desk.live["notes"]] == ["Heels stay down."]
    with open_desk(data, author="Dov Hessel", record=tmp_path / "record.sqlite") as again:
        assert [n.text for n in again.state.notes] == ["Heels stay down."]


def test_an_outcome_by_eye_stands_beside_the_measured_one(desk):
    first = next(v for v in desk.live["verdicts"] if v["cue"] == "depth" and v["repetition"] == 1)
    edit = {"kind": "overrule", "cue": "depth", "repetition": "r1", "side": first["side"], "outcome": "not_met",
            "reason": "judged by eye"}  # fmt: skip
    heard(desk, {"type": "edit", "key": "k2", "edit": edit})
    after = next(v for v in desk.live["verdicts"] if v["cue"] == "depth" and v["repetition"] == 1)
    assert after["outcome"] == first["outcome"]
    assert (after["overruled"]["words"], after["overruled"]["who"]) == ("not met", "Orla Vennick")
    json.dumps(desk.live, allow_nan=False)


def test_undo_says_what_it_took_back_also_where_another_desk_made_it(desk, data, tmp_path):
    """Two coaches, or two tabs, correct one clip: the record knows whose change was the last, a screen does not."""
    heard(desk, {"type": "edit", "key": "k1", "edit": {"kind": "note", "text": "Heels down.", "at_s": 1.0}})
    with open_desk(data, author="Dov Hessel", record=tmp_path / "record.sqlite") as other:
        other.drop("r2")
    heard(desk, {"type": "edit", "key": "k2", "edit": {"kind": "undo"}})
    heard(desk, {"type": "edit", "key": "k3", "edit": {"kind": "redo"}})
    for key in ("k4", "k5", "k6"):
        heard(desk, {"type": "edit", "key": key, "edit": {"kind": "undo"}})
    assert [content["words"] for content, _ in desk.said] == [
        None, "Taken back: drop repetition 2.", "Done again: drop repetition 2.", "Taken back: drop repetition 2.",
        "Taken back: write a note.", "There is nothing to undo.",
    ]  # fmt: skip


def test_two_desks_of_one_clip_in_a_notebook_show_the_same(desk, data, tmp_path):
    twin = cuebook.desk(data, author="Dov Hessel", record=tmp_path / "record.sqlite", cache_dir=tmp_path / "cache")
    apart = cuebook.desk(data, author="Dov Hessel", record=tmp_path / "apart.sqlite", cache_dir=tmp_path / "cache")
    heard(desk, {"type": "edit", "key": "k1", "edit": {"kind": "drop", "repetition": "r1"}})
    assert [len(d.live["repetitions"]) for d in (desk, twin, apart)] == [1, 1, 2]


def test_a_refusal_is_a_sentence_and_changes_nothing(desk):
    before = desk.live["repetitions"]
    heard(desk, {"type": "edit", "key": "k3", "edit": {"kind": "split", "repetition": "r1", "at_s": 999.0}})
    heard(desk, {"type": "edit", "key": "k4", "edit": {"kind": "drop", "repetition": "r77"}})
    for content, _ in desk.said:
        assert content["type"] == "done"
        assert content["refused"].endswith(".")
    assert desk.live["repetitions"] == before
    assert desk.measured.data.repetitions == desk.review.data.repetitions


def test_what_the_disk_refuses_is_not_taken_for_done(desk, monkeypatch):
    def full(*_args, **_options):
        raise RecordError("The record cannot be written: make room on the disk.")

    monkeypatch.setattr(desk._corrections, "apply", full)
    heard(desk, {"type": "edit", "key": "k5", "edit": {"kind": "undo"}})
    content, _ = desk.said[0]
    assert (content["refused"], content["failed"]) == (None, "The record cannot be written: make room on the disk.")


def test_the_place_and_a_half_note_are_kept(desk, data, tmp_path):
    desk.frame = 12
    heard(desk, {"type": "keep", "values": {"half_note": {"text": "half a tho", "at_s": 0.8}}})
    with open_desk(data, author="Orla Vennick", record=tmp_path / "record.sqlite") as again:
        assert again.kept["half_note"]["text"] == "half a tho"
        assert again.kept["position_s"] == pytest.approx(data.clip.times_s[12])


def test_a_still_is_saved_beside_the_clip(desk, data):
    heard(desk, {"type": "still", "at_s": 2.5}, [memoryview(b"\xff\xd8 picture")])
    content, _ = desk.said[0]
    assert content["words"] == "Saved as drawn.stills/drawn-002.50s.jpg."
    folder = data.clip.path.parent / "drawn.stills"
    assert [p.name for p in folder.iterdir()] == ["drawn-002.50s.jpg"]


def test_another_review_can_stand_beside(data, tmp_path):
    made = cuebook.desk(data, beside=data, record=tmp_path / "r.sqlite", cache_dir=tmp_path / "cache")
    beside = made.facts["beside"]
    assert [r["turn_s"] for r in beside["repetitions"]] == [r.turn_s for r in data.repetitions]
    json.dumps(made.facts, allow_nan=False)


def test_a_still_and_a_table_stand_in_where_there_are_no_widgets(desk):
    bundle, _ = desk._repr_mimebundle_()
    assert "<table" in bundle["text/html"]
    assert bundle["text/plain"] == "<Desk for drawn.mp4: squat, 2 repetitions>"


def test_where_things_are_kept(tmp_path):
    clip = tmp_path / "clips" / "squat.mp4"
    clip.parent.mkdir()
    assert kept_beside(clip) == clip.parent / "squat.desk"
    (clip.parent / "squat.review").mkdir()
    (clip.parent / "squat.review" / "review.json").touch()
    assert kept_beside(clip) == clip.parent / "squat.review" / "track"
    (tmp_path / "cuebook.toml").touch()
    assert kept_beside(clip) == tmp_path / "cache"


def test_a_clip_needs_a_movement():
    with pytest.raises(CuebookError, match=r"needs a movement for squat\.mp4"):
        cuebook.desk("squat.mp4")
