"""From clip to track: agreement with published landmarks, workers, damage, and the store on disk."""

from __future__ import annotations

import json
import os
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from cuebook.clip import damage_warning, read_clip, write_video
from cuebook.errors import ClipError, PoseError, UnknownName
from cuebook.model import Clip
from cuebook.pose import frames_read, track_pose
from cuebook.pose.cache import load_track, store_track, track_key
from cuebook.pose.jobs import Job
from cuebook.pose.pieces import cut
from cuebook.pose.pool import WorkerPool
from tests.clip_samples import BrokenFrames, DyingFrames, write_clip

REFERENCE = os.environ.get("CUEBOOK_REFERENCE_DATA")
needs_reference = pytest.mark.skipif(REFERENCE is None, reason="CUEBOOK_REFERENCE_DATA is not set")
ROOT = Path(__file__).parents[2]
ARRAYS = ("times_s", "xy_px", "world_m", "score", "light")

pytestmark = pytest.mark.backend


def squats() -> Clip:
    return read_clip(Path(str(REFERENCE)) / "data" / "real" / "pose_squats.mp4")


@pytest.fixture(scope="module")
def there_and_back(tmp_path_factory: pytest.TempPathFactory) -> Clip:
    """Real footage played forwards and backwards at 30 frames a second, long enough for two pieces."""
    images = [image for _, image in squats().frames(640)]
    images = [*images, *images[::-1]]
    path = tmp_path_factory.mktemp("clip") / "there_and_back.mp4"
    return read_clip(write_video(path, images, np.arange(len(images)) / 30))


@needs_reference
def test_landmarks_agree_with_those_published_for_the_clip() -> None:
    """A second run of the same model family on another platform; its own runs differ by a few pixels (median 3.6)."""
    clip = squats()
    told: list[tuple[int, int]] = []
    track = track_pose(clip, progress=lambda done, total: told.append((done, total)))
    published = np.array(json.loads((clip.path.parent / "pose_squats.full.json").read_text()))[:, :, :2]
    distance = np.linalg.norm(track.xy_px - published, axis=2)
    assert np.median(distance) <= 6.0
    assert track.found.all()
    assert not track.others_seen
    assert told[-1] == (65, 65)
    assert (track.width_px, track.height_px, track.backend) == (720, 1280, "mediapipe-full")
    assert 0.3 < track.light.mean() < 0.9


@needs_reference
@pytest.mark.slow
def test_the_track_does_not_depend_on_the_number_of_workers(there_and_back: Clip) -> None:
    told: list[int] = []
    one = track_pose(there_and_back, workers=1)
    two = track_pose(there_and_back, workers=2, progress=lambda done, _: told.append(done))
    for name in ARRAYS:
        np.testing.assert_array_equal(getattr(one, name), getattr(two, name))
    assert told == sorted(told)
    assert told[-1] == len(there_and_back.times_s)


@needs_reference
@pytest.mark.slow
def test_landmarks_do_not_jump_where_pieces_meet(there_and_back: Clip) -> None:
    track = track_pose(there_and_back)
    edge = cut(there_and_back.times_s, long_side_px=960)[1].start
    steps = np.median(np.linalg.norm(np.diff(track.xy_px, axis=0), axis=2), axis=1)
    assert steps[edge - 1] <= np.percentile(steps, 95)


@needs_reference
def test_a_second_person_is_noticed(tmp_path: Path) -> None:
    images = [np.hstack([image, image[:, ::-1]]) for _, image in squats().frames(480, 0, 40)]
    clip = read_clip(write_video(tmp_path / "two.mp4", images, np.arange(40) / 10))
    assert track_pose(clip, workers=1).others_seen


def test_nobody_is_a_value(tmp_path: Path) -> None:
    clip = read_clip(write_clip(tmp_path / "empty_room.mp4", frames=130))
    track = track_pose(clip)
    assert len(track.times_s) == 130
    assert not track.found.any()
    assert np.isnan(track.world_m).all()
    assert np.isfinite(track.light).all()
    assert frames_read(clip, track) == 130


def test_a_quick_clip_is_analysed_at_about_thirty(tmp_path: Path) -> None:
    clip = read_clip(write_clip(tmp_path / "quick.mp4", ticks=[250 * i for i in range(150)]))
    track = track_pose(clip)
    np.testing.assert_array_equal(track.times_s, clip.times_s[::4])
    assert frames_read(clip, track) == 150


def test_a_damaged_clip_gives_the_part_that_decodes(tmp_path: Path) -> None:
    clip = read_clip(write_clip(tmp_path / "whole.mp4", frames=150))

    def until(stop_at: int) -> Clip:
        def frames(long_side_px=None, start=0, stop=None):
            yield from clip.frames(long_side_px, start, min(stop_at, 150 if stop is None else stop))

        return replace(clip, frames=frames)

    track = track_pose(until(100))
    assert len(track.times_s) == 100
    warning = damage_warning(clip, frames_read(clip, track))
    assert warning is not None
    assert "damaged after 3.3 s of 5.0 s" in warning
    with pytest.raises(ClipError, match=r"only 1\.6 s"):
        track_pose(until(50))
    assert len(track_pose(until(70)).times_s) == 70


