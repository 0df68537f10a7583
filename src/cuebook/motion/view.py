"""From where the camera looks at the athlete, and whether that is a view a cue can use."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from cuebook.model import Track, View

from .geometry import bend_deg, unit

Array = NDArray[np.float64]

RIGHT_VIEW_DEG = 20.0
"""An angle is judged only this near to a view that its cue names (common practice, no source)."""
SHOULDER_BREADTH, BREADTH_SPREAD = 0.66, 0.06
"""Width of the shoulder line over the length of the trunk line, both as the model places them, on rendered bodies."""
SIGHT_SPREAD_DEG = 8.0
"""Standard uncertainty of an azimuth from the model's own 3D, on rendered clips with known cameras."""
LEAST_SPREAD_DEG = 5.0
LYING_SPREAD_DEG = 8.0
END_VIEW_SHARE = 0.64
"""Part of the line of sight along the trunk above which the camera looks from the head or the foot end."""


def handedness(track: Track) -> float:
    """Return +1 if the athlete's front is on the right of the screen when upright, -1 if on the left.

    Knees bend backwards, elbows forwards, toes and nose point to the front: each is a vote, weighted by how clearly it
    shows. The size of the result, 0 to 1, says how much the votes agree.

    Parameters
    ----------
    track : Track
        Landmarks in picture coordinates.

    Returns
    -------
    float
        Between -1 (facing left when upright) and 1 (facing right).
    """
    votes = []
    for side in ("left", "right"):
        hip, knee, ankle = (track.xy(f"{side}_{part}") for part in ("hip", "knee", "ankle"))
        shoulder, elbow, wrist = (track.xy(f"{side}_{part}") for part in ("shoulder", "elbow", "wrist"))
        heel, toe = track.xy(f"{side}_heel"), track.xy(f"{side}_foot_index")
        knee_bend, elbow_bend = bend_deg(hip, knee, ankle), bend_deg(shoulder, elbow, wrist)
        votes.append(np.where(np.abs(knee_bend) > 25, np.sign(knee_bend) * 2.0, 0.0))
        votes.append(np.where(np.abs(elbow_bend) > 25, -np.sign(elbow_bend), 0.0))
        votes.append(-_cross(unit(ankle - knee), unit(toe - heel)))
    shoulder = (track.xy("left_shoulder") + track.xy("right_shoulder")) / 2
    hip = (track.xy("left_hip") + track.xy("right_hip")) / 2
    ears = (track.xy("left_ear") + track.xy("right_ear")) / 2
    votes.append(-_cross(unit(hip - shoulder), unit(track.xy("nose") - ears)))
    total = np.array(votes)
    scale = np.nansum(np.abs(total))
    return float(np.nansum(total) / scale) if scale > 0 else 0.0


def _cross(a: Array, b: Array) -> Array:
    return a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]


def sight_in_body(track: Track) -> Array:
    """Return the direction to the camera in the athlete's frame: to the left, to the front, along the trunk upwards.

    Parameters
    ----------
    track : Track
        Model coordinates are used.

    Returns
    -------
    ndarray, shape (F, 3)
        Unit vectors; NaN where nobody was found.
    """
    across = (
        track.world("left_hip")
        - track.world("right_hip")
        + track.world("left_shoulder")
        - track.world("right_shoulder")
    )
    long = (track.world("left_shoulder") + track.world("right_shoulder")) - (
        track.world("left_hip") + track.world("right_hip")
    )
    left = unit(across)
    up = unit(long - (long * left).sum(-1, keepdims=True) * left)
    front = np.cross(left, up)
    camera = np.array([0.0, 0.0, -1.0])
    return np.stack([left @ camera, front @ camera, up @ camera], axis=-1)


