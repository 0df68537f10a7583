"""Which cue, repetition and signal a picture shows."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from cuebook.report import choice


def _with_set_outcomes(review, **outcomes):
    """The review with other outcomes for the set, chance kept in line."""
    chances = {"met": 0.97, "near": 0.5, "not_met": 0.02}
    changed = []
    for v in review.verdicts:
        if v.repetition is None and v.cue in outcomes:
            v = replace(v, outcome=outcomes[v.cue], chance=chances[outcomes[v.cue]])
        changed.append(v)
    return replace(review, verdicts=tuple(changed))


def test_only_measured_angles_get_a_still(review, empty):
    assert [c.name for c in choice.shown_cues(review)] == ["depth"]
    assert choice.shown_cues(empty) == ()
    assert choice.main_cue(empty) is None


def test_safety_comes_before_priority_among_cues_that_are_not_met(review):
    depth = review.movement.cues[0]
    upright = replace(depth, name="upright", measure="trunk_inclination", priority=5, safety=True)
    extra = tuple(replace(v, cue="upright") for v in review.verdicts if v.cue == "depth")
    movement = replace(review.movement, cues=(*review.movement.cues, upright))
    both = replace(review, movement=movement, verdicts=review.verdicts + extra)
    failed = _with_set_outcomes(both, depth="not_met", upright="not_met")
    assert choice.main_cue(failed).name == "upright"
    assert choice.main_cue(_with_set_outcomes(both, depth="not_met", upright="met")).name == "depth"
    assert choice.main_cue(_with_set_outcomes(both, depth="met", upright="not_met")).name == "upright"


@pytest.mark.parametrize(("left_out", "number"), [((), 4), ((4,), 3), ((3, 4), 1)])
def test_the_still_shows_the_clearest_failure_else_the_closest_call_else_the_best(review, left_out, number):
    kept = replace(review, repetitions=tuple(r for r in review.repetitions if r.number not in left_out))
    rep, verdict = choice.deciding(kept, review.movement.cues[0])
    assert rep.number == number
    assert verdict.repetition == number


def test_nothing_decides_where_nothing_was_measured(review):
    assert choice.deciding(review, review.movement.cues[2]) is None


def test_the_near_side_is_drawn_and_a_time_falls_back_on_the_driver(review, empty):
    depth, slow, _ = review.movement.cues
    assert choice.signal_of(review, depth).name == "left_knee_flexion"
    assert choice.signal_of(review, depth, "right").name == "left_knee_flexion"
    assert choice.signal_of(review, slow).name == "left_knee_flexion"
    assert choice.signal_of(empty, None) is None


def test_of_two_sides_the_better_seen_verdict_decides(review):
    depth = next(v for v in review.verdicts if v.cue == "depth" and v.repetition == 1)
    worse = replace(depth, side="right", uncertainty=9.0, outcome="near", chance=0.5)
    both = replace(review, verdicts=(worse, *review.verdicts))
    assert choice.rep_verdict(both, "depth", 1).side == "left"
    assert choice.rep_verdict(both, "no-such-cue", 1) is None


def test_where_sides_take_turns_each_repetition_shows_the_judged_side(in_turn, review, empty):
    depth = in_turn.movement.cues[0]
    joined = choice.judged_signal(in_turn, depth)
    assert joined.name == "knee_flexion"
    for rep, key in zip(in_turn.repetitions, ("left", "right", "left", "right"), strict=True):
        at = int(np.argmin(np.abs(joined.times_s - rep.turn_s)))
        assert joined.values[at] == in_turn.motion.signals[f"{key}_knee_flexion"].values[at]
    ends = [int(np.searchsorted(joined.times_s, r.end_s)) - 1 for r in in_turn.repetitions[:-1]]
    assert np.isnan(joined.values[ends]).all()
    assert choice.judged_signal(review, depth).name == "left_knee_flexion"
    assert choice.judged_signal(review, None).name == "left_knee_flexion"
    assert choice.judged_signal(empty, None) is None
