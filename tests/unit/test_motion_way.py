"""The course of a repeated movement along its own way: against curves of known length, and drawn pictures."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from cuebook.model import Prescription
from cuebook.motion import measure_motion, with_picture_motion
from cuebook.motion.way import way_from_rest
from cuebook.movements import load_movement
from cuebook.repetitions import driver_hidden, find_repetitions
from tests.stick_samples import clip_of, stick

TIMES_S = np.arange(0.0, 14.0, 1 / 30)


def stage(times_s: np.ndarray, turns_s: tuple[float, ...] = (3.0, 7.0, 11.0)) -> np.ndarray:
    """Return how far a movement is out: three times smoothly to 1 and back within 3 s, still in between."""
    out = np.zeros_like(times_s)
    for turn in turns_s:
        near = np.abs(times_s - turn) < 1.5
        out[near] = (1 + np.cos(np.pi * (times_s[near] - turn) / 1.5)) / 2
    return out


def on_arc(share: np.ndarray, *, degrees: float) -> np.ndarray:
    angle = np.radians(degrees) * share
    return np.stack([np.cos(angle), np.sin(angle)], axis=1)


@pytest.mark.parametrize("degrees", [60.0, 170.0, 260.0])
def test_the_way_is_the_length_of_the_arc_also_where_it_folds_back(degrees: float) -> None:
    share = stage(TIMES_S)
    noise = np.random.default_rng(3).normal(0.0, 0.002, (len(TIMES_S), 2))
    way = way_from_rest(on_arc(share, degrees=degrees) + noise)
    assert np.abs(way - share).max() < 0.08


def test_long_clips_are_thinned_and_come_back_whole() -> None:
    times = np.arange(0.0, 60.0, 1 / 30)
    share = stage(times, tuple(np.arange(3.0, 58.0, 4.0)))
    way = way_from_rest(on_arc(share, degrees=200.0))
    assert way.shape == times.shape
    assert np.abs(way - share).max() < 0.1


def test_getting_into_place_is_not_where_it_rests() -> None:
    share = stage(TIMES_S)
    coming = np.clip(1.0 - TIMES_S / 1.2, 0.0, None)[:, None] * np.array([[0.0, 0.0, 4.0]])
    way = way_from_rest(np.concatenate([on_arc(share, degrees=120.0), np.zeros((len(share), 1))], axis=1) + coming)
    settled = TIMES_S > 1.3
    assert np.abs(way - share)[settled].max() < 0.1
    assert way[0] > 1.5


def test_what_never_comes_back_has_no_way() -> None:
    assert way_from_rest(np.stack([TIMES_S, TIMES_S**2], axis=1)) is None
    assert way_from_rest(on_arc(stage(TIMES_S), degrees=90.0)[:10]) is None


def pictures(times_s: np.ndarray):
    """Return frames of a bright bar that swings over a dim floor under changing light."""
    rows, columns = np.mgrid[0:90, 0:160]

    def frames(long_side_px=None, start=0, stop=None, *, step=1):
        for k in range(start, len(times_s), step):
            angle = 0.3 + 2.2 * stage(times_s[k : k + 1])[0]
            across, along = columns - 80.0, 80.0 - rows
            beside = np.abs(along * np.cos(angle) - across * np.sin(angle)) < 6
            ahead = (across * np.cos(angle) + along * np.sin(angle) > 0) & (across**2 + along**2 < 60**2)
            picture = (40 + 150 * (beside & ahead)) * (1.0 + 0.1 * np.sin(times_s[k]))
            yield float(times_s[k]), np.repeat(picture[..., None], 3, axis=2).astype(np.uint8)

    return frames


def test_pictures_count_where_the_driver_hides() -> None:
    track, _ = stick("side-lying-thoracic-rotation", -80.0)
    movement = load_movement("side-lying-thoracic-rotation")
    motion = measure_motion(track, movement)
    assert driver_hidden(motion, movement)
    times = np.arange(0.0, 14.0, 1 / 15)
    clip = replace(clip_of(track), times_s=times, frames=pictures(times))
    longer = replace(motion, times_s=times, signals={
        k: replace(s, times_s=times, doubtful=None, **{
            n: np.resize(getattr(s, n), len(times)) for n in ("values", "noise", "shared")})
        for k, s in motion.signals.items()})  # fmt: skip
    seen = with_picture_motion(longer, clip)
    assert np.abs(seen.signals["picture_motion"].values - stage(times)).max() < 0.2
    reps = find_repetitions(seen, movement, Prescription())
    assert [round(r.turn_s) for r in reps if r.counted] == [3, 7, 11]


def test_without_pictures_nothing_is_added() -> None:
    track, _ = stick("side-lying-thoracic-rotation", -80.0)
    motion = measure_motion(track, load_movement("side-lying-thoracic-rotation"))
    assert with_picture_motion(motion, clip_of(track)) is motion
    assert not driver_hidden(motion, load_movement("squat"))
