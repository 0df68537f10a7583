"""A coach's folder: finding it, and the settings in it."""

from __future__ import annotations

from pathlib import Path

import pytest

from cuebook.errors import MovementError
from cuebook.model import Settings
from cuebook.movements import TempoMargins, find_workspace, read_settings


def test_the_nearest_folder_upwards_is_found(tmp_path: Path) -> None:
    inner = tmp_path / "season" / "clips"
    inner.mkdir(parents=True)
    assert find_workspace(inner) is None or tmp_path not in (find_workspace(inner), *find_workspace(inner).parents)
    (tmp_path / "cuebook.toml").write_text("")
    assert find_workspace(inner) == tmp_path.resolve()
    (tmp_path / "season" / "cuebook.toml").write_text("")
    assert find_workspace(inner / "clip.mp4") == (tmp_path / "season").resolve()


def test_an_empty_file_and_no_workspace_mean_the_usual_settings(tmp_path: Path) -> None:
    (tmp_path / "cuebook.toml").write_text("")
    assert read_settings(tmp_path) == read_settings(None) == (Settings(), TempoMargins())


def test_settings_are_read(tmp_path: Path) -> None:
    (tmp_path / "cuebook.toml").write_text(
        '[outcome]\nmet_at = 0.95\nnot_met_at = 0.05\n[pose]\nbackend = "mediapipe-heavy"\n[tempo]\nx_s = 0.8\n'
    )
    settings, margins = read_settings(tmp_path)
    assert settings == Settings(met_at=0.95, not_met_at=0.05, backend="mediapipe-heavy", x_seconds=0.8)
    assert margins == TempoMargins(x_s=0.8)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[outcome]\nmet = 0.9", r"cuebook.toml, line 2: the table \[outcome\] has the unknown key 'met'"),
        ("[results]\na = 1", r"line 1: the workspace has the unknown key 'results'"),
        ("[outcome]\nmet_at = 0.4", r"line 1: .*'met_at' \(0.4\) between 0.5 and 1"),
        ("[outcome]\nnot_met_at = 0.9", r"'not_met_at' \(0.9\)"),
        ('[pose]\nbackend = "mediapipe-ful"', r"line 2: 'backend' is 'mediapipe-ful', did you mean mediapipe-full"),
        ("[tempo]\nx_s = 0", r"line 2: 'x_s' must be above zero"),
        ("pose = 3", r"line 1: 'pose' must be a table"),
        ("[tempo", r"cuebook.toml cannot be read"),
    ],
)
def test_what_is_wrong_is_named_with_its_line(text: str, words: str, tmp_path: Path) -> None:
    (tmp_path / "cuebook.toml").write_text(text)
    with pytest.raises(MovementError, match=words):
        read_settings(tmp_path)
