"""Learn the bias table of joint angles from rendered sets: ``python tests/accuracy/learn_bias.py [--sets NAME ...]``.

For every joint, movement, range of views and limb: a correction by generalised least squares, drawn towards that of the
wider row (position with pattern, then position), and the spread that remains, judged on bodies left out in turn.
Frames of one clip share an error of constant and slope, so that a clip counts as one witness however long it is, and
bodies weigh alike where the spread is judged.
"""

from __future__ import annotations

import argparse
import json
from collections import defaultdict
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
from cases import load_set, true_signal

import cuebook.motion.bias as bias
from cuebook.model import landmark_index
from cuebook.motion.joints import JOINTS, raw_angle
from cuebook.motion.signals import doubtful_frames, hands_planted, limb_seen, outward_deg
from cuebook.motion.smooth import smooth_track
from cuebook.motion.stance import raised_leg, restful, standing_tall
from cuebook.motion.view import estimate_view, handedness
from cuebook.pose import find_doubts

TABLE = Path(bias.__file__).with_name("bias_table.json")
FRAMES = 60
"""Frames taken of a clip, evenly."""
WITHIN_DEG, INDEPENDENT = 3.0, 12
"""Spread of a clip's errors about its own line, and how many independent values its frames amount to."""
SHARED_DEG, SHARED_SLOPE = 4.0, 8.0
"""Spread between clips of the constant error, degrees, and of the one that grows with the angle, per 100 degrees."""
FIRST = {
    # standard deviation of each coefficient of `features` before anything is seen, degrees
    "side": (20, 15, 1e-3, 15, 1e-3, 1e-3, 5, 5),
    "slant": (20, 15, 10, 10, 1e-3, 1e-3, 3, 3),
    "oblique": (20, 15, 15, 15, 15, 15, 1e-3, 1e-3),
    "across": (20, 15, 15, 15, 15, 15, 1e-3, 1e-3),
}
FOLDING = (8, 25, 1e-3, 25, 1e-3, 15, 1e-3, 1e-3)
"""The same for knees read from the shortening of the leg. Their constant is never below 0: where a stance is not quite
straight the reading is too small, but near straight it is the middle of what the length leaves open, and rendered legs,
which are all straight to 5 degrees, must not narrow that."""
NARROWER = (6.0, 9.0)
"""Standard deviation of the constant, and of the other coefficients, of a row about those of the wider one."""


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """What one clip says of one joint: readings, truth, and its share in the normal equations."""

    keys: tuple[str, ...]
    body: str
    plane: np.ndarray
    space: np.ndarray
    true: np.ndarray
    terms: np.ndarray
    square: np.ndarray
    product: np.ndarray

    def start(self, weight: float) -> np.ndarray:
        """Return the reading before any correction."""
        return weight * self.plane + (1.0 - weight) * self.space


