"""Writing clips: time stamps kept, playable everywhere, nothing left behind when it goes wrong."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from cuebook.clip import VideoWriter, read_clip, write_video
from cuebook.errors import ClipError, OutputError
from tests.clip_samples import corners_right, number_in, picture


def test_irregular_times_come_back(tmp_path: Path) -> None:
    times = np.cumsum(np.random.default_rng(2).uniform(0.02, 0.06, size=50))
    path = write_video(tmp_path / "out.mp4", (picture(i) for i in range(50)), times - times[0])
    clip = read_clip(path)
    np.testing.assert_allclose(clip.times_s, times - times[0], atol=1e-4)
    assert [number_in(image) for _, image in clip.frames()] == list(range(50))
    assert corners_right(next(clip.frames())[1])


def test_it_plays_in_a_browser(tmp_path: Path) -> None:
    path = write_video(tmp_path / "out.mp4", [picture(i) for i in range(40)], np.arange(40) / 30)
    content = path.read_bytes()
    assert content.index(b"moov") < content.index(b"mdat")
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        assert (stream.codec_context.name, stream.pix_fmt) == ("h264", "yuv420p")
        keys = [p.is_keyframe for p in container.demux(stream) if p.size]
    assert keys[0]
    assert keys[15]


def test_odd_sizes_lose_their_last_line(tmp_path: Path) -> None:
    images = [picture(i, width=161, height=243) for i in range(35)]
    clip = read_clip(write_video(tmp_path / "odd.mp4", images, np.arange(35) / 30))
    assert (clip.width_px, clip.height_px) == (160, 242)


def test_nothing_is_left_after_an_error(tmp_path: Path) -> None:
    def half_a_clip() -> Iterator[NDArray[np.uint8]]:
        yield picture(0)
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write_video(tmp_path / "a.mp4", half_a_clip(), [0.0, 0.1])
    assert list(tmp_path.iterdir()) == []


def test_an_older_file_stays_until_the_new_one_is_complete(tmp_path: Path) -> None:
    path = tmp_path / "a.mp4"
    path.write_bytes(b"old")
    writer = VideoWriter(path, width_px=160, height_px=240)
    writer.write(0.0, picture(0))
    assert path.read_bytes() == b"old"
    writer.close()
    assert len(path.read_bytes()) > 100
    assert [file.name for file in tmp_path.iterdir()] == ["a.mp4"]


def test_refusals(tmp_path: Path) -> None:
    images = [picture(i) for i in range(3)]
    with pytest.raises(ClipError, match="must increase"):
        write_video(tmp_path / "a.mp4", images, [0.0, 0.2, 0.2])
    with pytest.raises(ClipError, match="does not fit"):
        write_video(tmp_path / "a.mp4", [images[0], picture(1, width=80)], [0.0, 0.1])
    with pytest.raises(ClipError, match="2 times for 3 pictures or more"):
        write_video(tmp_path / "a.mp4", images, [0.0, 0.1])
    with pytest.raises(ClipError, match="3 times for 1 pictures"):
        write_video(tmp_path / "a.mp4", images[:1], [0.0, 0.1, 0.2])
    with pytest.raises(OutputError, match="hold no frame"):
        write_video(tmp_path / "a.mp4", [], [])
    with pytest.raises(OutputError, match="another folder"):
        write_video(tmp_path / "gone" / "a.mp4", images, [0.0, 0.1, 0.2])
    with pytest.raises(OutputError, match="larger size"):
        VideoWriter(tmp_path / "a.mp4", width_px=1, height_px=10)
    with pytest.raises(OutputError, match="hold no frame"):
        VideoWriter(tmp_path / "a.mp4", width_px=160, height_px=240).close()
    assert list(tmp_path.iterdir()) == []
