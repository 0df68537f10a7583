"""Adding the heavy model by hand."""

from __future__ import annotations

import hashlib
import io
import tarfile
import zipfile
from pathlib import Path

import pytest

from cuebook.errors import PoseError
from cuebook.pose import add_model, find_backend, list_models
from cuebook.pose.models import HEAVY_NAME, data_folder, find_model

MODEL = b"\x1c\x00\x00\x00TFL3" + bytes(21_000_000)


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "home"
    monkeypatch.setenv("CUEBOOK_HOME", str(folder))
    return folder


def tarball(path: Path, name: str, content: bytes) -> Path:
    with tarfile.open(path, "w:gz", compresslevel=1) as package:
        for member, data in (("package/readme", b"hello"), (name, content)):
            info = tarfile.TarInfo(member)
            info.size = len(data)
            package.addfile(info, io.BytesIO(data))
    return path


def test_nothing_is_there_at_first() -> None:
    assert list_models() == ()
    heavy = find_backend("mediapipe-heavy")
    missing = heavy.why_missing()
    assert missing is not None
    assert "cuebook models add FILE" in missing
    with pytest.raises(PoseError, match="cuebook models add FILE"):
        heavy.open()


@pytest.mark.parametrize("kind", ["tflite", "tgz", "zip"])
def test_the_model_is_taken_out_of_its_package(tmp_path: Path, home: Path, kind: str) -> None:
    path = tmp_path / f"pose.{kind}"
    if kind == "tflite":
        path.write_bytes(MODEL)
    elif kind == "tgz":
        tarball(path, f"package/{HEAVY_NAME}", MODEL)
    else:
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as package:
            package.writestr(f"deep/{HEAVY_NAME}", MODEL)
    model = add_model(path)
    assert model.sha256 == hashlib.sha256(MODEL).hexdigest()
    assert model.path == home / "models" / HEAVY_NAME
    assert model.path.read_bytes() == MODEL
    assert list_models() == (model,)
    assert sorted(file.name for file in model.path.parent.iterdir()) == ["pose_landmark_heavy.json", HEAVY_NAME]
    heavy = find_backend("mediapipe-heavy")
    assert heavy.why_missing() is None
    assert heavy.version.endswith(model.sha256[:12])


def test_a_model_whose_file_was_changed_is_not_used(tmp_path: Path) -> None:
    (tmp_path / "m.tflite").write_bytes(MODEL)
    model = add_model(tmp_path / "m.tflite")
    model.path.write_bytes(MODEL[:-5])
    assert find_model(HEAVY_NAME) is None
    assert list_models() == ()


def test_refusals(tmp_path: Path) -> None:
    with pytest.raises(PoseError, match="There is no file"):
        add_model(tmp_path / "gone.tgz")
    (tmp_path / "a.tflite").write_bytes(b"\x00" * 100)
    with pytest.raises(PoseError, match="is not a TensorFlow Lite model"):
        add_model(tmp_path / "a.tflite")
    (tmp_path / "b.tflite").write_bytes(MODEL[:6_000_000])
    with pytest.raises(PoseError, match=r"6\.0 MB, but the heavy pose model has about 28 MB"):
        add_model(tmp_path / "b.tflite")
    with pytest.raises(PoseError, match="does not hold"):
        add_model(tarball(tmp_path / "c.tgz", "package/other.tflite", MODEL))
    whole = tarball(tmp_path / "d.tgz", f"package/{HEAVY_NAME}", MODEL).read_bytes()
    (tmp_path / "d.tgz").write_bytes(whole[: len(whole) // 2])
    with pytest.raises(PoseError, match="damaged package"):
        add_model(tmp_path / "d.tgz")
    assert list_models() == ()


def test_where_models_are_kept(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, home: Path) -> None:
    assert data_folder() == home
    monkeypatch.delenv("CUEBOOK_HOME")
    monkeypatch.setattr("sys.platform", "linux")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert data_folder() == tmp_path / "cuebook"
    monkeypatch.delenv("XDG_DATA_HOME")
    monkeypatch.setattr(Path, "home", lambda: tmp_path)
    assert data_folder() == tmp_path / ".local" / "share" / "cuebook"
    monkeypatch.setattr("sys.platform", "darwin")
    assert data_folder() == tmp_path / "Library" / "Application Support" / "cuebook"
    monkeypatch.setattr("sys.platform", "win32")
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path / "local"))
    assert data_folder() == tmp_path / "local" / "cuebook"
