"""The three sentences: never above sixty words, never praise and blame for one thing, never surer than the verdicts."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cuebook.assess.headline import MOST_WORDS, tempo_sentence, write_headline
from cuebook.model import PHASES, Headline, Limit, Movement, Prescription, Source, Tempo, TempoResult, Verdict
from cuebook.movements import list_movements, load_movement

LIBRARY = {name: load_movement(name) for name in list_movements()}
HOUSE = Source(kind="house", text="The number the coach asked for.")
ASKED = Prescription(tempo=Tempo(eccentric=3.0, long_hold=1.0, concentric="X", short_hold=0.0), repetitions=8)
OUTCOMES = st.sampled_from(("met", "near", "not_met", "not_measurable"))


def verdict(movement: Movement, cue: str, outcome: str, side: str = "both") -> Verdict:
    known = movement.cue(cue)
    limit = Limit(low=8.0, high=None) if known is None else known.limit
    source = HOUSE if known is None else known.source
    common = {"repetition": None, "cue": cue, "side": side, "unit": "deg", "limit": limit, "source": source}
    if outcome == "not_measurable":
        return Verdict(outcome=outcome, chance=None, value=None, uncertainty=None, reason="filmed from the front",
                       refilm=known.refilm if known else "Film the whole body.", **common)  # fmt: skip
    return Verdict(outcome=outcome, chance=0.5, value=5.0, uncertainty=3.0, **common)


def tempo_of(outcomes: dict[str, str], *, took: float | None = 1.4, drift: str | None = None) -> TempoResult:
    return TempoResult(median=dict.fromkeys(PHASES, took), median_u=dict.fromkeys(PHASES, 0.1), outcomes=outcomes,
                       outside=dict.fromkeys(PHASES, 0.0), reasons={}, drift_ratio=0.6, drift_ratio_u=0.05,
                       drift_outcome=drift)  # fmt: skip


def said(movement: Movement, verdicts: list[Verdict], tempo: TempoResult | None = None, **options) -> Headline:
    options = {"counted": 5, "found": True, **options}
    return write_headline(movement, ASKED, tuple(verdicts), tempo or tempo_of({}), **options)


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_any_set_of_verdicts_gives_three_sentences_of_at_most_sixty_words(data) -> None:
    movement = LIBRARY[data.draw(st.sampled_from(sorted(LIBRARY)))]
    cues = [c.name for c in movement.cues]
    verdicts = [verdict(movement, c, data.draw(OUTCOMES), s) for c in cues for s in ("left", "right")]
    verdicts.append(verdict(movement, "repetitions", data.draw(OUTCOMES)))
    tempo = tempo_of({p: data.draw(OUTCOMES) for p in PHASES}, took=data.draw(st.sampled_from((None, 0.4, 12.3))),
                     drift=data.draw(st.sampled_from((None, "met", "near", "not_met"))))  # fmt: skip
    headline = said(movement, verdicts, tempo, counted=data.draw(st.integers(0, 30)), found=data.draw(st.booleans()))
    assert headline.words <= MOST_WORDS == 60
    assert all((headline.praise, headline.fix, headline.next))
    failed = {c.praise for c in movement.cues for v in verdicts if v.cue == c.name and v.outcome == "not_met"}
    assert headline.praise not in failed


SQUAT = LIBRARY["squat"]


def test_the_most_important_fault_is_named_with_an_easier_form() -> None:
    worst = min(SQUAT.cues, key=lambda c: (not c.safety, c.priority))
    headline = said(SQUAT, [verdict(SQUAT, c.name, "not_met") for c in SQUAT.cues])
    assert headline.fix == worst.say
    assert headline.next.startswith("Think of that alone in the next set")


def test_a_close_call_says_so() -> None:
    headline = said(SQUAT, [verdict(SQUAT, "depth", "near")])
    heading = SQUAT.cue("depth").heading
    assert headline.fix == f"{heading}: too close to call from this clip. Keep an eye on it next time."


def test_all_met_asks_for_no_change() -> None:
    headline = said(SQUAT, [verdict(SQUAT, c.name, "met") for c in SQUAT.cues])
    assert headline.fix == "Nothing to change that this clip can show."
    assert headline.praise in {c.praise for c in SQUAT.cues}


def test_what_could_not_be_seen_brings_the_place_of_the_phone() -> None:
    headline = said(SQUAT, [verdict(SQUAT, "depth", "not_measurable")])
    assert headline.fix == "This clip cannot tell yet what to change."
    assert headline.next == f"To see the rest: p{SQUAT.cue('depth').refilm[1:]}"
    assert "5 whole repetitions" in headline.praise


@pytest.mark.parametrize(("counted", "found"), [(0, True), (5, False)])
def test_with_nothing_to_judge_it_says_how_to_film(counted: int, found: bool) -> None:
    headline = said(SQUAT, [], counted=counted, found=found)
    assert headline.next.startswith("Film again: phone ")
    bare = said(replace(SQUAT, filming=()), [], counted=counted, found=found)
    assert bare.next == "Film again with the whole body in the picture."


def test_tempo_faults_are_put_in_seconds() -> None:
    tempo = tempo_of({"eccentric": "not_met"})
    fix = said(SQUAT, [], tempo).fix
    assert "lowering took 1.4 s for 3 s asked" in fix
    assert "take your time, counting to three" in fix
    slow = tempo_of({"eccentric": "not_met"}, took=4.4)
    assert "move on" in tempo_sentence("eccentric", SQUAT, ASKED, slow)
    assert "lasted 1.4 s for 1 s asked: move on a little sooner" in tempo_sentence("long_hold", SQUAT, ASKED, tempo)
    assert "at once" in tempo_sentence("short_hold", SQUAT, ASKED, tempo)
    assert "as fast as you can control" in tempo_sentence("concentric", SQUAT, ASKED, tempo)
    assert "could not be measured" in tempo_sentence("eccentric", SQUAT, ASKED, tempo_of({}, took=None))


def test_too_few_repetitions_and_a_hasty_end_are_said() -> None:
    assert said(SQUAT, [verdict(SQUAT, "repetitions", "not_met")]).fix == "5 of 8 repetitions counted."
    raised = LIBRARY["standing-knee-raise"]
    assert said(raised, [verdict(raised, "repetitions", "not_met", "left")]).fix.endswith("on the left side.")
    late = said(SQUAT, [], tempo_of({}, drift="not_met")).fix
    assert "lowering" in late
    assert "60 %" in late


def test_the_rest_between_repetitions_is_never_a_fault() -> None:
    """0 s asked at the start end: whatever it lasted, nothing is to be changed, and nobody is praised for it."""
    for outcome in ("met", "near", "not_met"):
        headline = said(SQUAT, [verdict(SQUAT, c.name, "met") for c in SQUAT.cues], tempo_of({"short_hold": outcome}))
        assert headline.fix == "Nothing to change that this clip can show."
        assert "compare" not in headline.next
        assert "top" not in said(SQUAT, [], tempo_of({"short_hold": outcome})).praise
    bridge = LIBRARY["glute-bridge"]
    turn = said(bridge, [], tempo_of({"short_hold": "not_met"})).fix
    assert turn == "The pause at the top lasted 1.4 s: turn round at once."


def test_a_hold_that_is_off_comes_before_what_is_too_close_to_call() -> None:
    headline = said(SQUAT, [verdict(SQUAT, "depth", "near")], tempo_of({"long_hold": "not_met"}))
    assert headline.fix.startswith("The pause at the bottom lasted")


def test_repetitions_that_missed_a_cue_are_named_though_the_set_met_it() -> None:
    """The table shows them as not met, so the headline must not say that there is nothing to change."""
    single = [replace(verdict(SQUAT, "depth", "not_met"), repetition=n) for n in (4, 3)]
    headline = said(SQUAT, [verdict(SQUAT, c.name, "met") for c in SQUAT.cues] + single)
    assert headline.fix == f"Depth: not met in reps 3 and 4. {SQUAT.cue('depth').say}"
    one = said(SQUAT, [verdict(SQUAT, "depth", "near"), single[0]])
    assert one.fix.startswith("Depth: not met in rep 4. ")


def test_the_side_is_named_where_the_sides_differ() -> None:
    lunge = LIBRARY["lateral-lunge"]
    uneven = [verdict(lunge, "depth", "met", "left"), verdict(lunge, "depth", "not_met", "right")]
    assert said(lunge, uneven).fix.startswith("Right side: ")
    alike = [verdict(lunge, "depth", "not_met", s) for s in ("left", "right")]
    assert said(lunge, alike).fix == lunge.cue("depth").say
    close = [verdict(lunge, "straight-leg", "near", "left"), verdict(lunge, "straight-leg", "met", "right")]
    assert said(lunge, close).fix.startswith("Straight leg, left: too close to call")


def test_a_next_step_that_is_too_long_ends_at_a_pause_in_the_sentence() -> None:
    long = " ".join(["word"] * 42) + "."
    cues = (replace(SQUAT.cues[0], say=long), *SQUAT.cues[1:])
    wordy = replace(SQUAT, cues=cues)
    headline = said(wordy, [verdict(wordy, wordy.cues[0].name, "not_met")])
    assert headline.words <= MOST_WORDS
    assert headline.next == "Think of that alone in the next set."


def test_a_turn_has_its_own_words() -> None:
    turn = LIBRARY["standing-trunk-rotation"]
    assert said(turn, [], tempo_of({"concentric": "met"})).praise.startswith("Your turning out")
