"""From where the camera looks, on landmarks of a perfect pose model at known azimuths."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuebook.model import View
from cuebook.motion import degrees_off, nearest_view
from cuebook.motion.view import estimate_view, handedness, name_lying_view, name_view
from tests.stick_samples import stick


@pytest.mark.parametrize("azimuth", [0, 20, 45, 70, 90, -45, -90, 135, -135, 180])
def test_a_standing_athlete_is_seen_from_the_true_azimuth(azimuth: float) -> None:
    track, truth = stick("squat", float(azimuth), reps=1)
    start = track.times_s < 0.8
    true = float(np.median(truth.camera_yaw_deg[start]))
    view = estimate_view(track, start)
    miss = abs((view.azimuth_deg - true + 180.0) % 360.0 - 180.0)
    assert miss <= max(15.0, 2.0 * view.uncertainty_deg), (view, true)
    assert 5.0 <= view.uncertainty_deg <= 20.0
    if 30 < abs(azimuth) < 150:
        assert view.facing == ("left" if azimuth > 0 else "right")
    else:
        assert abs(azimuth) == 20 or view.facing == "none"


@pytest.mark.parametrize(
    ("movement", "azimuth", "name"),
    [("push-up", 80.0, "side"), ("push-up", 0.0, "head-end"), ("glute-bridge", 80.0, "side"),
     ("glute-bridge", 0.0, "foot-end"), ("side-lying-thoracic-rotation", -80.0, "head-end"),
     ("side-lying-thoracic-rotation", 0.0, "front")],
)  # fmt: skip
def test_somebody_lying_is_seen_from_side_or_ends(movement: str, azimuth: float, name: str) -> None:
    track, _ = stick(movement, azimuth)
    family = {"push-up": "prone", "glute-bridge": "supine"}.get(movement, "side-lying")
    view = estimate_view(track, track.times_s < 0.8, family=family)
    assert view.name == name
    assert view.lying


@pytest.mark.parametrize(("azimuth", "sense"), [(90.0, -1.0), (-90.0, 1.0)])
def test_knees_and_toes_show_which_way_the_athlete_faces(azimuth: float, sense: float) -> None:
    track, _ = stick("squat", azimuth)
    assert sense * handedness(track) > 0.5


def test_nobody_is_seen_from_nowhere() -> None:
    track, _ = stick("squat", 80.0)
    nothing = replace(track, xy_px=np.full(track.xy_px.shape, np.nan))
    view = estimate_view(nothing, np.ones(len(track.times_s), bool))
    assert (view.name, view.facing) == ("unknown", "none")
    assert nearest_view(view, ("side", "front", "head-end")) == 180.0


BORDERS = [(0, "front"), (29, "front"), (31, "oblique-front"), (59, "oblique-front"), (61, "side"), (119, "side"),
           (121, "oblique-back"), (149, "oblique-back"), (151, "back"), (180, "back")]  # fmt: skip


@pytest.mark.parametrize(("azimuth", "name"), BORDERS)
def test_names_by_azimuth_alike_on_both_sides(azimuth: float, name: str) -> None:
    assert name_view(azimuth)[0] == name_view(-azimuth)[0] == name


@given(st.floats(-180, 180))
def test_off_axis_counts_from_the_pure_view(azimuth: float) -> None:
    name, off = name_view(azimuth)
    pure = {"front": 0, "oblique-front": 45, "side": 90, "oblique-back": 135, "back": 180}[name]
    assert off == pytest.approx(abs(abs(azimuth) - pure), abs=1e-9)
    assert off <= 30.0


def test_a_line_of_sight_along_the_trunk_is_an_end_view() -> None:
    assert name_view(10.0, 0.9)[0] == "head-end"
    assert name_view(10.0, -0.9)[0] == "foot-end"
    assert name_view(10.0, 1.0)[1] == 0.0


def test_lying_views_turn_round_for_the_back() -> None:
    assert name_lying_view(0.0)[0] == name_lying_view(180.0, head_first=False)[0] == "head-end"
    assert name_lying_view(180.0)[0] == name_lying_view(0.0, head_first=False)[0] == "foot-end"
    assert name_lying_view(85.0) == ("side", 5.0)
    assert name_lying_view(50.0)[0] == "oblique-front"
    assert name_lying_view(-140.0)[0] == "oblique-back"


def seen(azimuth: float, name: str | None = None, off: float = 0.0) -> View:
    return View(name=name or name_view(azimuth)[0], facing="none", azimuth_deg=azimuth, off_axis_deg=off,
                uncertainty_deg=5.0)  # fmt: skip


@pytest.mark.parametrize(
    ("azimuth", "wanted", "off"),
    [(75, "side", 15), (-75, "side", 15), (45, "oblique-front", 0), (20, "oblique-front", 10),
     (75, "oblique-front", 15),
     (45, "oblique", 0), (110, "oblique", 10), (10, "front", 10), (160, "back", 20), (160, "oblique-back", 10)],
)  # fmt: skip
def test_degrees_off_a_wanted_view(azimuth: float, wanted: str, off: float) -> None:
    assert degrees_off(seen(azimuth), wanted) == off


def test_end_views_and_upright_views_cannot_be_compared() -> None:
    assert degrees_off(seen(90.0), "head-end") == 180.0
    assert degrees_off(seen(0.0, "head-end", 12.0), "side") == 180.0
    assert degrees_off(seen(0.0, "head-end", 12.0), "head-end") == 12.0
    assert nearest_view(seen(75.0), ("front", "side")) == 15.0
    assert nearest_view(seen(75.0), ()) == 180.0
