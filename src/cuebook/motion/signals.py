"""From a track to signals: corrected joint angles with uncertainty, the view, and where the athlete stands."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from cuebook.model import Doubt, Motion, Movement, Signal, Track, View, landmark_index

from .bias import bias_row, corrected, view_bin
from .course import with_body_motion
from .joints import FOLD_FROM_OFF_SIDE_DEG, JOINTS, KNEES_OUT_DEG, RawAngle, leaning_deg, raw_angle
from .placing import place_signals
from .rotation import rotation_signal
from .smooth import Smooth, smooth_track
from .stance import raised_leg, restful, standing_tall
from .view import estimate_view, handedness

Array = NDArray[np.float64]

LEAN_SPREAD_DEG = 4.0
"""Standard uncertainty of a lean in the picture: the trunk line of a pose model against the true one, and the
phone's tilt (common practice, no source)."""
LOW_SCORE = 0.35
"""Visibility below which a landmark counts as hidden (house choice; the score alone is never trusted to say 'seen')."""
LARGEST_SPREAD_DEG = 14.0
"""A joint angle less sure than this is not stated: it could not tell a bent limb from a straight one (house choice)."""
DOUBT_SPREAD_DEG = 30.0
"""Standard uncertainty given to a value in a doubtful stretch: a leg taken for the other one errs by this size."""
TURNED_DEG = 12.0
"""Trunk turn from which shoulder, hip and knee no longer lie in one plane, seen from the front (house choice)."""
LYING_KNEE_OFF_DEG, LYING_KNEE_SPREAD_DEG = 20.0, 12.0
"""Knees of somebody lying, seen further off the side than the first, are less sure by the second: few such clips were
learnt from, nearly all of them from one end, and a bridge filmed from the other was read 39 degrees wrong."""
UNKNOWN_SPREAD_DEG = 20.0
"""Standard uncertainty where no clip like this was learnt from, as wide as the published error of oblique views; and of
somebody lying on the side, whose limbs cover each other: one rendered clip read bent knees 80 degrees too straight."""


def measure_motion(track: Track, movement: Movement, doubts: tuple[Doubt, ...] = ()) -> Motion:
    """Measure all signals of a clip.

    Parameters
    ----------
    track : Track
        Raw landmarks.
    movement : Movement
        Its position (standing, prone, ...) chooses the rows of the bias table.
    doubts : tuple of Doubt
        Stretches to leave out of the landmarks they name.

    Returns
    -------
    Motion
        With the joint angles of both sides, lean of trunk and shanks, trunk rotation, and the help signals
        ``pelvis_across`` and ``body_scale`` (ratios), ``trunk_tilt`` (degrees from the vertical, unsigned) and
        ``front_leg`` (positive where the left leg stands in front, ratio), and those of :func:`.travel.travel`.
    """
    smooth = smooth_track(track)
    bad = doubtful_frames(track, doubts)
    rest = restful(track, smooth)
    view = estimate_view(track, rest, family=movement.family)
    hand = handedness(track)
    if view.name == "side":
        hand = 1.0 if view.azimuth_deg < 0 else -1.0
    signals: dict[str, Signal] = {}
    raised = raised_leg(track) if movement.family == "standing" else None
    for side in ("left", "right"):
        for joint in (*JOINTS, "body_line"):
            limb = limb_seen(view, joint, side, raised)
            signals[f"{side}_{joint}"] = _joint_signal(track, smooth, bad, movement, view, hand, joint, side, limb)
        signals[f"{side}_shank_inclination"] = _lean_signal(
            track, smooth, bad, view, hand, f"{side}_shank_inclination", (f"{side}_ankle",), (f"{side}_knee",)
        )
    signals["trunk_inclination"] = _lean_signal(
        track,
        smooth,
        bad,
        view,
        hand,
        "trunk_inclination",
        ("left_hip", "right_hip"),
        ("left_shoulder", "right_shoulder"),
    )
    signals["trunk_rotation"] = rotation_signal(track, smooth, bad, movement, view, rest)
    if abs(90.0 - abs(view.azimuth_deg)) > 30.0 and "rotate" in movement.patterns:
        turned = np.abs(np.nan_to_num(signals["trunk_rotation"].values)) > TURNED_DEG
        for name in [f"{s}_{j}" for s in ("left", "right") for j in ("hip_flexion", "shoulder_flexion", "body_line")]:
            signals[name] = replace(signals[name], values=np.where(turned, np.nan, signals[name].values))
    signals.update(place_signals(track, smooth, view, hand))
    motion = Motion(
        times_s=track.times_s,
        signals=signals,
        view=view,
        doubts=doubts,
        found_fraction=float(track.found.mean()) if track.found.size else 0.0,
    )
    return with_body_motion(motion, smooth, movement)


