"""`cuebook review` and `cuebook tempo` from the command line, on a clip of an empty room."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from cuebook.cli import main
from cuebook.clip import write_video

pytestmark = pytest.mark.backend


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("clips") / "room.mp4"
    picture = np.full((240, 136, 3), 160, dtype=np.uint8)
    write_video(path, (picture for _ in range(45)), np.arange(45) / 15.0)
    return path


def test_a_review_of_nobody_is_written_and_says_how_to_film(
    room: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "room.review"
    assert main(["review", str(room), "--movement", "squat", "--reps", "5", "--out", str(out)]) == 0
    shown = capsys.readouterr().out
    assert "no repetition counted" in shown
    assert "To judge the rest: " in shown
    assert str(out / "feedback.html") in shown
    assert "Pain ends the set" in shown
    written = {p.name for p in out.iterdir()}
    assert written >= {"review.json", "angles.csv", "repetitions.csv", "feedback.html", "annotated.mp4", "stills"}


def test_json_is_all_that_stands_on_standard_output(
    room: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "room.review"
    arguments = ["review", str(room), "--movement", "split-squat", "--side", "left", "--tempo", "30X1"]
    assert main([*arguments, "--mirrored", "no", "--no-video", "--json", "--out", str(out)]) == 0
    review = json.loads(capsys.readouterr().out)
    assert review == json.loads((out / "review.json").read_text(encoding="utf-8"))
    assert review["movement"] == "split-squat"
    assert review["clip"]["mirrored"] == "no"
    assert review["tempo"]["prescribed"] == {"eccentric_s": 3, "long_hold_s": 0, "concentric_s": "X", "short_hold_s": 1}
    assert {v["outcome"] for v in review["verdicts"]} == {"not_measurable"}
    assert not (out / "annotated.mp4").exists()


def test_a_review_is_replaced_and_other_files_are_left_alone(
    room: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    arguments = ["review", str(room), "--movement", "squat", "--no-video", "--out", str(out)]
    out.mkdir()
    (out / "letter.txt").write_text("mine")
    assert main(arguments) == 2
    assert "holds files that are no review" in capsys.readouterr().err
    assert [p.name for p in out.iterdir()] == ["letter.txt"]
    (out / "letter.txt").unlink()
    assert main(arguments) == 0
    tracks = sorted(p.name for p in (out / "track").iterdir())
    assert tracks
    assert main(arguments) == 0
    assert sorted(p.name for p in (out / "track").iterdir()) == tracks
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_a_workspace_keeps_the_track_in_its_cache(room: Path, tmp_path: Path) -> None:
    (tmp_path / "cuebook.toml").write_text("")
    (tmp_path / "clips").mkdir()
    clip = tmp_path / "clips" / "room.mp4"
    clip.write_bytes(room.read_bytes())
    assert main(["review", str(clip), "--movement", "squat", "--no-video"]) == 0
    assert any((tmp_path / "cache").iterdir())
    assert (tmp_path / "clips" / "room.review" / "review.json").is_file()
    assert not (tmp_path / "clips" / "room.review" / "track").exists()


def test_a_bad_place_is_refused_before_the_clip_is_looked_at(
    room: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def looked(*_args: object, **_options: object) -> None:
        raise AssertionError("the clip was analysed")

    monkeypatch.setattr("cuebook.assess.analyse.review_clip", looked)
    (tmp_path / "letter.txt").write_text("mine")
    assert main(["review", str(room), "--movement", "squat", "--out", str(tmp_path / "letter.txt" / "x")]) == 2
    assert "because" in capsys.readouterr().err


def test_tempo_reads_the_track_of_the_clips_own_review_and_changes_nothing(
    room: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    clip = tmp_path / "room.mp4"
    clip.write_bytes(room.read_bytes())
    assert main(["review", str(clip), "--movement", "squat", "--no-video"]) == 0
    track = tmp_path / "room.review" / "track"
    before = {p.name: p.stat().st_mtime_ns for p in track.iterdir()}

    def looked(*_args: object, **_options: object) -> None:
        raise AssertionError("the clip was analysed again")

    monkeypatch.setattr("cuebook.pose.track._results", looked)
    assert main(["tempo", str(clip), "--movement", "squat", "--tempo", "3-1-1-0"]) == 0
    assert "could not be measured" in capsys.readouterr().out
    assert {p.name: p.stat().st_mtime_ns for p in track.iterdir()} == before


def test_the_tempo_of_nobody_is_a_table_that_says_why(room: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["tempo", str(room), "--movement", "squat", "--tempo", "3-1-1-0"]) == 0
    shown = capsys.readouterr().out
    assert "The tempo could not be measured in this clip." in shown
    assert "Pain ends the set" in shown


def test_a_text_that_is_called_a_clip_ends_with_two_and_writes_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    clip = tmp_path / "notes.mp4"
    clip.write_text("no picture")
    assert main(["review", str(clip), "--movement", "squat"]) == 2
    caught = capsys.readouterr()
    assert caught.err.count("\n") == 1
    assert "notes.mp4" in caught.err
    assert [p.name for p in tmp_path.iterdir()] == ["notes.mp4"]
