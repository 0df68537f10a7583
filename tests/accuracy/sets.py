"""The clips on which cuebook learns its bias tables, on which it is tried, and on which its accuracy is measured.

No two of the five sets share a body or a camera. The learning, trial and both practice sets may be used for tuning (the
practice sets were benchmarks once), the benchmark set must not be: whoever has looked into its clips to mend something
draws a new one (other `BENCHMARK_SEED`, other bodies) before quoting figures.
"""

from __future__ import annotations

import numpy as np

from cuebook.synthetic import Camera, Change, ClipSpec, Look, Picture
from cuebook.synthetic.catalogue import PLANS

LEARNING_BODIES = ("alder", "birch", "cedar", "elder", "hazel", "larch")
TRIAL_BODIES = ("maple", "olive", "pine", "rowan", "willow")
PRACTICE_BODIES = ("aspen", "linden", "poplar", "sorrel", "walnut")
PRACTICE_SEED = 20261125
SECOND_PRACTICE_BODIES = ("bramble", "gorse", "juniper", "laurel", "myrtle")
SECOND_PRACTICE_SEED = 611803
BENCHMARK_BODIES = ("acacia", "hornbeam", "medlar", "quince", "spindle")
BENCHMARK_SEED = 740219

_SKIN = ("light", "tan", "brown_skin", "dark")
_HAIR = ("brown", "black", "grey", "blond")
_SHIRTS = ("teal", "red", "sky", "orange", "violet", "white", "charcoal", "sand", "rose", "green")
_SHORTS = ("navy", "charcoal", "olive", "black", "grey")
_ROOMS = ("wood", "grey", "mat", "carpet")

_LEARNING_VIEWS: dict[str, tuple[float, ...]] = {
    # azimuths in degrees: right views first, then off by up to 45, then wrong ones
    "squat": (90, -90, 72, 112, -60, 135, 0),
    "split-squat": (90, -90, 70, 118, 50, 0),
    "rear-foot-elevated-split-squat-with-rotation": (40, -42, 90, 22, 60, 0, -90),
    "lateral-lunge": (0, 15, -22, 40, -45, 90),
    "standing-knee-raise": (90, -90, 68, -115, 45, 0),
    "push-up": (90, -90, 75, -110, 130, 0),
    "push-up-to-inverted-v": (90, -90, 72, -112, 50),
    "glute-bridge": (90, -90, 74, -112, 48),
    "side-lying-thoracic-rotation": (0, -90, 90, 25, -60, 180),
    "standing-trunk-rotation": (0, 40, -42, 22, -60, 90),
}

_MORE_LEARNING_VIEWS: dict[str, tuple[float, ...]] = {
    # the views that cues name, more densely: this is where the table must be sure
    "squat": (86, -80, 98, -104, 76, -70, 92, -94, 110, -64, 52, -45),
    "split-squat": (86, -80, 98, -104, 76, -70, 92, -94, 58, -50),
    "rear-foot-elevated-split-squat-with-rotation": (84, -96, 74, -106, 48, -52, 35, -34, 44, -46, 28, -58),
    "lateral-lunge": (5, -6, 10, -14, 18, -3, 33, -32, 50, -8),
    "standing-knee-raise": (86, -80, 98, -104, 76, -72, 92, -94, 84, -98, 58, 110),
    "push-up": (86, -80, 98, -104, 78, -70, 94, -92),
    "push-up-to-inverted-v": (86, -80, 98, -104, 80, -76),
    "glute-bridge": (86, -80, 98, -104, 78, -70, 94, -92),
    "side-lying-thoracic-rotation": (-84, 84, -98, 96, 8),
    "standing-trunk-rotation": (38, -36, 46, -48, 32, -30, 52, -54, 12, -14),
}