def doubtful_frames(track: Track, doubts: tuple[Doubt, ...]) -> NDArray[np.bool_]:
    """Return which landmarks lie in a doubtful stretch, shape (F, 33)."""
    bad = np.zeros((len(track.times_s), 33), bool)
    for doubt in doubts:
        inside = (track.times_s >= doubt.start_s - 1e-6) & (track.times_s <= doubt.end_s + 1e-6)
        for name in doubt.landmarks:
            bad[inside, landmark_index(name)] = True
    return bad


def hands_planted(movement: Movement) -> bool:
    """Return whether the arms push the body up from the floor."""
    return movement.family == "prone" and "push" in movement.patterns


def outward_deg(movement: Movement, limb: str) -> float:
    """Return how far a leg bends outwards: towards a camera in front if it is the near one, away if it is the far one.

    Lying down, and with a foot on a box behind, legs bend straight ahead.
    """
    if movement.family != "standing":
        return 0.0
    return {"near": KNEES_OUT_DEG, "far": -KNEES_OUT_DEG}.get(limb, 0.0)


def limb_seen(view: View, joint: str, side: str, raised: str | None) -> str:
    """Return how a limb is seen: ``raised`` for hip and knee of a leg on a box, else ``near`` or ``far``.

    Parameters
    ----------
    view : View
        View of the clip.
    joint : str
        A key of `JOINTS`, or ``body_line``.
    side : {"left", "right"}
    raised : str or None
        From :func:`cuebook.motion.stance.raised_leg`.
    """
    if side == raised and joint in ("knee_flexion", "hip_flexion", "body_line"):
        return "raised"
    return "near" if view.facing in (side, "none") else "far"


def _joint_signal(
    track: Track,
    smooth: Smooth,
    bad: NDArray[np.bool_],
    movement: Movement,
    view: View,
    hand: float,
    joint: str,
    side: str,
    limb: str,
) -> Signal:
    parts = JOINTS.get(joint, ("shoulder", "hip", "ankle"))
    index = [landmark_index(f"{side}_{p}") for p in parts]
    standing = standing_tall(smooth) if movement.family == "standing" and limb != "raised" else None
    raw = raw_angle(smooth, joint, side, hand=hand, azimuth_deg=view.azimuth_deg, standing=standing,
                    outward_deg=outward_deg(movement, limb), hands_planted=hands_planted(movement))  # fmt: skip
    ahead = 90.0 - abs(view.azimuth_deg)
    off = min(90.0, abs(ahead))
    value, spread = _stated(smooth, raw, movement, view, hand, joint, side, limb=limb, ahead=ahead, standing=standing)
    score = track.score[:, index].min(axis=1)
    doubtful = bad[:, index].any(axis=1)
    seen = score >= LOW_SCORE if view.facing in (side, "none") else np.isfinite(score)
    missing = ~np.isfinite(value) | ~seen
    shared = np.where(doubtful, np.hypot(spread, DOUBT_SPREAD_DEG), spread)
    return Signal(
        name=f"{side}_{joint}",
        times_s=track.times_s,
        values=np.where(missing, np.nan, value),
        noise=np.where(missing, np.nan, raw.noise),
        shared=np.where(missing, np.nan, shared),
        unit="deg",
        method="image plane" if off < 42 else "model 3D",
        doubtful=doubtful,
        largest_u=LARGEST_SPREAD_DEG,
    )


