"""The loop of a batch with real processes: one that dies, one that hangs, one that is killed from outside."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from cuebook.batch.drive import Drive
from cuebook.batch.job import ClipJob, ClipResult
from cuebook.batch.pool import Pool, how_ended
from cuebook.batch.runner import Finished, Lost
from tests.batch_jobs import SAID, fake_review, make_jobs, python_path, stoppable, tries


@pytest.fixture(autouse=True)
def _importable(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PYTHONPATH", python_path())


@pytest.fixture
def pool():
    made = Pool(2, work=fake_review)
    yield made
    made.close()


def drive(jobs: list[ClipJob], runner: Pool, *, timeout_s: float = 60.0) -> tuple[list[ClipResult], list[tuple]]:
    results: list[ClipResult] = []
    said: list[tuple] = []
    loop = Drive(iter(jobs), runner, record=results.append, tell=lambda *word: said.append(word), timeout_s=timeout_s)
    while loop.step():
        pass
    return results, said


def test_a_clip_that_ends_its_process_costs_only_itself(tmp_path: Path, pool: Pool) -> None:
    jobs = make_jobs(tmp_path, ["fine", "poison", *["fine"] * 6])
    results, said = drive(jobs, pool)
    assert sorted(r.number for r in results) == list(range(8))
    aside = [r for r in results if r.state != "scored"]
    assert [r.number for r in aside] == [1]
    assert results[-1] is aside[0]
    assert "SIGKILL" in aside[0].reason
    assert SAID in aside[0].reason
    assert tries(jobs[1]) == 2
    assert [tries(j) for j in jobs if j.number != 1] == [1] * 7
    assert (jobs[1].name, "again", 0.0) in said


def test_a_clip_that_ends_its_process_once_is_scored_in_the_end(tmp_path: Path, pool: Pool) -> None:
    jobs = make_jobs(tmp_path, ["poison once", "fine", "fine"])
    results, _ = drive(jobs, pool)
    assert {r.number: r.state for r in results} == {0: "scored", 1: "scored", 2: "scored"}
    assert results[-1].number == 0


def test_a_worker_that_is_killed_from_outside_loses_no_clip(tmp_path: Path, pool: Pool) -> None:
    jobs = make_jobs(tmp_path, ["long1.5", "fine", "fine"])
    results: list[ClipResult] = []
    killed: list[int] = []

    def tell(name: str, stage: str, _: float) -> None:
        if name == jobs[0].name and stage == "reading" and not killed:
            killed.append(pool.process_ids[0])
            os.kill(killed[0], signal.SIGKILL)

    loop = Drive(iter(jobs), pool, record=results.append, tell=tell, timeout_s=60.0)
    while loop.step():
        pass
    assert killed
    assert {r.number: r.state for r in results} == {0: "scored", 1: "scored", 2: "scored"}
    assert tries(jobs[0]) == 2


def test_a_machine_that_shuts_down_sets_no_clip_aside(tmp_path: Path, pool: Pool) -> None:
    jobs = make_jobs(tmp_path, ["long1.5", "fine"])
    results: list[ClipResult] = []

    def tell(name: str, stage: str, _: float) -> None:
        if name == jobs[0].name and stage == "reading":
            for one in pool.process_ids.values():
                os.kill(one, signal.SIGTERM)

    loop = Drive(iter(jobs), pool, record=results.append, tell=tell, timeout_s=60.0)
    while loop.step():
        pass
    assert {r.number: r.state for r in results}[0] == "not_done"


def test_a_clip_that_hangs_is_given_up_after_its_time_and_the_others_go_on(tmp_path: Path, pool: Pool) -> None:
    jobs = make_jobs(tmp_path, ["hangs", "fine", "fine", "fine"])
    results, _ = drive(jobs, pool, timeout_s=1.0)
    states = {r.number: r.state for r in results}
    assert states == {0: "set_aside", 1: "scored", 2: "scored", 3: "scored"}
    assert "longer than 1 s" in next(r.reason for r in results if r.number == 0)
    assert tries(jobs[0]) == 1


def test_what_a_job_refuses_is_passed_on(tmp_path: Path, pool: Pool) -> None:
    results, _ = drive(make_jobs(tmp_path, ["refused"]), pool)
    assert [(r.state, r.reason) for r in results] == [("could_not_be_used", "clip-0.mp4 holds only sound.")]


def test_work_that_cannot_be_found_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    monkeypatch.chdir(tmp_path)
    pool = Pool(1, work=fake_review)
    try:
        results, _ = drive(make_jobs(tmp_path, ["fine"]), pool)
    finally:
        pool.close()
    assert [r.state for r in results] == ["set_aside"]
    assert "No module named 'tests" in results[0].reason


def test_running_clips_notice_a_stop_and_are_not_done(tmp_path: Path) -> None:
    jobs = make_jobs(tmp_path, ["long60", "long60", "fine"])
    pool = Pool(2, work=stoppable)
    results: list[ClipResult] = []
    stages: list[str] = []

    def tell(_: str, stage: str, __: float) -> None:
        stages.append(stage)

    loop = Drive(iter(jobs), pool, record=results.append, tell=tell, timeout_s=90.0)
    try:
        while stages.count("started") < 2:
            assert loop.step()
        jobs[0].mark.path.unlink()
        loop.drain(30.0)
    finally:
        pool.close()
    assert {r.number: r.state for r in results} == {0: "not_done", 1: "not_done"}
    assert tries(jobs[2]) == 0


def test_closing_ends_the_processes(tmp_path: Path) -> None:
    jobs = make_jobs(tmp_path, ["hangs"])
    pool = Pool(1, work=fake_review)
    pool.start(jobs[0])
    while not tries(jobs[0]):
        pool.messages(0.1)
    process_id = pool.process_ids[0]
    pool.close()
    with pytest.raises(ProcessLookupError):
        os.kill(process_id, 0)


def test_a_process_serves_several_clips_and_is_replaced_after_so_many(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("cuebook.batch.pool.CLIPS_PER_PROCESS", 2)
    jobs = make_jobs(tmp_path, ["fine"] * 4)
    pool = Pool(1, work=fake_review)
    try:
        drive(jobs, pool)
    finally:
        pool.close()
    ids = [j.clip.with_suffix(".tries").read_text(encoding="utf-8").split()[0] for j in jobs]
    assert ids[0] == ids[1] != ids[2] == ids[3]


def test_a_job_given_up_too_late_does_not_touch_the_next_one(tmp_path: Path) -> None:
    first, second = make_jobs(tmp_path, ["fine", "long1"])
    pool = Pool(1, work=fake_review)
    heard = []
    try:
        pool.start(first)
        pool.start(second)
        while not any(isinstance(m, Finished) for m in heard):
            heard += pool.messages(0.1)
        pool.abandon(first.number)
        while sum(isinstance(m, Finished) for m in heard) < 2:
            heard += pool.messages(0.1)
    finally:
        pool.close()
    assert not any(isinstance(m, Lost) for m in heard)


def test_a_worker_ends_when_the_one_that_started_it_is_gone(tmp_path: Path) -> None:
    """The batch itself is killed: nothing may go on for ever."""
    make_jobs(tmp_path, ["long1"])
    code = (
        "import sys; from pathlib import Path; from tests.batch_jobs import *; from cuebook.batch.pool import Pool\n"
        "pool = Pool(1, work=fake_review); pool.start(make_jobs(Path(sys.argv[1]), ['long1'])[0])\n"
        "while not pool.messages(0.1): pass\n"
        "print(pool.process_ids[0], flush=True); import time; time.sleep(60)"
    )
    parent = subprocess.Popen([sys.executable, "-c", code, str(tmp_path)], stdout=subprocess.PIPE, text=True)
    assert parent.stdout is not None
    worker = int(parent.stdout.readline())
    parent.kill()
    parent.wait()
    parent.stdout.close()
    for _ in range(300):
        if not running(worker):
            break
        time.sleep(0.1)
    assert not running(worker)


def running(process_id: int) -> bool:
    """Whether a process is there and has not ended."""
    try:
        with open(f"/proc/{process_id}/stat", encoding="utf-8") as handle:
            return handle.read().rsplit(")", 1)[1].split()[0] != "Z"
    except FileNotFoundError:
        return False


@pytest.mark.parametrize(
    ("code", "words"),
    [(3, "it ended by itself with code 3"), (-11, "it was ended by SIGSEGV"),
     (-9, "it was ended by SIGKILL, often for want of memory"), (-99, "it was ended by signal 99")],
)  # fmt: skip
def test_how_a_process_ended_is_said_in_words(code: int, words: str) -> None:
    assert how_ended(code) == words
