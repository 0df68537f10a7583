"""The types refuse what is malformed, and keep what they hold from changing."""

from __future__ import annotations

from dataclasses import FrozenInstanceError, replace
from pathlib import Path

import numpy as np
import pytest

from cuebook.errors import ModelError
from cuebook.model import (
    LANDMARKS,
    PHASES,
    Clip,
    Headline,
    Limit,
    Measurement,
    Repetition,
    Signal,
    Source,
    Tempo,
    Track,
    Verdict,
    landmark_index,
)
from cuebook.model.arrays import increasing_times, sealed


def test_sealed_arrays_are_copies_that_cannot_change() -> None:
    given = np.arange(6.0).reshape(3, 2)
    kept = sealed(given, name="xy", shape=(None, 2))
    given[0, 0] = 99.0
    assert kept[0, 0] == 0.0
    with pytest.raises(ValueError, match="read-only"):
        kept[0, 0] = 1.0


@pytest.mark.parametrize(("values", "shape"), [(np.zeros((3, 2)), (None,)), (np.zeros((3, 2)), (3, 3)), (0.0, (1,))])
def test_wrong_shapes_are_refused_by_name(values: object, shape: tuple) -> None:
    with pytest.raises(ModelError, match=r"^noise must have the shape"):
        sealed(values, name="noise", shape=shape)


@pytest.mark.parametrize(
    ("times", "words"),
    [
        ([0.0, 1.0, 1.0], "frame 2 .1.000 s. follows 1.000 s"),
        ([0.0, -1.0], "must increase"),
        ([0.0, np.nan], "not a number"),
    ],
)
def test_time_must_go_on(times: list[float], words: str) -> None:
    with pytest.raises(ModelError, match=words):
        increasing_times(times)


def test_no_frames_are_allowed() -> None:
    assert increasing_times([]).shape == (0,)


def _track(count: int = 4, **changes: object) -> Track:
    values = {
        "times_s": np.arange(count) / 30.0,
        "xy_px": np.zeros((count, 33, 2)),
        "world_m": np.zeros((count, 33, 3)),
        "score": np.ones((count, 33)),
        "light": np.ones(count),
        "width_px": 360,
        "height_px": 640,
        "backend": "hand",
        "backend_version": "1",
    }
    return Track(**(values | changes))


def test_landmarks_are_the_33_and_named_by_side() -> None:
    assert len(LANDMARKS) == len(set(LANDMARKS)) == 33
    assert [landmark_index(n) for n in ("nose", "left_shoulder", "right_hip", "right_foot_index")] == [0, 11, 24, 32]
    for name in LANDMARKS:
        if name.startswith("left_"):
            assert landmark_index(name.replace("left_", "right_", 1)) in (
                landmark_index(name) + 1,
                landmark_index(name) + 3,
            )
    with pytest.raises(KeyError):
        landmark_index("left_tail")


def test_track_reads_by_name_and_knows_when_nobody_is_there() -> None:
    xy = np.zeros((4, 33, 2))
    xy[:, 25] = [7.0, 8.0]
    xy[2] = np.nan
    track = _track(xy_px=xy)
    assert track.xy("left_knee")[0].tolist() == [7.0, 8.0]
    assert track.world("left_knee").shape == (4, 3)
    assert track.found.tolist() == [True, True, False, True]


@pytest.mark.parametrize("field", ["xy_px", "world_m", "score", "light"])
def test_track_refuses_a_field_of_another_length(field: str) -> None:
    good = getattr(_track(), field)
    with pytest.raises(ModelError, match=field):
        _track(**{field: good[:-1]})


def test_signal_joins_both_parts_of_its_uncertainty() -> None:
    signal = Signal(
        name="left_knee_flexion",
        times_s=[0.0, 0.1],
        values=[1.0, np.nan],
        noise=[3.0, np.nan],
        shared=[4.0, np.nan],
        unit="deg",
        method="image plane",
    )
    assert signal.sigma[0] == pytest.approx(5.0)
    assert np.isnan(signal.sigma[1])
    with pytest.raises(ModelError, match="left_knee_flexion noise"):
        replace(signal, noise=[1.0])


def _measurement(**changes: object) -> Measurement:
    values = {
        "measure": "knee_flexion_at_turn",
        "value": 104.4,
        "noise": 3.0,
        "shared": 4.0,
        "unit": "deg",
        "side": "left",
        "at_s": 4.7,
        "method": "image plane",
    }
    return Measurement(**(values | changes))


