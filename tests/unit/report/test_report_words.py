"""Numbers and outcomes in words."""

from __future__ import annotations

from dataclasses import replace

import pytest

from cuebook.assess.words import phase_words
from cuebook.model import Limit
from cuebook.movements import list_movements, load_movement
from cuebook.report import words


@pytest.mark.parametrize(
    ("value", "spread", "unit", "text"),
    [
        (104.4, 3.6, "deg", "104° ± 4°"),
        (104.4, 0.2, "deg", "104° ± 1°"),
        (-0.3, 2.0, "deg", "0° ± 2°"),
        (-3.2, 4.0, "deg", "\N{MINUS SIGN}3° ± 4°"),
        (-0.82, 0.05, "ratio", "\N{MINUS SIGN}0.82 ± 0.05"),
        (2.64, 0.02, "s", "2.6 ± 0.1 s"),
        (0.823, 0.05, "ratio", "0.82 ± 0.05"),
        (7.0, 0.0, "1", "7"),
        (6.0, 0.6, "1", "6 ± 0.6"),
    ],
)
def test_value_with_uncertainty(value, spread, unit, text):
    assert words.with_uncertainty(value, spread, unit) == text


@pytest.mark.parametrize(
    ("low", "high", "text"),
    [
        (95.0, None, "95° or more"),
        (None, 20.0, "at most 20°"),
        (20.0, 40.0, "20° to 40°"),
        (-15.0, 15.0, "\N{MINUS SIGN}15° to 15°"),
    ],
)
def test_limit_in_words(low, high, text):
    assert words.limit_words(Limit(low=low, high=high), "deg") == text


def test_every_outcome_reads_without_colour():
    assert len(set(words.OUTCOME_MARKS.values())) == 4
    for table in (words.OUTCOME_WORDS, words.OUTCOME_CELLS, words.OUTCOME_LONG):
        assert set(table) == set(words.OUTCOME_MARKS)
        assert len(set(table.values())) == 4
    assert words.OUTCOME_LONG["near"] == "near: too close to call"


def test_a_verdict_in_words_has_value_limit_or_reason(review):
    found = {v.outcome: words.verdict_words(v) for v in review.verdicts if v.cue == "depth"}
    assert found["not_met"] == "not met: 84° ± 4°, asked 95° or more"
    assert found["near"].startswith("near: too close to call: 98°")
    missing = next(v for v in review.verdicts if v.outcome == "not_measurable")
    assert words.verdict_words(missing) == "not measurable: filmed from the side"


def test_measures_are_named_with_their_event(review):
    depth, slow, _ = review.movement.cues
    assert words.measure_name(depth) == "knee_flexion_at_turn"
    assert words.measure_name(slow) == "eccentric_s"
    assert words.measure_words("eccentric_s", review.movement) == "lowering"
    assert words.measure_words("knee_flexion_at_turn", review.movement) == "knee flexion"


@pytest.mark.parametrize("name", list_movements())
def test_every_movement_has_four_different_phase_words(name):
    found = phase_words(load_movement(name))
    assert len(set(found.values())) == 4


def test_a_rotation_turns_out_and_back(review):
    driver = replace(review.movement.driver, signal="trunk_rotation")
    found = phase_words(replace(review.movement, driver=driver))
    assert (found["concentric"], found["eccentric"]) == ("turning out", "turning back")


def test_seconds_for_a_table():
    assert words.seconds_text(2.61, 0.06) == ("2.6", "± 0.1")
    assert words.seconds_text(None, None) == ("–", "")


def test_one_repetition_is_singular():
    assert words.set_words(1, "side") == "1 repetition counted, filmed from the side"
    assert words.set_words(0, "unknown").startswith("no repetition counted")
