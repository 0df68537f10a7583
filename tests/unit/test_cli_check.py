"""`cuebook check`: what is fine, what is missing, and the package that mends it."""

from __future__ import annotations

from importlib import metadata
from pathlib import Path

import pytest

from cuebook import check
from cuebook.cli import main


def test_a_whole_installation_is_fine(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert not [line for line in lines if line.startswith(" MISSING")]
    assert any("Both OpenCV packages have the version" in line for line in lines)
    assert any("H.264 video can be written and read back" in line for line in lines)
    assert any("mediapipe-full is ready" in line for line in lines)
    assert all(line.endswith(".") for line in lines)


def test_every_hard_dependency_is_imported() -> None:
    """A dependency added to the package and forgotten here would never be looked at."""
    names = {r.split(";")[0].split("=")[0].split(">")[0].split("<")[0].strip() for r in _requirements()}
    assert names <= {*check.NEEDED.values(), "opencv-python"}


def _requirements() -> list[str]:
    import tomllib

    project = tomllib.loads((Path(__file__).parents[2] / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    return project["dependencies"]


def test_two_different_opencv_are_named(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    real = metadata.version
    monkeypatch.setattr(metadata, "version", lambda p: "4.13.0.90" if p == "opencv-python" else real(p))
    assert main(["check"]) == 2
    shown = capsys.readouterr().out
    assert "opencv-python is 4.13.0.90 and opencv-contrib-python is" in shown


@pytest.mark.parametrize(
    ("said", "package"),
    [
        ("libGL.so.1: cannot open shared object file: No such file or directory", "libgl1"),
        ("libgthread-2.0.so.0: cannot open shared object file", "libglib2.0-0"),
        ("libEGL.so.1: cannot open shared object file", "libegl1"),
    ],
)
def test_a_missing_system_library_names_its_package(
    said: str, package: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    real = check.import_module

    def broken(name: str):
        if name == "cv2":
            raise ImportError(said)
        return real(name)

    monkeypatch.setattr(check, "import_module", broken)
    assert main(["check"]) == 2
    line = next(line for line in capsys.readouterr().out.splitlines() if "contrib-python cannot be imported" in line)
    assert package in line
    assert "Fedora" in line


def test_a_model_that_was_not_added_is_one_clean_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("CUEBOOK_HOME", str(tmp_path))
    assert main(["check"]) == 0
    line = next(line for line in capsys.readouterr().out.splitlines() if "heavy" in line)
    assert line == "left out  The heavy pose model is not there: add its file with cuebook models add FILE."


def test_an_old_python_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(check.sys, "version_info", (3, 13, 0))
    finding = next(check.check_installation())
    assert not finding.fine
    assert "3.11 or 3.12" in finding.sentence


def test_a_missing_extra_is_left_out_and_no_defect(monkeypatch: pytest.MonkeyPatch) -> None:
    real = check.import_module

    def without(name: str):
        if name == "pyarrow":
            raise ModuleNotFoundError("No module named 'pyarrow'")
        return real(name)

    monkeypatch.setattr(check, "import_module", without)
    finding = next(f for f in check.check_installation() if "'parquet'" in f.sentence)
    assert finding.optional
    assert not finding.fine
    assert "pip install 'cuebook[parquet]'" in finding.sentence