_TRIAL_VIEWS: dict[str, tuple[float, ...]] = {
    "squat": (90, -90, 82, -104, 65, 120, 48, 0, -78),
    "split-squat": (90, -90, 80, -108, 62, 125, 0),
    "rear-foot-elevated-split-squat-with-rotation": (43, -40, 50, 33, 90, 20, 0),
    "lateral-lunge": (0, 8, -12, 30, -38, 90, 5),
    "standing-knee-raise": (90, -90, 80, -106, 62, -125),
    "push-up": (90, -90, 82, -102, 60, 125, 96),
    "push-up-to-inverted-v": (90, -90, 80, -108, 60),
    "glute-bridge": (90, -90, 80, -104, 58),
    "side-lying-thoracic-rotation": (-90, 90, 0, 15, -70),
    "standing-trunk-rotation": (40, -40, 48, -30, 0, 12, 62),
}

_FAULTS: dict[str, tuple[str, ...]] = {
    "squat": ("shallow", "dropped_fast", "skipped_hold"),
    "split-squat": ("shallow", "dropped_fast"),
    "rear-foot-elevated-split-squat-with-rotation": ("no_rotation", "shallow"),
    "lateral-lunge": ("bent_straight_leg", "one_side_short", "shallow"),
    "standing-knee-raise": ("bent_straight_leg", "shallow", "one_side_short"),
    "push-up": ("shallow", "bent_arms", "sag"),
    "push-up-to-inverted-v": ("shallow", "dropped_fast"),
    "glute-bridge": ("shallow", "skipped_hold"),
    "side-lying-thoracic-rotation": ("shallow", "dropped_fast"),
    "standing-trunk-rotation": ("one_side_short", "shallow"),
}

_LEARNING_TEMPOS = ((1.5, 0.4, 1.0, 0.4), (2.2, 0.8, 1.4, 0.5), (1.0, 0.0, 0.8, 0.4), (2.6, 0.0, 1.2, 0.6))
_TRIAL_TEMPOS = (
    (3.0, 1.0, 1.0, 0.0),
    (2.0, 0.0, 1.5, 0.4),
    (3.6, 0.0, 1.0, 0.4),
    (1.0, 0.3, 0.7, 0.3),
    (2.0, 1.6, 1.2, 0.3),
    (0.8, 0.0, 0.7, 0.4),
    (1.6, 0.5, 1.6, 0.5),
)


def _side(movement: str, index: int) -> str:
    sides = PLANS[movement].sides
    return sides[index % len(sides)]


def _near_side(movement: str, azimuth: float, index: int) -> str:
    """Choose the side that such a view is filmed for: the working leg near the camera, the turn away from it."""
    sides = PLANS[movement].sides
    if sides == ("both",):
        return "both"
    if "alternating" in sides and (abs(azimuth) < 30 or movement == "standing-trunk-rotation"):
        return "alternating"
    if abs(azimuth) < 20 or movement == "side-lying-thoracic-rotation":
        return _side(movement, index)
    return "left" if (azimuth > 0) != (movement.startswith("rear-foot") and abs(azimuth) < 70) else "right"


def _look(index: int, *, light: float, noise: float) -> Look:
    return Look(
        light=light,
        noise=noise,
        shirt=_SHIRTS[index % 10],
        shorts=_SHORTS[(index * 3) % 5],
        skin=_SKIN[(index * 5) % 4],
        hair=_HAIR[(index * 7 + 1) % 4],
        room=_ROOMS[(index * 3 + 2) % 4],
        shoes=("white", "charcoal", "red")[index % 3],
        sleeves=(0.5, 0.25, 1.7)[index % 3],
        legs=(0.62, 0.85, 1.85, 0.45)[index % 4],
        long_hair=index % 5 == 0,
    )


def _picture(movement: str, index: int, *, rate_hz: float) -> Picture:
    lying = PLANS[movement].lying or (movement == "lateral-lunge" and index % 2)
    width, height = (640, 360) if lying else (360, 640)
    return Picture(width_px=width, height_px=height, rate_hz=rate_hz)


