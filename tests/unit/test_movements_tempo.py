"""Tempo: reading a prescription, its arithmetic, and the margins a coach grants.

The check values T1 to T12 are plain arithmetic on the four-number convention of the trade (eccentric, hold at the
long end, concentric, hold at the short end, in seconds; X counts for a stated number of seconds).
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuebook.errors import ModelError, TempoError
from cuebook.model import PHASES, Limit, Tempo
from cuebook.movements import TempoMargins, parse_tempo, repetition_seconds, time_under_tension


@pytest.mark.parametrize(
    "text", ["3-1-1-0", "3110", "3/1/1/0", "3:1:1:0", " 3 - 1 - 1 - 0 ", "3\u20131\u20131\u20130", "3.0-1-1-0"]
)
def test_all_written_forms_mean_the_same(text: str) -> None:
    assert parse_tempo(text) == Tempo(eccentric=3, long_hold=1, concentric=1, short_hold=0)


@pytest.mark.parametrize("text", ["30X1", "3-0-X-1", "3/0/x/1"])
def test_x_is_read_in_a_moving_slot(text: str) -> None:
    assert parse_tempo(text) == Tempo(eccentric=3, long_hold=0, concentric="X", short_hold=1)


def test_decimals_and_long_durations_need_separators() -> None:
    assert parse_tempo("2.5-0-1,5-0") == Tempo(eccentric=2.5, long_hold=0, concentric=1.5, short_hold=0)
    assert parse_tempo("10-2-1-0").eccentric == 10


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("2-0-1", r"three numbers.*write '2-0-1-0'"),
        ("201", r"three numbers.*write '2-0-1-0'"),
        ("3-X-1-0", r"X as its long hold.*only a moving phase"),
        ("3-1-1-X", r"X as its short hold"),
        ("0-1-1-0", r"0 as its eccentric"),
        ("3-1-0-0", r"0 as its concentric"),
        ("3100", r"0 as its concentric"),
        ("3-1-one-0", r"'one' as its concentric"),
        ("3--1-0", r"'' as its long hold"),
        ("3-1-1-0-2", r"5 slots instead of four"),
        ("31", r"2 slots instead of four"),
        ("", r"is empty"),
        ("slow", r"cannot be read"),
        ("3.1.1.0", r"cannot be read"),
        ("3-1-1e3-0", r"'1e3' as its concentric"),
    ],
)
def test_what_cannot_be_read_names_the_slot_or_the_form(text: str, words: str) -> None:
    with pytest.raises(TempoError, match=words) as caught:
        parse_tempo(text)
    assert str(caught.value).endswith(".")
    assert "\n" not in str(caught.value)


moving = st.one_of(st.just("X"), st.integers(1, 200).map(lambda n: n / 10))
hold = st.integers(0, 200).map(lambda n: n / 10)


@given(moving, hold, moving, hold)
def test_writing_and_reading_come_back_to_the_same(eccentric, long_hold, concentric, short_hold) -> None:
    tempo = Tempo(eccentric=eccentric, long_hold=long_hold, concentric=concentric, short_hold=short_hold)
    assert parse_tempo(str(tempo)) == tempo


def test_t1_to_t3_time_under_tension() -> None:
    assert time_under_tension(parse_tempo("3-1-1-0"), 8) == 40
    assert time_under_tension(parse_tempo("4-0-2-0"), 10) == 60
    assert time_under_tension(parse_tempo("3-2-1-1"), 6) == 42


def test_t4_and_t5_x_counts_for_what_is_stated() -> None:
    assert time_under_tension(parse_tempo("3-0-X-1"), 6) == 30
    assert time_under_tension(parse_tempo("3-0-X-1"), 6, x_seconds=0) == 24


def test_t6_three_numbers_only_once_written_with_four() -> None:
    assert time_under_tension(parse_tempo("2-0-1-0"), 12) == 36


def test_t7_rate() -> None:
    assert 60 / repetition_seconds(parse_tempo("3-1-1-0")) == 12


def test_t8_and_t9_sets_with_rest() -> None:
    one_set = time_under_tension(parse_tempo("3-1-1-0"), 8)
    assert 3 * one_set + 2 * 90 == 300
    assert 3 * (one_set + 90) == 390


def test_t10_superset() -> None:
    first, second = time_under_tension(parse_tempo("3-1-1-0"), 8), time_under_tension(parse_tempo("2-0-1-0"), 12)
    assert 3 * (first + 15 + second) + 2 * 60 == 393


def test_t11_both_sides_with_a_changeover() -> None:
    one_set = time_under_tension(parse_tempo("3-1-1-0"), 8, sides=2, changeover_s=10)
    assert one_set == 90
    assert 3 * one_set + 2 * 60 == 390


def test_t12_measured_against_prescribed() -> None:
    measured = math.fsum([2.9, 0.9, 1.1, 0.2, 2.6, 0.7, 1.0, 0.1, 2.1, 0.3, 0.9, 0.2])
    prescribed = time_under_tension(parse_tempo("3-1-1-0"), 3)
    assert measured == pytest.approx(13.0, abs=1e-6)
    assert 100 * (measured / prescribed - 1) == pytest.approx(-13.333333, abs=1e-3)


@pytest.mark.parametrize("wrong", [{"repetitions": 0}, {"sides": 3}, {"changeover_s": -1.0}, {"x_seconds": -1.0}])
def test_impossible_sets_are_refused(wrong: dict) -> None:
    arguments = {"repetitions": 8, **wrong}
    with pytest.raises(ModelError):
        time_under_tension(parse_tempo("3-0-X-1"), **arguments)


# margins: the coach's practice written out by hand for each prescription
@pytest.mark.parametrize(
    ("phase", "prescribed", "low", "high"),
    [
        ("eccentric", 3, 2.25, 3.75),
        ("eccentric", 2, 1.5, 2.5),
        ("concentric", 1, 0.6, 1.5),
        ("eccentric", 4, 3.0, 5.0),
        ("concentric", "X", None, 1.0),
        ("long_hold", 0, None, 0.3),
        ("long_hold", 1, 0.5, None),
        ("short_hold", 3, 2.5, None),
        ("short_hold", 0.5, 0.25, None),
    ],
)
def test_bands(phase: str, prescribed: float | str, low: float | None, high: float | None) -> None:
    assert TempoMargins().band(phase, prescribed) == Limit(low=low, high=high)


@given(st.floats(0.1, 30), st.floats(0.001, 0.05))
def test_bands_of_moving_phases_hold_the_prescription_and_rise_with_it(seconds: float, more: float) -> None:
    margins = TempoMargins()
    band, next_band = margins.band("eccentric", seconds), margins.band("eccentric", seconds + more)
    assert band.low < seconds < band.high
    assert band.low < next_band.low < band.low + 2 * more
    assert band.high < next_band.high < band.high + 2 * more


def test_margins_are_settings_and_refuse_what_is_no_phase() -> None:
    assert TempoMargins(moving_share=0.5).band("eccentric", 4) == Limit(low=2, high=6)
    with pytest.raises(ModelError, match="no phase 'lowering'"):
        TempoMargins().band("lowering", 3)
    with pytest.raises(ModelError, match="takes time"):
        TempoMargins().band(PHASES[0], 0)
