"""The desk over several clips, and the person whom the track follows, in the review and in what is kept of it."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

import cuebook
from cuebook.errors import CuebookError
from cuebook.record import last_seen, open_desk, person_before
from tests.desk_samples import sample_review

SMALL = {"reps": 1, "rate_hz": 15.0, "width": 120, "height": 212}


@pytest.fixture(scope="module")
def three(tmp_path_factory):
    folder = tmp_path_factory.mktemp("clips")
    return [sample_review(folder / f"{name}.mp4", **SMALL) for name in ("one", "two", "three")]


def opened(clips, tmp_path, **more):
    return cuebook.desk(clips, author="Orla Vennick", record=tmp_path / "record.sqlite", cache_dir=tmp_path / "cache",
                        **more)  # fmt: skip


def test_one_of_several_is_open_and_what_was_done_is_on_disk_before_the_next_one(three, tmp_path) -> None:
    desks = opened(three, tmp_path)
    assert repr(desks) == "<Desks: clip 1 of 3, one.mp4>"
    assert desks.current.facts["row"] == {"place": 1, "total": 3, "before": None, "after": "two.mp4"}
    desks.current.corrections.note("On the first.", at_s=1.0)
    desks.current.frame = 7
    second = desks.go_to(1)
    assert second.facts["row"] == {"place": 2, "total": 3, "before": "one.mp4", "after": "three.mp4"}
    assert desks.children[1] is second
    assert [n.text for n in second.corrections.state.notes] == []
    with open_desk(three[0], author="Dov Hessel", record=tmp_path / "record.sqlite") as again:
        assert [n.text for n in again.state.notes] == ["On the first."]
        assert again.kept["position_s"] == pytest.approx(three[0].clip.times_s[7])
    assert desks.go_to(-5).frame == 7
    assert desks.go_to(99) is desks.current
    assert desks.index == 2


def test_the_clip_in_view_last_is_opened_again(three, tmp_path) -> None:
    opened(three, tmp_path).go_to(1)
    again = opened(three, tmp_path)
    assert (again.index, again.current.review.data.clip.path.name) == (1, "two.mp4")
    assert last_seen(tmp_path / "record.sqlite", three[2].clip.path) is None


def test_a_clip_that_cannot_be_opened_is_said_and_the_one_in_view_stays(three, tmp_path) -> None:
    desks = opened([three[0], {"clip": tmp_path / "gone.mp4", "movement": "squat"}], tmp_path)
    desks._turn(1)
    assert "gone.mp4" in desks.said.value
    assert desks.index == 0
    with pytest.raises(CuebookError):
        desks.go_to(1)


def test_a_folder_without_clips_and_an_empty_list_are_refused(tmp_path) -> None:
    with pytest.raises(CuebookError, match="holds no clip"):
        cuebook.desk(tmp_path, movement="squat")
    with pytest.raises(CuebookError, match="empty"):
        cuebook.desk([], movement="squat")


def test_a_folder_and_a_workspace_give_their_clips_in_order(three, tmp_path, monkeypatch) -> None:
    from cuebook import api

    folder = three[0].clip.path.parent
    assert [p.name for p in api._clips_of(folder)] == ["one.mp4", "three.mp4", "two.mp4"]
    (tmp_path / "cuebook.toml").touch()
    (tmp_path / "clips").mkdir()
    (tmp_path / "clips" / "a.MOV").touch()
    (tmp_path / "clips" / "notes.txt").touch()
    assert [p.name for p in api._clips_of(tmp_path)] == ["a.MOV"]
    assert api._clips_of(three[0].clip.path) is None


def test_no_more_than_six_desks_stay_open_behind_the_one_in_view(three, tmp_path) -> None:
    desks = opened([*three, *three, *three], tmp_path)
    for k in range(9):
        desks.go_to(k)
    assert len(desks._opened) == 6
    assert desks.go_to(0).review.data.clip.path.name == "one.mp4"


def test_the_same_person_is_in_the_review_its_corrections_and_the_record(three, tmp_path) -> None:
    pointed = replace(three[0], person="60,100@1.5")
    record = tmp_path / "record.sqlite"
    with open_desk(pointed, author="Orla Vennick", record=record) as desk:
        desk.note("Whole set.")
        assert desk.data.person == "60,100@1.5"
        assert desk.data.corrections is not None
        desk.save_review()
    from cuebook.report.tables import review_json

    assert review_json(pointed)["person"]["pointed_at"] == "60,100@1.5"
    sha = pointed.clip.sha256
    assert person_before(record, sha, "squat") == "60,100@1.5"
    assert person_before(record, sha, "lunge") is None
    assert person_before(tmp_path / "none.sqlite", sha, "squat") is None
    assert not (tmp_path / "none.sqlite").exists()


def test_corrections_of_one_person_are_not_those_of_another(three, tmp_path) -> None:
    record = tmp_path / "record.sqlite"
    with open_desk(three[0], author="Orla Vennick", record=record) as desk:
        desk.note("Of the one in front.", at_s=1.0)
    with open_desk(replace(three[0], person="60,100@1.5"), author="Orla Vennick", record=record) as desk:
        assert desk.state.notes == ()
        desk.note("Of the one behind.", at_s=1.0)
    with open_desk(three[0], author="Orla Vennick", record=record) as desk:
        assert [n.text for n in desk.state.notes] == ["Of the one in front."]
    assert json.loads(json.dumps(three[0].person)) is None


def test_a_clip_opened_again_follows_the_same_person(three, tmp_path, monkeypatch) -> None:
    """The pose model is left out: what the review is asked for is what counts here."""
    from cuebook import api

    asked = []

    def reviewed(clip, *, person=None, **_options):
        asked.append(person)
        return cuebook.Review(replace(three[0], person=person))

    monkeypatch.setattr(api, "review", reviewed)
    clip = three[0].clip.path
    for more in ({"person": "60,100@1.5"}, {}, {"person": None}, {}):
        opened(clip, tmp_path, movement="squat", **more)
    assert asked == ["60,100@1.5", "60,100@1.5", None, None]
