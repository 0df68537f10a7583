"""Reading clips: time stamps, orientation, sizes, slow motion, and what is refused."""

from __future__ import annotations

import hashlib
import os
import pickle
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from cuebook.clip import read_clip
from cuebook.clip.read import read_picture
from cuebook.clip.slow_motion import capture_rate, rate_in_metadata
from cuebook.clip.stamps import is_variable, read_stamps
from cuebook.errors import ClipError
from tests.clip_samples import corners_right, number_in, picture, write_clip

REFERENCE = os.environ.get("CUEBOOK_REFERENCE_DATA")
needs_reference = pytest.mark.skipif(REFERENCE is None, reason="CUEBOOK_REFERENCE_DATA is not set")


def reference(name: str) -> Path:
    return Path(str(REFERENCE)) / "data" / "decoder" / name


def test_a_plain_clip(tmp_path: Path) -> None:
    path = write_clip(tmp_path / "plain.mp4")
    clip = read_clip(path)
    assert (clip.width_px, clip.height_px, clip.rotation_deg, clip.codec) == (160, 240, 0, "h264")
    np.testing.assert_allclose(clip.times_s, np.arange(60) / 30, atol=1e-4)
    assert clip.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    assert clip.nominal_rate_hz == pytest.approx(30, abs=0.6)
    assert not clip.variable_rate
    assert not clip.slow_motion
    assert clip.capture_rate_hz is None
    assert clip.warnings == ()
    read = list(clip.frames())
    assert [number_in(image) for _, image in read] == list(range(60))
    np.testing.assert_array_equal([seconds for seconds, _ in read], clip.times_s)


@pytest.mark.parametrize("turned", [0, 1, 2, 3])
@pytest.mark.parametrize("mirrored", [False, True])
def test_frames_are_upright_whatever_the_display_matrix(tmp_path: Path, turned: int, mirrored: bool) -> None:
    path = write_clip(tmp_path / "turned.mp4", frames=31, turned=turned, mirrored=mirrored)
    clip = read_clip(path)
    assert (clip.width_px, clip.height_px) == (160, 240)
    _, image = next(clip.frames())
    assert image.shape == (240, 160, 3)
    assert corners_right(image)
    if not mirrored:
        assert clip.rotation_deg == 90 * turned


def test_a_picture_turned_the_wrong_way_would_be_noticed() -> None:
    upright = picture(5)
    assert corners_right(upright)
    assert not corners_right(np.rot90(upright, 2))
    assert not corners_right(upright[:, ::-1])


def test_frames_keep_an_irregular_clock(tmp_path: Path) -> None:
    rng = np.random.default_rng(4)
    ticks = np.cumsum(rng.integers(500, 2000, size=60)) + 12_345
    clip = read_clip(write_clip(tmp_path / "irregular.mp4", ticks=ticks.tolist()))
    assert clip.variable_rate
    np.testing.assert_allclose(clip.times_s, (ticks - ticks[0]) / 30_000, atol=2e-4)
    assert [number_in(image) for _, image in clip.frames(None, 33, 36)] == [33, 34, 35]


def test_a_late_first_frame_counts_as_zero(tmp_path: Path) -> None:
    clip = read_clip(write_clip(tmp_path / "late.mkv", ticks=[90_000 + 1000 * i for i in range(45)]))
    assert clip.times_s[0] == 0
    assert clip.duration_s == pytest.approx(44 / 30, abs=2e-3)


@pytest.mark.parametrize("start", [0, 1, 19, 20, 21, 37, 58])
def test_reading_can_start_anywhere(tmp_path: Path, start: int) -> None:
    clip = read_clip(write_clip(tmp_path / "seek.mp4", frames=60, key_every=20))
    read = list(clip.frames(None, start, start + 3))
    assert [number_in(image) for _, image in read] == list(range(start, min(start + 3, 60)))
    np.testing.assert_array_equal([seconds for seconds, _ in read], clip.times_s[start : start + 3])


def test_reading_every_third_frame(tmp_path: Path) -> None:
    clip = read_clip(write_clip(tmp_path / "step.mp4"))
    assert [number_in(image) for _, image in clip.frames(None, 10, 20, step=3)] == [10, 13, 16, 19]


def test_reading_past_the_end_gives_nothing(tmp_path: Path) -> None:
    clip = read_clip(write_clip(tmp_path / "end.mp4"))
    assert list(clip.frames(None, 60)) == []
    assert list(clip.frames(None, 10, 10)) == []


