"""A file appears under its name whole or not at all."""

from __future__ import annotations

from pathlib import Path

import pytest

from cuebook.errors import OutputError
from cuebook.whole import whole_file, write_whole


def test_a_file_is_written_as_it_is_given(tmp_path: Path) -> None:
    written = write_whole(tmp_path / "tempo.html", "<p>größer</p>\r\n")
    assert written.read_bytes() == "<p>größer</p>\r\n".encode()
    assert write_whole(written, b"\x00\xff").read_bytes() == b"\x00\xff"
    assert [p.name for p in tmp_path.iterdir()] == ["tempo.html"]


def test_an_error_half_way_leaves_the_old_file_and_nothing_beside_it(tmp_path: Path) -> None:
    file = write_whole(tmp_path / "clips.csv", "old")

    def half() -> None:
        with whole_file(file) as passing:
            passing.write_text("half", encoding="utf-8")
            raise ValueError("the table ended")

    with pytest.raises(ValueError, match="the table ended"):
        half()
    assert file.read_text(encoding="utf-8") == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["clips.csv"]


@pytest.mark.parametrize(("place", "says"), [(".", "is a folder"), ("not there/tempo.html", "cannot be written")])
def test_a_place_that_cannot_be_written_is_one_sentence(tmp_path: Path, place: str, says: str) -> None:
    with pytest.raises(OutputError, match=says):
        write_whole(tmp_path / place, b"x")
    assert list(tmp_path.iterdir()) == []
