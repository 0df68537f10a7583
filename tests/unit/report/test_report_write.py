"""The folder of a review: everything or nothing, and never over other people's files."""

from __future__ import annotations

import json
import os
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from cuebook.clip import read_clip
from cuebook.errors import ClipError, OutputError
from cuebook.report import check_target, folder, stills, write_review
from cuebook.report.annotated import annotated_size, kept_frames, write_annotated
from cuebook.report.stills import crop_box, encode_jpeg, make_stills

FILES = ["angles.csv", "feedback.html", "repetitions.csv", "review.json", "stills"]


def _short(review, frames=30):
    """The review with only the first frames of the clip to draw."""
    return replace(review, clip=replace(review.clip, times_s=review.clip.times_s[:frames]))


def test_all_files_of_the_contract_are_written(review, tmp_path):
    shares = []
    out = write_review(_short(review), tmp_path / "squat.review", progress=shares.append)
    assert sorted(p.name for p in out.iterdir()) == sorted([*FILES, "annotated.mp4"])
    assert shares == sorted(shares)
    assert shares[-1] == 1.0
    assert [p.name for p in tmp_path.iterdir()] == ["squat.review"]


def test_stills_are_named_after_repetition_event_and_cue(review, tmp_path):
    out = write_review(review, tmp_path / "a" / "b", video=False)
    assert [p.name for p in (out / "stills").iterdir()] == ["rep-04-turn-depth.jpg"]
    assert not (out / "annotated.mp4").exists()


def test_a_review_without_anybody_is_written_too(empty, tmp_path):
    out = write_review(empty, tmp_path / "r", video=False)
    assert sorted(p.name for p in out.iterdir()) == FILES
    assert not list((out / "stills").iterdir())
    assert json.loads((out / "review.json").read_text())["repetitions"] == []


def test_an_old_review_is_replaced_whole(review, empty, tmp_path):
    out = write_review(review, tmp_path / "r", video=False)
    (out / "left over.txt").write_text("x")
    write_review(empty, out, video=False)
    assert sorted(p.name for p in out.iterdir()) == FILES
    assert json.loads((out / "review.json").read_text())["repetitions"] == []


def test_an_empty_folder_is_taken(review, tmp_path):
    (tmp_path / "r").mkdir()
    assert (write_review(review, tmp_path / "r", video=False) / "review.json").is_file()


def test_a_folder_with_other_files_is_refused_and_kept(review, tmp_path):
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "notes.txt").write_text("keep")
    with pytest.raises(OutputError, match=r"mine holds files that are no review .* choose another folder\."):
        write_review(review, tmp_path / "mine", video=False)
    assert (tmp_path / "mine" / "notes.txt").read_text() == "keep"
    assert [p.name for p in tmp_path.iterdir()] == ["mine"]


def test_a_file_in_the_way_is_refused(review, tmp_path):
    (tmp_path / "r").write_text("keep")
    with pytest.raises(OutputError, match="is a file, and a review needs a folder"):
        write_review(review, tmp_path / "r", video=False)
    with pytest.raises(OutputError, match=r"cannot be made, because .* is a file"):
        write_review(review, tmp_path / "r" / "below", video=False)


def test_the_stills_come_from_the_pass_that_draws_the_clip(review, tmp_path, monkeypatch):
    """Decoding the clip again for each still costs seconds in large clips; the pictures are the same."""
    alone = make_stills(review)
    decoded = []
    real = stills._frames
    monkeypatch.setattr(stills, "_frames", lambda data, wanted: decoded.append(set(wanted)) or real(data, wanted))
    out = write_review(review, tmp_path / "r")
    assert decoded == [set()]
    assert {p.name: p.read_bytes() for p in (out / "stills").iterdir()} == {s.name: s.jpeg for s in alone}


def test_a_place_is_tried_before_any_work_and_left_as_it_was(tmp_path, monkeypatch):
    check_target(tmp_path / "new" / "deep" / "r")
    assert list(tmp_path.iterdir()) == []

    def full(*_args, **_options):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(folder.tempfile, "mkdtemp", full)
    with pytest.raises(OutputError, match=r"r cannot be written \(No space left on device\)"):
        check_target(tmp_path / "r")


def test_the_landmarks_of_the_same_clip_are_carried_over(review, tmp_path):
    stored = tmp_path / "stored"
    stored.mkdir()
    (stored / "abc.npz").write_bytes(b"landmarks")
    out = write_review(review, tmp_path / "r", video=False, track_dir=stored)
    write_review(review, out, video=False)
    assert (out / "track" / "abc.npz").read_bytes() == b"landmarks"
    other = replace(review, clip=replace(review.clip, sha256="cd" * 32))
    write_review(other, out, video=False)
    assert not (out / "track").exists()


def test_a_damaged_old_review_json_does_not_stop_the_new_one(review, tmp_path):
    out = write_review(review, tmp_path / "r", video=False)
    (out / "track").mkdir()
    (out / "review.json").write_text("{")
    write_review(review, out, video=False)
    assert sorted(p.name for p in out.iterdir()) == FILES


