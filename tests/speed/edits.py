"""How long an edit takes on the desk: move, split, merge, drop, undo, in ms of processor and beside a whole re-judging.

    python tests/speed/edits.py               # six repetitions of 5 s, landmarks drawn, no picture is read
    python tests/speed/edits.py --reps 20

Each edit is made on a record of its own kind, with everything that follows: the record's commit, the repetitions read
anew, every cue judged, the values for the screen. Nothing is asserted: the figures depend on the machine and its load.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from cuebook.assess.analyse import judge_track
from cuebook.model import Prescription, Settings, Tempo
from cuebook.movements import load_movement
from cuebook.record import open_desk
from cuebook.widgets.live import live_values
from tests.stick_samples import FILMED, clip_of, stick


def arguments() -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--reps", type=int, default=6, help="repetitions in the clip")
    parser.add_argument("--movement", default="squat", help="which movement")
    parser.add_argument("--times", type=int, default=7, help="so many times each edit is made")
    return parser.parse_args()


def spent(act: Callable[[], object]) -> tuple[float, float]:
    """Return processor and clock milliseconds of something."""
    cpu, clock = time.process_time(), time.perf_counter()
    act()
    return 1000 * (time.process_time() - cpu), 1000 * (time.perf_counter() - clock)


def main() -> int:
    """Time every kind of edit."""
    asked = arguments()
    track, _ = stick(asked.movement, FILMED[asked.movement][1], reps=asked.reps, rate_hz=30.0)
    clip, movement = clip_of(track), load_movement(asked.movement)
    tempo = Tempo(eccentric=2.0, long_hold=1.0, concentric=1.0, short_hold=1.0)
    prescription = Prescription(tempo=tempo, repetitions=asked.reps)

    def whole():
        return judge_track(clip, track, movement=movement, prescription=prescription, settings=Settings())

    data = whole()
    everything = statistics.median(spent(whole)[0] for _ in range(3))
    print(f"{clip.duration_s:.0f} s, {len(data.repetitions)} repetitions; judged as a whole: {everything:.0f} ms")
    found: dict[str, list[tuple[float, float]]] = {}
    with tempfile.TemporaryDirectory() as folder:
        for k in range(asked.times):
            with open_desk(data, author="the coach", record=Path(folder) / f"{k}.sqlite") as desk:
                for name, edit in edits_of(data, k):

                    def made(edit=edit, desk=desk):
                        desk.apply(edit)
                        live_values(desk.data, desk.as_json())

                    found.setdefault(name, []).append(spent(made))
    for name, values in found.items():
        cpu, clock = (statistics.median(v[i] for v in values) for i in (0, 1))
        print(f"{name:6} {cpu:6.0f} ms of processor, {clock:6.0f} ms by the clock, "
              f"{cpu / everything:.2f} of a whole re-judging")  # fmt: skip
    return 0


def edits_of(data, k: int) -> list[tuple[str, dict]]:
    """Return the edits in their order; times differ a little each time, so that nothing is known from before."""
    reps, shift = data.repetitions, 0.011 * k
    return [
        ("move", {"kind": "move", "repetition": "r2", "boundary": "start", "to_s": reps[1].start_s + 0.2 + shift}),
        ("split", {"kind": "split", "repetition": "r3", "at_s": reps[2].turn_s + 0.1 + shift}),
        ("merge", {"kind": "merge", "first": "r1", "second": "r2"}),
        ("drop", {"kind": "drop", "repetition": "r4"}),
        ("undo", {"kind": "undo"}),
        ("redo", {"kind": "redo"}),
    ]


if __name__ == "__main__":
    sys.exit(main())
