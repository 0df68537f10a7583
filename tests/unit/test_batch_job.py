"""The job function itself: a review is written, and every way it can fail becomes a state with one sentence."""

from __future__ import annotations

import json
import pickle
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from cuebook.batch.job import ClipJob, ClipResult, Reporter, score_clip
from cuebook.clip import file_hash, read_clip, write_video
from cuebook.model import Clip, Track
from cuebook.pose import Pointed, parse_pointed, track_pose
from tests.batch_jobs import make_jobs


@pytest.fixture
def job(tmp_path: Path) -> ClipJob:
    """A clip of an empty room, three seconds long."""
    made = make_jobs(tmp_path, [""])[0]
    write_video(made.clip, (np.full((240, 136, 3), 160, np.uint8) for _ in range(45)), np.arange(45) / 15.0)
    return replace(made, sha256=file_hash(made.clip), video=True)


def score(job: ClipJob, heard: list | None = None) -> ClipResult:
    return score_clip(job, Reporter(lambda *word: (heard if heard is not None else []).append(word), job.mark.stopped))


@pytest.mark.backend
def test_a_review_is_written_with_its_landmarks_and_its_stages_are_told(job: ClipJob) -> None:
    heard: list[tuple[str, float]] = []
    result = score(job, heard)
    assert (result.state, result.reason, result.trace) == ("scored", "", "")
    assert result.took_s > 0
    assert {p.name for p in job.folder.iterdir()} >= {"review.json", "feedback.html", "annotated.mp4", "track"}
    assert len(read_clip(job.folder / "annotated.mp4").times_s) == 45
    assert list(dict.fromkeys(stage for stage, _ in heard)) == ["started", "reading", "writing"]
    again = score(replace(job, video=False))
    assert again.state == "scored"
    assert {p.name for p in job.folder.iterdir()} >= {"review.json", "track"}
    assert not (job.folder / "annotated.mp4").exists()


def test_a_clip_that_cannot_be_read_says_why(job: ClipJob) -> None:
    job.clip.write_text("no picture", encoding="utf-8")
    result = score(job)
    assert result.state == "could_not_be_used"
    assert "text file" in result.reason
    assert not job.folder.exists()


def test_a_clip_that_changed_since_it_was_planned_is_not_scored(job: ClipJob) -> None:
    result = score(replace(job, sha256="0" * 64))
    assert result.state == "could_not_be_used"
    assert "changed while the batch was running" in result.reason


@pytest.mark.backend
def test_a_place_that_holds_something_else_sets_the_clip_aside(job: ClipJob) -> None:
    job.folder.mkdir(parents=True)
    (job.folder / "letter.txt").write_text("mine")
    result = score(job)
    assert result.state == "set_aside"
    assert "holds files that are no review" in result.reason
    assert [p.name for p in job.folder.iterdir()] == ["letter.txt"]


def test_a_defect_of_ours_costs_one_clip_and_leaves_its_trace(job: ClipJob, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("of all things")

    monkeypatch.setattr("cuebook.pose.track_pose", broken)
    result = score(job)
    assert result.state == "set_aside"
    assert "A defect in cuebook" in result.reason
    assert "ZeroDivisionError: of all things" in result.trace


@pytest.mark.backend
def test_the_person_pointed_at_is_followed_and_one_who_is_not_there_sets_the_clip_aside(
    job: ClipJob, monkeypatch: pytest.MonkeyPatch
) -> None:
    pointed = parse_pointed("60,100@1.5")
    result = score(replace(job, person=pointed))
    assert result.state == "set_aside"
    assert "Nobody is found at 60,100" in result.reason
    assert not job.folder.exists()
    followed = []

    def follow(clip: Clip, person: Pointed, **options: object) -> Track:
        followed.append(person)
        return track_pose(clip, workers=1)

    monkeypatch.setattr("cuebook.pose.follow_person", follow)
    assert score(replace(job, person=pointed, video=False)).state == "scored"
    assert followed == [pointed]
    warnings = json.loads((job.folder / "review.json").read_text(encoding="utf-8"))["warnings"]
    assert any("Only the person pointed at was followed" in said for said in warnings)


def test_a_stop_leaves_nothing_behind(job: ClipJob) -> None:
    job.mark.path.unlink()
    assert score(job).state == "not_done"
    assert not job.folder.exists()


def test_a_job_and_its_result_travel_and_are_small(job: ClipJob) -> None:
    sent = pickle.dumps(job)
    assert pickle.loads(sent) == job
    assert len(sent) < 20_000
    assert len(pickle.dumps(ClipResult(number=0, state="scored"))) < 1_000
