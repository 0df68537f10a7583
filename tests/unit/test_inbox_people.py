"""The people in a picture, the answer who of them is the athlete, and what becomes of the clip."""

from __future__ import annotations

import csv
from pathlib import Path

import cv2
import numpy as np
import pytest

from cuebook.clip import read_clip
from cuebook.errors import InboxError, PoseError
from cuebook.inbox import sort_inbox
from cuebook.inbox.answers import keep_answer, read_answers
from cuebook.inbox.library import read_library
from cuebook.inbox.people import Still, people_in, stills_with_people
from cuebook.sheet.pointing import followed_share
from tests.two_people import HEIGHT_PX, POINT_LEFT, POINT_RIGHT, WIDTH_PX, write_beside, write_crossing

LIBRARY = read_library(None)


def _apart(path: Path) -> list[Still]:
    return [still for still in stills_with_people(read_clip(path)) if len(still.people) == 2]


class Detector:
    """Sees whoever stands in the part of the picture that is not greyed: bright columns are people."""

    def __init__(self, *columns: int) -> None:
        self.columns = columns

    def people(self, picture: np.ndarray) -> np.ndarray:
        height, width = picture.shape[:2]
        seen = [x for x in self.columns if picture[height // 2, x].min() > 250]
        return np.array([[[x / width, 0.5], [x / width, 0.9]] for x in seen]).reshape(-1, 2, 2)


def room(*columns: int) -> np.ndarray:
    picture = np.full((100, 200, 3), 90, np.uint8)
    for x in columns:
        picture[:, x - 2 : x + 3] = 255
    return picture


def test_one_who_is_seen_in_several_strips_is_one_person() -> None:
    found = people_in(room(50, 150), Detector(50, 150))
    assert found.tolist() == [[50.0, 50.0, 40.0], [150.0, 50.0, 40.0]]


def test_a_small_figure_far_behind_and_an_empty_room_are_nobody() -> None:
    class Far(Detector):
        def people(self, picture: np.ndarray) -> np.ndarray:
            found = super().people(picture)
            found[found[:, 0, 0] > 0.5, 1, 1] = 0.55
            return found

    assert people_in(room(50, 150), Far(50, 150))[:, 0].tolist() == [50.0]
    assert people_in(room(), Detector()).shape == (0, 3)


def test_an_answer_is_kept_beside_what_else_stands_in_the_table(tmp_path: Path) -> None:
    table = tmp_path / "answers.csv"
    table.write_text("clip,file,asks,to,message,suggestion,answer\nbb,b.mp4,athlete,coach,Whose?,,\n", encoding="utf-8")
    for answer in ("1,2@3", "4,5@6"):
        keep_answer(table, clip="aa", file="a.mp4", asks="person", answer=answer, library=LIBRARY)
    with table.open(encoding="utf-8", newline="") as file:
        rows = [(r["clip"], r["asks"], r["answer"]) for r in csv.DictReader(file)]
    assert rows == [("bb", "athlete", ""), ("aa", "person", "4,5@6")]
    assert read_answers(table, library=LIBRARY)[0] == {"aa": {"person": "4,5@6"}}
    with pytest.raises(InboxError, match="is no point"):
        keep_answer(table, clip="aa", file="a.mp4", asks="person", answer="left", library=LIBRARY)
    assert [p.name for p in tmp_path.iterdir()] == ["answers.csv"]


@pytest.mark.slow
@pytest.mark.backend
def test_two_rendered_athletes_are_found_where_they_stand(tmp_path: Path) -> None:
    """Truth: the left one stands in the left half of the picture, the right one in the right half."""
    stills = stills_with_people(read_clip(write_beside(tmp_path / "two.mp4")))
    assert 1 <= len(stills) <= 4
    best = stills[0]
    assert len(best.people) == 2
    left, right = best.people
    assert 0 < left.x_px < WIDTH_PX < right.x_px < 2 * WIDTH_PX
    assert best.apart > 0.5
    shown = cv2.imdecode(np.frombuffer(best.jpeg, np.uint8), cv2.IMREAD_COLOR)
    assert shown.shape[1] / shown.shape[0] == pytest.approx(2 * WIDTH_PX / HEIGHT_PX, rel=0.01)


@pytest.mark.slow
@pytest.mark.backend
def test_who_was_pointed_at_is_sorted_and_the_others_are_not_looked_at_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, out = tmp_path / "in", tmp_path / "out"
    write_beside(folder / "Fenn Otterley" / "squat" / "front room.mp4")
    (folder / "Fenn Otterley" / "squat" / "notes.mp4").write_text("no clip")
    first = sort_inbox(folder, out=out)
    (entry,) = [e for e in first.entries if e.facts is not None]
    assert (entry.state, [q.asks for q in entry.questions]) == ("needs_answer", ["person"])
    chosen = sort_inbox(folder, out=out, person=f"front room.mp4={POINT_RIGHT}", earlier=first)
    (now,) = [e for e in chosen.entries if e.facts is not None]
    assert (now.state, now.person.value, now.questions) == ("usable", POINT_RIGHT, ())
    assert [(f.word, f.weight) for f in now.findings] == [("two people", "note")]
    assert (out / "clips" / now.new_name).is_file()
    monkeypatch.setattr("cuebook.inbox.study.follow_person", lambda *_, **__: pytest.fail("followed again"))
    again = sort_inbox(folder, out=out, earlier=chosen)
    assert again.entries == chosen.entries, "the answer was kept, and nothing was said since"


@pytest.mark.slow
@pytest.mark.backend
def test_where_they_cross_the_answer_is_refused_with_its_reason(tmp_path: Path) -> None:
    crossing = write_crossing(tmp_path / "in" / "Maud Otterley" / "squat" / "crossing.mp4")
    found = sort_inbox(tmp_path / "in", out=tmp_path / "out", person=POINT_LEFT)
    (entry,) = found.entries
    assert (entry.state, entry.refilm) == ("refilm", ("two_people",))
    assert "come too near to each other" in entry.reason
    with pytest.raises(InboxError, match=r"the two cross or come too near") as refused:
        followed_share(entry, crossing, POINT_LEFT, tracks=tmp_path / "out" / "tracks")
    assert "crossing.mp4" in str(refused.value)
    for point in (POINT_RIGHT, *(f"{p.x_px},{p.y_px}@{s.time_s}" for s in _apart(crossing) for p in s.people)):
        with pytest.raises(InboxError, match=r"the two cross or come too near"):
            followed_share(entry, crossing, point, tracks=tmp_path / "out" / "tracks")
    with pytest.raises(PoseError, match="Nobody is found at 5,5"):
        followed_share(entry, crossing, "5,5@1", tracks=tmp_path / "out" / "tracks")