def parts_of(case):
    """Yield the parts of one clip."""
    smooth = smooth_track(case.track)
    rest = restful(case.track, smooth)
    view = estimate_view(case.track, rest, family=case.movement.family)
    if view.name.endswith("-end") or view.name == "unknown":
        return
    hand = handedness(case.track)
    if view.name == "side":
        hand = 1.0 if view.azimuth_deg < 0 else -1.0
    ahead = 90.0 - abs(view.azimuth_deg)
    bad = doubtful_frames(case.track, find_doubts(case.track))
    upright = case.movement.family == "standing"
    raised = raised_leg(case.track) if upright else None
    for side in ("left", "right"):
        for joint in JOINTS:
            limb = limb_seen(view, joint, side, raised)
            standing = standing_tall(smooth) if upright and limb != "raised" else None
            raw = raw_angle(smooth, joint, side, hand=hand, azimuth_deg=view.azimuth_deg, standing=standing,
                            outward_deg=outward_deg(case.movement, limb),
                            hands_planted=hands_planted(case.movement))  # fmt: skip
            true = true_signal(case.truth, f"{side}_{joint}", case.track.times_s)
            lost = bad[:, [landmark_index(f"{side}_{p}") for p in JOINTS[joint]]].any(axis=1)
            places = np.flatnonzero(np.isfinite(true) & np.isfinite(raw.plane) & np.isfinite(raw.space) & ~lost)
            if len(places) < 20:
                continue
            tail = f"{bias.view_bin(min(90.0, abs(ahead)))}/{limb}"
            keys = tuple(f"{joint}/{name}/{tail}" for name in bias.movement_keys(case.movement))
            few = places[:: max(1, len(places) // FRAMES)]
            yield part(keys, case.truth.spec.body, raw.plane[few], raw.space[few], true[few], ahead)


def part(keys, body, plane, space, true, ahead) -> Part:
    """Prepare the normal equations of one clip: its frames share an error of constant and slope."""
    weight = weight_of(keys[0])
    start = weight * plane + (1.0 - weight) * space
    terms = bias.features(plane, space, ahead)
    miss = np.clip(true - start, -60.0, 60.0)
    sure = huber(miss - np.median(miss), 15.0) / (WITHIN_DEG**2 * max(1.0, len(miss) / INDEPENDENT))
    shared = np.stack([np.ones(len(miss)), start / 100.0], axis=1)
    own = shared * sure[:, None]
    middle = np.linalg.inv(np.diag([SHARED_DEG**-2, SHARED_SLOPE**-2]) + shared.T @ own)
    weighed = terms * sure[:, None] - own @ (middle @ (own.T @ terms))
    return Part(keys, body, plane, space, true, terms, terms.T @ weighed, weighed.T @ miss)


def weight_of(key) -> float:
    """Return the share of the first reading in the starting value of a row."""
    joint, _, view, limb = key.split("/")
    return bias.start_weight(view, joint, limb)


def huber(residual, size):
    """Weight 1 up to `size`, falling beyond, so that a leg stuck to the other one does not bend the table."""
    return np.minimum(1.0, size / np.maximum(np.abs(residual), 1e-9))


def chain(keys):
    """Return the rows that a part belongs to, wide before narrow; ``any`` stands by itself."""
    own, pattern, family, anything = keys
    return {anything: (anything,), family: (family,), pattern: (family, pattern), own: (family, pattern, own)}


def fit(groups, wide_to_narrow, without=None):
    """Return the coefficients of the last of some rows, each drawn towards the one before it."""
    joint, _, view, limb = wide_to_narrow[0].split("/")
    if joint != "knee_flexion" or limb == "raised" or view not in ("oblique", "across"):
        return drawn(groups, wide_to_narrow, np.array(FIRST[view], float), without)
    first = np.array(FOLDING, float)
    found = drawn(groups, wide_to_narrow, first, without)
    return found if found[0] >= 0 else drawn(groups, wide_to_narrow, np.array([1e-3, *first[1:]]), without)


def drawn(groups, wide_to_narrow, spread, without):
    """Return the coefficients of the last row, from the spreads of the first row's before anything is seen."""
    mean = np.zeros(8)
    for key in wide_to_narrow:
        sure = np.diag(spread**-2.0)
        parts = [p for p in groups[key] if p.body != without]
        mean = np.linalg.solve(sure + sum(p.square for p in parts), sure @ mean + sum(p.product for p in parts))
        spread = np.minimum(spread, np.array([NARROWER[0], *[NARROWER[1]] * 7]))
    return mean


def applied(p, coefficients, weight):
    """Return the corrected values of a part and their errors."""
    most = bias.LARGEST_CORRECTION_DEG
    value = p.start(weight) + np.clip(p.terms @ coefficients, -most, most)
    return value, value - p.true


def spreads(held_out):
    """Spread that holds 95 % of the errors at 1.96, per level of the corrected angle."""
    edges = (-np.inf, *bias.LEVELS_DEG, np.inf)
    everything, _ = weighted(held_out, -np.inf, np.inf)
    out = []
    for low, high in pairwise(edges):
        here, count = weighted(held_out, low, high)
        share = count / (count + 2.0)
        out.append(np.sqrt(share * here**2 + (1 - share) * everything**2) if count else everything)
    return np.array(out)


def weighted(held_out, low, high):
    """Return the 95 % point of the absolute errors over 1.96 within a range of values, and how many bodies show it.

    A body with many clips counts as the square root of their number.
    """
    errors, weights, of_body = [], [], defaultdict(list)
    for body, value, residual in held_out:
        inside = (value >= low) & (value < high)
        if inside.sum() >= 5:
            of_body[body].append(np.abs(residual[inside]))
    for clips in of_body.values():
        for e in clips:
            errors.append(e)
            weights.append(np.full(len(e), 1.0 / len(e) / np.sqrt(len(clips))))
    if not errors:
        return np.nan, 0
    e, w = np.concatenate(errors), np.concatenate(weights)
    order = np.argsort(e)
    share = np.cumsum(w[order]) / w.sum()
    return float(e[order][np.searchsorted(share, 0.95)]) / 1.96, len(of_body)


def learn(parts, *, say=None):
    """Return the rows of the table for these parts."""
    groups, chains = defaultdict(list), {}
    for p in parts:
        chains.update(chain(p.keys))
        for key in p.keys:
            groups[key].append(p)
    table = {}
    for key in sorted(groups):
        own, bodies = groups[key], sorted({p.body for p in groups[key]})
        weight = weight_of(key)
        if len(own) < 2:
            continue
        held_out = []
        for body in bodies:
            coefficients = fit(groups, chains[key], without=body)
            held_out += [(body, *applied(p, coefficients, weight)) for p in own if p.body == body]
        spread = spreads(held_out)
        table[key] = {
            "weight": weight,
            "coefficients": [round(float(c), 3) for c in fit(groups, chains[key])],
            "spread": [round(float(s), 2) for s in spread],
            "clips": len(own),
            "bodies": len(bodies),
            "witnesses": round(float(sum(np.sqrt(sum(p.body == b for p in own)) for b in bodies)), 1),
        }
        if say:
            say(key, own, held_out, table[key], weight)
    return table


def printed(key, own, held_out, row, weight) -> None:
    """Print one row: errors as read, and of bodies left out."""
    left = np.abs(np.concatenate([residual for *_, residual in held_out]))
    raw = np.abs(np.concatenate([p.start(weight) - p.true for p in own]))
    print(f"{key:62s} clips {row['clips']:3d} bodies {row['bodies']:2d}  read {np.median(raw):5.1f} /"
          f"{np.percentile(raw, 95):5.1f}  left out {np.median(left):5.1f} /{np.percentile(left, 95):5.1f}  "
          f"spread {row['spread']}")  # fmt: skip


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sets", nargs="+", default=["learning", "trial", "practice"])
    names = parser.parse_args().sets
    cases = [case for name in names for case in load_set(name)]
    if not cases:
        raise SystemExit("no clips: draw the sets with make_sets.py and name their parent folder in CUEBOOK_CLIP_SETS")
    table = learn([p for case in cases for p in parts_of(case)], say=printed)
    note = f"rendered sets {', '.join(names)}; bodies and cameras that the benchmark does not use"
    TABLE.write_text(json.dumps({"made_from": note, "rows": table}, indent=0) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
