"""Corrected repetitions: what a coach moves is what counts, and every figure follows by the same definitions."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from cuebook.assess import spans as moves
from cuebook.assess.analyse import judge_track
from cuebook.assess.corrected import Rejudge
from cuebook.errors import ModelError, UnknownName
from cuebook.model import PHASES, Change, DeskState, Overruled, Prescription, ReviewData, Settings, Tempo
from cuebook.movements import load_movement
from cuebook.repetitions import GivenRepetitions, proposed_spans
from tests.stick_samples import FILMED, clip_of, stick

CHANGED = (Change(at="2026-11-02T18:00:00.000Z", who="Orla Vennick", what="something"),)


def judged(name: str = "squat", reps: int = 4, **asked) -> ReviewData:
    track, _ = stick(name, FILMED[name][1], reps=reps, rate_hz=30.0)
    return judge_track(clip_of(track), track, movement=load_movement(name), prescription=Prescription(**asked),
                       settings=Settings())  # fmt: skip


@pytest.fixture(scope="module")
def squat() -> ReviewData:
    return judged(tempo=Tempo(eccentric=2.0, long_hold=1.0, concentric=1.0, short_hold=1.0), repetitions=4)


def again(data: ReviewData, spans: moves.Spans) -> ReviewData:
    return Rejudge(data).judge(DeskState(spans=spans), CHANGED)


def length(data: ReviewData) -> float:
    return data.clip.duration_s


def test_without_a_change_it_is_the_very_same_review(squat) -> None:
    state = DeskState(spans=proposed_spans(squat.repetitions))
    assert Rejudge(squat).judge(state) is squat
    assert Rejudge(squat).repetitions(state.spans) is squat.repetitions


def test_a_moved_boundary_moves_for_both_and_changes_nothing_else(squat) -> None:
    spans = proposed_spans(squat.repetitions)
    later = squat.repetitions[1].start_s + 0.3
    found = again(squat, moves.moved(spans, "r2", "start", later, clip_s=length(squat))).repetitions
    before = squat.repetitions
    assert found[1].start_s == found[0].end_s == pytest.approx(later, abs=1e-3)
    assert found[1].phases["eccentric"] == pytest.approx(before[1].phases["eccentric"] - 0.3, abs=0.01)
    assert found[0].phases["short_hold"] == pytest.approx(before[0].phases["short_hold"] + 0.3, abs=0.01)
    for phase in ("long_hold", "concentric", "short_hold"):
        assert found[1].phases[phase] == pytest.approx(before[1].phases[phase], abs=1e-6)
    assert found[2:] == before[2:]


def test_phases_of_a_corrected_repetition_still_add_up_to_its_duration(squat) -> None:
    spans = proposed_spans(squat.repetitions)
    spans = moves.moved(spans, "r2", "start", spans[1].start_s + 0.2, clip_s=length(squat))
    spans = moves.moved(spans, "r2", "turn", spans[1].turn_s + 0.5, clip_s=length(squat))
    for rep in again(squat, spans).repetitions[:3]:
        assert sum(rep.phases.values()) == pytest.approx(rep.end_s - rep.start_s, abs=1e-6)
        assert rep.start_s <= rep.turn_s <= rep.end_s


def test_joined_and_split_again_gives_what_was_found(squat) -> None:
    spans = moves.merged(proposed_spans(squat.repetitions), "r2", "r3")
    assert [s.id for s in spans] == ["r1", "r2+r3", "r4"]
    joined = again(squat, spans)
    assert joined.counts["both"] == 3
    halves = again(squat, moves.split(spans, "r2+r3", squat.repetitions[2].start_s))
    assert halves.counts["both"] == 4
    for new, old in zip(halves.repetitions, squat.repetitions, strict=True):
        assert new.turn_s == pytest.approx(old.turn_s, abs=0.05)
        for phase in PHASES[:3]:
            assert new.phases[phase] == pytest.approx(old.phases[phase], abs=0.12)


def test_figures_follow_a_dropped_repetition(squat) -> None:
    data = again(squat, moves.dropped(proposed_spans(squat.repetitions), "r2"))
    assert data.counts["both"] == 3
    assert [r.number for r in data.repetitions] == [1, 2, 3]
    assert data.repetitions[0].phases["short_hold"] is None, "the stay ends where the dropped movement began"
    assert {n for n, _ in data.measurements} == {1, 2, 3}
    assert {v.repetition for v in data.verdicts} == {1, 2, 3, None}
    counted = next(v for v in data.verdicts if v.cue == "repetitions")
    assert counted.value == 3.0
    assert counted.outcome == "not_met"


def test_a_repetition_that_was_dropped_can_be_given_by_hand(squat) -> None:
    old = squat.repetitions[1]
    spans = moves.dropped(proposed_spans(squat.repetitions), "r2")
    spans = moves.added(spans, "a1", start_s=old.start_s, end_s=old.end_s, turn_s=None, side=None,
                        movement=squat.movement, clip_s=length(squat))  # fmt: skip
    found = again(squat, spans).repetitions
    assert len(found) == 4
    assert found[1].counted
    assert found[1].turn_s == pytest.approx(old.turn_s, abs=0.05)
    assert found[1].phases["eccentric"] == pytest.approx(old.phases["eccentric"], abs=0.12)


def test_an_added_repetition_takes_over_the_rest_of_the_stay_it_lies_in(squat) -> None:
    spans = moves.merged(proposed_spans(squat.repetitions), "r2", "r3")
    spans = moves.with_turns(spans, {"r2+r3": squat.repetitions[1].turn_s})
    third = squat.repetitions[2]
    spans = moves.added(spans, "a1", start_s=third.start_s, end_s=third.end_s - 0.4, turn_s=third.turn_s, side=None,
                        movement=squat.movement, clip_s=length(squat))  # fmt: skip
    assert [s.id for s in spans] == ["r1", "r2+r3", "a1", "r4"]
    assert spans[1].end_s == spans[2].start_s == pytest.approx(third.start_s, abs=1e-3)
    assert spans[2].end_s == pytest.approx(third.end_s, abs=1e-3)
    assert again(squat, spans).counts["both"] == 4


def test_tempo_follows_the_corrections(squat) -> None:
    spans = proposed_spans(squat.repetitions)
    for k in range(1, 4):
        spans = moves.moved(spans, f"r{k + 1}", "start", spans[k].start_s + 0.6, clip_s=length(squat))
    assert again(squat, spans).tempo.median["eccentric"] == pytest.approx(
        float(np.median([r.phases["eccentric"] for r in squat.repetitions])) - 0.6, abs=0.02
    )


def test_what_only_the_coach_saw_counts_by_eye_and_measures_nothing(squat) -> None:
    known = squat.motion.signals
    signals = {n: replace(s, values=np.where(s.times_s > 9.9, np.nan, s.values)) for n, s in known.items()}
    hidden = replace(squat, motion=replace(squat.motion, signals=signals), repetitions=squat.repetitions[:2])
    spans = moves.added(proposed_spans(hidden.repetitions), "a1", start_s=10.5, end_s=14.0, turn_s=12.0, side=None,
                        movement=squat.movement, clip_s=length(squat))  # fmt: skip
    data = again(hidden, spans)
    rep = data.repetitions[2]
    assert rep.counted
    assert rep.doubtful
    assert set(rep.phases.values()) == {None}
    assert data.counts["both"] == 3
    assert any("counts by eye" in w for w in data.warnings)
    assert {v.outcome for v in data.verdicts if v.repetition == 3} == {"not_measurable"}


def test_overruling_leaves_the_verdict_and_turns_the_headline(squat) -> None:
    state = DeskState(spans=proposed_spans(squat.repetitions))
    whole = [v for v in squat.verdicts if v.repetition is None and v.cue in {c.name for c in squat.movement.cues}]
    asked = next(v for v in whole if v.outcome == "met")
    said = Overruled(cue=asked.cue, repetition=None, side=None, outcome="not_met", reason="seen in the room")
    data = Rejudge(squat).judge(replace(state, overruled=(said,)), CHANGED)
    assert data.verdicts == squat.verdicts
    cue = squat.movement.cue(asked.cue)
    assert squat.headline.praise == cue.praise
    assert data.headline.praise != cue.praise
    assert data.corrections.overruled_at(asked.cue, None, asked.side) is said


def test_sides_can_be_exchanged() -> None:
    data = judged("lateral-lunge", 4)
    was = data.repetitions[0].side
    other = "right" if was == "left" else "left"
    spans = moves.sided(proposed_spans(data.repetitions), "r1", other, movement=data.movement)
    found = again(data, spans)
    assert found.repetitions[0].side == other
    assert found.counts[other] == data.counts[other] + 1


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (lambda s, d: moves.moved(s, "r2", "start", s[1].turn_s + 1.0, clip_s=length(d)), "must come after its start"),
        (lambda s, d: moves.moved(s, "r2", "end", s[2].turn_s + 0.1, clip_s=length(d)), "repetition 3 must come after"),
        (lambda s, d: moves.moved(s, "r2", "middle", 3.0, clip_s=length(d)), "no 'middle'"),
        (lambda s, d: moves.moved(s, "r2", "start", 999.0, clip_s=length(d)), "outside the clip"),
        (lambda s, d: moves.split(s, "r2", s[1].start_s), "cannot be split"),
        (lambda s, d: moves.merged(s, "r1", "r3"), "not neighbours"),
        (lambda s, d: moves.sided(s, "r1", "left", movement=d.movement), "works both"),
        (
            lambda s, d: moves.added(s, "a1", start_s=s[1].start_s - 0.2, end_s=s[1].end_s, turn_s=None, side=None,
                                     movement=d.movement, clip_s=length(d)),
            "lie over repetition 2",
        ),
    ],
)  # fmt: skip
def test_impossible_corrections_are_refused_in_a_sentence(squat, change, message: str) -> None:
    with pytest.raises(ModelError, match=message):
        change(proposed_spans(squat.repetitions), squat)


def test_a_repetition_that_is_not_there_is_named(squat) -> None:
    with pytest.raises(UnknownName, match="no repetition called 'r9'"):
        moves.dropped(proposed_spans(squat.repetitions), "r9")


@pytest.mark.parametrize("name", sorted(FILMED))
def test_every_movement_can_be_corrected(name: str) -> None:
    data = judged(name, 2)
    assert len(data.repetitions) >= 2
    spans = proposed_spans(data.repetitions)
    halves = moves.split(spans, "r1", spans[0].turn_s)
    found = again(data, halves)
    assert len(found.repetitions) == len(data.repetitions) + 1
    back = again(data, moves.dropped(moves.dropped(halves, "r1a"), "r1b"))
    assert [(r.start_s, r.turn_s) for r in back.repetitions] == [(r.start_s, r.turn_s) for r in data.repetitions[1:]]


def test_what_was_read_is_not_read_again(squat, monkeypatch) -> None:
    import cuebook.repetitions.given as given

    reads = []
    fit = given.fit_swings
    monkeypatch.setattr(given, "fit_swings", lambda *a, **k: reads.append(a) or fit(*a, **k))
    reader = GivenRepetitions(squat.motion, squat.movement, squat.prescription, squat.repetitions)
    spans = moves.merged(proposed_spans(squat.repetitions), "r2", "r3")
    first = reader.read(spans)
    assert reader.read(spans) == first
    reader.read(moves.moved(spans, "r1", "start", spans[0].start_s + 0.1, clip_s=length(squat)))
    assert len(reads) == 1, "a moved boundary needs no new fit, and the joined one is remembered"


def test_a_repetition_that_the_coach_sees_fail_is_named_and_its_cue_is_not_praised(squat) -> None:
    cue = next(squat.movement.cue(v.cue) for v in squat.verdicts if v.repetition is None and v.outcome == "met"
               if squat.movement.cue(v.cue) is not None)  # fmt: skip
    said = Overruled(cue=cue.name, repetition="r2", side=None, outcome="not_met", reason="", who="Orla Vennick")
    found = Rejudge(squat).judge(DeskState(spans=proposed_spans(squat.repetitions), overruled=(said,)), CHANGED)
    assert found.headline.praise != cue.praise
    assert f"{cue.heading}: not met in rep 2" in found.headline.fix
    assert found.verdicts == squat.verdicts
