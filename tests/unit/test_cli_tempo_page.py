"""``cuebook tempo --page`` and ``--sound``: a guide without a clip."""

from __future__ import annotations

from pathlib import Path

import pytest

from cuebook.cli import EXIT_DONE, EXIT_INPUT, main
from cuebook.guide.sounds import read_wav

ASKED = ["tempo", "--movement", "squat", "--tempo", "3-1-1-0"]


def test_a_page_and_a_sound_are_written(tmp_path: Path, capsys: pytest.CaptureFixture) -> None:
    page, sound = tmp_path / "tempo.html", tmp_path / "tempo.wav"
    code = main([*ASKED, "--reps", "3", "--page", str(page), "--sound", str(sound), "--athlete", "Tamsin Broad"])
    assert code == EXIT_DONE
    assert "For Tamsin Broad." in page.read_text(encoding="utf-8")
    samples, rate = read_wav(sound.read_bytes())
    assert len(samples) / rate == pytest.approx(5 + 3 * 5 + 1.5)
    said = capsys.readouterr().out
    assert str(page) in said
    assert "Pain ends the set" in said


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        ([], "name a clip of the set, such as set2.mp4, or give --page PAGE.html"),
        (["--page", "{folder}"], "is a folder"),
        (["--page", "{folder}/none/tempo.html"], "cannot be written: make the folder"),
        (["--page", "{folder}/tempo.html", "--reps", "0"], "--reps"),
    ],
)
def test_what_cannot_be_done_is_one_sentence(
    arguments: list[str], sentence: str, tmp_path: Path, capsys: pytest.CaptureFixture
) -> None:
    code = main([*ASKED, *(a.format(folder=tmp_path) for a in arguments)])
    assert code == EXIT_INPUT
    said = capsys.readouterr().err
    assert sentence in said
    assert said.count("\n") == 1
    assert list(tmp_path.iterdir()) == []
