"""Learn which signals keep time with each movement's driver, and how: writes repetitions/course_table.json.

CUEBOOK_CLIP_SETS=FOLDER python tests/accuracy/learn_course.py [--sets learning trial ...] [--judged trial ...]

The spread of each row comes from ends found in each set with the table that was learnt on the others only. The clips of
the learning set have two repetitions, too few to see what is alike in a set: where there are others, those are judged.
"""

from __future__ import annotations

import argparse
import json
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from types import SimpleNamespace

import numpy as np
from benchmark import pairs, true_view
from cases import Case, load_set
from numpy.typing import NDArray

from cuebook.model import Motion, Movement, Prescription
from cuebook.motion import measure_motion, nearest_view, with_picture_motion
from cuebook.pose import find_doubts
from cuebook.repetitions import course, driver_doubted, driver_hidden, find_repetitions
from cuebook.repetitions.course import (
    INWARD_PHASE_S,
    INWARD_POWER,
    ends_levels,
    lost_s,
    signal_name,
    view_class,
)
from cuebook.repetitions.curve import Link
from cuebook.repetitions.fits import ALONE_SHARES
from cuebook.synthetic.catalogue import plan_of
from cuebook.synthetic.truth import Truth, driver_deg

Array = NDArray[np.float64]

TABLE = Path(__file__).parents[2] / "src" / "cuebook" / "repetitions" / "course_table.json"
SIDED = ("knee_flexion", "hip_flexion", "elbow_flexion", "shoulder_flexion", "shank_inclination", "knee_across",
         "shoulder_across", "elbow_across")  # fmt: skip
PLAIN = ("body_motion", "pelvis_across", "pelvis_height", "shoulder_height", "head_across", "shoulder_breadth",
         "trunk_inclination", "trunk_rotation")  # fmt: skip
FEWEST_CLIPS = 4
STAY_S = 0.9
ENDS = 0.25
"""Share of the swing at either end in which a signal must keep time."""
MOST_CHANNELS = 7
LEAST_SHARE = 0.08
WORST_OF_BEST = 2.0
"""A signal that alone misses more than so many times what the best one misses is not joined."""
LARGEST_MISS = 0.15
RIDGE = 2e-4
RIGHT_VIEW_DEG = 20.0
SHORTEST_PHASE_S = 0.2
SHRINK_CLIPS = 3
LEAST_INWARD = 0.02
SHRINK_REPS = 8
"""So many repetitions of all rows together stand beside a row's own when its spread is taken."""


@dataclass(frozen=True, slots=True, eq=False)
class Measured:
    """One clip with its truth and motion."""

    stem: str
    truth: Truth
    movement: Movement
    motion: Motion


@dataclass(frozen=True, slots=True, eq=False)
class Sample:
    """One true repetition: share of the way the true driver has come, and every signal from 0 to 1 with its size."""

    clip: str
    share: Array
    outward: NDArray[np.bool_]
    courses: dict[str, tuple[Array, float]]


def samples_of(clip: str, truth: Truth, movement: Movement, motion: Motion) -> Iterable[tuple[str, Sample]]:
    """Yield the class of views and the sample of every counted repetition."""
    reps, times = truth.repetitions, motion.times_s
    for k, rep in enumerate(reps):
        edges = rep["edges_s"]
        low = max(edges[0] - STAY_S, (reps[k - 1]["edges_s"][3] + edges[0]) / 2 if k else -1.0)
        high = min(edges[3] + STAY_S, (reps[k + 1]["edges_s"][0] + edges[3]) / 2 if k + 1 < len(reps) else 1e9)
        window = (times >= low) & (times <= high)
        at = times[window]
        true = np.interp(at, truth.times_s, driver_deg(plan_of(movement.name), truth.angles_deg, rep["side"]))
        share = _course(at, true, edges)
        if not rep["counted"] or share is None:
            continue
        courses = {}
        for channel in _wanted(movement):
            signal = motion.signals.get(signal_name(channel, motion.view, rep["side"]))
            if signal is None or np.isfinite(signal.values[window]).mean() < 0.95:
                continue
            values = signal.values[window]
            known = np.isfinite(values)
            course = _course(at, np.interp(at, at[known], values[known]), edges)
            if course is not None:
                courses[channel] = course
        yield (
            f"{movement.name}/{view_class(movement, motion.view, rep['side'])}",
            Sample(clip, share[0], at <= (edges[1] + edges[2]) / 2, courses),
        )


