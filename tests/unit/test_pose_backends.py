"""The registry of pose backends, and the graph behind the two that come with the package."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import numpy as np
import pytest

from cuebook.clip import read_clip
from cuebook.errors import PoseError, UnknownName
from cuebook.pose import DEFAULT_BACKEND, PoseBackend, backends, find_backend, mediapipe_graph
from cuebook.pose.mediapipe_graph import HEAVY, MediapipeSession, library_folder
from cuebook.pose.quiet import quiet_stderr

REFERENCE = os.environ.get("CUEBOOK_REFERENCE_DATA")
needs_reference = pytest.mark.skipif(REFERENCE is None, reason="CUEBOOK_REFERENCE_DATA is not set")

BACKEND_FILE = """
class Still:
    name = "{name}"
    version = "1"

    def why_missing(self):
        return None

    def open(self, *, alone=False):
        return None


BACKEND = Still()
"""


def squats(count: int) -> list[np.ndarray]:
    clip = read_clip(Path(str(REFERENCE)) / "data" / "real" / "pose_squats.mp4")
    return [image for _, image in clip.frames(640, 0, count)]


def test_every_file_is_a_backend_and_the_default_is_one_of_them() -> None:
    known = backends()
    assert {"mediapipe-full", "mediapipe-heavy"} <= set(known)
    assert DEFAULT_BACKEND in known
    for name, backend in known.items():
        assert isinstance(backend, PoseBackend)
        assert backend.name == name
        assert backend.version


def test_an_unknown_name_lists_near_ones() -> None:
    with pytest.raises(UnknownName, match="did you mean mediapipe-full"):
        find_backend("mediapipe-ful")


def test_a_new_file_is_found_and_a_duplicate_names_both(tmp_path: Path) -> None:
    (tmp_path / "still.py").write_text(BACKEND_FILE.format(name="still"))
    (tmp_path / "_shared.py").write_text("BACKEND = None\n")
    assert list(backends(folder=tmp_path)) == ["still"]
    second = tmp_path / "second"
    second.mkdir()
    for file in ("a.py", "b.py"):
        (second / file).write_text(BACKEND_FILE.format(name="still"))
    with pytest.raises(PoseError, match=r"'still': a\.py and b\.py"):
        backends(folder=second)


def test_a_file_without_a_backend_is_refused(tmp_path: Path) -> None:
    (tmp_path / "empty.py").write_text("BACKEND = 3\n")
    with pytest.raises(PoseError, match=r"empty\.py defines no BACKEND"):
        backends(folder=tmp_path)


def test_a_missing_model_file_is_noticed_before_anything_is_fetched(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(mediapipe_graph, "_MODELS", (Path("modules/pose_landmark/gone.tflite"),))
    missing = find_backend("mediapipe-full").why_missing()
    assert missing is not None
    assert "gone.tflite is missing" in missing
    with pytest.raises(PoseError, match=r"gone\.tflite is missing"):
        find_backend("mediapipe-full").open()


def test_a_missing_library_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(mediapipe_graph, "find_spec", lambda name: None)
    with pytest.raises(PoseError, match="is not installed"):
        library_folder()


@pytest.mark.backend
def test_a_model_that_is_none_is_said_in_one_sentence(tmp_path: Path) -> None:
    bad = tmp_path / "pose_landmark_heavy.tflite"
    with pytest.raises(PoseError, match="does not start"):
        MediapipeSession(complexity=HEAVY, heavy_model=bad)


@pytest.mark.backend
def test_nobody_is_none_and_no_people() -> None:
    session = find_backend("mediapipe-full").open()
    try:
        grey = np.full((320, 180, 3), 90, np.uint8)
        assert session.landmarks(grey) is None
        assert session.people(grey).shape == (0, 2, 2)
    finally:
        session.close()


@needs_reference
@pytest.mark.backend
def test_landmarks_are_those_of_the_library_itself() -> None:
    from mediapipe.python.solutions.pose import Pose

    images = squats(5)
    session = find_backend("mediapipe-full").open()
    ours = [session.landmarks(image) for image in images]
    session.close()
    theirs = Pose(static_image_mode=False, model_complexity=1, smooth_landmarks=False)
    for image, seen in zip(images, ours, strict=True):
        marks = theirs.process(image)
        assert seen is not None
        np.testing.assert_array_equal(seen.xy, [(m.x, m.y) for m in marks.pose_landmarks.landmark])
        np.testing.assert_array_equal(seen.world_m, [(m.x, m.y, m.z) for m in marks.pose_world_landmarks.landmark])
        np.testing.assert_array_equal(seen.score, [m.visibility for m in marks.pose_landmarks.landmark])
    theirs.close()


@needs_reference
@pytest.mark.backend
def test_the_heavy_graph_reads_its_model_from_where_it_is_told(tmp_path: Path) -> None:
    """The full model under the heavy one's name gives the full model's landmarks, so the file given is the one used."""
    elsewhere = tmp_path / "pose_landmark_heavy.tflite"
    shutil.copy(library_folder() / "modules/pose_landmark/pose_landmark_full.tflite", elsewhere)
    images = squats(3)
    results = []
    for session in (find_backend("mediapipe-full").open(), MediapipeSession(complexity=HEAVY, heavy_model=elsewhere)):
        seen = [session.landmarks(image) for image in images]
        results.append(np.array([s.xy for s in seen if s is not None]))
        session.close()
    assert results[0].shape == (3, 33, 2)
    np.testing.assert_array_equal(results[0], results[1])


@needs_reference
@pytest.mark.backend
def test_two_people_are_two_detections() -> None:
    image = squats(1)[0]
    session = find_backend("mediapipe-full").open()
    assert session.people(image).shape == (1, 2, 2)
    assert session.people(np.hstack([image, image[:, ::-1]])).shape == (2, 2, 2)
    session.close()


@pytest.mark.backend
def test_the_terminal_stays_quiet(capfd: pytest.CaptureFixture[str]) -> None:
    session = find_backend("mediapipe-full").open()
    if REFERENCE is not None:
        for image in squats(3):
            session.landmarks(image)
    session.close()
    out, err = capfd.readouterr()
    assert (out, err) == ("", "")


def test_quiet_keeps_what_was_written_in_the_debug_log(
    capfd: pytest.CaptureFixture[str], caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level("DEBUG"), quiet_stderr():
        os.write(2, b"native noise\n")
    os.write(2, b"heard again\n")
    assert capfd.readouterr().err == "heard again\n"
    assert "native noise" in caplog.text
