"""New names: safe on every system, stable, never the same twice."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuebook.inbox.entries import Inbox, Known
from cuebook.inbox.names import clip_name, slug, without_collisions
from tests.sheet_samples import entry

FORBIDDEN = set('<>:"/\\|?*') | {chr(i) for i in range(32)}
"""Characters that file names on Windows may not hold: Microsoft, "Naming Files, Paths, and Namespaces"."""

DEVICES = {"con", "prn", "aux", "nul", *(f"com{i}" for i in range(1, 10)), *(f"lpt{i}" for i in range(1, 10))}
"""Names of devices on Windows, same page."""


def name(athlete: str, **given: str) -> str:
    parts = {"date": "2026-01-14T18:30:00", "movement": "squat", "set_number": "2", "side": "", "suffix": ".MOV"}
    return clip_name(athlete=athlete, **(parts | given))


def test_a_name_says_who_when_what_and_which_set() -> None:
    assert name("Greta Maarlund", side="left") == "greta-maarlund_2026-01-14_squat_set-2_left.mov"


def test_names_that_may_be_one_person_are_pointed_out() -> None:
    said = ("Tamsin Broad", "Tamsin Brod", "Greta Maarlund", "Idris Pell", "")
    found = Inbox(folder="week", entries=tuple(entry(k, athlete=Known(value=w)) for k, w in enumerate(said)))
    assert found.alike == (("Tamsin Broad", "Tamsin Brod"),)


def test_what_is_not_known_is_left_out() -> None:
    assert name("", movement="", set_number="", date="", suffix=".txt") == "unknown.mp4"


@pytest.mark.parametrize(("text", "plain"), [("Søren Ångström", "soren-angstrom"), ("Weiß", "weiss"), ("王芳", "王芳")])
def test_letters_with_marks_become_plain_and_other_scripts_stay(text: str, plain: str) -> None:
    assert slug(text) == plain


@given(st.text(max_size=300), st.text(max_size=12))
def test_any_text_gives_a_name_that_every_system_takes(athlete: str, suffix: str) -> None:
    made = name(athlete, suffix=suffix)
    stem = made.split(".")[0]
    assert made
    assert not FORBIDDEN & set(made)
    assert len(made.encode()) <= 255
    assert not made.endswith((" ", "."))
    assert not made.startswith((".", "-", " "))
    assert stem.casefold() not in DEVICES
    assert stem.split("_")[0].casefold() not in DEVICES


@given(st.lists(st.sampled_from(["a.mp4", "A.mp4", "a_clip-2.mp4", "b.mp4"]), max_size=12))
def test_no_two_clips_get_one_name_even_where_case_is_ignored(names: list[str]) -> None:
    made = without_collisions([(str(i), n) for i, n in enumerate(names)])
    assert len({n.casefold() for n in made.values()}) == len(names)


def test_a_clip_keeps_its_name_when_others_arrive_before_it() -> None:
    first = without_collisions([("later", "a.mp4")])
    both = without_collisions([("new", "a.mp4"), ("later", "a.mp4")], taken=first)
    assert both == {"later": "a.mp4", "new": "a_clip-2.mp4"}


def test_a_clip_whose_movement_was_answered_gets_its_new_name() -> None:
    assert without_collisions([("k", "greta_squat.mp4")], taken={"k": "greta.mp4"}) == {"k": "greta_squat.mp4"}
