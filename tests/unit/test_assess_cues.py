"""Cues of repetitions and of the set: whose limb, from which view, and why something cannot be measured."""

from __future__ import annotations

from dataclasses import replace

import pytest

from cuebook.assess.cues import judge_counts, judge_repetitions, judge_set, judged_cues, sides_of, take, verdict
from cuebook.measures import find_measure
from cuebook.model import Measurement, NotMeasurable, Prescription, Repetition, Settings, Tempo, Verdict
from cuebook.movements import load_movement
from tests.stick_samples import FILMED, moved

TEMPO = Prescription(tempo=Tempo(eccentric=3.0, long_hold=1.0, concentric=1.0, short_hold=0.0))


def judged(name: str, azimuth: float | None = None, **options):
    movement, motion, reps = moved(name, FILMED[name][1] if azimuth is None else azimuth)
    verdicts, pairs = judge_repetitions(motion, movement, reps, Prescription(), Settings(), **options)
    return movement, motion, reps, verdicts, pairs


def test_every_cue_is_judged_on_every_complete_repetition() -> None:
    movement, _, reps, verdicts, pairs = judged("squat")
    assert {(v.repetition, v.cue) for v in verdicts} == {(r.number, c.name) for r in reps for c in movement.cues}
    assert len(pairs) == sum(v.value is not None for v in verdicts)
    assert all(v.side == "left" for v in verdicts if v.cue == "depth")


def test_half_repetitions_are_not_judged() -> None:
    movement, motion, reps, _, _ = judged("squat")
    half = (reps[0], replace(reps[1], complete=False, counted=False))
    verdicts, _ = judge_repetitions(motion, movement, half, Prescription(), Settings())
    assert {v.repetition for v in verdicts} == {1}


def test_a_prescribed_tempo_takes_over_from_cues_on_times() -> None:
    squat = load_movement("squat")
    dropped = {c.name for c in judged_cues(squat, Prescription())} - {c.name for c in judged_cues(squat, TEMPO)}
    assert dropped == {"lower-slowly"}


def test_from_the_wrong_view_the_reason_names_both_views() -> None:
    _, _, _, verdicts, _ = judged("squat", 0.0)
    depth = next(v for v in verdicts if v.cue == "depth")
    assert depth.outcome == "not_measurable"
    assert depth.reason == "it can be seen only straight from the side, and this clip was filmed from the front"
    assert depth.refilm == load_movement("squat").cue("depth").refilm
    assert next(v for v in verdicts if v.cue == "lower-slowly").value is not None


def test_the_far_leg_is_no_fault() -> None:
    _, _, _, verdicts, _ = judged("standing-knee-raise")
    other = [v for v in verdicts if v.cue == "stance-leg-straight"]
    assert {v.side for v in other} == {"right"}
    assert {v.reason for v in other} == {"the right side is away from the camera"}
    assert {v.refilm for v in other} == {"Film once more with your right side to the phone."}


def test_possible_slow_motion_leaves_times_and_ratios_unjudged_and_angles_judged() -> None:
    movement, _, _, verdicts, _ = judged("squat", time_in_doubt=True)
    for v in verdicts:
        if v.unit in ("s", "ratio"):
            assert v.reason == "the clip may be slow motion"
    assert any(v.value is not None for v in verdicts if v.cue == "depth")
    assert find_measure(movement.cue("lower-slowly").measure).unit == "ratio"


def test_sides_of_working_other_and_near_limbs() -> None:
    lunge, motion, reps = moved("lateral-lunge", FILMED["lateral-lunge"][1])
    first = reps[0]
    assert first.side == "left"
    assert sides_of(lunge.cue("depth"), first, motion) == ("left",)
    assert sides_of(lunge.cue("straight-leg"), first, motion) == ("right",)
    assert sides_of(lunge.cue("chest-up"), first, motion) == ("left",)
    squat, side_on, squats = moved("squat", 80.0)
    assert sides_of(squat.cue("depth"), squats[0], side_on) == ("left",)
    assert sides_of(squat.cue("depth"), squats[0], motion) == ("left", "right")


def measured(number: int, value: float, noise: float = 1.0, shared: float = 2.0) -> tuple[int, Measurement]:
    return number, Measurement(measure="knee_flexion_at_turn", value=value, noise=noise, shared=shared, unit="deg",
                               side="left", at_s=1.0, method="image plane")  # fmt: skip


def hidden() -> NotMeasurable:
    return NotMeasurable(measure="knee_flexion_at_turn", unit="deg", side="left", reason="the joint is hidden",
                         refilm="Film from the side.")  # fmt: skip


def set_of(values: list[float | None], *, counted: tuple[bool, ...] | None = None) -> Verdict:
    """Judge the squat's depth on a set with these readings, None where it could not be measured."""
    movement, _, reps = moved("squat", 80.0)
    depth = movement.cue("depth")
    only = replace(movement, cues=(depth,))
    flags = counted or (True,) * len(values)
    numbered = tuple(replace(reps[0], number=k, counted=c) for k, c in enumerate(flags, start=1))
    results = [measured(k, v) if v is not None else (k, hidden()) for k, v in enumerate(values, start=1)]
    verdicts = tuple(verdict(k, depth, r, Settings()) for k, r in results)
    pairs = tuple((k, r) for k, r in results if isinstance(r, Measurement))
    (whole,) = judge_set(only, Prescription(), numbered, verdicts, pairs, Settings())
    assert whole.repetition is None
    return whole


