"""Drawn clips: the file is what the spec says, and the body is drawn where the truth has it."""

from dataclasses import replace

import av
import numpy as np
import pytest

from cuebook.synthetic import Camera, ClipSpec, Look, Picture, make_clip, read_truth, truth_path
from cuebook.synthetic.bodies import load_body
from cuebook.synthetic.camera import make_view
from cuebook.synthetic.clothes import COLOURS, dress
from cuebook.synthetic.perform import perform
from cuebook.synthetic.skin import Skin

pytest.importorskip("pyvista", reason="drawing needs the extra 'render'")

_SMALL = Picture(width_px=144, height_px=256, rate_hz=10.0)


def _spec(**values):
    values = {
        "look": Look(noise=0.0, shirt="red", shorts="navy"),
        "picture": _SMALL,
        "tempo": (0.8, 0.0, 0.6, 0.0),
    } | values
    return ClipSpec(name="small", body="ash", movement="squat", side="both", reps=1, **values)


def _pictures(path):
    with av.open(str(path)) as container:
        return [(f.time, f.to_ndarray(format="rgb24")) for f in container.decode(video=0)]


def test_the_clip_has_the_frames_times_and_truth_of_the_spec(tmp_path):
    clip = make_clip(_spec(picture=replace(_SMALL, variable=True)), tmp_path)
    truth = read_truth(truth_path(clip))
    frames = _pictures(clip)
    assert [t for t, _ in frames] == pytest.approx(truth.times_s, abs=2e-4)
    assert frames[0][1].shape == (256, 144, 3)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["small.mp4", "small.truth.json"]


def test_shirt_and_floor_are_where_they_belong(tmp_path):
    clip = make_clip(_spec(camera=Camera(azimuth_deg=0.0)), tmp_path)
    truth = read_truth(truth_path(clip))
    picture = _pictures(clip)[3][1].astype(int)
    joints = {name: xy[3] for name, xy in truth.joints_px.items()}
    x, y = 0.25 * sum(joints[f"{s}_{j}"] for s in ("left", "right") for j in ("shoulder", "hip"))
    chest = picture[round(y), round(x)]
    assert chest[0] > chest[1] + 40
    assert chest[0] > chest[2] + 40
    corner = picture[-4, 4]
    assert np.ptp(corner) > 10
    assert abs(corner - chest).max() > 40


@pytest.mark.parametrize("degrees", [90, 180, 270])
def test_a_turned_file_says_by_how_much(tmp_path, degrees):
    upright = make_clip(_spec(), tmp_path / "up")
    turned = make_clip(_spec(picture=replace(_SMALL, rotation_deg=degrees)), tmp_path / "turned")
    with av.open(str(turned)) as container:
        frame = next(container.decode(video=0))
        stored, flag = frame.to_ndarray(format="rgb24"), frame.rotation
    assert stored.shape[:2] == ((144, 256) if degrees % 180 else (256, 144))
    shown = np.rot90(stored, flag // 90)
    assert np.abs(shown.astype(int) - _pictures(upright)[0][1]).mean() < 6.0


def test_a_mirrored_clip_is_the_other_way_round(tmp_path):
    plain = _pictures(make_clip(_spec(), tmp_path / "a"))[0][1].astype(int)
    mirrored = _pictures(make_clip(_spec(picture=replace(_SMALL, mirrored=True)), tmp_path / "b"))[0][1].astype(int)
    assert np.abs(mirrored[:, ::-1] - plain).mean() < 4.0
    assert np.abs(mirrored - plain).mean() > 8.0


def test_clothes_cover_the_body_without_leaving_it():
    body = load_body("ash")
    surface = dress(body, Look())
    off = np.linalg.norm(surface.vertices_m - body.vertices_m[surface.source], axis=1)
    assert off.max() < 0.09
    used = np.unique(surface.colours.round(3), axis=0)
    for name in ("teal", "navy", "white", "brown"):
        assert (np.abs(used - COLOURS[name]).max(1) < 0.002).any()


def test_skin_at_rest_is_the_resting_body():
    body = load_body("beech")
    surface = dress(body, Look())
    placed, normals = Skin(body, surface).place(body.rig.canonical, body.rig.heads_m)
    assert np.abs(placed - surface.vertices_m).max() < 1e-9
    assert np.abs(normals - surface.normals).max() < 1e-9


def test_the_camera_fills_the_wanted_share_and_sways_as_asked():
    spec = _spec(camera=Camera(fill=0.7, shake_px=3.0))
    performance = perform(spec)
    view = make_view(spec, performance)
    xy = view.project(performance.joints_m)
    assert 0.3 < np.ptp(xy[..., 1]) / 256 < 0.7
    assert np.std(view.sway_px) == pytest.approx(3.0, rel=0.5)
    straight = replace(view, sway_px=np.zeros_like(view.sway_px))
    assert np.allclose(xy - straight.project(performance.joints_m), view.sway_px[:, None])