def estimate_view(track: Track, use: NDArray[np.bool_], *, family: str = "standing") -> View:
    """Estimate the prevailing view over the frames in `use`.

    Parameters
    ----------
    track : Track
        Landmarks of the clip.
    use : ndarray of bool, shape (F,)
        Frames to look at, usually those near the start end of the movement.
    family : str
        Position of the movement. Standing, the azimuth turns about the trunk from the front of the body; lying on
        front or
        back it turns in the plane of the floor from where a standing athlete would face; on the side from the chest.

    Returns
    -------
    View
        Name ``unknown`` where nobody was found.
    """
    chosen = use & track.found
    if chosen.sum() < 3:
        return View(name="unknown", facing="none", azimuth_deg=0.0, off_axis_deg=90.0, uncertainty_deg=90.0)
    sight = np.nanmedian(sight_in_body(track)[chosen], axis=0)
    left, front, head = sight / np.linalg.norm(sight)
    spread = LYING_SPREAD_DEG
    if family in ("prone", "supine"):
        ahead = head if family == "prone" else -head
        azimuth = float(np.degrees(np.arctan2(_by_hand(left, track), ahead)))
        azimuth = _opened(azimuth) if family == "prone" else azimuth
        name, off = name_lying_view(azimuth, head_first=family == "prone")
        facing = "none" if abs(left) < 0.3 else ("left" if azimuth > 0 else "right")
    elif family == "side-lying":
        azimuth = float(np.degrees(np.arctan2(-head, front)))
        name, off = name_view(azimuth, float(head))
        facing = "none"
    else:
        by_sight = _widened(float(np.degrees(np.arctan2(_by_hand(left, track), front))))
        azimuth, spread = _with_breadth(by_sight, float(np.nanmedian(shown_breadth(track)[chosen])))
        name, off = name_view(azimuth)
        facing = "none" if abs(np.sin(np.radians(azimuth))) < 0.3 else ("left" if azimuth > 0 else "right")
    return View(
        name=name,
        facing=facing,
        azimuth_deg=azimuth,
        off_axis_deg=off,
        uncertainty_deg=spread,
        lying=family != "standing",
    )


def shown_breadth(track: Track) -> Array:
    """Return the signed width of the shoulder line over the trunk line, (F,), positive when facing the camera."""
    left, right = track.xy("left_shoulder"), track.xy("right_shoulder")
    hip = (track.xy("left_hip") + track.xy("right_hip")) / 2
    trunk = hip - (left + right) / 2
    length = np.linalg.norm(trunk, axis=1)
    with np.errstate(invalid="ignore", divide="ignore"):
        across = np.stack([trunk[:, 1], -trunk[:, 0]], axis=1) / length[:, None]
        return ((left - right) * across).sum(axis=1) / length


def _widened(azimuth: float) -> float:
    """Undo what the model's 3D loses near front and back: on rendered clips it reads 9 degrees too close to them."""
    turn = abs(azimuth)
    near = min(turn, 180.0 - turn)
    gain = 8.0 * np.tanh(near / 6.0) * float(np.clip((50.0 - near) / 20.0, 0.0, 1.0))
    return float(np.sign(azimuth) * (turn + gain if turn < 90.0 else turn - gain))


def _opened(azimuth: float) -> float:
    """Undo the same for somebody prone, where the 3D reads a camera too close to the side."""
    off = abs(azimuth) - 90.0
    wide = np.sign(off) * (1.2 * abs(off) + 6.0 * np.tanh(abs(off) / 5.0))
    return float(np.sign(azimuth) * np.clip(90.0 + wide, 0.0, 180.0))


