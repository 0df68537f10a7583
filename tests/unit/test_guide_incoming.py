"""Clips that come from the browser in pieces: whole or not at all, under a safe name, never over another one."""

from __future__ import annotations

from pathlib import Path

import pytest

from cuebook.errors import OutputError
from cuebook.guide.incoming import Incoming, free_name


def piece(part: int, parts: int = 3, *, name: str = "my set.mp4", take: str = "t1") -> dict:
    return {"type": "clip", "take": take, "name": name, "part": part, "parts": parts}


def test_pieces_become_one_clip_and_a_second_one_gets_its_own_name(tmp_path: Path) -> None:
    incoming = Incoming(tmp_path / "clips")
    for take, name in (("t1", "my set.mp4"), ("t2", "my set-2.mp4")):
        assert incoming.piece(piece(0, take=take), b"one ") is None
        assert incoming.piece(piece(1, take=take), b"two ") is None
        clip = incoming.piece(piece(2, take=take), b"three")
        assert clip == tmp_path / "clips" / name
        assert clip.read_bytes() == b"one two three"
    assert sorted(p.name for p in (tmp_path / "clips").iterdir()) == ["my set-2.mp4", "my set.mp4"]


def test_a_transfer_that_began_anew_starts_from_nothing_and_a_gap_is_said(tmp_path: Path) -> None:
    incoming = Incoming(tmp_path)
    incoming.piece(piece(0), b"old ")
    incoming.piece(piece(0), b"new ")
    with pytest.raises(OutputError, match=r"A piece of my set.mp4 did not arrive"):
        incoming.piece(piece(2), b"end")
    incoming.piece(piece(1), b"mid ")
    clip = incoming.piece(piece(2), b"end")
    assert clip is not None
    assert clip.read_bytes() == b"new mid end"


@pytest.mark.parametrize(
    ("given", "kept"),
    [("set.mp4", "set.mp4"), ("../../etc/set.mp4", "set.mp4"), ("C:\\Users\\me\\set.mov", "set.mov"),
     ("..", "clip"), ("größe 2.webm", "größe 2.webm"), ("a<b>|c.mp4", "abc.mp4"), (".hidden.mp4", "hidden.mp4")],
)  # fmt: skip
def test_a_name_stays_inside_the_folder(tmp_path: Path, given: str, kept: str) -> None:
    assert free_name(tmp_path, given) == tmp_path / kept
    assert len(free_name(tmp_path, "x" * 500 + ".mp4").name) <= 90


def test_a_folder_that_cannot_be_written_is_one_sentence(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(OutputError, match="cannot be written"):
        Incoming(tmp_path / "file" / "clips").piece(piece(0), b"x")
