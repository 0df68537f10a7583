"""What is true about a drawn clip, frame by frame and repetition by repetition, and how it is kept."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cuebook.errors import ClipError

from .angles import CENTRES, centre, true_angles
from .camera import View, camera_yaw_deg
from .catalogue import Plan, plan_of
from .perform import Performance, driver_samples
from .phases import Excursion, measure_excursion, phases_of
from .posture import SIDES
from .scenario import ClipSpec, spec_from_json
from .schedule import Schedule

_FINE_HZ = 500.0
_MOST_SAMPLES = 3000


@dataclass(frozen=True, slots=True, eq=False)
class Truth:
    """The truth about one clip.

    Attributes
    ----------
    spec : ClipSpec
    times_s : ndarray, shape (F,)
        Time stamps from the first frame.
    angles_deg : dict of str to ndarray, shape (F,)
        See `cuebook.synthetic.angles.true_angles`.
    joints_px : dict of str to ndarray, shape (F, 2)
        Joint centres in the upright picture, by names such as "left_knee".
    camera_yaw_deg : ndarray, shape (F,)
    in_set : ndarray of bool, shape (F,)
    camera : dict
        Place and lens of the camera.
    repetitions : list of dict
    others : list of dict
        Movements that are no repetitions: false starts, half movements.
    """

    spec: ClipSpec
    times_s: NDArray[np.float64]
    angles_deg: dict[str, NDArray[np.float64]]
    joints_px: dict[str, NDArray[np.float64]]
    camera_yaw_deg: NDArray[np.float64]
    in_set: NDArray[np.bool_]
    camera: dict[str, Any]
    repetitions: list[dict[str, Any]]
    others: list[dict[str, Any]]


def make_truth(spec: ClipSpec, performance: Performance, view: View) -> Truth:
    """Collect the truth about a clip."""
    angles = true_angles(performance.joints_m)
    pixels = {
        f"{side}_{joint}": view.project(centre(performance.joints_m, side, joint))
        for side in SIDES
        for joint in CENTRES
    }
    yaw = camera_yaw_deg(performance, view, lying_on_side=spec.movement == "side-lying-thoracic-rotation")
    repetitions, others = true_repetitions(spec, performance.schedule)
    camera = {
        "eye_m": view.eye_m.round(3).tolist(),
        "target_m": view.target_m.round(3).tolist(),
        "focal_px": round(view.focal_px, 2),
        "distance_m": round(view.distance_m, 3),
    }
    return Truth(spec, performance.times_s, angles, pixels, yaw, performance.in_set, camera, repetitions, others)


def driver_deg(plan: Plan, angles_deg: dict[str, NDArray[np.float64]], side: str) -> NDArray[np.float64]:
    """Return the driver (T,) of a movement for one working side."""
    if plan.limb == "none":
        return angles_deg[plan.driver]
    if plan.limb == "both":
        return 0.5 * (angles_deg[f"left_{plan.driver}"] + angles_deg[f"right_{plan.driver}"])
    return angles_deg[f"{side}_{plan.driver}"]


def true_repetitions(spec: ClipSpec, schedule: Schedule) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """Return repetitions, and movements that are none, from the driver without tremor."""
    plan = plan_of(spec.movement)
    found = []
    for rep in schedule.planned:
        seconds = rep.end_s - rep.start_s
        times = np.linspace(rep.start_s, rep.end_s, int(min(max(seconds * _FINE_HZ, 500), _MOST_SAMPLES)))
        angles = true_angles(driver_samples(spec, schedule, times))
        found.append((rep, measure_excursion(times, driver_deg(plan, angles, rep.side))))
    kept = [(rep, e) for rep, e in found if rep.kind != "false start"]
    rows = phases_of(plan, [e for _, e in kept])
    _end_before_false_starts(rows, [e for rep, e in found if rep.kind == "false start"])
    repetitions = []
    for number, ((rep, excursion), row) in enumerate(zip(kept, rows, strict=True), start=1):
        at = np.array([row["turn_s"]])
        turn = {k: round(float(v[0]), 2) for k, v in true_angles(driver_samples(spec, schedule, at)).items()}
        repetitions.append(
            {
                "number": number,
                "kind": rep.kind,
                "side": rep.side,
                **row,
                "counted": row["complete"],
                "edges_s": [*excursion.away_s, *excursion.back_s],
                "at_turn_deg": turn,
                "faults": list(rep.faults),
            }
        )
    others = [
        {"kind": rep.kind, "side": rep.side, "start_s": e.away_s[0], "end_s": e.back_s[1], "swing_deg": e.swing_deg}
        for rep, e in found
        if rep.kind == "false start"
    ]
    return _rounded(repetitions), _rounded(others)


def _end_before_false_starts(rows: list[dict[str, Any]], starts: list[Excursion]) -> None:
    """Nothing follows a false start but the first repetition, so no stay of a repetition holds one."""
    for row in rows:
        for false in starts:
            if row["start_s"] < false.away_s[0] < row["end_s"]:
                row["end_s"] = false.away_s[0]


def _rounded(value: Any) -> Any:
    if isinstance(value, dict):
        return {k: _rounded(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [_rounded(v) for v in value]
    if isinstance(value, bool | np.bool_):
        return bool(value)
    if isinstance(value, float | np.floating):
        return round(float(value), 4)
    return value


def write_truth(truth: Truth, path: Path) -> None:
    """Write a truth as compact JSON: angles to 0.1 degrees, pixels to 0.1, times to 0.1 ms."""
    data = {
        "schema": 1,
        "spec": truth.spec.to_json(),
        "camera": truth.camera,
        "repetitions": truth.repetitions,
        "others": truth.others,
        "frames": {
            "time_s": truth.times_s.round(4).tolist(),
            "in_set": truth.in_set.astype(int).tolist(),
            "camera_yaw_deg": truth.camera_yaw_deg.round(1).tolist(),
            "angles_deg": {k: (v.round(1) + 0.0).tolist() for k, v in truth.angles_deg.items()},
            "joints_px": {k: v.round(1).tolist() for k, v in truth.joints_px.items()},
        },
    }
    path.write_text(json.dumps(data, separators=(",", ":")) + "\n", encoding="utf-8")


def read_truth(path: Path) -> Truth:
    """Read a truth that `write_truth` wrote.

    Raises
    ------
    ClipError
        If the file is missing or is no truth.
    """
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        frames = data["frames"]
        return Truth(
            spec=spec_from_json(data["spec"]),
            times_s=np.array(frames["time_s"]),
            angles_deg={k: np.array(v) for k, v in frames["angles_deg"].items()},
            joints_px={k: np.array(v) for k, v in frames["joints_px"].items()},
            camera_yaw_deg=np.array(frames["camera_yaw_deg"]),
            in_set=np.array(frames["in_set"], dtype=bool),
            camera=data["camera"],
            repetitions=data["repetitions"],
            others=data["others"],
        )
    except (OSError, ValueError, KeyError) as error:
        raise ClipError(f"{path.name} holds no truth of a drawn clip ({error}): make the clip again.") from error