def learning_set() -> list[ClipSpec]:
    """Return the clips that the bias tables are learnt from."""
    specs: list[ClipSpec] = []
    for table in (_LEARNING_VIEWS, _MORE_LEARNING_VIEWS):
        for movement, views in table.items():
            for k, azimuth in enumerate(views):
                specs.append(_learning_clip(movement, azimuth, k, len(specs)))
    return specs


def _learning_clip(movement: str, azimuth: float, k: int, i: int) -> ClipSpec:
    lying = PLANS[movement].lying
    picture = _picture(movement, k, rate_hz=(30.0, 30.0, 25.0, 30.0, 24.0)[i % 5])
    camera = Camera(azimuth_deg=azimuth + (-3.0, 0.0, 4.0)[i % 3],
                    height_m=(0.35, 0.55)[i % 2] if lying else (0.85, 1.25, 1.05)[i % 3], fill=(0.72, 0.84)[i % 2],
                    fov_deg=(36.0, 30.0)[i % 2] if picture.width_px > 400 else (44.0, 54.0)[i % 2])  # fmt: skip
    arms = (
        (None, "crossed", "clasped", None)[i % 4]
        if movement in ("squat", "split-squat", "standing-knee-raise")
        else None
    )
    bent = movement in ("lateral-lunge", "standing-knee-raise") and k % 3 == 2
    return ClipSpec(
        name=f"learn-{i:02d}-{movement}",
        body=LEARNING_BODIES[(i * 5 + k) % 6],
        movement=movement,
        side=_near_side(movement, azimuth, k),
        reps=2,
        tempo=_LEARNING_TEMPOS[(i + k) % 4],
        depth=(1.0, 0.85, 1.08, 0.7)[(i + 2 * k) % 4],
        arms=arms,
        faults=("bent_straight_leg",) if bent else (),
        camera=camera,
        look=_look(i, light=(1.0, 0.8, 1.15)[i % 3], noise=(2.0, 4.0)[i % 2]),
        picture=picture,
        seed=1000 + i,
    )


def _trial_changes(i: int, reps: int, fault: str | None) -> tuple[Change, ...]:
    """Spread stops and faults over the repetitions of a clip."""
    changes = {n: Change(number=n, depth=1.0 - 0.04 * ((n + i) % 3)) for n in range(1, reps + 1)}
    if fault:
        for n in range(1 + i % 2, reps + 1, 2):
            changes[n] = Change(number=n, depth=changes[n].depth, faults=(fault,))
    elif i % 6 == 1:
        changes[2] = Change(number=2, depth=1.0, stop_s=0.8)
    return tuple(changes.values())


def trial_set() -> list[ClipSpec]:
    """Return the clips on which changes are tried, on bodies that the learning set does not have."""
    specs = []
    for movement, views in _TRIAL_VIEWS.items():
        for k, azimuth in enumerate(views):
            specs.append(_trial_clip(movement, azimuth, k, len(specs)))
    return specs