def _wanted(movement: Movement) -> list[str]:
    """Return the channels to look at: with a second driver the whole body moves on, and only the driver tells."""
    if movement.family == "side-lying":  # the course of the body stands in for its driver
        return []
    if movement.driver.second_signal is not None:
        return [f"{limb}_{movement.driver.signal}" for limb in "WO"]
    return [*PLAIN, *(f"{limb}_{name}" for limb in "WO" for name in SIDED)]


def _course(times: Array, values: Array, edges) -> tuple[Array, float] | None:
    levels = ends_levels(times, values, edges)
    if levels is None or levels[0] == levels[1]:
        return None
    return np.clip((values - levels[0]) / (levels[1] - levels[0]), -0.7, 1.7), abs(levels[1] - levels[0])


def link_of(samples: list[Sample], channel: str) -> Array:
    """Return the median value of a signal at the knots of the true driver's share, pinned to 0 and 1 and rising."""
    rows = []
    for s in samples:
        for way in (s.outward, ~s.outward):
            share, value = s.share[way], s.courses[channel][0][way]
            if way[-1]:
                share, value = share[::-1], value[::-1]
            if len(share) > 5:
                rows.append(np.interp(Link.knots, np.maximum.accumulate(share) + 1e-9 * np.arange(len(share)), value))
    middle = np.median(rows, axis=0)
    middle[0], middle[-1] = 0.0, 1.0
    # no stretch may stand quite still, or the driver could not be read back from it
    return np.maximum.accumulate(np.clip(middle, 0.1 * Link.knots, 1.0 - 0.1 * (1.0 - Link.knots)))


def misses(samples: list[Sample], channels: list[str], links: Array) -> tuple[Array, Array]:
    """Return what channels miss of their links near both ends and how steep the links are there.

    Returns
    -------
    square : ndarray, shape (2, C, C)
        Mean products of course less link, at the start end and at the turn.
    slope : ndarray, shape (2, C)
        Mean slope of each link there, no more than 1: a jump at an end tells no time.
    """
    square, slope = np.zeros((2, len(channels), len(channels))), np.zeros((2, len(channels)))
    for s in samples:
        share = np.clip(s.share, 0.0, 1.0)
        for end, near in enumerate((s.share < ENDS, s.share > 1.0 - ENDS)):
            if not near.any():
                continue
            miss = [s.courses[c][0][near] - Link(g)(share[near]) for c, g in zip(channels, links, strict=True)]
            miss = np.clip(miss, -LARGEST_MISS, LARGEST_MISS)
            square[end] += miss @ miss.T / near.sum() / len(samples)
    for end, at in enumerate((np.linspace(0.02, ENDS, 12), np.linspace(1.0 - ENDS, 0.98, 12))):
        slope[end] = [np.minimum(Link(g).slope(at), 1.0).mean() for g in links]
    return square, slope


def cost_of(weights: Array, square: Array, slope: Array) -> float:
    """Return the root mean square miss in shares of the driver's swing."""
    return float(np.sqrt(np.mean([(weights @ q @ weights + RIDGE * weights @ weights) / max(weights @ g, 0.05) ** 2
                                  for q, g in zip(square, slope, strict=True)])))  # fmt: skip


def weigh(square: Array, slope: Array) -> Array:
    """Return the weights, not negative and adding up to 1, with the smallest miss in the driver's own share."""
    from scipy.optimize import minimize

    n = slope.shape[1]
    best = minimize(lambda w: 1e3 * cost_of(w, square, slope), np.full(n, 1.0 / n), bounds=[(0.0, 1.0)] * n,
                    method="SLSQP", constraints={"type": "eq", "fun": lambda w: w.sum() - 1.0},
                    options={"maxiter": 200})  # fmt: skip
    return np.maximum(best.x, 0.0) / np.maximum(best.x, 0.0).sum()


def row_of(samples: list[Sample]) -> dict | None:
    """Learn one row."""
    if len({s.clip for s in samples}) < FEWEST_CLIPS:
        return None
    having = {c: [s for s in samples if c in s.courses] for s in samples for c in s.courses}
    having = {c: h for c, h in having.items() if len(h) >= 0.85 * len(samples)}
    links = {c: link_of(h, c) for c, h in having.items()}
    alone = {c: cost_of(np.ones(1), *misses(h, [c], links[c][None])) for c, h in having.items()}
    best = min(alone.values(), default=0.0)
    channels = [c for c in sorted(links, key=alone.get) if alone[c] <= WORST_OF_BEST * best][:MOST_CHANNELS]
    kept = [s for s in samples if all(c in s.courses for c in channels)]
    if not channels or len(kept) < 0.5 * len(samples):
        return None
    while True:
        square, slope = misses(kept, channels, np.array([links[c] for c in channels]))
        weights = weigh(square, slope)
        if weights.min() >= LEAST_SHARE:
            break
        channels = [c for c, w in zip(channels, weights, strict=True) if w > weights.min()]
    return {
        "channels": channels,
        "weights": [round(float(w), 3) for w in weights],
        "sizes": [float(f"{np.median([s.courses[c][1] for s in kept]):.3g}") for c in channels],
        "links": [[round(float(v), 3) for v in links[c]] for c in channels],
        "clips": len({s.clip for s in samples}),
        "_miss": cost_of(weights, square, slope),
    }