@pytest.mark.parametrize("turned", [0, 1])
def test_reduction_keeps_shape_and_gives_even_sizes(tmp_path: Path, turned: int) -> None:
    clip = read_clip(write_clip(tmp_path / "small.mp4", turned=turned))
    _, image = next(clip.frames(101))
    assert image.shape == (100, 68, 3)
    assert corners_right(image)
    assert next(clip.frames(1000))[1].shape == (240, 160, 3)


def test_odd_sizes_and_ten_bits(tmp_path: Path) -> None:
    path = write_clip(tmp_path / "odd.mkv", width=161, height=241, pixels="yuv444p")
    clip = read_clip(path)
    assert next(clip.frames())[1].shape == (241, 161, 3)
    deep = read_clip(write_clip(tmp_path / "deep.mp4", codec="libx265", pixels="yuv420p10le"))
    assert deep.codec == "hevc"
    assert [number_in(image) for _, image in deep.frames(None, 41, 44)] == [41, 42, 43]


def test_pixels_that_are_not_square_are_made_so(tmp_path: Path) -> None:
    clip = read_clip(write_clip(tmp_path / "wide.mp4", aspect=Fraction(3, 2)))
    assert (clip.width_px, clip.height_px) == (240, 240)
    assert next(clip.frames())[1].shape == (240, 240, 3)


def test_the_reader_travels_to_another_process(tmp_path: Path) -> None:
    clip = read_clip(write_clip(tmp_path / "travel.mp4"))
    again = pickle.loads(pickle.dumps(clip.frames))
    assert [number_in(image) for _, image in again(None, 7, 9)] == [7, 8]


def test_slow_motion_written_by_the_camera_gives_real_times(tmp_path: Path) -> None:
    path = write_clip(tmp_path / "slow.mp4", frames=240, metadata={"com.android.capture.fps": "240.000000"})
    clip = read_clip(path)
    assert clip.slow_motion
    assert clip.capture_rate_hz == 240
    assert clip.duration_s == pytest.approx(239 / 240, rel=1e-3)
    assert next(clip.frames(None, 120))[0] == pytest.approx(120 / 240, rel=1e-3)


def test_slow_motion_stated_by_the_person_who_filmed(tmp_path: Path) -> None:
    path = write_clip(tmp_path / "slow.mp4", frames=60)
    clip = read_clip(path, capture_rate_hz=120)
    assert clip.slow_motion
    assert clip.duration_s == pytest.approx(59 / 120, rel=1e-3)
    plain = read_clip(path, capture_rate_hz=30)
    assert not plain.slow_motion
    assert plain.duration_s == pytest.approx(59 / 30, rel=1e-3)
    with pytest.raises(ClipError, match="capture rate of 0 Hz"):
        read_clip(path, capture_rate_hz=0)


def test_capture_rates() -> None:
    assert capture_rate(None, None, stored_hz=30) == (None, False)
    assert capture_rate(None, 240, stored_hz=240) == (None, False)
    assert capture_rate(None, 30.0, stored_hz=29.97) == (None, False)
    assert capture_rate(None, 120, stored_hz=30) == (120, True)
    assert capture_rate(240, 120, stored_hz=30) == (240, True)
    assert rate_in_metadata({}, {"com.android.capture.fps": "119.88"}) == 119.88
    assert rate_in_metadata({"com.android.capture.fps": "fast"}, {"comment": "240"}) is None
    assert rate_in_metadata({"com.android.capture.fps": "0.0"}) is None


def test_variable_rate_forgives_a_dropped_frame() -> None:
    times = np.delete(np.arange(120) / 30, 50)
    assert not is_variable(times)
    assert is_variable(np.cumsum(np.tile([0.02, 0.05], 60)))
    assert not is_variable(times[:2])


@needs_reference
def test_rotated_footage_of_others() -> None:
    seen = read_picture(reference("nasa_13013_rotated.mp4"))
    assert (seen.width_px, seen.height_px, seen.quarter_turns, seen.flipped) == (270, 480, 1, False)
    with pytest.raises(ClipError, match=r"lasts only 0\.6 s"):
        read_clip(reference("nasa_13013_rotated.mp4"))


@needs_reference
def test_ten_bit_hevc_of_others() -> None:
    clip = read_clip(reference("h265_10bits.mp4"))
    assert (clip.codec, clip.width_px, clip.height_px, len(clip.times_s)) == ("hevc", 200, 200, 30)
    assert len(list(clip.frames())) == 30


@needs_reference
def test_non_zero_start_of_others() -> None:
    stamps = read_stamps(reference("test_non_zero_start.mp4"))
    assert stamps.ticks[0] * stamps.time_base == pytest.approx(8.333, abs=1e-3)
    assert stamps.times_s[0] == 0
    assert stamps.times_s[-1] == pytest.approx(11 / 30, abs=1e-3)
