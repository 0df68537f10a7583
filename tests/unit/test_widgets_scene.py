"""What the browser gets to draw agrees with the review it comes from."""

from __future__ import annotations

import json

import numpy as np
import pytest

from cuebook.widgets.playback import copy_size
from cuebook.widgets.scene import DRAWN, make_scene
from tests.desk_samples import sample_review


@pytest.fixture(scope="module")
def data(tmp_path_factory):
    return sample_review(tmp_path_factory.mktemp("clip") / "drawn.mp4", reps=2, rate_hz=15.0, width=120, height=212)


@pytest.fixture(scope="module")
def scene(data):
    return make_scene(data, size_px=copy_size(data.clip))


def test_facts_are_json_without_gaps(scene, data):
    facts = json.loads(json.dumps(scene.facts, allow_nan=False))
    assert facts["frames"] == len(data.clip.times_s)
    assert [c["name"] for c in facts["cues"]] == [c.name for c in sorted(data.movement.cues, key=lambda c: c.priority)]
    assert all(c["why"] and c["source"] and c["asked"] for c in facts["cues"])
    assert [p["asked"] for p in facts["phases"]] == ["3 s", "1 s", "1 s", "rest"]
    assert any("medical advice" in c for c in facts["cautions"])


def test_arrays_have_one_row_per_frame(scene, data):
    count = len(data.clip.times_s)
    assert scene.arrays["times"].dtype == np.dtype("<f8")
    np.testing.assert_array_equal(scene.arrays["times"], data.clip.times_s)
    assert scene.arrays["body"].shape == (count, len(DRAWN), 2)
    for name in scene.facts["signals"]:
        assert scene.arrays[f"value:{name}"].shape == (count,)
        assert scene.arrays[f"rays:{name}"].shape == (count, 3, 2)


def test_drawn_values_are_those_of_the_review(scene, data):
    signal = data.motion.signals["left_knee_flexion"]
    written = signal.written
    drawn = scene.arrays["value:left_knee_flexion"]
    assert written.mean() > 0.9
    np.testing.assert_allclose(drawn[written], signal.values[written], rtol=1e-5)
    assert np.isnan(drawn[~written]).all()
    assert set(np.unique(scene.arrays["state:left_knee_flexion"])) <= {0, 1, 2}


def test_the_arc_sits_at_the_knee_of_the_playback_copy(scene, data):
    corner = scene.arrays["rays:left_knee_flexion"][:, 1]
    knee = scene.arrays["body"][:, DRAWN.index("left_knee")]
    np.testing.assert_allclose(corner, knee, atol=1e-3)
    width, height = copy_size(data.clip)
    assert (
        np.abs(knee - data.track.xy("left_knee") * [width / data.clip.width_px, height / data.clip.height_px]) < 3
    ).all()