def measured(name: str) -> list[Measured]:
    """Measure the motion of every clip of a set as a review does."""
    return [Measured(c.path.stem, c.truth, c.movement, _motion(c)) for c in load_set(name)]


def _motion(case: Case) -> Motion:
    motion = measure_motion(case.track, case.movement, find_doubts(case.track))
    if driver_hidden(motion, case.movement) or driver_doubted(motion, case.movement):
        return with_picture_motion(motion, case.clip)
    return motion


def gathered(clips: list[Measured]) -> dict[str, list[Sample]]:
    """Gather the samples of some clips by row."""
    out: dict[str, list[Sample]] = defaultdict(list)
    for c in clips:
        for key, sample in samples_of(c.stem, c.truth, c.movement, c.motion):
            out[key].append(sample)
    return out


def rows_of(groups: dict[str, list[Sample]]) -> dict[str, dict]:
    """Learn all rows that have enough clips; their spread is not known yet."""
    rows = {key: row_of(samples) for key, samples in sorted(groups.items())}
    return {key: row | {"spread": [0.0, 0.0], "inward": [0.0, 0.0]} for key, row in rows.items() if row is not None}


def blank(rows: dict[str, dict], clips: list[Measured]) -> dict[str, dict]:
    """Return rows as they are before their ends are judged; movements timed by a course of their own get empty ones."""
    out = {key: row | {"inward": [0.0, 0.0]} for key, row in rows.items()}
    alone: dict[str, set[str]] = defaultdict(set)
    for c in clips:
        if not _wanted(c.movement):
            for rep in c.truth.repetitions:
                alone[f"{c.movement.name}/{view_class(c.movement, c.motion.view, rep['side'])}"].add(c.stem)
    nothing = {"channels": [], "weights": [], "sizes": [], "links": [], "spread": ALONE_SHARES, "inward": [0.0, 0.0]}
    enough = {key: stems for key, stems in alone.items() if len(stems) >= FEWEST_CLIPS}
    return out | {key: nothing | {"clips": len(stems)} for key, stems in enough.items()}


def write_table(rows: dict[str, dict]) -> None:
    """Put rows where the product reads them."""
    kept = {key: {k: v for k, v in row.items() if not k.startswith("_")} for key, row in rows.items()}
    TABLE.write_text(json.dumps({"schema": 1, "rows": kept}, indent=1) + "\n", encoding="utf-8")
    course.forget_table()


@dataclass(frozen=True, slots=True, eq=False)
class Ends:
    """One repetition as read: how far inside its phases the four ends lie, and how long the two phases are, seconds."""

    clip: str
    inward_s: Array
    ways_s: Array


def edge_misses(clips: list[Measured], rows: dict[str, dict]) -> dict[str, list[Ends]]:
    """Return by row how far inside its phases the ends of every repetition were read, with the table in use."""
    out: dict[str, list[Ends]] = defaultdict(list)
    for c in clips:
        case = SimpleNamespace(truth=c.truth, movement=c.movement)
        if nearest_view(true_view(case), c.movement.views) > RIGHT_VIEW_DEG:
            continue
        reps = find_repetitions(c.motion, c.movement, Prescription())
        for true, rep in pairs(case, SimpleNamespace(repetitions=reps)):
            key = f"{c.movement.name}/{view_class(c.movement, c.motion.view, rep.side)}"
            if key in rows and true["counted"] and rep.counted and not rep.doubtful and len(rep.edges) == 4:
                off = (np.array(rep.edges) - np.array(true["edges_s"])) * [1.0, -1.0, 1.0, -1.0]
                ways = np.array([rep.edges[1] - rep.edges[0], rep.edges[3] - rep.edges[2]])
                out[key].append(Ends(c.stem, off, np.maximum(ways, SHORTEST_PHASE_S)))
    return out


