"""How well the inbox recognises movements, and what it says of what is none; prints the figures.

    CUEBOOK_CLIP_SETS=FOLDER python tests/accuracy/inbox.py [--set benchmark]

Rendered clips come from bodies and cameras that nothing was learnt from. The aim: the likeliest movement is right on
95 % of the clips filmed in a right view; at most 1 % are wrong and sure; what is no movement of the library never is.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from cuebook.likeness.recognise import Pattern, learnt, recognise
from cuebook.model import Track, View
from cuebook.motion import RIGHT_VIEW_DEG, nearest_view
from cuebook.motion.view import name_lying_view, name_view
from tests.accuracy.cases import Case, load_set
from tests.accuracy.recognition_sets import other_tracks
from tests.accuracy.sets import TRIAL_BODIES


def in_a_right_view(case: Case) -> bool:
    """Tell from the truth whether a clip is filmed from where its movement is to be filmed."""
    azimuth, family = case.truth.spec.camera.azimuth_deg, case.movement.family
    if family == "side-lying":
        return abs(abs(azimuth) - 90.0) <= RIGHT_VIEW_DEG
    standing = family == "standing"
    name, off = name_view(azimuth) if standing else name_lying_view(azimuth, head_first=family == "prone")
    view = View(name=name, facing="none", azimuth_deg=azimuth, off_axis_deg=off, uncertainty_deg=0.0)
    return nearest_view(view, case.movement.views) <= RIGHT_VIEW_DEG


def without(pattern: Pattern, movement: str) -> Pattern:
    """Return a pattern that has never heard of a movement: then its clips are somebody's own movement."""
    keep = np.array([name != movement for name in pattern.movements])
    wide = np.append(keep, True)
    return replace(
        pattern,
        movements=tuple(name for name in pattern.movements if name != movement),
        centre=pattern.centre[wide],
        spread=pattern.spread[wide],
        least=pattern.least[keep],
        most=pattern.most[keep],
    )


def share(of: Iterable[bool]) -> str:
    """Return a share with what it is of."""
    values = list(of)
    return f"{np.mean(values):6.1%} of {len(values)}" if values else "none"


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--set", default="benchmark")
    parser.add_argument("--detail", action="store_true")
    wanted = parser.parse_args()
    cases = load_set(wanted.set)
    guesses = [recognise(case.track) for case in cases]
    names = [case.truth.spec.movement for case in cases]
    right = [in_a_right_view(case) for case in cases]
    hit = [guess.movement == name for guess, name in zip(guesses, names, strict=True)]
    wrong = [guess.sure and not h for guess, h in zip(guesses, hit, strict=True)]
    rows = [row for row, fine in zip(zip(guesses, hit, wrong, strict=True), right, strict=True) if fine]
    print(f"likeliest movement right, right view   {share(h for _, h, _ in rows)}   aim 95 %")
    print(f"likeliest movement right, every view   {share(hit)}")
    print(f"sure, right view                       {share(guess.sure for guess, _, _ in rows)}")
    print(f"wrong and sure, right view             {share(w for _, _, w in rows)}   aim 1 %")
    print(f"wrong and sure, every view             {share(wrong)}")
    known = learnt()
    own = [recognise(case.track, without(known, case.truth.spec.movement)).sure for case in cases]
    print(f"sure although the movement was taken out of the library   {share(own)}")
    others: list[tuple[str, Track]] = list(other_tracks(TRIAL_BODIES[:2]))
    print(f"sure of what is no movement (drawn)    {share(recognise(track).sure for _, track in others)}")
    if wanted.detail:
        for case, guess, h in zip(cases, guesses, hit, strict=True):
            if not h or not guess.sure:
                print(f"  {case.path.stem}: {guess.movement} {guess.chance:.2f} ({guess.why})")


if __name__ == "__main__":
    main()