def _trial_clip(movement: str, azimuth: float, k: int, i: int) -> ClipSpec:
    lying = PLANS[movement].lying
    side = _near_side(movement, azimuth, k)
    tempo = _TRIAL_TEMPOS[(i * 3 + k) % 7]
    cycle = sum(tempo) + (3.7 if movement == "push-up-to-inverted-v" else 0.0)
    reps = int(min(8, max(3, (8.0, 9.5, 12.5)[i % 3] // cycle)))
    if side == "alternating":
        reps = max(4, reps - reps % 2)
    elif movement.endswith("inverted-v"):
        tempo = (1.6, 0.4, 1.0, 0.0) if k % 2 else (2.4, 0.0, 0.9, 0.0)
    fault = _FAULTS[movement][k // 2 % len(_FAULTS[movement])] if k % 3 == 2 or k == 4 else None
    if fault == "one_side_short" and side != "alternating":
        fault = "shallow"
    picture = _picture(movement, k, rate_hz=(30.0, 30.0, 25.0, 30.0)[i % 4])
    return ClipSpec(
        name=f"trial-{i:02d}-{movement}",
        body=TRIAL_BODIES[(i * 3 + k) % 5],
        movement=movement,
        side=side,
        reps=reps,
        tempo=tempo,
        changes=_trial_changes(i, reps, fault),
        profile=("min_jerk", "constant", "min_jerk", "sticking", "min_jerk", "bounce")[i % 6],
        tremor_deg=(0.0, 0.6, 0.0, 1.2)[i % 4],
        lead_in=("stand", "floor" if lying else "walk")[i % 3 == 0],
        lead_out=("stand", "floor" if lying else "walk")[i % 4 == 0],
        false_start=i % 5 == 2,
        half_after=1 if i % 7 == 3 else 0,
        raised_hand=i % 9 == 4 and not lying,
        camera=Camera(
            azimuth_deg=azimuth + (2.0, -2.0, 0.0)[i % 3],
            height_m=(0.45, 0.30, 0.70)[i % 3] if lying else (1.0, 0.75, 1.4)[i % 3],
            fill=(0.78, 0.66, 0.88)[i % 3],
            roll_deg=(0.0, 1.5, -2.0, 0.0)[i % 4],
            fov_deg=(33.0, 39.0)[i % 2] if picture.width_px > 400 else (48.0, 58.0, 40.0)[i % 3],
            shake_px=(0.0, 1.0, 0.0, 2.5)[(i + 1) % 4],
        ),
        look=_look(i + 5, light=(1.0, 0.55, 1.2, 0.8)[i % 4], noise=(2.0, 7.0, 3.0)[i % 3]),
        picture=picture,
        seed=5000 + i,
    )


_CENTRES: dict[str, tuple[float, ...]] = {
    # a view that a cue names; clips are drawn around it
    "squat": (90, -90),
    "split-squat": (90, -90),
    "rear-foot-elevated-split-squat-with-rotation": (42, -42, 90, -42, 42, -90, -42, 42),
    "lateral-lunge": (0,),
    "standing-knee-raise": (90, -90),
    "push-up": (90, -90),
    "push-up-to-inverted-v": (90, -90),
    "glute-bridge": (90, -90),
    "side-lying-thoracic-rotation": (90, -90),
    "standing-trunk-rotation": (42, -42, 0, 42, -42),
}
_OFF_DEG = {0: (0, 8), 2: (5, 15), 3: (5, 15), 4: (10, 19), 5: (20, 30), 7: (35, 45)}
"""How far the clips of a movement stand off that view, by number: four are right, two are not."""
_NUMBERS = 8
"""Numbers set aside for each movement."""


def practice_set() -> list[ClipSpec]:
    """Return clips drawn at random that may be used for tuning."""
    return _drawn_set("practice", PRACTICE_BODIES, PRACTICE_SEED, first=9000)


def second_practice_set() -> list[ClipSpec]:
    """Return clips of the same kind with other bodies and cameras."""
    return _drawn_set("second", SECOND_PRACTICE_BODIES, SECOND_PRACTICE_SEED, first=13000)


def benchmark_set() -> list[ClipSpec]:
    """Return the clips on which accuracy is measured, drawn at random; none of them may be used for tuning."""
    return _drawn_set("bench", BENCHMARK_BODIES, BENCHMARK_SEED, first=17000)


def _drawn_set(name: str, bodies: tuple[str, ...], seed: int, *, first: int) -> list[ClipSpec]:
    return [
        _drawn_clip(movement, k, number * _NUMBERS + k, name=name, bodies=bodies, seed=seed, first=first)
        for number, movement in enumerate(_CENTRES)
        for k in _OFF_DEG
    ]


def _drawn_clip(
    movement: str, k: int, i: int, *, name: str, bodies: tuple[str, ...], seed: int, first: int
) -> ClipSpec:
    draw = np.random.default_rng((seed, i))
    centres = _CENTRES[movement]
    azimuth = centres[k % len(centres)] + draw.choice((-1, 1)) * draw.uniform(*_OFF_DEG[k])
    lying, side = PLANS[movement].lying, _near_side(movement, azimuth, i)
    fault = str(draw.choice(_FAULTS[movement])) if k % 3 == 1 else None
    if fault == "one_side_short" and side != "alternating":
        fault = "shallow"
    tempo = _drawn_tempo(movement, draw)
    cycle = sum(tempo) + (3.7 if movement == "push-up-to-inverted-v" else 0.0)
    reps = int(np.clip(draw.uniform(11.0, 20.0) // cycle, 3, 8))
    if side == "alternating":
        reps = max(4, reps - reps % 2)
    wide = lying or (movement == "lateral-lunge" and k % 2 == 1)
    size = {"width_px": 640, "height_px": 360} if wide else {"width_px": 360, "height_px": 640}
    return ClipSpec(
        name=f"{name}-{i:02d}-{movement}",
        body=bodies[(i * 2 + k) % 5],
        movement=movement,
        side=side,
        reps=reps,
        tempo=tempo,
        changes=_drawn_changes(reps, fault, draw),
        profile=str(draw.choice(("min_jerk", "constant", "sticking", "bounce"), p=(0.52, 0.16, 0.16, 0.16))),
        tremor_deg=float(draw.choice((0.0, 0.5, 1.0), p=(0.6, 0.2, 0.2))),
        lead_in="stand" if draw.random() < 0.5 else "floor" if lying else "walk",
        lead_out="stand" if draw.random() < 0.6 else "floor" if lying else "walk",
        false_start=bool(draw.random() < 0.2),
        half_after=int(draw.integers(1, reps)) if draw.random() < 0.15 else 0,
        raised_hand=bool(not lying and draw.random() < 0.1),
        camera=Camera(
            azimuth_deg=round(azimuth, 1),
            height_m=round(draw.uniform(0.28, 0.75) if lying else draw.uniform(0.7, 1.45), 2),
            fill=round(draw.uniform(0.64, 0.9), 2),
            roll_deg=round(draw.choice((0.0, 1.0)) * draw.uniform(-2.5, 2.5), 1),
            fov_deg=round(draw.uniform(31.0, 42.0) if wide else draw.uniform(40.0, 60.0), 1),
            shake_px=round(draw.choice((0.0, 1.0)) * draw.uniform(0.5, 2.5), 1),
        ),
        look=_look(int(draw.integers(60)), light=round(draw.uniform(0.5, 1.2), 2), noise=round(draw.uniform(2, 7), 1)),
        picture=Picture(**size, rate_hz=float(draw.choice((30.0, 30.0, 25.0, 24.0))), variable=bool(i % 9 == 4)),
        seed=first + i,
    )


def _drawn_tempo(movement: str, draw: np.random.Generator) -> tuple[float, float, float, float]:
    eccentric = float(draw.choice((1.0, 1.4, 2.0, 2.5, 3.0, 4.0), p=(0.2, 0.2, 0.25, 0.1, 0.15, 0.1)))
    turn, start = (float(draw.choice((0.0, 0.5, 1.0, 1.5), p=(0.4, 0.2, 0.25, 0.15))) for _ in range(2))
    concentric = round(float(draw.uniform(0.8, 2.0)), 1)
    if movement.endswith("inverted-v"):
        return min(eccentric, 2.5), turn, min(concentric, 1.2), 0.0
    holds = (turn, start) if PLANS[movement].first == "eccentric" else (start, turn)
    return eccentric, holds[0], concentric, holds[1]


def _drawn_changes(reps: int, fault: str | None, draw: np.random.Generator) -> tuple[Change, ...]:
    """Let repetitions differ in depth, every second one show the fault, or one of them stop half way."""
    stop = int(draw.integers(1, reps + 1)) if fault is None and draw.random() < 0.15 else 0
    return tuple(
        Change(
            number=n,
            depth=round(float(draw.uniform(0.9, 1.0)), 3),
            faults=(fault,) if fault and n % 2 else (),
            stop_s=0.8 if n == stop else 0.0,
        )
        for n in range(1, reps + 1)
    )