def inwards(found: list[Ends]) -> list[float]:
    """Return what the ends at the start end, and those at the turn, lose in shares of a phase of `INWARD_PHASE_S`.

    The middle of the clips' own middles, drawn towards none where clips are few; less than `LEAST_INWARD` is none.
    """
    clips: dict[str, list[Array]] = defaultdict(list)
    for ends in found:
        longer = np.repeat(ends.ways_s * (ends.ways_s / INWARD_PHASE_S) ** INWARD_POWER, 2)
        clips[ends.clip].append(ends.inward_s / longer)
    middles = np.array([[np.median(np.array(v)[:, places]) for places in ([0, 3], [1, 2])] for v in clips.values()])
    shrink = len(clips) / (len(clips) + SHRINK_CLIPS)
    return [round(float(v), 3) if v >= LEAST_INWARD else 0.0 for v in shrink * np.median(middles, axis=0)]


def spreads(misses_of: dict[str, list[Ends]], rows: dict[str, dict]) -> dict[str, list[float]]:
    """Return the spread at the start end and at the turn of each row, drawn towards that of all where reps are few.

    It is the normal one that holds 90 % of what is left of the errors when the usual part is taken away: more of them
    than a root mean square would when tails are long. In shares of the phases.
    """

    def left(ends: Ends, inward: tuple[float, float]) -> Array:
        (start, turn), (end, back) = (lost_s(inward, float(way)) for way in ends.ways_s)
        return np.abs(ends.inward_s - [start, turn, back, end]) / np.repeat(ends.ways_s, 2)

    def normal(values: Array) -> float:
        return float(np.percentile(values, 90) / 1.645)

    lefts = {key: np.array([left(e, rows[key]["inward"]) for e in found]) for key, found in misses_of.items()}
    everything, out = np.concatenate(list(lefts.values())), {}
    for key, values in lefts.items():
        pair = []
        for places in ([0, 3], [1, 2]):
            own, common, n = normal(values[:, places]), normal(everything[:, places]), len(values)
            pair.append(round(float(np.sqrt((n * own**2 + SHRINK_REPS * common**2) / (n + SHRINK_REPS))), 3))
        out[key] = pair
    return out


def joined(samples: list[dict[str, list[Sample]]]) -> dict[str, list[Sample]]:
    """Put the samples of some sets together by row."""
    return {key: [s for one in samples for s in one.get(key, [])] for key in sorted(set().union(*samples))}


def of_ends(rows: dict[str, dict], misses_of: dict[str, list[Ends]]) -> dict[str, dict]:
    """Return rows with what their ends usually lose and the spread that is left.

    No spread becomes smaller than the row has: its links may have been learnt on the same clips.
    """
    common = {key: inwards(found) for key, found in misses_of.items()}
    out = {key: row | {"inward": common.get(key, [0.0, 0.0])} for key, row in rows.items()}
    known = spreads(misses_of, out)
    usual = [round(float(v), 3) for v in np.median(list(known.values()), axis=0)]
    return {
        key: row | {"spread": [max(pair) for pair in zip(row["spread"], known.get(key, usual), strict=True)]}
        for key, row in out.items()
    }


def main() -> None:
    """Judge the ends in each set with what was learnt on the others, and write the table learnt on all."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sets", nargs="+", default=["learning", "trial"])
    parser.add_argument("--judged", nargs="+", help="those of the sets whose ends are judged; without it all")
    parser.add_argument("--ends-only", action="store_true", help="keep signals, weights and links of the table")
    asked = parser.parse_args()
    sets = [measured(name) for name in asked.sets]
    misses_of: dict[str, list[Ends]] = defaultdict(list)
    if asked.ends_only:
        everything = [clip for clips in sets for clip in clips]
        rows = blank(json.loads(TABLE.read_text(encoding="utf-8"))["rows"], everything)
        write_table(rows)
        misses_of = edge_misses(everything, rows)
    else:
        samples = [gathered(clips) for clips in sets]
        for k, clips in enumerate(sets):
            if asked.judged and asked.sets[k] not in asked.judged:
                continue
            rows = blank(rows_of(joined(samples[:k] + samples[k + 1 :])), clips)
            write_table(rows)
            for key, found in edge_misses(clips, rows).items():
                misses_of[key] += found
        rows = blank(rows_of(joined(samples)), [clip for clips in sets for clip in clips])
    rows = of_ends(rows, misses_of)
    for key, row in rows.items():
        print(f"{key:52s} clips {row['clips']:3d} miss {row.get('_miss', np.nan):.3f} spread {row['spread']} "
              f"inward {row['inward']} {dict(zip(row['channels'], row['weights'], strict=True))}")  # fmt: skip
    write_table(rows)


if __name__ == "__main__":
    main()
