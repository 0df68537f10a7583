"""Learns what the movements look like and writes src/cuebook/likeness/recognition.json.

    CUEBOOK_CLIP_SETS=FOLDER python tests/accuracy/learn_recognition.py

Usual value and spread of every figure come from the rendered learning set and from drawn landmarks, half the weight
each; the row for anything else from what people do that is no movement. The temperature is the one with which the
chances of clips that were left out in turn come true best.
"""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
from scipy.optimize import minimize_scalar

sys.path.insert(0, str(Path(__file__).parents[2]))

from cuebook.likeness.features import FEATURES, SWINGS, movement_features
from cuebook.likeness.recognise import LEARNT, Pattern, movement_chances
from cuebook.movements import load_movement
from tests.accuracy.cases import load_set
from tests.accuracy.recognition_sets import drawn_specs, drawn_track, other_tracks
from tests.accuracy.sets import LEARNING_BODIES

FLOOR = 0.08
"""Smallest spread of a figure: real bodies, rooms and phones differ more than rendered ones (house choice)."""

ELSE_WIDER = 1.5
"""How much wider than all movements together anything else spreads (house choice)."""

LEAST_SHARE, MOST_SHARE, MOST_MORE = 0.4, 1.5, 0.25
"""A limb moves too little below two fifths of the second percentile, too much above half more than the 98th and a
quarter of a right angle or of a trunk length (house choice)."""

ARMS = ("elbow_swing", "shoulder_swing")
LEG_DRIVERS = ("knee_flexion", "hip_flexion")
"""In movements of the legs people do with their arms what they like; drawn figures keep them still."""

ANY_SWING = 9.0
"""More than any limb can swing."""

FOLDS = 6

Sample = tuple[str, bool, np.ndarray]
"""Movement (empty for none), whether it was rendered, figures."""


def samples() -> list[Sample]:
    """Return the figures of everything that is learnt from."""
    out: list[Sample] = []
    for case in load_set("learning"):
        out.append((case.truth.spec.movement, True, movement_features(case.track)))
    for spec in drawn_specs(each=4):
        out.append((spec.movement, False, movement_features(drawn_track(spec))))
    for _, track in other_tracks(LEARNING_BODIES[:2]):
        out.append(("", False, movement_features(track)))
    return [sample for sample in out if sample[2] is not None]


def fit(given: list[Sample], temperature: float = 1.0) -> Pattern:
    """Return centres and spreads; a movement's rendered and drawn clips count as much."""
    names = tuple(sorted({name for name, _, _ in given if name}))
    swings, arms = (np.array([name in group for name in FEATURES]) for group in (SWINGS, ARMS))
    centres, spreads, least, most = [], [], [], []
    for name in names:
        kinds = [np.array([x for n, r, x in given if n == name and r == rendered]) for rendered in (True, False)]
        kinds = [kind for kind in kinds if len(kind)]
        centre = np.mean([np.median(kind, axis=0) for kind in kinds], axis=0)
        square = np.mean([np.mean((kind - centre) ** 2, axis=0) for kind in kinds], axis=0)
        centres.append(centre)
        spreads.append(np.sqrt(square + FLOOR**2))
        low, high = np.percentile(np.concatenate(kinds), [2, 98], axis=0)
        least.append(np.where(swings, LEAST_SHARE * low, -np.inf))
        bounded = swings & ~(arms & (load_movement(name).driver.signal in LEG_DRIVERS))
        most.append(np.where(bounded, MOST_SHARE * high + MOST_MORE, ANY_SWING))
    everything = np.array([x for _, _, x in given])
    centres.append(np.median(everything, axis=0))
    spreads.append(np.sqrt((ELSE_WIDER * everything.std(axis=0)) ** 2 + FLOOR**2))
    return Pattern(movements=names, centre=np.array(centres), spread=np.array(spreads),
                   least=np.array(least), most=np.array(most), temperature=temperature)  # fmt: skip


def settle_temperature(given: list[Sample]) -> float:
    """Return the temperature with the best log score on what was left out in turn.

    Clips left out must come out as their movement; things that are no movement, and the clips of a movement that was
    left out as a whole, as none.
    """
    held: list[tuple[Pattern, Sample]] = []
    for fold in range(FOLDS):
        pattern = fit([s for i, s in enumerate(given) if i % FOLDS != fold and s[0]])
        held += [(pattern, s) for i, s in enumerate(given) if i % FOLDS == fold]
    for name in sorted({s[0] for s in given if s[0]}):
        pattern = fit([s for s in given if s[0] not in ("", name)])
        held += [(pattern, ("", *s[1:])) for s in given if s[0] == name and s[1]]

    def loss(log_temperature: float) -> float:
        total = 0.0
        for pattern, (name, _, figures) in held:
            tried = replace(pattern, temperature=float(np.exp(log_temperature)))
            chances = movement_chances(figures, tried)
            total -= np.log(max(1e-9, chances[pattern.movements.index(name)] if name else chances[-1]))
        return total / len(held)

    return float(np.exp(minimize_scalar(loss, bounds=(0.0, 3.0), method="bounded").x))


def main() -> None:
    """Learn and write."""
    given = samples()
    movements_only = [s for s in given if s[0]]
    temperature = settle_temperature(given)
    pattern = fit(movements_only, temperature)
    rows = [
        {name: _cell(pattern, row, column) for column, name in enumerate(FEATURES)}
        for row in range(len(pattern.movements) + 1)
    ]
    stored = {
        "about": "Usual value and spread of every figure, least and most of swings; from rendered clips and drawn "
        "landmarks of invented people.",
        "temperature": round(temperature, 3),
        "movements": dict(zip(pattern.movements, rows[:-1], strict=True)),
        "anything_else": rows[-1],
    }
    LEARNT.write_text(json.dumps(stored, indent=1) + "\n", encoding="utf-8")
    print(f"{len(given)} samples, temperature {temperature:.2f}, written to {LEARNT.name}")


def _cell(pattern: Pattern, row: int, column: int) -> list[float]:
    cell = [pattern.centre[row, column], pattern.spread[row, column]]
    if row < len(pattern.movements) and np.isfinite(pattern.least[row, column]):
        cell += [pattern.least[row, column], pattern.most[row, column]]
    return [round(float(value), 3) for value in cell]


if __name__ == "__main__":
    main()
