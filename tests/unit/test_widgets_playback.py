"""The playback copy keeps every time stamp, is upright and small, and is made once by another process."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from cuebook.clip import read_clip
from cuebook.clip.write import write_video
from cuebook.errors import OutputError
from cuebook.widgets.playback import KEY_EVERY, CopyJob, copy_path, copy_size, main, make_copy

TIMES = np.cumsum([0.0, *([1 / 30, 1 / 15] * 20)])


@pytest.fixture(scope="module")
def clip(tmp_path_factory):
    """A clip of an uneven rate, 1100 pixels tall, whose pictures grow brighter."""
    path = tmp_path_factory.mktemp("clip") / "uneven.mp4"
    frames = (np.full((1100, 620, 3), 40 + 4 * i, np.uint8) for i in range(len(TIMES)))
    return read_clip(write_video(path, frames, TIMES, preset="ultrafast"))


def test_the_copy_has_the_time_stamps_of_the_clip(clip, tmp_path):
    copy = read_clip(make_copy(clip, tmp_path / "copy.mp4"))
    assert np.abs(copy.times_s - clip.times_s).max() < 1e-4
    assert (copy.width_px, copy.height_px) == copy_size(clip)
    assert max(copy_size(clip)) == 960
    bright = [float(picture.mean()) for _, picture in copy.frames()]
    assert np.all(np.diff(bright) > 1)


def test_a_key_frame_is_never_far(clip, tmp_path):
    import av

    make_copy(clip, tmp_path / "copy.mp4")
    with av.open(str(tmp_path / "copy.mp4")) as container:
        keys = [p.is_keyframe for p in container.demux(video=0) if p.pts is not None]
        base = container.streams.video[0].time_base
    assert base <= Fraction(1, 10_000)
    gaps = np.diff([*np.flatnonzero(keys), len(keys)])
    assert gaps.max() <= KEY_EVERY


def test_another_process_makes_it_once(clip, tmp_path):
    job = CopyJob(clip, tmp_path / "cache")
    assert job.wait(120)
    assert job.failure == ""
    assert job.path == copy_path(clip, tmp_path / "cache")
    written = job.path.stat().st_mtime_ns
    again = CopyJob(clip, tmp_path / "cache")
    assert again.done
    called = []
    again.when_done(lambda: called.append(True))
    assert called == [True]
    assert again.path.stat().st_mtime_ns == written
    assert [p.name for p in job.path.parent.iterdir()] == [job.path.name]


def test_a_failure_is_a_sentence(clip, tmp_path, capsys):
    (tmp_path / "file").write_text("no folder")
    assert main([str(clip.path), str(tmp_path / "file" / "copy.mp4")]) == 2
    assert "choose another folder" in capsys.readouterr().err
    with pytest.raises(OutputError):
        make_copy(clip, tmp_path / "file" / "copy.mp4")
    job = CopyJob(clip, tmp_path / "file")
    assert not job.wait(120)
    assert "choose another folder" in job.failure


def test_slow_motion_has_a_copy_of_its_own(clip):
    slow = read_clip(clip.path, capture_rate_hz=240.0)
    assert copy_path(slow, "cache") != copy_path(clip, "cache")
    assert copy_path(slow, "cache").name.startswith(clip.sha256[:32])
