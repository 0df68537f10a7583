"""Speed of whole reviews, as ratios measured side by side: ``python tests/speed/benchmark.py [--memory]``.

Both sides of a ratio run in turn on the same clip in the same minutes, each round starting with the other one, so that
a busy machine slows both. Every figure stands beside the load average at its time, and where it matters beside the
processor seconds used, which a busy machine stretches less than the wall time. Run it with the Python in which cuebook
is installed, or with ``PYTHONPATH=src``.
"""

from __future__ import annotations

import argparse
import os
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from fractions import Fraction
from pathlib import Path

import av
import psutil

SOURCE = Path(__file__).parents[2] / "clips_demo" / "squat.mp4"
SIZES = ((540, 960), (1080, 1920))
RATE_HZ = 30
SECONDS = 20.0
CUEBOOK = (sys.executable, "-m", "cuebook.cli")
SAMPLE_S = 0.1

PLAIN_LOOP = """
import sys
import cv2
import mediapipe as mp

source, target = sys.argv[1:]
clip = cv2.VideoCapture(source)
size = int(clip.get(cv2.CAP_PROP_FRAME_WIDTH)), int(clip.get(cv2.CAP_PROP_FRAME_HEIGHT))
out = cv2.VideoWriter(target, cv2.VideoWriter_fourcc(*"mp4v"), clip.get(cv2.CAP_PROP_FPS), size)
written = 0
with mp.solutions.pose.Pose() as pose:
    while True:
        read, frame = clip.read()
        if not read:
            break
        found = pose.process(cv2.cvtColor(frame, cv2.COLOR_BGR2RGB))
        if found.pose_landmarks:
            mp.solutions.drawing_utils.draw_landmarks(frame, found.pose_landmarks, mp.solutions.pose.POSE_CONNECTIONS)
        out.write(frame)
        written += 1
out.release()
print(written)
"""

WARM_REVIEW = """
import sys
import time
from pathlib import Path

import cuebook
from cuebook.report import write_review

clip, folder, rounds = Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3])
for number in range(rounds + 1):
    began, used = time.perf_counter(), time.process_time()
    review = cuebook.review(clip, movement="squat", tempo="3-1-1-0")
    judged = time.perf_counter() - began, time.process_time() - used
    write_review(review.data, folder / "warm.review", video=False)
    if number:
        print(*judged, time.perf_counter() - began, time.process_time() - used)
"""


def make_clip(path, *, size, seconds):
    """Write the demo squat over and over at another size until it is long enough."""
    width, height = size
    wanted, done = round(seconds * RATE_HZ), 0
    with av.open(str(path), "w") as out:
        stream = out.add_stream("libx264", rate=RATE_HZ)
        stream.width, stream.height, stream.pix_fmt = width, height, "yuv420p"
        stream.options = {"preset": "veryfast", "crf": "23"}
        while done < wanted:
            with av.open(str(SOURCE)) as clip:
                for frame in clip.decode(video=0):
                    scaled = frame.reformat(width=width, height=height, format="yuv420p")
                    scaled.pts, scaled.time_base = done, Fraction(1, RATE_HZ)
                    out.mux(stream.encode(scaled))
                    done += 1
                    if done == wanted:
                        break
        out.mux(stream.encode(None))
    return path


def looped(path, source, *, times):
    """Write the coded pictures of a clip several times over, without decoding them."""
    with av.open(str(source)) as clip, av.open(str(path), "w") as out:
        old = clip.streams.video[0]
        new = out.add_stream_from_template(old)
        packets = [p for p in clip.demux(old) if p.dts is not None]
        length = round(SECONDS / old.time_base)
        shown = [(p.pts, p.dts) for p in packets]
        for turn in range(times):
            for packet, (pts, dts) in zip(packets, shown, strict=True):
                packet.pts, packet.dts, packet.stream = pts + turn * length, dts + turn * length, new
                packet.time_base = old.time_base
                out.mux(packet)
    return path


