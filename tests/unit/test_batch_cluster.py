"""The same jobs handed out by a scheduler on loopback to two workers with nannies, as on several machines."""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from cuebook.batch.cluster import Cluster
from cuebook.batch.drive import Drive
from cuebook.batch.job import ClipJob, ClipResult
from cuebook.batch.pool import Pool
from cuebook.errors import BatchError, MissingExtra
from tests.batch_jobs import fake_review, make_jobs, python_path, stoppable, tries
from tests.dask_samples import end, start_scheduler, start_worker, started, wait_until

pytestmark = [
    pytest.mark.slow,
    pytest.mark.filterwarnings("ignore::ResourceWarning"),
    pytest.mark.filterwarnings("ignore::DeprecationWarning"),
]


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with started(tmp_path_factory.mktemp("dask"), workers=2) as found:
        yield found


def drive(
    jobs: list[ClipJob], runner: Cluster | Pool, *, timeout_s: float = 60.0, tell: Callable = lambda *_: None
) -> dict[int, ClipResult]:
    results: list[ClipResult] = []
    loop = Drive(iter(jobs), runner, record=results.append, tell=tell, timeout_s=timeout_s)
    while loop.step():
        pass
    assert len({r.number for r in results}) == len(results)
    return {r.number: r for r in results}


@pytest.fixture
def runner(address: str) -> Iterator[Cluster]:
    made = Cluster(address, work=fake_review)
    wait_until(lambda: len(made._workers()) == 2)
    yield made
    made.close()


def test_the_results_are_those_of_the_pool(tmp_path: Path, runner: Cluster, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PYTHONPATH", python_path())
    texts = ["fine", "refused", "fine", "fine", "fine"]
    pool = Pool(2, work=fake_review)
    try:
        here = drive(make_jobs(tmp_path / "pool", texts), pool)
    finally:
        pool.close()
    there = drive(make_jobs(tmp_path / "cluster", texts), runner)
    assert there == here
    reviews = [sorted((tmp_path / where / "out").rglob("review.json")) for where in ("pool", "cluster")]
    assert [p.read_bytes() for p in reviews[0]] == [p.read_bytes() for p in reviews[1]]
    assert len(reviews[0]) == 4


def test_a_killed_worker_and_a_poison_clip_cost_no_other_clip(tmp_path: Path, runner: Cluster) -> None:
    jobs = make_jobs(tmp_path, ["long2", "fine", "poison", *["fine"] * 5])
    killed: list[int] = []

    def tell(name: str, stage: str, _: float) -> None:
        if name == jobs[0].name and stage == "reading" and not killed:
            line = jobs[0].clip.with_suffix(".tries").read_text(encoding="utf-8").split()
            killed.append(int(line[0]))
            os.kill(killed[0], signal.SIGKILL)

    results = drive(jobs, runner, tell=tell)
    assert killed
    assert sorted(results) == list(range(8))
    assert {n: r.state for n, r in results.items() if r.state != "scored"} == {2: "set_aside"}
    assert "ended every worker that tried it" in results[2].reason
    assert tries(jobs[0]) >= 2
    wait_until(lambda: runner.slots == 2)


def test_a_clip_that_hangs_is_given_up_and_its_worker_comes_back(tmp_path: Path, runner: Cluster) -> None:
    wait_until(lambda: runner.slots == 2)
    jobs = make_jobs(tmp_path, ["hangs", *["fine"] * 4])
    results = drive(jobs, runner, timeout_s=2.0)
    assert {n: r.state for n, r in results.items() if r.state != "scored"} == {0: "set_aside"}
    assert "longer than 2 s" in results[0].reason
    wait_until(lambda: runner.slots == 2)


def test_running_clips_notice_a_stop(tmp_path: Path, address: str) -> None:
    jobs = make_jobs(tmp_path, ["long60", "long60", "fine"])
    runner = Cluster(address, work=stoppable)
    results: list[ClipResult] = []
    stages: list[str] = []
    loop = Drive(
        iter(jobs), runner, record=results.append, tell=lambda _, stage, __: stages.append(stage), timeout_s=90.0
    )
    try:
        wait_until(lambda: runner.slots == 2)
        while stages.count("started") < 2:
            assert loop.step()
        jobs[0].mark.path.unlink()
        loop.drain(30.0)
    finally:
        runner.close()
    assert {r.number: r.state for r in results} == {0: "not_done", 1: "not_done"}
    assert tries(jobs[2]) == 0


def test_where_nobody_answers_one_sentence_says_what_to_start() -> None:
    with pytest.raises(BatchError, match="start one with 'dask scheduler'"):
        Cluster("tcp://127.0.0.1:9", wait_s=1.0)


def test_a_scheduler_without_workers_with_an_unfit_one_and_one_that_ends(tmp_path: Path) -> None:
    processes = []
    try:
        scheduler, address = start_scheduler(tmp_path)
        processes.append(scheduler)
        with pytest.raises(BatchError, match="No worker is connected"):
            Cluster(address, wait_s=1.0)
        processes.append(start_worker(tmp_path, address, "--no-nanny"))
        with pytest.raises(BatchError, match="without a nanny"):
            Cluster(address)
        end(processes.pop())
        processes.append(start_worker(tmp_path, address))
        runner = Cluster(address, work=fake_review, alone_s=5.0)

        def tell(_: str, stage: str, __: float) -> None:
            if stage == "reading":
                end(scheduler)

        with pytest.raises(BatchError, match="no longer answers"):
            drive(make_jobs(tmp_path / "jobs", ["long60"]), runner, tell=tell, timeout_s=90.0)
        runner.close()
    finally:
        end(*processes)


def test_without_dask_the_extra_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(MissingExtra, match=r"pip install 'cuebook\[cluster\]'"):
        Cluster("tcp://127.0.0.1:8786")
