"""Learn the bias table of joint angles from the rendered set `learning`.

    python tests/accuracy/learn_bias.py

For every joint, position, range of views and limb: a correction of six terms by ridge regression towards none, and the
spread that remains, judged on bodies left out in turn. Clips weigh alike.
"""

from __future__ import annotations

import json
from collections import defaultdict
from itertools import pairwise
from pathlib import Path

import numpy as np
from cases import load_set, true_signal

import cuebook.motion.bias as bias
from cuebook.motion.joints import JOINTS, raw_angle, smooth_track
from cuebook.motion.signals import _restful, at_usual_size, doubtful_frames
from cuebook.motion.view import estimate_view, handedness
from cuebook.pose import find_doubts

RIDGE = {"constant": 0.02, "slope": 0.15, "square": 0.4}
TABLE = Path(bias.__file__).with_name("bias_table.json")


def rows_of(case):
    """Yield (key, any-key, plane, space, truth) of one clip."""
    smooth = smooth_track(case.track)
    rest = _restful(case.track, smooth)
    view = estimate_view(case.track, rest, family=case.movement.family)
    if view.name.endswith("-end") or view.name == "unknown":
        return
    hand = handedness(case.track)
    if view.name == "side":
        hand = 1.0 if view.azimuth_deg < 0 else -1.0
    off = min(90.0, abs(90.0 - abs(view.azimuth_deg)))
    bad = doubtful_frames(case.track, find_doubts(case.track))
    from cuebook.model import landmark_index

    for side in ("left", "right"):
        limb = "near" if view.facing in (side, "none") else "far"
        for joint in JOINTS:
            standing = at_usual_size(smooth) if case.movement.family == "standing" else None
            raw = raw_angle(smooth, joint, side, hand=hand, azimuth_deg=view.azimuth_deg, standing=standing)
            true = true_signal(case.truth, f"{side}_{joint}", case.track.times_s)
            lost = bad[:, [landmark_index(f"{side}_{p}") for p in JOINTS[joint]]].any(axis=1)
            ok = np.isfinite(true) & np.isfinite(raw.plane) & np.isfinite(raw.space) & ~lost
            ok[1::2] = False
            if ok.sum() > 20:
                tail = f"{bias.view_bin(off)}/{limb}"
                keys = tuple(f"{joint}/{name}/{tail}" for name in bias.movement_keys(case.movement))
                yield keys, raw.plane[ok], raw.space[ok], true[ok]


def fit(parts, weight):
    """Ridge regression of truth less starting value on the six terms, every clip with the same total weight."""
    penalty = np.diag([RIDGE["constant"], *[RIDGE["slope"]] * 2, *[RIDGE["square"]] * 3]) ** 2 * 4.0
    left, right = penalty * len(parts) * 0.05, np.zeros(6)
    for plane, space, true in parts:
        x = bias.features(plane, space)
        y = np.clip(true - (weight * plane + (1 - weight) * space), -60, 60)
        w = huber(y - np.median(y), 15.0) / len(y)
        left = left + (x * w[:, None]).T @ x
        right = right + (x * w[:, None]).T @ y
    return np.linalg.solve(left, right)


def huber(residual, size):
    """Weight 1 up to `size`, falling beyond, so that a leg stuck to the other one does not bend the table."""
    return np.minimum(1.0, size / np.maximum(np.abs(residual), 1e-9))


def remaining(parts, coefficients, weight):
    """Residuals and corrected values of clips under a given correction."""
    out = []
    for plane, space, true in parts:
        row = bias.BiasRow(weight=weight, coefficients=coefficients, spread=np.ones(3), clips=0)
        start = row.weight * plane + (1 - row.weight) * space
        value = start + np.clip(bias.features(plane, space) @ coefficients, -35, 35)
        out.append((value, value - true))
    return out


def main() -> None:
    cases = load_set("learning")
    if not cases:
        raise SystemExit("no clips: draw the set with make_sets.py and name its parent folder in CUEBOOK_CLIP_SETS")
    groups = defaultdict(lambda: defaultdict(list))
    for case in cases:
        for keys, plane, space, true in rows_of(case):
            for key in keys:
                groups[key][case.truth.spec.body].append((plane, space, true))
    table = {}
    for key, bodies in sorted(groups.items()):
        parts = [p for b in bodies.values() for p in b]
        joint, _, view, _ = key.split("/")
        weight = bias.start_weight(view, joint)
        if len(parts) < 2:
            continue
        held_out = []
        for body, own in bodies.items():
            rest = [p for b, ps in bodies.items() if b != body for p in ps]
            held_out += remaining(own, fit(rest, weight), weight) if rest else []
        coefficients = fit(parts, weight)
        held_out = held_out or remaining(parts, coefficients, weight)
        spread = spreads(held_out)
        table[key] = {
            "weight": weight,
            "coefficients": [round(float(c), 3) for c in coefficients],
            "spread": [round(float(s), 2) for s in spread],
            "clips": len(parts),
        }
        absolute = np.concatenate([np.abs(r) for _, r in held_out])
        raw = np.concatenate([np.abs((p if weight > 0.5 else s) - t) for p, s, t in parts])
        print(
            f"{key:48s} clips {len(parts):3d}  raw {np.median(raw):5.1f} /{np.percentile(raw, 95):5.1f}  "
            f"left out {np.median(absolute):5.1f} /{np.percentile(absolute, 95):5.1f}  spread {np.round(spread, 1)}"
        )
    note = "rendered set 'learning'; bodies and cameras that no test uses"
    TABLE.write_text(json.dumps({"made_from": note, "rows": table}, indent=0) + "\n", encoding="utf-8")


def spreads(parts):
    """Spread that holds 95 % of the errors at 1.96, per level of the corrected angle, clips weighing alike."""
    edges = (-np.inf, *bias.LEVELS_DEG, np.inf)
    everything = weighted(parts, -np.inf, np.inf)
    out = []
    for low, high in pairwise(edges):
        here, count = weighted(parts, low, high, with_count=True)
        share = count / (count + 2.0)
        out.append(np.sqrt(share * here**2 + (1 - share) * everything**2) if count else everything)
    return np.array(out)


def weighted(parts, low, high, *, with_count=False):
    """The 95 % point of the absolute errors over 1.96 within a range of values, every clip weighing alike."""
    errors, weights = [], []
    for value, residual in parts:
        inside = (value >= low) & (value < high)
        if inside.sum() >= 5:
            errors.append(np.abs(residual[inside]))
            weights.append(np.full(inside.sum(), 1.0 / inside.sum()))
    if not errors:
        return (np.nan, 0) if with_count else np.nan
    e, w = np.concatenate(errors), np.concatenate(weights)
    order = np.argsort(e)
    share = np.cumsum(w[order]) / w.sum()
    value = float(e[order][np.searchsorted(share, 0.95)]) / 1.96
    return (value, len(errors)) if with_count else value


if __name__ == "__main__":
    main()