def processor_s():
    """Return the processor seconds of all children that have ended."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def timed(*command):
    """Run a command to its end and return its wall time and its processor time in seconds."""
    before, began = processor_s(), time.perf_counter()
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    took = time.perf_counter() - began, processor_s() - before
    if done.returncode:
        sys.exit(f"{' '.join(command[:6])} ended with {done.returncode}: {done.stderr[-600:]}")
    return took


def peak_memory(*command):
    """Run a command and return the largest resident memory of it and all its children together, in MB."""
    process = psutil.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    peak = 0
    while process.poll() is None:
        peak = max(peak, tree_memory(process))
        time.sleep(SAMPLE_S)
    if process.returncode:
        sys.exit(f"{' '.join(command[:6])} ended with {process.returncode}.")
    return peak / 1e6


def tree_memory(process):
    """Sum the resident memory of a process and its children, bytes; those that have just ended count nothing."""
    total = 0
    try:
        family = [process, *process.children(recursive=True)]
    except psutil.NoSuchProcess:
        return 0
    for member in family:
        try:
            total += member.memory_info().rss
        except psutil.NoSuchProcess:
            continue
    return total


def show(what, text, *, goal):
    """Print one figure with its goal and the load average."""
    print(f"{what:<58} {text:<42} goal {goal:<10} load {os.getloadavg()[0]:.1f}", flush=True)


def spread(took):
    """Put the median and best wall time and the median processor time into words."""
    wall, used = zip(*took, strict=True)
    return f"{statistics.median(wall):.2f} s (best {min(wall):.2f}, processor {statistics.median(used):.2f})"


def whole_review(folder, *, rounds):
    """(a) Whole review with all outputs against the plain loop."""
    for size in SIZES:
        clip = make_clip(folder / f"once-{size[0]}.mp4", size=size, seconds=SECONDS)
        ours, plain = [], []
        for number in range(rounds):
            out = folder / f"whole-{size[0]}-{number}.review"
            review = (*CUEBOOK, "review", str(clip), "--movement", "squat", "--tempo", "3-1-1-0", "--out", str(out))
            loop = (sys.executable, "-c", PLAIN_LOOP, str(clip), str(folder / "plain.mp4"))
            runs = [(ours, review), (plain, loop)]
            for kept, command in runs if number % 2 == 0 else runs[::-1]:
                kept.append(timed(*command))
            made = {p.name for p in out.iterdir()}
            if not {"annotated.mp4", "feedback.html", "review.json"} <= made:
                sys.exit(f"The review wrote only {', '.join(sorted(made))}.")
            shutil.rmtree(out)
        for kind, goal in enumerate(("<= 0.70", "none")):
            a, b = ([run[kind] for run in side] for side in (ours, plain))
            ratio = statistics.median(x / y for x, y in zip(a, b, strict=True))
            text = f"{ratio:.2f} ({statistics.median(a):.1f} s / {statistics.median(b):.1f} s)"
            name = f"whole review / plain loop, {size[0]} x {size[1]}, {('wall', 'processor')[kind]}"
            show(name, text, goal=goal)


def second_review(folder, *, rounds):
    """(b) Review again with the track at hand, without the annotated clip."""
    workspace = folder / "coach"
    workspace.mkdir()
    (workspace / "cuebook.toml").touch()
    clip = make_clip(workspace / "squat.mp4", size=SIZES[0], seconds=SECONDS)
    again = (*CUEBOOK, "review", str(clip), "--movement", "squat", "--tempo", "3-1-1-0", "--no-video")
    show("first review without annotated clip, as a command", f"{timed(*again)[0]:.1f} s", goal="none")
    show("second review, as a command", spread([timed(*again) for _ in range(rounds)]), goal="<= 3 s")
    done = subprocess.run(
        [sys.executable, "-c", WARM_REVIEW, str(clip), str(workspace), str(rounds)],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    rows = [[float(word) for word in line.split()] for line in done.stdout.splitlines()]
    show("second review, one warm process, judged", spread([(r[0], r[1]) for r in rows]), goal="<= 0.8 s")
    show("second review, one warm process, judged and written", spread([(r[2], r[3]) for r in rows]), goal="<= 0.8 s")


def memory(folder, *, minutes):
    """(c) Peak memory of a long clip against one showing."""
    peaks = []
    once = make_clip(folder / "once.mp4", size=SIZES[1], seconds=SECONDS)
    for name, times in (("short", 1), ("long", round(minutes * 60.0 / SECONDS))):
        clip = looped(folder / f"{name}.mp4", once, times=times)
        out = folder / f"{name}.review"
        peaks.append(peak_memory(*CUEBOOK, "review", str(clip), "--movement", "squat", "--out", str(out)))
        shutil.rmtree(out)
    text = f"{peaks[1] / peaks[0]:.2f} ({peaks[1]:.0f} MB / {peaks[0]:.0f} MB)"
    show(f"peak memory, {minutes:g} min / {SECONDS:.0f} s, {SIZES[1][0]} x {SIZES[1][1]}", text, goal="<= 1.20")


def start_up(*, rounds):
    """(d) What one waits for before anything happens."""
    commands = {
        "cuebook --help": (*CUEBOOK, "--help"),
        "import cuebook": (sys.executable, "-c", "import cuebook"),
        "Python alone": (sys.executable, "-c", "pass"),
    }
    for name, command in commands.items():
        timed(*command)
        took = [timed(*command) for _ in range(rounds)]
        goal = "none" if name == "Python alone" else "< 0.5 s"
        show(f"{name}, warm", spread(took), goal=goal)


def main():
    """Print every figure asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=3, help="how often each side of a ratio runs")
    parser.add_argument("--only", choices=("whole", "second", "start"), help="one part alone")
    parser.add_argument("--memory", action="store_true", help="also compare peak memory (slow)")
    parser.add_argument("--minutes", type=float, default=10.0, help="length of the long clip for --memory")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        if asked.only in (None, "start"):
            start_up(rounds=max(5, asked.rounds))
        if asked.only in (None, "second"):
            second_review(folder, rounds=max(3, asked.rounds))
        if asked.only in (None, "whole"):
            whole_review(folder, rounds=asked.rounds)
        if asked.memory:
            memory(folder, minutes=asked.minutes)


if __name__ == "__main__":
    main()
