"""A guided set lasts what the four numbers of the trade add up to (common practice, no source)."""

from __future__ import annotations

from itertools import pairwise

import pytest

from cuebook.errors import ModelError
from cuebook.guide.beats import call_words, phase_order, set_beats
from cuebook.movements import list_movements, load_movement, parse_tempo

SQUAT = load_movement("squat")


@pytest.mark.parametrize(
    ("tempo", "repetitions", "seconds"),
    [("3-1-1-0", 8, 40), ("4-0-2-0", 10, 60), ("3-2-1-1", 6, 42), ("3-0-X-1", 6, 30), ("2.5-0-0.5-0", 3, 9)],
)
def test_a_set_lasts_what_its_numbers_add_up_to(tempo: str, repetitions: int, seconds: float) -> None:
    beats = set_beats(SQUAT, parse_tempo(tempo), repetitions, count_in_s=5)
    assert beats[-1].kind == "end"
    assert beats[-1].time_s == pytest.approx(5 + seconds)
    assert sum(b.lasts_s for b in beats) == pytest.approx(seconds)


def test_phases_follow_each_other_without_a_gap() -> None:
    phases = [b for b in set_beats(SQUAT, parse_tempo("3-1-1-0"), 4) if b.kind == "phase"]
    for earlier, later in pairwise(phases):
        assert later.time_s == pytest.approx(earlier.time_s + earlier.lasts_s)
    assert {b.phase for b in phases} == {"eccentric", "long_hold", "concentric"}


def test_the_count_goes_down_two_three_hold_up() -> None:
    beats = set_beats(SQUAT, parse_tempo("3-1-1-0"), 1, count_in_s=3)
    assert [b.word for b in beats] == ["three", "two", "one", "down", "two", "three", "hold", "up", "done"]
    assert [b.time_s for b in beats] == pytest.approx([0, 1, 2, 3, 4, 5, 6, 7, 8])


def test_pitch_is_low_towards_the_long_end_and_high_towards_the_short_one() -> None:
    pitches = {b.phase: b.pitch for b in set_beats(SQUAT, parse_tempo("2-1-2-1"), 1) if b.kind == "phase"}
    assert pitches == {"eccentric": "low", "long_hold": "low", "concentric": "high", "short_hold": "high"}


@pytest.mark.parametrize("tempo", ["3-1-1-0", "2-0-2-0", "2-0-1.6-0", "3-0-1-2"])
def test_the_last_repetition_is_called_once_and_talks_over_no_other_word(tempo: str) -> None:
    beats = set_beats(SQUAT, parse_tempo(tempo), 3)
    last = [b for b in beats if b.kind == "last"]
    assert [b.repetition for b in last] == [2]
    assert all(abs(last[0].time_s - b.time_s) >= 0.4 for b in beats if b is not last[0])


def test_a_phase_is_called_rather_than_the_last_repetition() -> None:
    assert not [b for b in set_beats(SQUAT, parse_tempo("3-0-0.5-0"), 3) if b.kind == "last"]


def test_beats_are_in_order_of_time() -> None:
    times = [b.time_s for b in set_beats(SQUAT, parse_tempo("3-0.5-1.5-1"), 6)]
    assert times == sorted(times)


@pytest.mark.parametrize("name", list_movements())
def test_every_movement_has_an_order_that_starts_as_its_file_says(name: str) -> None:
    movement = load_movement(name)
    assert phase_order(movement)[0] == movement.driver.first
    assert set(call_words(movement)) == set(phase_order(movement))


@pytest.mark.parametrize(("repetitions", "wrong"), [(0, {}), (3, {"count_in_s": 11}), (3, {"x_seconds": 0})])
def test_what_cannot_be_guided_is_refused(repetitions: int, wrong: dict) -> None:
    with pytest.raises(ModelError, match="guided set"):
        set_beats(SQUAT, parse_tempo("3-1-1-0"), repetitions, **wrong)
