"""Every movement file that comes with the package, one by one: a new file is tested the moment it exists."""

from __future__ import annotations

import re

import pytest

from cuebook.measures import find_measure
from cuebook.model import Movement
from cuebook.movements import list_movements, load_movement

FIXED_NAMES = {
    "squat",
    "split-squat",
    "rear-foot-elevated-split-squat-with-rotation",
    "lateral-lunge",
    "standing-knee-raise",
    "push-up",
    "push-up-to-inverted-v",
    "glute-bridge",
    "side-lying-thoracic-rotation",
    "standing-trunk-rotation",
}


def test_the_names_others_rely_on_are_all_there() -> None:
    assert set(list_movements()) >= FIXED_NAMES


@pytest.fixture(params=list_movements())
def movement(request: pytest.FixtureRequest) -> Movement:
    return load_movement(request.param)


def test_it_has_a_lower_case_name_and_a_title_for_people(movement: Movement) -> None:
    assert re.fullmatch(r"[a-z]+(-[a-z]+)*", movement.name)
    assert movement.title[0].isupper()


def test_priorities_of_its_cues_run_from_one_without_a_gap(movement: Movement) -> None:
    assert [c.priority for c in movement.cues] == list(range(1, len(movement.cues) + 1))


def test_every_sentence_is_short_and_ends_properly(movement: Movement) -> None:
    for cue in movement.cues:
        for sentence in (cue.say, cue.praise):
            assert len(sentence.split()) <= 10
            assert sentence.endswith(".")
        assert cue.why.endswith(".")
        assert cue.refilm.endswith(".")


def test_no_sentence_scolds_or_diagnoses(movement: Movement) -> None:
    said = " ".join(f"{c.say} {c.praise} {c.why}" for c in movement.cues).lower()
    assert not re.search(
        r"\b(wrong|bad|never|fail\w*|dysfunction|abnormal|injur\w*|prevent\w*|perfect|correct)\b", said
    )


def test_the_margin_lies_between_target_and_limit(movement: Movement) -> None:
    """The limit is the target widened by the margin: at least one number of the target must be one margin away."""
    for cue in movement.cues:
        ends = [e for e in (cue.limit.low, cue.limit.high) if e is not None]
        if (
            find_measure(cue.measure).unit != "deg"
            or cue.margin == 0
            or "right angle" in cue.target
            or "upright or" in cue.target
        ):
            continue
        numbers = {float(n) for n in re.findall(r"\d+", cue.target)}
        inner = {abs(e + s * cue.margin) for e in ends for s in (-1, 1)}
        assert numbers & inner, f"{movement.name}, {cue.name}: {cue.target} against {cue.limit} with {cue.margin:g}"


def test_a_band_can_be_met_with_an_uncertainty_a_clip_can_reach(movement: Movement) -> None:
    """A band of half-width t is met only when u <= t / 1.645; five degrees is what good footage gives."""
    for cue in movement.cues:
        if find_measure(cue.measure).unit == "deg" and None not in (cue.limit.low, cue.limit.high):
            assert (cue.limit.high - cue.limit.low) / 2 / 1.645 >= 5, f"{movement.name}, {cue.name}"


def test_a_figure_called_published_names_its_origin(movement: Movement) -> None:
    for cue in movement.cues:
        if cue.source.kind == "published":
            assert re.search(r"(19|20)\d\d|as quoted", cue.source.text), f"{movement.name}, {cue.name}"


def test_a_filming_card_shows_every_cue_and_floor_work_is_filmed_low(movement: Movement) -> None:
    filmed = {card.view for card in movement.filming}
    for cue in movement.cues:
        assert filmed & set(cue.views)
    if movement.family != "standing":
        assert all(card.orientation == "landscape" and "floor" in card.height for card in movement.filming)


def test_it_can_be_made_easier_and_harder_and_says_what_to_mind(movement: Movement) -> None:
    assert movement.easier
    assert movement.harder
    assert movement.cautions
    assert len(movement.faults) >= 3


def test_its_main_cue_reads_the_driver_or_the_body_line(movement: Movement) -> None:
    assert movement.cues[0].measure in {movement.driver.signal, "body_line"}
