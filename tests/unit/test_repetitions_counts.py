"""Counts of sets drawn at random: nothing but whole repetitions counts, whatever happens before, between and after."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from cuebook.model import Prescription
from cuebook.motion import measure_motion
from cuebook.movements import load_movement
from cuebook.pose import find_doubts
from cuebook.repetitions import find_repetitions
from cuebook.synthetic import Camera, Change, ClipSpec, Picture
from cuebook.synthetic.camera import make_view
from cuebook.synthetic.catalogue import PLANS
from cuebook.synthetic.film import perfect_track
from cuebook.synthetic.perform import perform
from tests.stick_samples import FILMED

RATE_HZ = 12.0
JITTER = 0.0011
"""Standard deviation of a landmark's place, in shares of the picture's long side: what a pose model shows of somebody
standing still."""
OFF_DEG = 15.0
NEAR_HALF = ("lateral-lunge", "push-up", "standing-trunk-rotation")
"""Movements whose smallest swing lies within ten degrees of the half one that is drawn: either count is right there."""


def drawn(movement: str, number: int) -> ClipSpec:
    """Return one set: 3 or 4 repetitions, and at random walking, a false start, a half one, a stop on the way."""
    draw = np.random.default_rng((71, number, list(PLANS).index(movement)))
    lying, (side, azimuth) = PLANS[movement].lying, FILMED[movement]
    reps = 4 if side == "alternating" else int(draw.integers(3, 5))
    stop = int(draw.integers(1, reps + 1)) if draw.random() < 0.3 else 0
    moving = "floor" if lying else "walk"
    return ClipSpec(
        name="stick",
        body="ash",
        movement=movement,
        side=side,
        reps=reps,
        tempo=(float(draw.choice((1.0, 1.6, 2.4))), float(draw.choice((0.0, 0.6))), float(draw.uniform(0.8, 1.6)),
               float(draw.choice((0.0, 0.6)))),
        changes=tuple(Change(number=n, depth=round(float(draw.uniform(0.85, 1.0)), 3), stop_s=0.8 if n == stop else 0.0)
                      for n in range(1, reps + 1)),
        profile=str(draw.choice(("min_jerk", "constant", "sticking", "bounce"))),
        tremor_deg=float(draw.choice((0.0, 1.0))),
        lead_in=moving if draw.random() < 0.5 else "stand",
        lead_out=moving if draw.random() < 0.5 else "stand",
        false_start=bool(draw.random() < 0.3),
        half_after=int(draw.integers(1, reps)) if draw.random() < 0.5 and movement not in NEAR_HALF else 0,
        camera=Camera(azimuth_deg=azimuth + float(draw.uniform(-OFF_DEG, OFF_DEG))),
        picture=Picture(rate_hz=RATE_HZ),
        seed=number,
    )  # fmt: skip


@pytest.mark.parametrize("number", range(4))
@pytest.mark.parametrize("name", list(FILMED))
def test_the_count_is_that_of_the_truth(name: str, number: int) -> None:
    spec = drawn(name, number)
    performance = perform(spec)
    track = perfect_track(spec, performance, make_view(spec, performance))
    draw = np.random.default_rng((72, number))
    shaken = draw.normal(0.0, JITTER * max(track.width_px, track.height_px), track.xy_px.shape)
    track = replace(track, xy_px=track.xy_px + shaken)
    movement = load_movement(name)
    found = find_repetitions(measure_motion(track, movement, find_doubts(track)), movement, Prescription())
    planned = [(p.start_s, p.end_s) for p in performance.schedule.planned if p.kind == "repetition"]
    counted = [rep.turn_s for rep in found if rep.counted]
    assert len(counted) == spec.reps
    assert all(start < turn < end for turn, (start, end) in zip(counted, planned, strict=True))
