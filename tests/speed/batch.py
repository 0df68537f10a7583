"""Speed of a batch, as ratios measured side by side: ``python tests/speed/batch.py [--only workers|cluster|bad]``.

Equal clips, one compute thread per worker, cold processes in every run. The runs that are compared follow each other,
each round beginning with another one, so that a busy machine slows them alike; the load average stands beside every
figure, and for the pool the processor seconds, which tell how it would be on a machine that does nothing else. Run it
from the project's folder with the Python in which cuebook and its extra ``test`` are installed.
"""

from __future__ import annotations

import argparse
import os
import resource
import shutil
import statistics
import struct
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import av
import psutil

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from cuebook.batch import score_clips  # noqa: E402
from cuebook.batch.pool import Pool  # noqa: E402
from tests.batch_jobs import python_path, score_or_die  # noqa: E402
from tests.dask_samples import started  # noqa: E402

SOURCE = ROOT / "clips_demo" / "squat.mp4"
MANY = 20
COUNT = 40_000_000


def make_clips(folder: Path, *, count: int, seconds: float) -> Path:
    """Write clips of the same pictures whose bytes differ, in a folder that is named after their movement."""
    clips = folder / "squat"
    clips.mkdir(parents=True)
    first = clips / "clip-00.mp4"
    with av.open(str(SOURCE)) as source, av.open(str(first), "w") as out:
        stream = source.streams.video[0]
        copy = out.add_stream_from_template(stream)
        for packet in source.demux(stream):
            if packet.dts is not None and packet.pts * packet.time_base < seconds:
                packet.stream = copy
                out.mux(packet)
    for number in range(1, count):
        copied = clips / f"clip-{number:02d}.mp4"
        shutil.copy(first, copied)
        with copied.open("ab") as handle:  # a free box, which every reader skips
            handle.write(struct.pack(">I4sI", 12, b"free", number))
    return clips


def load() -> str:
    """Return the load average of the last minute."""
    return f"load {os.getloadavg()[0]:.1f}"


def run(clips: Path, folder: Path, **options) -> float:
    """Score all clips into a fresh folder and return the wall time in seconds."""
    shutil.rmtree(folder, ignore_errors=True)
    began = time.perf_counter()
    scored = score_clips(clips, out=folder, **options)
    took = time.perf_counter() - began
    failed = [other for other in scored.others if "poison" not in other[0]]
    if failed:
        sys.exit(f"not every clip was scored: {failed[0]}")
    return took


