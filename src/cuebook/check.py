"""Look over an installation: every part, both picture libraries, a video writer, the pose model."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from importlib import import_module, metadata
from pathlib import Path
from tempfile import TemporaryDirectory

NEEDED: dict[str, str] = {
    "numpy": "numpy",
    "cv2": "opencv-contrib-python",
    "mediapipe": "mediapipe",
    "av": "av",
    "scipy": "scipy",
    "pandas": "pandas",
    "matplotlib": "matplotlib",
    "jinja2": "jinja2",
    "ipywidgets": "ipywidgets",
    "anywidget": "anywidget",
    "jupyterlab": "jupyterlab",
    "rich": "rich",
    "typer": "typer",
}
"""Module to import, and the name under which it is installed."""

OPTIONAL: dict[str, tuple[str, str]] = {
    "distributed": ("cluster", "work on several machines"),
    "pyarrow": ("parquet", "Parquet files"),
    "weasyprint": ("pdf", "PDF pages"),
    "pyvista": ("render", "making demo clips"),
}
"""Module, the extra that brings it, and what it is for."""

SYSTEM_LIBRARIES: dict[str, tuple[str, str]] = {
    "libGL.so": ("libgl1", "mesa-libGL"),
    "libEGL.so": ("libegl1", "mesa-libEGL"),
    "libGLESv2.so": ("libgles2", "mesa-libGLES"),
    "libglib-2.0.so": ("libglib2.0-0t64 (older: libglib2.0-0)", "glib2"),
    "libgthread-2.0.so": ("libglib2.0-0t64 (older: libglib2.0-0)", "glib2"),
    "libpango": ("libpango-1.0-0 and libpangoft2-1.0-0", "pango"),
}
"""Start of a shared library's name, and the package that brings it on Debian or Ubuntu and on Fedora."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One sentence about one part, and whether it stands in the way of a review."""

    fine: bool
    sentence: str
    optional: bool = False


def check_installation() -> Iterator[Finding]:
    """Yield one finding per part of the installation as it is made, in the order in which to mend them."""
    steps: tuple[Callable[[], Iterator[Finding]], ...] = (
        _python,
        _imports,
        _picture_libraries,
        _video_writer,
        _models,
        _extras,
    )
    for step in steps:
        yield from step()


def _python() -> Iterator[Finding]:
    version = ".".join(map(str, sys.version_info[:3]))
    fine = (3, 11) <= sys.version_info[:2] < (3, 13)
    advice = "" if fine else ", but MediaPipe needs 3.11 or 3.12: make the environment with one of these"
    yield Finding(fine=fine, sentence=f"Python {version}{advice}.")


def _imports() -> Iterator[Finding]:
    for module, package in NEEDED.items():
        try:
            import_module(module)
        except (ImportError, OSError) as error:
            yield Finding(fine=False, sentence=f"{package} cannot be imported: {missing_part(error)}")
        else:
            yield Finding(fine=True, sentence=f"{package} {_version(package)} can be imported.")


def _picture_libraries() -> Iterator[Finding]:
    plain, contrib = _version("opencv-python"), _version("opencv-contrib-python")
    if plain == contrib:
        yield Finding(fine=True, sentence=f"Both OpenCV packages have the version {plain}.")
        return
    yield Finding(
        fine=False,
        sentence=f"opencv-python is {plain} and opencv-contrib-python is {contrib}, but both fill the same folder: "
        "install the same version of both.",
    )


def _video_writer() -> Iterator[Finding]:
    """Write one second of grey H.264 and count its frames: a wheel without the encoder imports well and fails here."""
    try:
        import av
        import numpy as np
    except ImportError:
        return
    picture = np.full((64, 64, 3), 127, dtype=np.uint8)
    with TemporaryDirectory() as folder:
        path = Path(folder) / "try.mp4"
        try:
            with av.open(str(path), "w") as container:
                stream = container.add_stream("libx264", rate=10)
                stream.width, stream.height, stream.pix_fmt = 64, 64, "yuv420p"
                for _ in range(10):
                    container.mux(stream.encode(av.VideoFrame.from_ndarray(picture, format="rgb24")))
                container.mux(stream.encode(None))
            with av.open(str(path)) as container:
                count = sum(1 for _ in container.decode(video=0))
        except (OSError, ValueError) as error:
            yield Finding(
                fine=False, sentence=f"H.264 video cannot be written ({error}): install the package av again."
            )
            return
    sentence = "H.264 video can be written and read back."
    if count != 10:
        sentence = f"H.264 video was written with 10 frames and read back with {count}: install the package av again."
    yield Finding(fine=count == 10, sentence=sentence)


def _models() -> Iterator[Finding]:
    from cuebook.errors import PoseError
    from cuebook.pose.backends import DEFAULT_BACKEND, backends

    for name, backend in backends().items():
        optional = name != DEFAULT_BACKEND
        missing = backend.why_missing()
        if missing is None and not optional:
            try:
                backend.open().close()
            except PoseError as error:
                missing = str(error)
            except (ImportError, OSError) as error:
                missing = f"The pose model {name} cannot be opened: {missing_part(error)}"
        sentence = f"The pose model {name} is ready." if missing is None else missing
        yield Finding(fine=missing is None, optional=optional, sentence=sentence)


def _extras() -> Iterator[Finding]:
    for module, (extra, purpose) in OPTIONAL.items():
        advice = f"pip install 'cuebook[{extra}]'."
        try:
            import_module(module)
        except ModuleNotFoundError:
            yield Finding(
                fine=False, optional=True, sentence=f"The extra '{extra}' ({purpose}) is not installed: {advice}"
            )
        except (ImportError, OSError) as error:
            yield Finding(
                fine=False, optional=True, sentence=f"The extra '{extra}' ({purpose}) is broken: {missing_part(error)}"
            )
        else:
            yield Finding(fine=True, optional=True, sentence=f"The extra '{extra}' ({purpose}) is installed.")


def missing_part(error: Exception) -> str:
    """Return what an import lacks and how to get it, as the end of a sentence."""
    said = str(error).strip().splitlines()[0].rstrip(".") if str(error).strip() else type(error).__name__
    for library, (debian, fedora) in SYSTEM_LIBRARIES.items():
        if library in said:
            return f"the system library {library} is missing, install {debian} (Debian, Ubuntu) or {fedora} (Fedora)."
    return f"{said}, install cuebook again in a fresh environment."


def _version(package: str) -> str:
    try:
        return metadata.version(package)
    except metadata.PackageNotFoundError:
        return "missing"
