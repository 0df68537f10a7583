"""Whether the athlete fits the picture: feet, hands, distance, tilt, light on the body, a second person, the view."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from cuebook.model import Movement, Track
from cuebook.motion import RIGHT_VIEW_DEG, nearest_view
from cuebook.motion.view import estimate_view

from .entries import Finding, Weight

Array = NDArray[np.float64]

FOUND_SHARE = 0.5
"""Below this share of frames with somebody in them nothing is judged; a review has the same limit."""

FOLLOWED_SHARE = 0.9
"""Below this share of frames in which the one pointed at is followed, part of the clip is lost (house choice)."""

CUT_SHARE = 0.2
"""Share of the frames in which a foot or a hand lies outside the picture from which it counts as cut off."""

LEAST_BODY_PX = 150.0
"""Length of the body from head to ankles, along its bones, in pixels of the file: smaller, joints lie within each
other's uncertainty. The pose model itself looks at 256 pixels."""

LEAST_BODY_SHARE = 0.25
"""The same as a share of the picture's longer side."""

TILT_DEG = 8.0
"""Lean of somebody who stands straight, from which the phone was tilted: of upright cameras the largest reads 6."""

UPRIGHT, STRETCHED, LEAST_STRIDE = 0.9, 0.985, 0.25
"""Standing straight: cosines of trunk and legs to the vertical and between them, and how far one foot may stand in
front, in trunk lengths (house choice)."""

_FEET = ("left_heel", "right_heel", "left_foot_index", "right_foot_index", "left_ankle", "right_ankle")
_HANDS = ("left_wrist", "right_wrist", "left_index", "right_index")


def findings_of_pose(track: Track, *, person_known: bool) -> list[Finding]:
    """Return what the landmarks show about the framing.

    Parameters
    ----------
    track : Track
        Raw landmarks.
    person_known : bool
        Whether somebody pointed at the athlete.
    """
    share = float(track.found.mean()) if track.found.size else 0.0
    if person_known and track.others_seen:
        company = _company(share)
        framed = [] if company.weight == "blocks" else [*_cut_off(track), *_distance(track), *_tilt(track)]
        return [company, *framed]
    if share < FOUND_SHARE:
        return [
            _finding(
                "nobody there for most of it",
                None,
                share,
                FOUND_SHARE,
                "1",
                "blocks",
                f"Somebody is seen in only {share:.0%} of the clip, so there is nothing to judge.",
            )
        ]
    out = [*_cut_off(track), *_distance(track), *_tilt(track)]
    if track.others_seen and not person_known:
        out.append(
            _finding(
                "two people",
                "two_people",
                None,
                None,
                "1",
                "asks",
                "A second person is in the picture: which of them is the athlete?",
            )
        )
    return out


def findings_of_view(track: Track, movement: Movement) -> list[Finding]:
    """Return how far the camera is from the views from which the movement is judged.

    Parameters
    ----------
    track : Track
        Raw landmarks.
    movement : Movement
        Its cues name their views.
    """
    view = estimate_view(track, track.found, family=movement.family)
    if view.name == "unknown":
        return []
    off = {cue.name: nearest_view(view, cue.views) for cue in movement.cues}
    seen = [name for name, degrees in off.items() if degrees <= RIGHT_VIEW_DEG]
    surely_off = [name for name, degrees in off.items() if degrees > RIGHT_VIEW_DEG + view.uncertainty_deg]
    wanted = " or ".join(_spoken(name) for name in movement.views)
    if len(surely_off) == len(off):
        return [
            _finding(
                "wrong view",
                "wrong_view",
                min(off.values()),
                RIGHT_VIEW_DEG,
                "deg",
                "blocks",
                f"It is filmed from the {_spoken(view.name)}, and is judged from the {wanted}.",
            )
        ]
    nearest = nearest_view(view, movement.views)
    if surely_off and nearest > RIGHT_VIEW_DEG + view.uncertainty_deg:
        return [
            _finding(
                "wrong view",
                "wrong_view",
                nearest,
                RIGHT_VIEW_DEG,
                "deg",
                "part",
                f"From the {_spoken(view.name)} only {len(seen)} of {len(off)} cues can be judged.",
            )
        ]
    return []


def body_length_px(track: Track) -> float:
    """Return the length of the body along trunk, thigh and shank plus head, median over the clip, in pixels."""
    parts = (("shoulder", "hip"), ("hip", "knee"), ("knee", "ankle"))
    lengths = [
        np.max([np.linalg.norm(track.xy(f"{s}_{a}") - track.xy(f"{s}_{b}"), axis=1) for s in ("left", "right")], axis=0)
        for a, b in parts
    ]
    head = np.linalg.norm(track.xy("nose") - (track.xy("left_shoulder") + track.xy("right_shoulder")) / 2, axis=1)
    total = sum(np.nanpercentile(length, 75) for length in (*lengths, head))
    return float(total)


