"""Whole clips without drawing: landmarks, truth, faults, phone quirks."""

import json

import numpy as np
import pytest

from cuebook.errors import ClipError, ModelError, UnknownName
from cuebook.model import landmark_index
from cuebook.synthetic import Camera, Change, ClipSpec, Picture, landmarks, read_truth, spec_from_json
from cuebook.synthetic.__main__ import main, specs_of
from cuebook.synthetic.catalogue import PLANS
from cuebook.synthetic.demo import demo_set
from cuebook.synthetic.truth import write_truth


def _spec(movement="squat", side="both", **values):
    values = {"reps": 2, "tempo": (1.6, 0.6, 1.0, 0.5)} | values
    return ClipSpec(name="clip", body="ash", movement=movement, side=side, **values)


def test_the_same_spec_gives_the_same_landmarks():
    spec = _spec(tremor_deg=1.0, camera=Camera(shake_px=2.0), picture=Picture(variable=True), seed=4)
    first, again = landmarks(spec)[0], landmarks(spec)[0]
    assert np.array_equal(first.xy_px, again.xy_px)
    assert np.array_equal(first.times_s, again.times_s)
    assert not np.array_equal(first.times_s, landmarks(spec.with_(seed=5))[0].times_s)


def test_landmarks_sit_on_the_true_joints():
    track, truth = landmarks(_spec())
    for name in ("left_knee", "right_ankle", "left_shoulder", "right_wrist"):
        assert np.abs(track.xy(name) - truth.joints_px[name]).max() < 0.01


@pytest.mark.parametrize("movement", sorted(PLANS))
def test_every_movement_fits_into_the_picture(movement):
    plan = PLANS[movement]
    size = {"width_px": 640, "height_px": 360} if plan.lying else {}
    track, truth = landmarks(_spec(movement, plan.sides[-1], picture=Picture(**size)))
    inside = track.xy_px[truth.in_set]
    assert inside.min() > 0
    assert (inside.max((0, 1)) < [track.width_px, track.height_px]).all()
    span = np.ptp(inside.reshape(-1, 2), axis=0) / [track.width_px, track.height_px]
    assert 0.6 < span.max() < 0.9
    assert len(truth.repetitions) == 2
    assert all(r["complete"] for r in truth.repetitions)


@pytest.mark.parametrize("azimuth", [0.0, 40.0, 90.0, -90.0, 180.0])
def test_camera_yaw_is_the_azimuth_of_the_camera(azimuth):
    _, truth = landmarks(_spec("standing-trunk-rotation", "left", camera=Camera(azimuth_deg=azimuth)))
    off = (truth.camera_yaw_deg - azimuth + 180.0) % 360.0 - 180.0
    assert np.abs(off).max() < 6.0


def test_left_is_on_the_right_of_a_front_view_and_swapped_when_mirrored():
    front = Camera(azimuth_deg=0.0)
    seen, truth = landmarks(_spec(camera=front))
    mirror, mirror_truth = landmarks(_spec(camera=front, picture=Picture(mirrored=True)))
    assert (seen.xy("left_hip")[:, 0] > seen.xy("right_hip")[:, 0]).all()
    assert (mirror.xy("left_hip")[:, 0] > mirror.xy("right_hip")[:, 0]).all()
    assert mirror_truth.joints_px["left_hip"][:, 0] == pytest.approx(360.0 - truth.joints_px["left_hip"][:, 0])


def test_world_landmarks_are_metres_about_the_hips():
    track, _ = landmarks(_spec())
    hips = 0.5 * (track.world("left_hip") + track.world("right_hip"))
    assert np.abs(hips).max() < 1e-9
    thigh = np.linalg.norm(track.world_m[0, landmark_index("left_hip")] - track.world_m[0, landmark_index("left_knee")])
    assert 0.3 < thigh < 0.6