def _with_breadth(azimuth: float, breadth: float) -> tuple[float, float]:
    """Join the azimuth from the model's 3D with the one from the apparent breadth of the shoulders."""
    ratio = float(np.clip(breadth / SHOULDER_BREADTH, -1.0, 1.0))
    by_breadth = float(np.degrees(np.arccos(ratio)))
    spread = float(np.degrees(BREADTH_SPREAD / SHOULDER_BREADTH / max(np.sin(np.arccos(ratio)), 0.3)))
    weight = SIGHT_SPREAD_DEG**2 / (SIGHT_SPREAD_DEG**2 + spread**2)
    if abs(abs(azimuth) - by_breadth) > 40.0:
        weight = 0.0
    joined = weight * by_breadth + (1.0 - weight) * abs(azimuth)
    left_over = np.sqrt(1.0 / (1.0 / SIGHT_SPREAD_DEG**2 + 1.0 / spread**2)) if weight else 2.0 * SIGHT_SPREAD_DEG
    return float(np.sign(azimuth or 1.0) * joined), float(max(left_over, LEAST_SPREAD_DEG))


def _by_hand(left: float, track: Track) -> float:
    """Give the sideways part of the line of sight the sign that knees, toes and nose show, where they agree.

    The model's depth sometimes takes the far side for the near one; which way knees bend it does not get wrong.
    """
    hand = handedness(track)
    return -np.sign(hand) * abs(left) if abs(left) > 0.75 and abs(hand) > 0.4 else left


def name_lying_view(azimuth_deg: float, *, head_first: bool = True) -> tuple[str, float]:
    """Return the name of a view of somebody on front or back, and how far it is off the pure view of that name.

    Parameters
    ----------
    azimuth_deg : float
        In the plane of the floor, 90 = on the left side; 0 = beyond the head of somebody prone, beyond the feet of
        somebody on the back.
    head_first : bool
        Whether 0 is the head end.
    """
    near, far = ("head-end", "foot-end") if head_first else ("foot-end", "head-end")
    name, off = name_view(azimuth_deg)
    return {"front": near, "back": far}.get(name, name), off


def name_view(azimuth_deg: float, along: float = 0.0) -> tuple[str, float]:
    """Return the name of a view and how far it is off the pure view of that name.

    Parameters
    ----------
    azimuth_deg : float
        0 = front, 90 = left side seen, 180 = back.
    along : float
        Part of the line of sight along the trunk, towards the head positive.

    Returns
    -------
    name : str
        One of the view names of the output contract.
    off_axis_deg : float
        For oblique views counted from the middle of their range, 45 degrees off the front or back.
    """
    if abs(along) > END_VIEW_SHARE:
        return ("head-end" if along > 0 else "foot-end"), float(np.degrees(np.arccos(min(1.0, abs(along)))))
    turn = abs((azimuth_deg + 180.0) % 360.0 - 180.0)
    if turn < 30:
        return "front", turn
    if turn < 60:
        return "oblique-front", abs(turn - 45.0)
    if turn <= 120:
        return "side", abs(turn - 90.0)
    if turn <= 150:
        return "oblique-back", abs(turn - 135.0)
    return "back", 180.0 - turn


def degrees_off(view: View, wanted: str) -> float:
    """Return how many degrees a view is away from the nearest edge of a wanted view.

    Parameters
    ----------
    view : View
        The view of the clip.
    wanted : str
        A view name; ``oblique`` alone means either oblique view.

    Returns
    -------
    float
        0 inside an oblique range; 180 for views that cannot be compared.
    """
    if view.name == "unknown":
        return 180.0
    if wanted in ("head-end", "foot-end") or view.name in ("head-end", "foot-end"):
        return view.off_axis_deg if wanted == view.name else 180.0
    turn = abs(view.azimuth_deg)
    if wanted == "oblique":
        return min(degrees_off(view, "oblique-front"), degrees_off(view, "oblique-back"))
    ranges = {
        "front": (0, 0),
        "oblique-front": (30, 60),
        "side": (90, 90),
        "oblique-back": (120, 150),
        "back": (180, 180),
    }
    low, high = ranges[wanted]
    return float(max(0.0, low - turn, turn - high))


def nearest_view(view: View, wanted: tuple[str, ...]) -> float:
    """Return the smallest :func:`degrees_off` over several wanted views."""
    return min((degrees_off(view, name) for name in wanted), default=180.0)