def _stated(
    smooth: Smooth,
    raw: RawAngle,
    movement: Movement,
    view: View,
    hand: float,
    joint: str,
    side: str,
    *,
    limb: str,
    ahead: float,
    standing: NDArray[np.bool_] | None,
) -> tuple[Array, Array]:
    """Return the corrected angle and the standard uncertainty that remains, degrees, shape (F,) each.

    The line of the body leans on the same shoulder and hip as hip flexion does, and takes over its correction.
    """
    learnt = "hip_flexion" if joint == "body_line" else joint
    off = min(90.0, abs(ahead))
    row = None if view.name.endswith("-end") else bias_row(learnt, movement, view_bin(off), limb)
    if row is None or movement.family == "side-lying":
        return np.where(off < 45, raw.plane, raw.space), np.full(len(raw.plane), UNKNOWN_SPREAD_DEG)
    if joint != "body_line":
        arms_work = "push" in movement.patterns
        by_length = joint == "knee_flexion" and standing is not None and off >= FOLD_FROM_OFF_SIDE_DEG
        value, spread = corrected(row, raw.plane, raw.space, joint, ahead_deg=ahead, arms_work=arms_work,
                                  by_length=by_length)  # fmt: skip
        if joint == "knee_flexion" and movement.family in ("prone", "supine") and off > LYING_KNEE_OFF_DEG:
            spread = np.hypot(spread, LYING_KNEE_SPREAD_DEG)
        left = np.nan_to_num(raw.reading)
        if standing is not None and off >= FOLD_FROM_OFF_SIDE_DEG and joint in ("knee_flexion", "hip_flexion"):
            return value, np.maximum(spread, left)
        return value, np.hypot(spread, row.weight * left)
    hip = raw_angle(smooth, "hip_flexion", side, hand=hand, azimuth_deg=view.azimuth_deg, standing=standing,
                    outward_deg=outward_deg(movement, limb))  # fmt: skip
    value, spread = corrected(row, hip.plane, hip.space, "hip_flexion", ahead_deg=ahead)
    return raw.plane - (value - hip.plane), np.hypot(spread, row.weight * np.nan_to_num(hip.reading))


def _lean_signal(
    track: Track, smooth: Smooth, bad: NDArray[np.bool_], view: View, hand: float, name: str, low: tuple, high: tuple
) -> Signal:
    lows, highs = tuple(map(landmark_index, low)), tuple(map(landmark_index, high))
    value = leaning_deg(smooth, lows, highs, hand)
    length = np.linalg.norm(smooth.xy_px[:, list(highs)].mean(1) - smooth.xy_px[:, list(lows)].mean(1), axis=1)
    sigma = float(np.sqrt(np.mean(smooth.sigma_px[list(lows + highs)] ** 2)))
    noise = np.degrees(np.sqrt(2.0) * sigma / np.maximum(length, 1.0))
    off = np.radians(min(90.0, abs(90.0 - abs(view.azimuth_deg))))
    # seen from off the side, tan(lean) shrinks by cos(off); the loss is added to the uncertainty, not guessed back
    loss = np.abs(np.degrees(np.arctan(np.tan(np.radians(np.clip(value, -85, 85))) / max(np.cos(off), 0.2))) - value)
    lost = bad[:, list(lows + highs)].any(axis=1) | ~np.isfinite(value)
    return Signal(
        name=name,
        times_s=track.times_s,
        values=np.where(lost, np.nan, value),
        noise=np.where(lost, np.nan, noise),
        shared=np.where(lost, np.nan, np.hypot(LEAN_SPREAD_DEG, loss)),
        largest_u=LARGEST_SPREAD_DEG,
        unit="deg",
        method="image plane",
    )
