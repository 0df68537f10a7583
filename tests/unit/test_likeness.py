"""Which movement a clip looks like: right where it says so, not sure for anything that is not in the library."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from cuebook.likeness.features import FEATURES, SWINGS, movement_features
from cuebook.likeness.recognise import SURE, another_movement, learnt, movement_chances, recognise
from cuebook.model import Track
from cuebook.movements import list_movements
from tests.accuracy.recognition_sets import OTHERS, other_tracks
from tests.stick_samples import FILMED, stick

BODY = ("rowan",)
"""A body from which nothing was learnt."""


@pytest.fixture(scope="module")
def others() -> dict[str, Track]:
    return dict(other_tracks(BODY, azimuths=(-90.0,)))


@pytest.mark.parametrize("movement", FILMED)
def test_every_movement_is_recognised_from_its_usual_view(movement: str) -> None:
    guess = recognise(stick(movement, FILMED[movement][1], reps=3)[0])
    assert guess.movement == movement
    assert guess.sure
    assert guess.why


@pytest.mark.parametrize("movement", FILMED)
def test_a_movement_named_rightly_has_no_other_and_one_named_wrongly_has(movement: str) -> None:
    track = stick(movement, FILMED[movement][1], reps=3)[0]
    assert another_movement(track, movement) is None
    other = another_movement(track, "push-up" if movement != "push-up" else "squat")
    assert other is not None
    assert other.movement == movement


def test_a_coachs_own_movement_is_never_said_to_be_another() -> None:
    assert another_movement(stick("squat", FILMED["squat"][1], reps=3)[0], "plank-reach") is None


def test_the_whole_library_is_known() -> None:
    assert learnt().movements == list_movements()


@pytest.mark.parametrize("name", OTHERS)
def test_what_is_no_movement_of_the_library_is_not_said_to_be_one(name: str, others: dict[str, Track]) -> None:
    guess = recognise(others[name])
    assert not guess.sure
    assert guess.chance < 0.5


@pytest.mark.parametrize("movement", ["squat", "glute-bridge", "standing-trunk-rotation"])
def test_a_movement_nobody_told_it_of_is_not_taken_for_another(movement: str) -> None:
    """A coach's own movement: the pattern without it must not be sure of the nearest one."""
    known = learnt()
    keep = np.array([name != movement for name in known.movements])
    without = replace(
        known,
        movements=tuple(name for name in known.movements if name != movement),
        centre=known.centre[np.append(keep, True)],
        spread=known.spread[np.append(keep, True)],
        least=known.least[keep],
        most=known.most[keep],
    )
    guess = recognise(stick(movement, FILMED[movement][1], reps=3)[0], without)
    assert not guess.sure


def test_nobody_there_is_nothing(others: dict[str, Track]) -> None:
    track = others["walking"]
    empty = replace(
        track,
        xy_px=np.full_like(track.xy_px, np.nan),
        world_m=np.full_like(track.world_m, np.nan),
        score=np.full_like(track.score, np.nan),
    )
    guess = recognise(empty)
    assert (guess.movement, guess.chance, guess.sure) == ("", 0.0, False)


def test_chances_add_up_and_left_and_right_do_not_matter() -> None:
    left, right = (stick("split-squat", a, side=s)[0] for s, a in (("left", 80.0), ("right", -80.0)))
    first, second = movement_features(left), movement_features(right)
    assert first is not None
    assert second is not None
    assert movement_chances(first, learnt()).sum() == pytest.approx(1.0)
    assert np.abs(first - second).max() < 0.1


def test_a_limb_that_never_moves_gives_its_chance_to_none() -> None:
    figures = movement_features(stick("squat", 80.0)[0])
    assert figures is not None
    assert movement_chances(figures, learnt()).max() >= SURE
    still = figures.copy()
    still[[list(FEATURES).index(name) for name in SWINGS]] = 0.0
    chances = movement_chances(still, learnt())
    assert chances[learnt().movements.index("squat")] == 0.0
    assert chances.sum() == pytest.approx(1.0)
