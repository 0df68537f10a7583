"""An inbox that was stopped goes on; one with nothing in it is a sentence and leaves nothing behind."""

from __future__ import annotations

from pathlib import Path

import pytest

from cuebook.cli import main
from cuebook.inbox import sort as sorting
from tests.inbox_samples import take, write_take


def asked(folder: Path, *more: str) -> list[str]:
    return ["inbox", str(folder), "--quick", "--athlete", "Greta Maarlund", "--movement", "squat", *more]


def test_a_key_press_is_one_sentence_and_the_same_command_goes_on(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    write_take(tmp_path / "in" / "a.mp4", take(70, frames=24))

    def pressed(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(sorting, "_entries", pressed)
        assert main(asked(tmp_path / "in")) == 130
    said = capsys.readouterr()
    assert said.err.splitlines()[-1] == "Stopped; what was looked at is kept. The same command goes on from there."
    assert not (tmp_path / "in.sorted" / "inbox.json").exists()
    with monkeypatch.context() as patched:
        patched.setattr("cuebook.inbox.receive.read_clip", lambda *_: pytest.fail("opened again"))
        assert main(asked(tmp_path / "in")) == 0
    said = capsys.readouterr().out
    assert "a.mp4" in said
    assert "The athlete was not looked at yet" in said, "with --quick, and said first"
    assert (tmp_path / "in.sorted" / "inbox.json").is_file()


@pytest.mark.parametrize(
    ("left", "code"),
    [(("tracks/0123.npz",), 0), (("tracks/.0124.npz.7.partial",), 0), (("tracks/mine.txt",), 2),
     (("tracks/0123.npz", "mine.txt"), 2), (("looks.json",), 2)],
)  # fmt: skip
def test_tracks_alone_are_ours_and_anything_else_is_not(tmp_path: Path, left: tuple[str, ...], code: int) -> None:
    write_take(tmp_path / "in" / "a.mp4", take(71, frames=24))
    for name in left:
        path = tmp_path / "out" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"left")
    assert main(asked(tmp_path / "in", "--out", str(tmp_path / "out"))) == code
    assert (tmp_path / "out" / "inbox.json").is_file() == (code == 0)
    assert all((tmp_path / "out" / name).is_file() for name in left)


@pytest.mark.parametrize("litter", [None, ".DS_Store"])
def test_an_empty_folder_is_a_sentence_and_nothing_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], litter: str | None
) -> None:
    (tmp_path / "in").mkdir()
    if litter:
        (tmp_path / "in" / litter).touch()
    assert main(asked(tmp_path / "in")) == 2
    said = capsys.readouterr().err
    assert ("holds only what a system" if litter else "holds no file") in said
    assert "save the clips there first" in said
    assert [path.name for path in tmp_path.iterdir()] == ["in"]


def test_an_empty_folder_with_a_manifest_says_who_owes_a_clip(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "in").mkdir()
    (tmp_path / "week.csv").write_text("athlete,movement,due\nIdris Pell,squat,2026-01-14\n", encoding="utf-8")
    assert main(["inbox", str(tmp_path / "in"), "--quick", "--manifest", str(tmp_path / "week.csv")]) == 0
    assert "Missing: Idris Pell (squat)." in capsys.readouterr().out


def test_words_of_pain_stand_above_the_count_and_progress_in_lines(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for number, name in enumerate(("a", "b", "c")):
        write_take(tmp_path / "in" / f"{name}.mp4", take(72 + number, frames=24))
    text = "file,athlete,movement,message\nb.mp4,Idris Pell,squat,my knee hurts a bit\na.mp4,Idris Pell,squat,good\n"
    (tmp_path / "week.csv").write_text(text, encoding="utf-8")
    assert main(["inbox", str(tmp_path / "in"), "--quick", "--manifest", str(tmp_path / "week.csv")]) == 0
    said = capsys.readouterr()
    (first,) = [line for line in said.out.splitlines() if line.startswith("Look at this first")]
    assert 'Idris Pell wrote with b.mp4: "my knee hurts a bit" (hurts). Pain ends the set' in first
    assert said.out.index(first) < said.out.index("3 files: ")
    shares = [int(line.split(" %")[0]) for line in said.err.splitlines()]
    assert shares == sorted(set(shares))
    assert shares[-1] == 100
