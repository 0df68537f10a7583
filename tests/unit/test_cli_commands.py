"""The command line: exit codes, one sentence on standard error, and what is printed."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

import cuebook
from cuebook.cli import main


def test_help_names_every_command_and_is_shown_without_arguments(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--help"]) == 0
    shown = capsys.readouterr().out
    for command in ("review", "tempo", "movements", "models", "check"):
        assert f"\n  {command}" in shown
    assert main([]) == 0
    assert capsys.readouterr().out == shown


def test_the_version_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--version"]) == 0
    assert capsys.readouterr().out == f"cuebook {cuebook.__version__}\n"


@pytest.mark.parametrize("group", [[], ["movements"], ["models"]])
def test_no_help_line_is_cut_off(group: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*group, "--help"]) == 0
    listed = capsys.readouterr().out.split("Commands:\n")[1].splitlines()
    assert len(listed) >= 2
    for line in listed:
        assert line.endswith(".")
        assert "..." not in line


@pytest.mark.parametrize(
    ("arguments", "command"),
    [(["review", "a.mp4"], "cuebook review"), (["models", "add"], "cuebook models add"), (["judge"], "cuebook")],
)
def test_a_usage_error_names_the_help_of_its_own_command(
    arguments: list[str], command: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(arguments) == 2
    assert capsys.readouterr().err.endswith(f"; see {command} --help.\n")


def test_a_movement_file_that_is_not_there_is_named(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["movements", "check", "nofile.toml"]) == 2
    assert capsys.readouterr().err == "cuebook: There is no file nofile.toml: check the name and the folder.\n"


def test_review_has_the_options_others_rely_on(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["review", "--help"]) == 0
    shown = capsys.readouterr().out
    for option in ("--movement", "--side", "--tempo", "--reps", "--out", "--capture-rate", "--mirrored", "--no-video"):
        assert option in shown
    assert "--json" in shown


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["review", "a.mp4"], "Missing option '--movement'"),
        (["review"], "Missing argument 'CLIP'"),
        (["review", "a.mp4", "--movement", "squat", "--reps", "0"], "--reps"),
        (["review", "a.mp4", "--movement", "squat", "--side", "up"], "--side"),
        (["review", "a.mp4", "--movement", "sqaut"], "did you mean squat"),
        (["review", "a.mp4", "--movement", "squat", "--tempo", "3-1-1"], "three numbers"),
        (["review", "a.mp4", "--movement", "squat", "--tempo", "3-X-1-0"], "long hold"),
        (["tempo", "a.mp4", "--movement", "squat", "--tempo", "0-1-1-0"], "eccentric"),
        (["review", "a.mp4", "--movement", "squat", "--side", "left"], "Squat works both sides at once"),
        (["tempo", "a.mp4", "--movement", "squat"], "Missing option '--tempo'"),
        (["movements", "show", "plank"], "no movement called 'plank'"),
        (["movements"], "Missing command"),
        (["judge"], "No such command 'judge'"),
    ],
)
def test_what_cannot_be_used_ends_with_two_and_one_sentence(
    arguments: list[str],
    words: str,
    capsys: pytest.CaptureFixture[str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(arguments) == 2
    caught = capsys.readouterr()
    assert caught.out == ""
    assert caught.err.startswith("cuebook: ")
    assert caught.err.count("\n") == 1
    assert words in caught.err
    assert list(tmp_path.iterdir()) == []


def test_a_clip_that_is_not_there_ends_with_two(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["review", "absent.mp4", "--movement", "squat"]) == 2
    assert "absent.mp4" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_movements_are_listed_with_those_of_the_workspace(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from cuebook.movements import list_movements

    (tmp_path / "cuebook.toml").write_text("")
    (tmp_path / "movements").mkdir()
    squat = Path(sys.modules["cuebook"].__file__).parent / "movements" / "squat.toml"
    (tmp_path / "movements" / "box-squat.toml").write_text(squat.read_text().replace('"Squat"', '"Box squat"'))
    (tmp_path / "clips").mkdir()
    monkeypatch.chdir(tmp_path / "clips")
    assert main(["movements", "list"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert [line.split()[0] for line in lines[1:]] == sorted({*list_movements(), "box-squat"})
    assert main(["movements", "show", "box-squat"]) == 0
    assert capsys.readouterr().out.startswith("Box squat (box-squat)\n")


def test_showing_a_movement_names_sources_filming_and_cautions(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["movements", "show", "push-up-to-inverted-v"]) == 0
    shown = capsys.readouterr().out
    assert "common practice of the trade" in shown
    assert "published figure" in shown
    assert "Film (side)" in shown
    assert "high blood pressure" in shown
    assert "Pain ends the set" in shown


def test_checking_a_file_says_valid_or_names_the_line(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    squat = Path(sys.modules["cuebook"].__file__).parent / "movements" / "squat.toml"
    own = tmp_path / "own.toml"
    own.write_text(squat.read_text())
    assert main(["movements", "check", str(own)]) == 0
    assert capsys.readouterr().out == "own.toml is valid: Squat, 4 cues.\n"
    own.write_text(squat.read_text().replace('event = "turn"', 'event = "bottom"', 1))
    assert main(["movements", "check", str(own)]) == 2
    line = 1 + own.read_text().splitlines().index('event = "bottom"')
    assert f"own.toml, line {line}: 'event' is 'bottom'" in capsys.readouterr().err


def test_models_are_listed_and_a_wrong_file_is_refused(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CUEBOOK_HOME", str(tmp_path / "home"))
    assert main(["models", "list"]) == 0
    shown = capsys.readouterr().out
    assert "mediapipe-full: ready\n" in shown
    assert "mediapipe-heavy: " in shown
    assert "mediapipe-heavy: ready" not in shown
    wrong = tmp_path / "model.tflite"
    wrong.write_bytes(b"no model")
    assert main(["models", "add", str(wrong)]) == 2
    assert "model.tflite" in capsys.readouterr().err
    assert not (tmp_path / "home").exists()


def test_help_loads_nothing_heavy() -> None:
    code = (
        "import sys; from cuebook.cli import main; main(['review', '--help']); "
        "heavy = {'numpy', 'av', 'cv2', 'mediapipe', 'scipy', 'pandas', 'matplotlib', 'jinja2'}; "
        "sys.exit(bool(heavy & set(sys.modules)))"
    )
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, check=False).returncode == 0