def processor_s() -> float:
    """Return the processor seconds of all children that have ended."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def counting_s(processes: int) -> float:
    """Return the wall time of processes that do nothing but count, each the same amount."""
    command = [sys.executable, "-c", f"x = 0\nfor i in range({COUNT}): x += i * i"]
    began = time.perf_counter()
    for child in [subprocess.Popen(command) for _ in range(processes)]:
        child.wait()
    return time.perf_counter() - began


def workers(clips: Path, work: Path, *, rounds: int, video: bool) -> None:
    """Print how much quicker two workers are than one."""
    times: dict[int, list[float]] = {1: [], 2: []}
    used: dict[int, list[float]] = {1: [], 2: []}
    given = []
    for number in range(rounds):
        for count in (1, 2) if number % 2 else (2, 1):
            before = processor_s()
            times[count].append(run(clips, work / "out", workers=count, video=video))
            used[count].append(processor_s() - before)
            took = f"{times[count][-1]:.1f} s, {used[count][-1]:.1f} processor seconds"
            print(f"  {count} worker(s): {took} ({load()})", flush=True)
        given.append(2 * counting_s(1) / counting_s(2))
        print(f"  two processes that only count: {given[-1]:.2f} times as quick as one ({load()})", flush=True)
    one, two = (statistics.median(times[count]) for count in (1, 2))
    print(f"two workers against one: {one / two:.2f} times as quick (aim 1.8), {one:.1f} s and {two:.1f} s")
    machine = statistics.median(given)
    print(f"the machine gave two processes that only count {machine:.2f}: {one / two / machine:.2f} of that is reached")
    one, two = (statistics.median(used[count]) for count in (1, 2))
    print(f"processor seconds of two workers against one: {two / one:.2f} (at 1.00 nothing is lost by sharing)")


def cluster(clips: Path, work: Path, *, rounds: int, video: bool) -> None:
    """Print how a scheduler with two workers compares with a pool of two."""
    pool, dask = [], []
    for number in range(rounds):
        for kind in ("pool", "dask") if number % 2 else ("dask", "pool"):
            if kind == "pool":
                pool.append(run(clips, work / "out", workers=2, video=video))
                print(f"  pool: {pool[-1]:.1f} s ({load()})", flush=True)
                continue
            place = Path(tempfile.mkdtemp(dir=work))
            with started(place, workers=2) as address:
                wait_for_workers(address)
                dask.append(run(clips, work / "out", scheduler=address, video=video))
            print(f"  dask: {dask[-1]:.1f} s ({load()})", flush=True)
    ratio = statistics.median(dask) / statistics.median(pool)
    print(f"dask against the pool: {ratio:.2f} of its time (aim at most 1.15)")


def wait_for_workers(address: str) -> None:
    """Return when both workers are connected."""
    from distributed import Client

    with Client(address, set_as_default=False) as client:
        client.wait_for_workers(2, timeout=60)


def bad(clips: Path, work: Path, *, video: bool) -> None:
    """Print what one clip that kills its process costs the others, and whether memory stays flat."""
    sizes: list[float] = []
    without = run(clips, work / "good", runner=Pool(2), video=video, progress=lambda event: watch(event, sizes))
    print(f"  {MANY} good clips: {without:.1f} s ({load()})", flush=True)
    (clips / "clip-05.mp4").rename(clips / "poison.mp4")
    with_bad = run(clips, work / "bad", runner=Pool(2, work=score_or_die), video=video)
    print(f"  {MANY - 1} good clips and one that kills its process: {with_bad:.1f} s ({load()})", flush=True)
    names = [p.parent.name for p in sorted((work / "bad").glob("*/review.json"))]
    same = sum(
        (work / "good" / n / "review.json").read_bytes() == (work / "bad" / n / "review.json").read_bytes()
        for n in names
    )
    ratio = (with_bad / (MANY - 1)) / (without / MANY)
    print(
        f"one bad clip among {MANY}: {same} of {MANY - 1} other reviews unchanged; "
        f"time per good clip {ratio:.2f} of before"
    )
    quarter = len(sizes) // 4
    print(f"memory, last quarter of the clips against the first: {max(sizes[-quarter:]) / max(sizes[:quarter]):.2f}, "
          f"at most {max(sizes):.0f} MB for two workers and the batch itself")  # fmt: skip


def watch(event, sizes: list[float]) -> None:
    """Note the memory of this process and its children whenever a clip has been scored."""
    if event.stage == "scored":
        me = psutil.Process()
        sizes.append(sum(p.memory_info().rss for p in (me, *me.children(recursive=True))) / 1e6)


def main() -> None:
    """Measure what was asked for."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--only", choices=("workers", "cluster", "bad"))
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--clips", type=int, default=8)
    parser.add_argument("--seconds", type=float, default=10.0)
    parser.add_argument("--no-video", action="store_true")
    asked = parser.parse_args()
    os.environ["PYTHONPATH"] = python_path()
    video = not asked.no_video
    with tempfile.TemporaryDirectory() as folder:
        work = Path(folder)
        clips = make_clips(work / "few", count=asked.clips, seconds=asked.seconds)
        if asked.only in (None, "workers"):
            workers(clips, work, rounds=asked.rounds, video=video)
        if asked.only in (None, "cluster"):
            cluster(clips, work, rounds=asked.rounds, video=video)
        if asked.only in (None, "bad"):
            bad(make_clips(work / "many", count=MANY, seconds=asked.seconds / 2), work, video=video)


if __name__ == "__main__":
    main()