def test_the_set_is_its_median_with_the_number_that_met_it() -> None:
    whole = set_of([110.0, 108.0, 60.0])
    assert (whole.value, whole.repetitions_met, whole.repetitions_judged) == (108.0, 2, 3)
    assert set_of([110.0, 110.0]).outcome == "met"
    assert set_of([60.0, 60.0]).outcome == "not_met"


def test_a_set_needs_two_readings_and_half_of_the_repetitions() -> None:
    one = set_of([110.0])
    assert one.outcome == "not_measurable"
    assert "only one repetition" in one.reason
    thin = set_of([110.0, 110.0, None, None, None])
    assert (thin.outcome, thin.refilm) == ("not_measurable", "Film from the side.")
    assert thin.reason == "only 2 of 5 repetitions could be read; in the others, the joint is hidden"
    single = set_of([110.0, None])
    assert single.reason == "only 1 of 2 repetitions could be read; in the other, the joint is hidden"
    assert set_of([None, None]).reason == "the joint is hidden"
    assert set_of([110.0, 110.0, None, None]).outcome == "met"


def test_uncounted_repetitions_do_not_speak_for_the_set() -> None:
    assert set_of([110.0, 110.0, 20.0, 20.0, 20.0], counted=(True, True, False, False, False)).outcome == "met"
    none = set_of([110.0, 110.0], counted=(False, False))
    assert (none.outcome, none.reason) == ("not_measurable", "no repetition was counted")


def test_a_verdict_carries_limit_and_source_of_its_cue() -> None:
    depth = load_movement("squat").cue("depth")
    for result in (measured(1, 100.0)[1], hidden()):
        v = verdict(1, depth, result, Settings())
        assert (v.limit, v.source, v.unit, v.side) == (depth.limit, depth.source, "deg", "left")
    strict = Settings(met_at=0.99, not_met_at=0.01)
    assert verdict(1, depth, measured(1, 99.0)[1], Settings()).outcome == "met"
    assert verdict(1, depth, measured(1, 99.0)[1], strict).outcome == "near"


def some(side: str, chance: float, rep: Repetition) -> Repetition:
    return replace(rep, side=side, chance=chance, counted=chance > 0.5, complete=chance > 0.5)


def counts(name: str, asked: Prescription, *chances: tuple[str, float], seen: bool = True) -> dict[str, str]:
    rep = moved("squat", 80.0)[2][0]
    reps = tuple(some(side, chance, rep) for side, chance in chances)
    out = judge_counts(load_movement(name), asked, reps, Settings(), seen=seen)
    assert all(v.cue == "repetitions" and v.unit == "1" for v in out)
    return {v.side: v.outcome for v in out}


@pytest.mark.parametrize(
    ("name", "asked", "chances", "expected"),
    [
        ("squat", Prescription(), [("both", 1.0)], {}),
        ("squat", Prescription(repetitions=2), [("both", 1.0), ("both", 1.0)], {"both": "met"}),
        ("squat", Prescription(repetitions=2), [("both", 1.0), ("both", 0.5)], {"both": "near"}),
        ("squat", Prescription(repetitions=2), [("both", 1.0)], {"both": "not_met"}),
        ("lateral-lunge", Prescription(repetitions=1), [("left", 1.0), ("right", 0.6)],
         {"left": "met", "right": "near"}),
        ("lateral-lunge", Prescription(repetitions=1), [("left", 1.0)], {"left": "met", "right": "not_measurable"}),
        ("lateral-lunge", Prescription(repetitions=1), [], {"left": "not_met", "right": "not_met"}),
        ("split-squat", Prescription(repetitions=1), [("right", 1.0)], {"right": "met"}),
        ("split-squat", Prescription(repetitions=1), [], {"both": "not_met"}),
    ],
)  # fmt: skip
def test_the_number_is_judged_per_side_by_its_chance(name: str, asked: Prescription, chances, expected) -> None:
    assert counts(name, asked, *chances) == expected


def test_a_repetition_that_the_clip_cuts_off_is_not_called_missing() -> None:
    rep = moved("squat", 80.0)[2][0]
    cut = replace(rep, end_s=None, complete=False, counted=False, chance=0.0)
    squat = load_movement("squat")
    for whole, asked, expected in ((2, 3, "not_measurable"), (1, 3, "not_met"), (3, 3, "met")):
        (said,) = judge_counts(squat, Prescription(repetitions=asked), (rep,) * whole + (cut,), Settings(), seen=True)
        assert said.outcome == expected, "one more at most may have been done"
    assert "before the first repetition to after the last" in judge_counts(
        squat, Prescription(repetitions=3), (rep, rep, cut), Settings(), seen=True)[0].refilm  # fmt: skip


def test_a_driver_that_was_never_seen_leaves_the_number_open() -> None:
    assert counts("squat", Prescription(repetitions=2), seen=False) == {"both": "not_measurable"}


def test_taking_twice_gives_the_same() -> None:
    movement, motion, reps = moved("squat", 80.0)
    cue = movement.cue("depth")
    results = [take(motion, movement, reps[0], None, cue, "left", time_in_doubt=False) for _ in range(2)]
    assert isinstance(results[0], Measurement)
    assert results[0] == results[1]