def test_measurement_joins_its_parts_and_prints_its_uncertainty() -> None:
    assert _measurement().uncertainty == pytest.approx(5.0)
    assert str(_measurement()) == "104 ± 5 deg"
    assert str(_measurement(unit="s", value=2.0, noise=0.1, shared=0.0)) == "2.00 ± 0.10 s"
    assert str(_measurement(unit="ratio", value=0.82, noise=0.05, shared=0.0)) == "0.82 ± 0.05"


@pytest.mark.parametrize("change", [{"value": np.nan}, {"noise": np.inf}, {"shared": -1.0}, {"noise": -0.1}])
def test_measurement_refuses_what_is_no_number(change: dict) -> None:
    with pytest.raises(ModelError, match="knee_flexion_at_turn"):
        _measurement(**change)


def test_limits_need_an_end_and_must_rise() -> None:
    assert Limit(low=90.0, high=None).ends == (90.0, np.inf)
    assert Limit(low=None, high=5.0).ends == (-np.inf, 5.0)
    for low, high in ((None, None), (5.0, 5.0), (6.0, 5.0)):
        with pytest.raises(ModelError, match="limit"):
            Limit(low=low, high=high)


def _repetition(**changes: object) -> Repetition:
    values = {
        "number": 1,
        "side": "both",
        "start_s": 1.0,
        "turn_s": 2.0,
        "end_s": 3.0,
        "complete": True,
        "counted": True,
        "chance": 1.0,
        "phases": dict.fromkeys(PHASES, 0.5),
        "phases_u": dict.fromkeys(PHASES, 0.1),
    }
    return Repetition(**(values | changes))


def test_repetition_keeps_its_phases_from_changing() -> None:
    given = dict.fromkeys(PHASES, 0.5)
    repetition = _repetition(phases=given)
    given["eccentric"] = 9.0
    assert repetition.phases["eccentric"] == 0.5
    with pytest.raises(TypeError):
        repetition.phases["eccentric"] = 1.0  # type: ignore[index]


def test_repetition_needs_all_four_phases_in_the_right_order_of_time() -> None:
    with pytest.raises(ModelError, match="four phases"):
        _repetition(phases={"eccentric": 1.0})
    with pytest.raises(ModelError, match="before its start"):
        _repetition(turn_s=0.5)
    assert _repetition(start_s=None, turn_s=0.5).start_s is None


def test_tempo_prints_as_it_is_written() -> None:
    tempo = Tempo(eccentric=3, long_hold=0.5, concentric="X", short_hold=0)
    assert str(tempo) == "3-0.5-X-0"
    assert [tempo.slot(p) for p in PHASES] == [3, 0.5, "X", 0]


def _verdict(**changes: object) -> Verdict:
    values = {
        "repetition": 1,
        "cue": "depth",
        "side": "left",
        "outcome": "met",
        "chance": 0.99,
        "value": 104.0,
        "uncertainty": 4.0,
        "unit": "deg",
        "limit": Limit(low=95.0, high=None),
        "source": Source(kind="house", text="us"),
    }
    return Verdict(**(values | changes))


def test_a_verdict_has_no_truth_value() -> None:
    with pytest.raises(TypeError, match="four outcomes"):
        bool(_verdict())


@pytest.mark.parametrize(
    "change",
    [
        {"value": None},
        {"chance": None},
        {"uncertainty": None},
        {"outcome": "not_measurable"},
        {"outcome": "not_measurable", "value": None, "chance": None, "uncertainty": None},
        {"outcome": "not_measurable", "value": None, "chance": None, "uncertainty": None, "reason": "hidden"},
    ],
)
def test_verdict_is_whole_or_says_why_not(change: dict) -> None:
    with pytest.raises(ModelError, match="verdict on depth"):
        _verdict(**change)


def test_a_verdict_that_cannot_be_measured() -> None:
    verdict = _verdict(
        outcome="not_measurable", value=None, chance=None, uncertainty=None, reason="hidden", refilm="side"
    )
    assert verdict.outcome == "not_measurable"


def test_headline_counts_its_words() -> None:
    assert Headline(praise="Every repetition deep.", fix="Lower more slowly.", next="Same load.").words == 8


def test_clip_knows_its_duration_and_stays_as_it_is() -> None:
    clip = Clip(
        path=Path("a.mp4"),
        sha256="0",
        times_s=[0.0, 0.5, 2.0],
        width_px=2,
        height_px=2,
        rotation_deg=0,
        nominal_rate_hz=30.0,
        variable_rate=True,
        capture_rate_hz=None,
        slow_motion=False,
        codec="h264",
        warnings=(),
        frames=lambda **_: iter(()),
    )
    assert clip.duration_s == 2.0
    assert replace(clip, times_s=[]).duration_s == 0.0
    with pytest.raises(FrozenInstanceError):
        clip.codec = "hevc"  # type: ignore[misc]