def _company(share: float) -> Finding:
    """Return how far the one who was pointed at could be followed beside somebody else."""
    if share < FOUND_SHARE:
        weight: Weight = "blocks"
        said = f"The two come too near to each other: the athlete can be followed in only {share:.0%} of the clip."
    elif share < FOLLOWED_SHARE:
        weight = "part"
        said = (
            f"The athlete is followed in {share:.0%} of the clip; where somebody else comes too near nothing is judged."
        )
    else:
        weight, said = "note", "A second person is in the picture; the one who was pointed at is followed."
    return _finding("two people", "two_people", share, FOLLOWED_SHARE, "1", weight, said)


def _cut_off(track: Track) -> list[Finding]:
    out = []
    for word, reason, names in (("feet cut off", "feet_missing", _FEET), ("hands cut off", "hands_missing", _HANDS)):
        share = _outside_share(track, names)
        if share > CUT_SHARE:
            limb = word.split()[0]
            out.append(
                _finding(
                    word,
                    reason,
                    share,
                    CUT_SHARE,
                    "1",
                    "part",
                    f"The {limb} are outside the picture in {share:.0%} of the clip, so what needs them "
                    "cannot be judged.",
                )
            )
    return out


def _outside_share(track: Track, names: tuple[str, ...]) -> float:
    """Return the share of frames in which any of the points lies outside the picture."""
    points = np.stack([track.xy(name) for name in names], axis=1)[track.found]
    outside = (points < 0) | (points > np.array([track.width_px, track.height_px]))
    return float(outside.any(axis=(1, 2)).mean())


def _distance(track: Track) -> list[Finding]:
    length = body_length_px(track)
    share = length / max(track.width_px, track.height_px)
    if length < LEAST_BODY_PX:
        return [
            _finding(
                "too far",
                "too_far",
                length,
                LEAST_BODY_PX,
                "px",
                "part",
                f"The athlete is only {length:.0f} pixels long in the picture.",
            )
        ]
    if share < LEAST_BODY_SHARE:
        return [
            _finding(
                "too far",
                "too_far",
                share,
                LEAST_BODY_SHARE,
                "1",
                "part",
                f"The athlete takes up only {share:.0%} of the picture's longer side.",
            )
        ]
    return []


def standing_lean_deg(track: Track) -> float | None:
    """Return how much somebody who stands straight leans in the picture, degrees clockwise; None where nobody stands.

    Taken from the ankles to the shoulders over the frames in which trunk and legs are stretched and upright in the
    model's own 3D, and no foot stands far in front.
    """

    def middle(part: str) -> tuple[Array, Array]:
        xy = (track.xy(f"left_{part}") + track.xy(f"right_{part}")) / 2
        return xy, (track.world(f"left_{part}") + track.world(f"right_{part}")) / 2

    (shoulder, shoulder_m), (_, hip_m), (ankle, ankle_m) = middle("shoulder"), middle("hip"), middle("ankle")
    trunk, legs = shoulder_m - hip_m, hip_m - ankle_m
    with np.errstate(invalid="ignore"):
        up = [-part[:, 1] / np.linalg.norm(part, axis=1) for part in (trunk, legs)]
        straight = (up[0] > UPRIGHT) & (up[1] > UPRIGHT) & (_cosine(trunk, legs) > STRETCHED)
        straight &= _stride(track) < LEAST_STRIDE * np.linalg.norm(trunk, axis=1)
    if straight.sum() < 10:
        return None
    line = (shoulder - ankle)[straight]
    return float(np.degrees(np.median(np.arctan2(line[:, 0], -line[:, 1]))))


def _stride(track: Track) -> Array:
    """Return how far one foot stands in front of the other, in metres of the model's 3D."""
    gap = track.world("left_ankle") - track.world("right_ankle")
    across = track.world("left_hip") - track.world("right_hip")
    across = across / np.linalg.norm(across, axis=1, keepdims=True)
    ahead = gap - (gap * across).sum(axis=1, keepdims=True) * across
    return np.hypot(ahead[:, 0], ahead[:, 2])


def _tilt(track: Track) -> list[Finding]:
    lean = standing_lean_deg(track)
    if lean is None or abs(lean) <= TILT_DEG:
        return []
    way = "clockwise" if lean > 0 else "against the clock"
    return [
        _finding(
            "tilted",
            "moved_camera",
            abs(lean),
            TILT_DEG,
            "deg",
            "part",
            f"Standing straight, the athlete leans {abs(lean):.0f} degrees {way} in the picture: the phone "
            "stood tilted, so angles to the vertical are off.",
        )
    ]


def _cosine(a: Array, b: Array) -> Array:
    return (a * b).sum(axis=1) / (np.linalg.norm(a, axis=1) * np.linalg.norm(b, axis=1))


def _spoken(view: str) -> str:
    return view.replace("oblique-", "oblique ").replace("-", " ")


def _finding(
    word: str, reason: str | None, value: float | None, limit: float | None, unit: str, weight: Weight, sentence: str
) -> Finding:
    return Finding(
        word=word,
        reason=reason,
        value=None if value is None else round(float(value), 3),
        limit=limit,
        unit=unit,
        weight=weight,
        sentence=sentence,
    )
