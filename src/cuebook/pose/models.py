"""Model files that do not come with a wheel: added by hand, checked, kept in the user's own data folder."""

from __future__ import annotations

import hashlib
import json
import os
import sys
import tarfile
import zipfile
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from cuebook.errors import PoseError

HEAVY_NAME = "pose_landmark_heavy.tflite"
"""File name of the heavy model, inside its package as well as in the data folder."""

_SIZES_BYTES = (20_000_000, 40_000_000)
_MAGIC = b"TFL3"
_MAGIC_AT = 4
_KNOWN = (HEAVY_NAME,)


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredModel:
    """A model file in the data folder.

    Attributes
    ----------
    name : str
        File name.
    path : Path
        Where it lies.
    size_bytes : int
        Its size.
    sha256 : str
        Hash recorded when it was added.
    added_from : str
        Name of the file it was taken from.
    """

    name: str
    path: Path
    size_bytes: int
    sha256: str
    added_from: str


def data_folder() -> Path:
    """Return the folder for models: ``$CUEBOOK_HOME``, else the usual place for user data on this system."""
    home = os.environ.get("CUEBOOK_HOME")
    if home:
        return Path(home).expanduser()
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA", Path.home() / "AppData" / "Local")) / "cuebook"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support" / "cuebook"
    return Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share") / "cuebook"


def add_model(file: str | Path) -> StoredModel:
    """Take the heavy pose model out of a file, check it and keep it in the data folder.

    Parameters
    ----------
    file : str or Path
        The ``.tflite`` file itself, or a package (``.tgz``, ``.tar.gz``, ``.zip``) that holds it.

    Raises
    ------
    PoseError
        If the file is missing, holds no such model, or what it holds is not one.
    """
    source = Path(file)
    if not source.is_file():
        raise PoseError(f"There is no file {source}: give the package or the .tflite file of the heavy pose model.")
    content = _extracted(source)
    if content[_MAGIC_AT : _MAGIC_AT + len(_MAGIC)] != _MAGIC:
        raise PoseError(
            f"{source.name} is not a TensorFlow Lite model: give {HEAVY_NAME} or the package that holds it."
        )
    if not _SIZES_BYTES[0] <= len(content) <= _SIZES_BYTES[1]:
        raise PoseError(
            f"{source.name} holds a model of {len(content) / 1e6:.1f} MB, but the heavy pose model has about 28 MB: "
            f"give {HEAVY_NAME}."
        )
    folder = data_folder() / "models"
    folder.mkdir(parents=True, exist_ok=True)
    model = StoredModel(
        name=HEAVY_NAME,
        path=folder / HEAVY_NAME,
        size_bytes=len(content),
        sha256=hashlib.sha256(content).hexdigest(),
        added_from=source.name,
    )
    _replace(model.path, content)
    note = {"sha256": model.sha256, "size_bytes": model.size_bytes, "added_from": model.added_from}
    _replace(_note_path(model.path), json.dumps(note, indent=1).encode())
    return model


def list_models() -> tuple[StoredModel, ...]:
    """Return the models in the data folder whose record is complete."""
    return tuple(model for name in _KNOWN if (model := find_model(name)) is not None)


def find_model(name: str) -> StoredModel | None:
    """Return one stored model, None if it was not added or its file has another size than recorded."""
    path = data_folder() / "models" / name
    try:
        note = json.loads(_note_path(path).read_text(encoding="utf-8"))
        size = path.stat().st_size
        if size != note["size_bytes"]:
            return None
        return StoredModel(name=name, path=path, size_bytes=size, sha256=note["sha256"], added_from=note["added_from"])
    except (OSError, ValueError, KeyError):
        return None


def _extracted(source: Path) -> bytes:
    """Return the bytes of the model inside `source`, which may be the model itself."""
    try:
        if tarfile.is_tarfile(source):
            with tarfile.open(source) as package:
                for member in package:
                    if member.isfile() and PurePosixPath(member.name).name == HEAVY_NAME:
                        handle = package.extractfile(member)
                        return b"" if handle is None else handle.read()
        elif zipfile.is_zipfile(source):
            with zipfile.ZipFile(source) as package:
                for name in package.namelist():
                    if PurePosixPath(name).name == HEAVY_NAME:
                        return package.read(name)
        else:
            return source.read_bytes()
    except (OSError, EOFError, tarfile.TarError, zipfile.BadZipFile) as cause:
        raise PoseError(f"{source.name} is a damaged package: fetch it again.") from cause
    raise PoseError(f"{source.name} does not hold {HEAVY_NAME}: give the package of the pose solution that does.")


def _replace(path: Path, content: bytes) -> None:
    partial = path.with_name(f".{path.name}.{os.getpid()}.partial")
    partial.write_bytes(content)
    os.replace(partial, path)


def _note_path(path: Path) -> Path:
    return path.with_suffix(".json")