def test_uneven_time_stamps_increase_and_stay_near_the_rate():
    track, _ = landmarks(_spec(picture=Picture(variable=True)))
    gaps = np.diff(track.times_s)
    assert gaps.min() > 0.015
    assert np.ptp(gaps) > 0.02
    assert np.median(gaps) == pytest.approx(1 / 30, abs=0.004)


def test_shallow_and_deep_repetitions():
    _, truth = landmarks(_spec(changes=(Change(number=2, faults=("shallow",)),)))
    deep, shallow = (r["at_turn_deg"]["left_knee_flexion"] for r in truth.repetitions)
    assert deep == pytest.approx(112.0, abs=0.5)
    assert shallow == pytest.approx(5.0 + 0.62 * 107.0, abs=0.5)


def test_dropped_fast_and_skipped_hold():
    _, truth = landmarks(
        _spec(tempo=(3.0, 0.8, 1.0, 0.6), changes=(Change(number=2, faults=("dropped_fast", "skipped_hold")),))
    )
    slow, fast = (r["phases"] for r in truth.repetitions)
    assert slow["eccentric_s"] == pytest.approx(3.0 * 0.881, abs=0.02)
    assert fast["eccentric_s"] < 0.75
    assert slow["long_hold_s"] > 0.8
    assert fast["long_hold_s"] == 0.0


def test_bent_leg_one_side_short_and_no_rotation():
    _, bent = landmarks(_spec("lateral-lunge", "left", faults=("bent_straight_leg",)))
    assert bent.repetitions[0]["at_turn_deg"]["right_knee_flexion"] > 30.0
    _, short = landmarks(_spec("lateral-lunge", "alternating", faults=("one_side_short",)))
    left, right = short.repetitions
    assert (left["side"], right["side"]) == ("left", "right")
    assert left["swing_deg"] > 1.4 * right["swing_deg"]
    name = "rear-foot-elevated-split-squat-with-rotation"
    turned = landmarks(_spec(name, "right", tempo=(1.5, 2.0, 1.0, 0.5)))[1]
    still = landmarks(_spec(name, "right", tempo=(1.5, 2.0, 1.0, 0.5), faults=("no_rotation",)))[1]
    assert turned.repetitions[0]["at_turn_deg"]["trunk_rotation"] == pytest.approx(-30.0, abs=2.0)
    assert abs(still.repetitions[0]["at_turn_deg"]["trunk_rotation"]) < 2.0


@pytest.mark.parametrize(
    ("fault", "signal", "low"), [("bent_arms", "left_elbow_flexion", 25.0), ("sag", "left_hip_flexion", None)]
)
def test_push_up_faults(fault, signal, low):
    _, good = landmarks(_spec("push-up"))
    _, bad = landmarks(_spec("push-up", faults=(fault,)))
    if low:
        assert bad.angles_deg[signal].min() > low > good.angles_deg[signal].min()
    else:
        assert bad.angles_deg[signal][bad.in_set].min() < good.angles_deg[signal][good.in_set].min() - 10.0


def test_lean_adds_to_the_trunk():
    upright, leaning = (landmarks(_spec(faults=f))[1].repetitions[0]["at_turn_deg"] for f in ((), ("lean",)))
    assert leaning["left_hip_flexion"] == pytest.approx(upright["left_hip_flexion"] + 18.0, abs=2.0)


def test_false_start_and_half_movement():
    _, truth = landmarks(_spec(false_start=True, half_after=1))
    assert [r["kind"] for r in truth.repetitions] == ["repetition", "half", "repetition"]
    assert [r["complete"] for r in truth.repetitions] == [True, False, True]
    assert [o["kind"] for o in truth.others] == ["false start"]
    assert truth.others[0]["swing_deg"] < PLANS["squat"].smallest_deg


@pytest.mark.parametrize(("movement", "lead"), [("squat", "walk"), ("push-up", "floor"), ("glute-bridge", "floor"),
                                                ("side-lying-thoracic-rotation", "floor")])  # fmt: skip
