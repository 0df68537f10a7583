"""Landmarks from which the inbox learns what movements look like, and movements that are none of the library's.

Nothing is drawn here: these are the landmarks of a perfect pose model. They join the rendered learning set, in which
every movement is done by a few bodies only.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np

from cuebook.model import Track
from cuebook.synthetic import Camera, ClipSpec, Picture
from cuebook.synthetic.camera import make_view
from cuebook.synthetic.catalogue import PLANS
from cuebook.synthetic.figures.places import on_all_fours, sitting, walking
from cuebook.synthetic.figures.standing import ankle_height_m
from cuebook.synthetic.film import perfect_track
from cuebook.synthetic.perform import perform
from cuebook.synthetic.posture import SIDES, Poses, Posture, picked
from cuebook.synthetic.skeleton import INDEX, Rig, joints, reach_length_m, turn

from .sets import LEARNING_BODIES

VIEWS = {
    "lateral-lunge": (0.0, 40.0, -40.0, 90.0, -90.0),
    "standing-trunk-rotation": (0.0, 42.0, -42.0, 25.0, -25.0),
    "rear-foot-elevated-split-squat-with-rotation": (42.0, -42.0, 90.0, -90.0, 60.0),
}
"""Azimuths around which clips of a movement are filmed, in degrees; from the side where nothing is given."""

RATE_HZ = 10.0


def drawn_specs(bodies: tuple[str, ...] = LEARNING_BODIES, *, each: int = 6, seed: int = 11) -> Iterator[ClipSpec]:
    """Yield specs of every movement for every body: view, side, depth, tempo, arms and getting into place vary."""
    draw = np.random.default_rng(seed)
    for movement, plan in PLANS.items():
        for body in bodies:
            for number in range(each):
                views = VIEWS.get(movement, (90.0, -90.0))
                yield ClipSpec(
                    name=f"drawn-{movement}",
                    body=body,
                    movement=movement,
                    side=str(draw.choice(plan.sides)),
                    reps=int(draw.integers(2, 5)),
                    tempo=tuple(float(v) for v in draw.uniform((0.8, 0.0, 0.7, 0.3), (3.5, 1.5, 2.0, 0.8))),
                    depth=float(draw.uniform(0.7, 1.1)),
                    arms=_arms(movement, draw),
                    lead_in=("stand", "floor" if plan.lying else "walk")[int(draw.integers(2))],
                    lead_out=("stand", "floor" if plan.lying else "walk")[int(draw.integers(2))],
                    camera=Camera(azimuth_deg=views[number % len(views)] + float(draw.uniform(-20, 20))),
                    picture=Picture(rate_hz=RATE_HZ),
                    seed=int(draw.integers(1 << 30)),
                )


def _arms(movement: str, draw: np.random.Generator) -> str | None:
    if movement not in ("squat", "split-squat", "standing-knee-raise"):
        return None
    return (None, "crossed", "clasped", "hips")[int(draw.integers(4))]


def drawn_track(spec: ClipSpec) -> Track:
    """Return the landmarks of a spec."""
    acted = perform(spec)
    return perfect_track(spec, acted, make_view(spec, acted))


def other_tracks(
    bodies: tuple[str, ...], *, azimuths: tuple[float, ...] = (0.0, 45.0, -90.0)
) -> Iterator[tuple[str, Track]]:
    """Yield (name, track) of things people do that are no movement of the library."""
    for number, body in enumerate(bodies):
        for azimuth in azimuths:
            spec = ClipSpec(name="other", body=body, movement="squat", side="both", reps=4, tempo=(2.0, 0.5, 1.5, 0.5),
                            camera=Camera(azimuth_deg=azimuth + 7.0 * number), picture=Picture(rate_hz=RATE_HZ),
                            seed=number)  # fmt: skip
            acted = perform(spec)
            for name, act in OTHERS.items():
                poses = act(acted.body.rig, acted.times_s)
                placed = joints(acted.body.rig, poses.rotations, poses.root_m)
                shown = replace(acted, poses=poses, joints_m=placed)
                yield name, perfect_track(spec, shown, make_view(spec, shown))


def _beat(times_s: np.ndarray, period_s: float = 3.0) -> np.ndarray:
    """Return a share that goes smoothly from 0 to 1 and back, once a period."""
    return 0.5 * (1.0 - np.cos(2.0 * np.pi * times_s / period_s))


def _stand(rig: Rig, times_s: np.ndarray, *, lean=0.0, bend=8.0, feet: float | np.ndarray = 1.2) -> Posture:
    """Stand on both feet, trunk leaning by `lean` degrees, knees bent by `bend`, feet `feet` hip widths apart."""
    posture = Posture(rig, len(times_s))
    bend = posture.many(bend)
    posture.trunk(turn("y", posture.many(lean)))
    hip_y = abs(rig.heads_m[INDEX["left_thigh"], 1])
    spread = posture.many(feet) * hip_y
    length = reach_length_m(posture.legs_m("left"), bend)
    hip = posture["pelvis"] @ rig.offset_m("left_thigh")
    posture.root_m[:, 0] = -hip[:, 0]
    posture.root_m[:, 2] = ankle_height_m(rig, "left") + np.sqrt(length**2 - (spread - hip_y) ** 2) - hip[:, 2]
    for side, sign in SIDES.items():
        ankle = np.stack([np.zeros(len(times_s)), sign * spread, posture.many(ankle_height_m(rig, side))], axis=1)
        posture.leg_to(side, ankle, pole=[1.0, sign * 0.15, 0.0], foot=turn("z", sign * 6.0))
    return posture


def _standing(rig: Rig, times_s: np.ndarray) -> Poses:
    posture = _stand(rig, times_s, lean=2.0 * np.sin(times_s))
    for side in SIDES:
        posture.arm(side, flexion_deg=5.0 + 6.0 * np.sin(0.9 * times_s), elbow_deg=20.0)
    return posture.finish()


def _walking(rig: Rig, times_s: np.ndarray) -> Poses:
    return walking(rig, 0.9 * times_s, 90.0)


def _press(rig: Rig, times_s: np.ndarray) -> Poses:
    posture, up = _stand(rig, times_s), _beat(times_s)
    for side in SIDES:
        posture.arm(side, flexion_deg=40.0 + 130.0 * up, out_deg=25.0 - 15.0 * up, elbow_deg=130.0 - 120.0 * up)
    return posture.finish()


def _curl(rig: Rig, times_s: np.ndarray) -> Poses:
    posture, up = _stand(rig, times_s), _beat(times_s)
    for side in SIDES:
        posture.arm(side, flexion_deg=4.0 + 10.0 * up, elbow_deg=12.0 + 120.0 * up)
    return posture.finish()


def _hinge(rig: Rig, times_s: np.ndarray) -> Poses:
    posture = _stand(rig, times_s, lean=80.0 * _beat(times_s), bend=18.0)
    for side in SIDES:
        posture.arm(side, flexion_deg=10.0 + 60.0 * _beat(times_s), elbow_deg=8.0)
    return posture.finish()


def _jacks(rig: Rig, times_s: np.ndarray) -> Poses:
    up = _beat(times_s, 1.2)
    posture = _stand(rig, times_s, feet=1.0 + 2.6 * up)
    for side in SIDES:
        posture.arm(side, out_deg=10.0 + 140.0 * up, elbow_deg=12.0)
    return posture.finish()


def _row(rig: Rig, times_s: np.ndarray) -> Poses:
    posture, up = _stand(rig, times_s, lean=55.0, bend=25.0), _beat(times_s)
    for side in SIDES:
        posture.arm(side, flexion_deg=60.0 - 80.0 * up, elbow_deg=10.0 + 90.0 * up)
    return posture.finish()


def _raises(rig: Rig, times_s: np.ndarray) -> Poses:
    posture, up = _stand(rig, times_s), _beat(times_s)
    for side in SIDES:
        posture.arm(side, out_deg=8.0 + 82.0 * up, elbow_deg=12.0)
    return posture.finish()


def _all_fours(rig: Rig, times_s: np.ndarray) -> Poses:
    return picked(on_all_fours(rig), np.zeros(len(times_s), dtype=int))


def _sitting(rig: Rig, times_s: np.ndarray) -> Poses:
    return picked(sitting(rig), np.zeros(len(times_s), dtype=int))


OTHERS: dict[str, Callable[[Rig, np.ndarray], Poses]] = {
    "standing around": _standing,
    "walking": _walking,
    "overhead press": _press,
    "arm curl": _curl,
    "hip hinge": _hinge,
    "jumping jack": _jacks,
    "bent-over row": _row,
    "lateral raise": _raises,
    "on all fours": _all_fours,
    "sitting": _sitting,
}
"""What is done, over time."""
