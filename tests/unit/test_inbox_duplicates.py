"""Copies are grouped, other takes and mirrored ones are not, and the best is kept."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from cuebook.clip import read_clip
from cuebook.inbox.duplicates import Copy, find_copies
from cuebook.inbox.gather import gather
from cuebook.inbox.pictures import Looks, look_at, same_pictures
from cuebook.inbox.receive import Received, memory_text, receive
from tests.inbox_samples import take, write_again, write_take

DEMO = Path(__file__).parents[2] / "clips_demo"


def opened(folder: Path) -> list[Received]:
    return receive(gather(folder)[0], folder, memory=folder.with_name("none.json"))


def test_same_bytes_are_one_clip(tmp_path: Path) -> None:
    first = write_take(tmp_path / "in" / "a.mp4", take(1))
    shutil.copy(first, tmp_path / "in" / "b longer name.mp4")
    assert find_copies(opened(tmp_path / "in")) == {
        "b longer name.mp4": Copy(file="b longer name.mp4", kept="a.mp4", how="the same bytes")
    }


def test_a_smaller_copy_is_found_and_the_larger_kept(tmp_path: Path) -> None:
    first = write_take(tmp_path / "in" / "z.mp4", take(1), turned=1)
    write_again(first, tmp_path / "in" / "a.mp4")
    copies = find_copies(opened(tmp_path / "in"))
    assert [(c.file, c.kept) for c in copies.values()] == [("a.mp4", "z.mp4")]
    assert copies["a.mp4"].how == "the same pictures, coded again"


def test_a_mirrored_copy_and_another_take_are_kept_apart(tmp_path: Path) -> None:
    first = write_take(tmp_path / "in" / "a.mp4", take(1))
    write_again(first, tmp_path / "in" / "mirrored.mp4", scale=1.0, mirrored=True)
    write_take(tmp_path / "in" / "second take.mp4", take(2))
    assert find_copies(opened(tmp_path / "in")) == {}


def test_files_that_are_no_clips_are_compared_by_their_bytes(tmp_path: Path) -> None:
    for name in ("a.txt", "b.txt"):
        (tmp_path / name).write_text("not a clip")
    (tmp_path / "c.mp4").touch()
    (tmp_path / "d.mp4").touch()
    assert list(find_copies(opened(tmp_path))) == ["b.txt"]


@pytest.mark.slow
@pytest.mark.parametrize("name", ["glute-bridge", "lateral-lunge"])
def test_demo_clips_coded_at_a_third_of_their_size_are_copies(name: str, tmp_path: Path) -> None:
    clip = DEMO / f"{name}.mp4"
    small = look_at(read_clip(write_again(clip, tmp_path / "small.mp4", scale=0.34, crf=36)))
    mirrored = look_at(read_clip(write_again(clip, tmp_path / "mirrored.mp4", mirrored=True)))
    whole = look_at(read_clip(clip))
    assert whole is not None
    assert small is not None
    assert mirrored is not None
    scene, motion, flipped = same_pictures(whole, small)
    assert scene > 0.99
    assert motion > 0.98
    assert flipped < 0.5
    assert same_pictures(whole, mirrored)[1] < 0.5


@pytest.mark.slow
@pytest.mark.parametrize(
    ("a", "b"),
    [
        ("lateral-lunge", "lateral-lunge-bent-leg"),
        ("squat", "squat-shallow"),
    ],
)
def test_two_takes_of_one_person_in_one_room_are_not(a: str, b: str, tmp_path: Path) -> None:
    """The first pair is as alike as takes can be: rendered with the same count from the same instant."""
    (tmp_path / "in").mkdir()
    for name in (a, b):
        shutil.copy(DEMO / f"{name}.mp4", tmp_path / "in")
    assert find_copies(opened(tmp_path / "in")) == {}


def test_what_was_learnt_is_remembered_by_content(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_take(tmp_path / "in" / "a.mp4", take(1))
    (tmp_path / "in" / "b.txt").write_text("no clip")
    first = opened(tmp_path / "in")
    memory = tmp_path / "looks.json"
    memory.write_text(memory_text(first), encoding="utf-8")
    (tmp_path / "in" / "a.mp4").rename(tmp_path / "in" / "renamed.mp4")

    def refuse(path: object) -> None:
        raise AssertionError(f"{path} was opened again")

    monkeypatch.setattr("cuebook.inbox.receive._opened", refuse)
    second = receive(gather(tmp_path / "in")[0], tmp_path / "in", memory=memory)
    assert {r.sha256: (r.facts, r.trouble) for r in second} == {r.sha256: (r.facts, r.trouble) for r in first}
    assert next(r for r in second if r.facts).file == "renamed.mp4"


@pytest.mark.parametrize("text", ["", "[]", '{"version": 0, "clips": {}}', '{"version": 1, "clips": {"x": 3}}'])
def test_a_memory_that_cannot_be_read_is_made_again(tmp_path: Path, text: str) -> None:
    write_take(tmp_path / "in" / "a.mp4", take(1, frames=24))
    memory = tmp_path / "looks.json"
    memory.write_text(text)
    (one,) = receive(gather(tmp_path / "in")[0], tmp_path / "in", memory=memory)
    assert one.facts is not None


def test_looks_survive_the_way_through_json(tmp_path: Path) -> None:
    looks = look_at(read_clip(write_take(tmp_path / "a.mp4", take(3))))
    assert looks is not None
    again = Looks.unpacked(looks.packed())
    assert same_pictures(looks, again)[1] == pytest.approx(1.0)
    assert (again.grid == looks.grid).all()
