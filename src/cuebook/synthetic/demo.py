"""The demo clips: every movement well done once, the common faults, and what phones do to files.

Athletes and rooms belong to the invented Sallow Lock Rowing Club; nobody real is shown.
"""

from __future__ import annotations

from dataclasses import replace

from cuebook.errors import UnknownName

from .scenario import Camera, Change, ClipSpec, Look, Picture

_UPRIGHT = Picture(width_px=540, height_px=960, crf=26)
_WIDE = Picture(width_px=960, height_px=540, crf=26)
_FLOOR = Camera(azimuth_deg=90.0, height_m=0.45, fov_deg=35.0, fill=0.84)
_STAND = Camera(azimuth_deg=90.0, height_m=0.95, fov_deg=48.0, fill=0.82)

_LOOKS: dict[str, Look] = {
    "ash": Look(shirt="teal", shorts="navy", shoes="white", skin="light", hair="brown", room="wood", legs=0.7),
    "beech": Look(
        shirt="orange",
        shorts="charcoal",
        shoes="white",
        skin="brown_skin",
        hair="black",
        room="grey",
        legs=1.85,
        long_hair=True,
    ),
    "thorn": Look(shirt="sky", shorts="charcoal", shoes="red", skin="tan", hair="grey", room="mat", legs=0.8),
    "yew": Look(
        shirt="violet",
        shorts="navy",
        shoes="charcoal",
        skin="light",
        hair="grey",
        room="carpet",
        legs=1.85,
        sleeves=1.7,
        long_hair=True,
    ),
}


def _clip(name: str, body: str, movement: str, side: str, **values: object) -> ClipSpec:
    values.setdefault("picture", _UPRIGHT)
    values.setdefault("camera", _STAND)
    values.setdefault("look", _LOOKS[body])
    return ClipSpec(name=name, body=body, movement=movement, side=side, **values)


def demo_set() -> list[ClipSpec]:
    """Return the descriptions of all demo clips."""
    specs = _standing() + _split() + _floor() + _turning() + _quirks()
    return [replace(spec, seed=90 + i) for i, spec in enumerate(specs)]


def demo_spec(name: str) -> ClipSpec:
    """Return the description of one demo clip.

    Raises
    ------
    UnknownName
        If there is no demo clip of that name.
    """
    specs = {spec.name: spec for spec in demo_set()}
    if name not in specs:
        raise UnknownName("demo clip", name, specs)
    return specs[name]


def _faulty(numbers: tuple[int, ...], *faults: str) -> tuple[Change, ...]:
    return tuple(Change(number=n, faults=faults) for n in numbers)


def _standing() -> list[ClipSpec]:
    squat = (3.0, 1.0, 1.2, 0.5)
    side_on = replace(_STAND, azimuth_deg=86.0)
    front = replace(_STAND, azimuth_deg=2.0)
    return [
        _clip("squat", "ash", "squat", "both", reps=3, tempo=squat, lead_in="walk", camera=side_on),
        _clip("squat-shallow", "yew", "squat", "both", reps=3, tempo=(2.0, 0.5, 1.2, 0.5), faults=("shallow",)),
        _clip(
            "squat-dropped-fast",
            "thorn",
            "squat",
            "both",
            reps=4,
            tempo=(3.0, 0.4, 1.0, 0.5),
            changes=_faulty((3, 4), "dropped_fast"),
            camera=replace(_STAND, azimuth_deg=-92.0),
        ),
        _clip(
            "lateral-lunge", "beech", "lateral-lunge", "alternating", reps=4, tempo=(1.6, 0.4, 1.2, 0.5), camera=front
        ),
        _clip(
            "lateral-lunge-bent-leg",
            "yew",
            "lateral-lunge",
            "alternating",
            reps=4,
            tempo=(1.6, 0.4, 1.2, 0.5),
            faults=("bent_straight_leg",),
            camera=replace(_STAND, azimuth_deg=14.0),
        ),
        _clip(
            "lateral-lunge-one-side-short",
            "ash",
            "lateral-lunge",
            "alternating",
            reps=4,
            tempo=(1.6, 0.4, 1.2, 0.5),
            faults=("one_side_short",),
            camera=front,
        ),
        _clip("knee-raise", "yew", "standing-knee-raise", "left", reps=4, tempo=(1.4, 0.8, 1.0, 0.5), lead_in="walk"),
        _clip(
            "knee-raise-bent-standing-leg",
            "ash",
            "standing-knee-raise",
            "left",
            reps=3,
            tempo=(1.4, 0.8, 1.0, 0.5),
            faults=("bent_straight_leg",),
            camera=replace(_STAND, azimuth_deg=-90.0),
        ),
    ]