def test_a_stored_track_is_read_back_equal_and_quickly(tmp_path: Path) -> None:
    clip = read_clip(write_clip(tmp_path / "a.mp4", frames=40))
    first = track_pose(clip, cache_dir=tmp_path / "cache")
    assert [file.suffix for file in (tmp_path / "cache").iterdir()] == [".npz"]

    def no_frames(*_: object) -> None:
        raise AssertionError("the clip was read again")

    again = track_pose(replace(clip, frames=no_frames), cache_dir=tmp_path / "cache")
    for name in ARRAYS:
        np.testing.assert_array_equal(getattr(first, name), getattr(again, name))
    assert (again.backend, again.backend_version) == (first.backend, first.backend_version)


@needs_reference
def test_landmarks_come_back_from_the_store_to_the_last_bit(tmp_path: Path) -> None:
    clip = squats()
    first, again = (track_pose(clip, cache_dir=tmp_path) for _ in range(2))
    for name in ARRAYS:
        np.testing.assert_array_equal(getattr(first, name), getattr(again, name))
    key = next(tmp_path.iterdir()).stem
    assert load_track(tmp_path, key, clip, backend="mediapipe-full", version="1") is not None


@pytest.mark.parametrize("damage", ["cut", "noise", "empty"])
def test_a_damaged_store_is_made_again_with_a_log_line(
    tmp_path: Path, damage: str, caplog: pytest.LogCaptureFixture
) -> None:
    clip = read_clip(write_clip(tmp_path / "a.mp4", frames=40))
    first = track_pose(clip, cache_dir=tmp_path / "cache")
    (stored,) = (tmp_path / "cache").iterdir()
    content = stored.read_bytes()
    stored.write_bytes({"cut": content[: len(content) // 2], "noise": b"x" * 500, "empty": b""}[damage])
    again = track_pose(clip, cache_dir=tmp_path / "cache")
    np.testing.assert_array_equal(first.light, again.light)
    assert "cannot be read" in caplog.text
    assert stored.read_bytes() == content


def test_the_key_changes_with_everything_that_matters(tmp_path: Path) -> None:
    clip = read_clip(write_clip(tmp_path / "a.mp4", frames=40))
    same = {"backend": "b", "version": "1", "settings": {"step": 1}}
    key = track_key(clip, **same)
    assert key == track_key(clip, **same)
    others = [
        track_key(replace(clip, sha256="0" * 64), **same),
        track_key(clip, **{**same, "backend": "c"}),
        track_key(clip, **{**same, "version": "2"}),
        track_key(clip, **{**same, "settings": {"step": 2}}),
    ]
    assert len({key, *others}) == 5


def test_a_track_of_another_length_is_not_taken(tmp_path: Path) -> None:
    clip = read_clip(write_clip(tmp_path / "a.mp4", frames=40))
    track = track_pose(clip, workers=1)
    store_track(tmp_path, "k", track, frame=np.arange(40) + 20)
    assert load_track(tmp_path, "k", clip, backend="b", version="1") is None
    assert load_track(tmp_path, "other", clip, backend="b", version="1") is None


def test_names_and_missing_models_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CUEBOOK_HOME", str(tmp_path / "home"))
    clip = read_clip(write_clip(tmp_path / "a.mp4", frames=40))
    with pytest.raises(UnknownName):
        track_pose(clip, backend="eyes")
    with pytest.raises(PoseError, match="models add"):
        track_pose(clip, backend="mediapipe-heavy")


def jobs_with(frames: object, clip: Clip) -> list[Job]:
    pieces = cut(clip.times_s, long_side_px=320)
    return [Job(number=i, backend="mediapipe-full", frames=frames, piece=p) for i, p in enumerate(pieces)]


@pytest.fixture
def samples_on_path(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PYTHONPATH", str(ROOT))


@pytest.mark.usefixtures("samples_on_path")
def test_a_worker_that_dies_once_is_replaced(tmp_path: Path) -> None:
    clip = read_clip(write_clip(tmp_path / "a.mp4", frames=130))
    frames = DyingFrames(clip.frames, tmp_path / "died")
    with WorkerPool(1) as pool:
        results = pool.run(jobs_with(frames, clip))
    assert (tmp_path / "died").exists()
    assert sum(len(result.xy) for result in results) == 130


@pytest.mark.usefixtures("samples_on_path")
def test_a_job_that_always_kills_its_worker_is_given_up(tmp_path: Path) -> None:
    clip = read_clip(write_clip(tmp_path / "a.mp4", frames=40))
    with pytest.raises(PoseError, match=r"ended unexpectedly \(out of memory, said the test\)"), WorkerPool(1) as pool:
        pool.run(jobs_with(DyingFrames(clip.frames, None), clip))


@pytest.mark.usefixtures("samples_on_path")
def test_errors_in_a_worker_reach_the_caller(tmp_path: Path) -> None:
    clip = read_clip(write_clip(tmp_path / "a.mp4", frames=40))
    with pytest.raises(ClipError, match="the clip went away"), WorkerPool(1) as pool:
        pool.run(jobs_with(BrokenFrames(ClipError("the clip went away.")), clip))
    with pytest.raises(RuntimeError, match="ZeroDivisionError: by the test"), WorkerPool(1) as pool:
        pool.run(jobs_with(BrokenFrames(ZeroDivisionError("by the test")), clip))


def test_a_clip_that_was_removed_meanwhile(tmp_path: Path) -> None:
    clip = read_clip(write_clip(tmp_path / "a.mp4", frames=130))
    clip.path.unlink()
    with pytest.raises(ClipError, match=r"a\.mp4"):
        track_pose(clip)