def test_getting_into_place_is_marked_and_smooth(movement, lead):
    side = PLANS[movement].sides[0]
    track, truth = landmarks(_spec(movement, side, lead_in=lead, lead_out=lead))
    assert not truth.in_set[0]
    assert not truth.in_set[-1]
    assert truth.in_set[len(truth.in_set) // 2]
    starts = [r["start_s"] for r in truth.repetitions]
    assert min(starts) > track.times_s[np.flatnonzero(truth.in_set)[0]]
    steps = np.linalg.norm(np.diff(track.world("left_knee"), axis=0), axis=1)
    assert steps.max() < 0.16


def test_a_raised_hand_is_up_before_the_set_only():
    track, truth = landmarks(_spec(raised_hand=True))
    above = track.xy("right_wrist")[:, 1] < track.xy("nose")[:, 1]
    when = track.times_s[above]
    assert 0.5 < np.ptp(when) < 1.5
    assert when.max() < truth.repetitions[0]["start_s"]


def test_tremor_shows_in_the_angles_but_not_in_the_phases():
    calm, shaky = landmarks(_spec())[1], landmarks(_spec(tremor_deg=1.5))[1]
    assert shaky.repetitions[0]["phases"] == calm.repetitions[0]["phases"]
    rest = calm.angles_deg["left_knee_flexion"] - shaky.angles_deg["left_knee_flexion"]
    assert np.std(rest[calm.in_set]) == pytest.approx(1.5, rel=0.25)


def test_truth_survives_the_file(tmp_path):
    _, truth = landmarks(_spec("lateral-lunge", "alternating", changes=(Change(number=1, stop_s=0.5),)))
    path = tmp_path / "clip.truth.json"
    write_truth(truth, path)
    again = read_truth(path)
    assert again.spec == truth.spec
    assert again.repetitions == json.loads(json.dumps(truth.repetitions))
    assert again.angles_deg["left_knee_flexion"] == pytest.approx(truth.angles_deg["left_knee_flexion"], abs=0.0501)
    assert path.stat().st_size < 400_000


def test_a_file_that_is_no_truth_is_refused(tmp_path):
    path = tmp_path / "other.truth.json"
    path.write_text("{}")
    with pytest.raises(ClipError, match="other"):
        read_truth(path)


def test_spec_survives_json_and_refuses_unknown_keys():
    spec = _spec(changes=(Change(number=1, tempo=(1.0, 0.0, 1.0, 0.0)),), camera=Camera(azimuth_deg=12.0))
    data = json.loads(json.dumps(spec.to_json()))
    assert spec_from_json(data) == spec
    with pytest.raises(ModelError, match="colour"):
        spec_from_json(data | {"colour": "red"})


@pytest.mark.parametrize(
    ("values", "part"),
    [({"faults": ("slow",)}, "fault"), ({"profile": "wild"}, "profile"), ({"reps": 0}, "repetition")],
)
def test_impossible_specs_are_refused(values, part):
    with pytest.raises(ModelError, match=part):
        _spec(**values)


def test_demo_clips_show_every_movement_and_can_be_asked_for_by_name(tmp_path):
    specs = demo_set()
    assert {s.movement for s in specs} == set(PLANS)
    assert len({s.name for s in specs}) == len(specs) >= 16
    assert specs_of("squat")[0] == specs[0]
    path = tmp_path / "own.json"
    path.write_text(json.dumps({"spec": specs[3].to_json()}))
    assert specs_of(str(path)) == [specs[3]]


def test_asking_for_nothing_known_ends_with_2(capsys, tmp_path):
    assert main(["sqat", "--out", str(tmp_path)]) == 2
    assert "squat" in capsys.readouterr().err
    assert main([str(tmp_path / "no.json")]) == 2
    assert "no.json" in capsys.readouterr().err
    with pytest.raises(UnknownName):
        specs_of("nothing-like-it")