def _split() -> list[ClipSpec]:
    oblique = replace(_STAND, azimuth_deg=43.0)
    tempo = (2.0, 2.4, 1.4, 0.5)
    long_name = "rear-foot-elevated-split-squat-with-rotation"
    return [
        _clip("split-squat", "beech", "split-squat", "left", reps=4, tempo=(2.5, 0.5, 1.2, 0.5)),
        _clip("split-squat-with-rotation", "thorn", long_name, "right", reps=3, tempo=tempo, camera=oblique),
        _clip(
            "split-squat-no-rotation",
            "yew",
            long_name,
            "right",
            reps=3,
            tempo=tempo,
            faults=("no_rotation",),
            camera=oblique,
        ),
    ]


def _floor() -> list[ClipSpec]:
    wide = {"picture": _WIDE, "camera": _FLOOR}
    return [
        _clip("push-up", "ash", "push-up", "both", reps=4, tempo=(2.0, 0.5, 1.2, 0.5), lead_in="floor", **wide),
        _clip(
            "push-up-to-inverted-v",
            "thorn",
            "push-up-to-inverted-v",
            "both",
            reps=2,
            tempo=(2.0, 0.5, 1.2, 0.0),
            **wide,
        ),
        _clip(
            "glute-bridge", "yew", "glute-bridge", "both", reps=3, tempo=(1.6, 0.6, 1.2, 2.0), lead_in="floor", **wide
        ),
        _clip(
            "glute-bridge-skipped-hold",
            "beech",
            "glute-bridge",
            "both",
            reps=4,
            tempo=(1.6, 0.6, 1.2, 2.0),
            changes=_faulty((2, 3, 4), "skipped_hold"),
            **wide,
        ),
    ]


def _turning() -> list[ClipSpec]:
    head_end = replace(_FLOOR, azimuth_deg=-88.0)
    return [
        _clip(
            "side-lying-rotation",
            "beech",
            "side-lying-thoracic-rotation",
            "left",
            reps=3,
            tempo=(1.8, 0.6, 1.6, 0.8),
            picture=_WIDE,
            camera=head_end,
        ),
        _clip(
            "trunk-rotation",
            "ash",
            "standing-trunk-rotation",
            "alternating",
            reps=4,
            tempo=(1.3, 0.8, 1.3, 0.5),
            camera=replace(_STAND, azimuth_deg=42.0),
        ),
    ]


def _quirks() -> list[ClipSpec]:
    return [
        _clip(
            "squat-turned-file",
            "beech",
            "squat",
            "both",
            reps=2,
            tempo=(2.0, 0.8, 1.2, 0.5),
            picture=replace(_UPRIGHT, rotation_deg=90),
        ),
        _clip(
            "split-squat-uneven-rate",
            "thorn",
            "split-squat",
            "right",
            reps=3,
            tempo=(2.0, 0.5, 1.2, 0.5),
            camera=replace(_STAND, azimuth_deg=-88.0, shake_px=1.5),
            picture=replace(_UPRIGHT, variable=True),
            look=replace(_LOOKS["thorn"], light=0.6, noise=6.0, room="carpet"),
        ),
    ]