def _broken_frames(*_args, **_options):
    raise ClipError("squat.mp4 can no longer be read.")


def test_nothing_is_left_when_a_picture_cannot_be_read(review, tmp_path):
    out = write_review(review, tmp_path / "r", video=False)
    before = (out / "review.json").read_bytes()
    broken = replace(review, clip=replace(review.clip, frames=_broken_frames))
    with pytest.raises(ClipError, match="no longer"):
        write_review(broken, out)
    assert (out / "review.json").read_bytes() == before
    assert [p.name for p in tmp_path.iterdir()] == ["r"]


def test_the_old_review_comes_back_when_the_new_one_cannot_be_moved_in(review, empty, tmp_path, monkeypatch):
    out = write_review(review, tmp_path / "r", video=False)
    before = (out / "review.json").read_bytes()
    rename = Path.rename

    def refuse_the_new_one(self, target):
        if self.name.endswith(".new"):
            raise OSError(28, "No space left on device")
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", refuse_the_new_one)
    with pytest.raises(OutputError, match="No space left on device"):
        write_review(empty, out, video=False)
    assert (out / "review.json").read_bytes() == before
    assert [p.name for p in tmp_path.iterdir()] == ["r"]


def test_the_old_review_is_not_deleted_when_nothing_can_be_moved_back(review, empty, tmp_path, monkeypatch):
    out = write_review(review, tmp_path / "r", video=False)
    rename = Path.rename
    moved = []

    def only_the_first(self, target):
        if moved:
            raise OSError(5, "Input/output error")
        moved.append(self)
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", only_the_first)
    with pytest.raises(OutputError, match="Input/output error"):
        write_review(empty, out, video=False)
    assert len(list(tmp_path.rglob("review.json"))) == 1


def test_the_annotated_clip_keeps_time_stamps_and_plays_anywhere(review, tmp_path):
    times = review.clip.times_s[:40] + np.linspace(0, 0.5, 40) ** 2
    uneven = replace(review, clip=replace(review.clip, times_s=times))
    clip = read_clip(write_annotated(uneven, tmp_path / "annotated.mp4"))
    np.testing.assert_allclose(clip.times_s, times - times[0], atol=2e-4)
    assert (clip.width_px, clip.codec) == (360, "h264")
    assert clip.height_px > 640
    data = (tmp_path / "annotated.mp4").read_bytes()
    assert data.index(b"moov") < data.index(b"mdat")


def test_fast_clips_are_thinned_and_large_ones_reduced(make_review):
    assert list(kept_frames(np.arange(12) / 120)) == [0, 4, 8]
    assert list(kept_frames(np.arange(4) / 30)) == [0, 1, 2, 3]
    assert list(kept_frames(np.array([0.0]))) == [0]
    assert annotated_size(make_review(width=1080, height=1920)) == (540, 960)
    assert annotated_size(make_review(width=361, height=641)) == (360, 640)


def test_a_clip_that_fails_halfway_leaves_no_annotated_clip(review, tmp_path):
    def frames(**_options):
        for i in range(20):
            yield i / 15, np.zeros((640, 360, 3), np.uint8)
        raise ClipError("squat.mp4 is damaged.")

    broken = replace(review, clip=replace(review.clip, frames=frames))
    with pytest.raises(ClipError, match="damaged"):
        write_annotated(broken, tmp_path / "annotated.mp4")
    assert os.listdir(tmp_path) == []


def test_a_full_disk_stops_decoding_too(review, tmp_path, monkeypatch):
    from cuebook.clip import VideoWriter

    def full(*_args, **_options):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(VideoWriter, "write", full)
    with pytest.raises(OutputError, match="No space left on device"):
        write_review(review, tmp_path / "r")
    assert os.listdir(tmp_path) == []


def test_a_still_is_cut_around_the_athlete(review):
    (still,) = make_stills(review)
    assert still.jpeg.startswith(b"\xff\xd8")
    assert still.verdict.outcome == "not_met"
    assert still.repetition.number == 4
    assert still.at_s == pytest.approx(22.5)
    assert max(still.width_px, still.height_px) <= 1290


def test_the_cut_holds_every_landmark_and_falls_back_on_the_whole_picture():
    marks = np.full((33, 2), np.nan)
    assert crop_box(marks, (360, 640)) == (0, 0, 360, 640)
    marks[:] = np.array([[100.0, 200.0]])
    marks[5] = [180.0, 420.0]
    left, top, right, bottom = crop_box(marks, (360, 640))
    assert left < 100
    assert right > 180
    assert top < 200
    assert bottom > 420
    marks[:] = [-500.0, -500.0]
    assert crop_box(marks, (360, 640)) == (0, 0, 360, 640)


def test_a_picture_without_pixels_cannot_be_encoded():
    with pytest.raises(OutputError, match="cannot be written as JPEG"):
        encode_jpeg(np.zeros((0, 0, 3), np.uint8))
