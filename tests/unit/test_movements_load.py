"""Movement files: what is read, and the one sentence that refuses what is not."""

from __future__ import annotations

from pathlib import Path

import pytest

from cuebook.errors import MovementError, UnknownName
from cuebook.model import Limit, Source
from cuebook.movements import check_movement, list_movements, load_movement
from cuebook.movements.lines import line_numbers, line_of

VALID = """\
title = "Wall slide"
family = "standing"
patterns = ["push"]
sides = "both"
views = ["side"]
long_end = "arms down"
short_end = "arms up"
faults = ["ribs flare"]
cautions = ["Shoulder pain: stay lower."]

[source]
kind = "house"
text = "Our club's own."

[driver]
signal = "shoulder_flexion"
first = "concentric"
turn = "high"
min_swing = 40
shortest_rep_s = 1
longest_rep_s = 20

[[cue]]
name = "reach"
measure = "shoulder_flexion"
event = "turn"
limb = "near"
low = 140
target = "arms 150 degrees or more"
margin = 10
say = "Paint the wall as high as you can."
praise = "You painted high."
why = "Reach makes room."
priority = 1
views = ["side"]
refilm = "Film from the side."
source = { kind = "common_practice", text = "practice" }

[[filming]]
view = "side"
place = "to your side"
height = "chest height"
distance = "three metres"
orientation = "portrait"
check = "hands in the picture"
"""


@pytest.fixture
def write(tmp_path: Path):
    def _write(text: str, name: str = "wall-slide.toml") -> Path:
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return _write


def test_a_file_becomes_a_movement(write) -> None:
    movement = load_movement(write(VALID))
    assert movement.name == "wall-slide"
    assert movement.driver.rep_s == (1.0, 20.0)
    assert movement.driver.second_signal is None
    cue = movement.cue("reach")
    assert cue is not None
    assert cue.limit == Limit(low=140, high=None)
    assert cue.source == Source(kind="common_practice", text="practice")
    assert movement.substitutes == ()


def test_cues_stand_in_order_of_priority(write) -> None:
    head, tail = VALID.split("[[cue]]")
    cue, filming = tail.split("[[filming]]")
    second = cue.replace('"reach"', '"start-low"').replace('event = "turn"', 'event = "start"')
    second = second.replace("priority = 1", "priority = 2")
    movement = check_movement(write(f"{head}[[cue]]{second}[[cue]]{cue}[[filming]]{filming}"))
    assert [c.name for c in movement.cues] == ["reach", "start-low"]


# what is changed, by what, the words the sentence must hold, and a text that stands in the line it must name
WRONG = {
    "unknown key": ("low = 140", "lower = 140", r"unknown key 'lower', did you mean low", "lower = 140"),
    "unknown measure": (
        'measure = "shoulder_flexion"',
        'measure = "shoulder_flex"',
        r"'measure' is 'shoulder_flex', did you mean shoulder_flexion",
        'measure = "shoulder_flex"',
    ),
    "unknown event": ('event = "turn"', 'event = "top"', r"'event' is 'top', known are", 'event = "top"'),
    "event that does not fit": ('event = "turn"', 'event = "phase"', r"cannot be taken at 'phase'", 'event = "phase"'),
    "second turn without a second driver": (
        'event = "turn"',
        'event = "second_turn"',
        r"needs a 'second_signal'",
        'event = "second_turn"',
    ),
    "no source": ('source = { kind = "common_practice", text = "practice" }\n', "", r"has no 'source'", "[[cue]]"),
    "unknown kind of source": ('kind = "common_practice"', 'kind = "blog"', r"'kind' is 'blog'", "source = {"),
    "no limit": ("low = 140\n", "", r"needs a low or a high end", "[[cue]]"),
    "limit that falls": (
        "low = 140",
        "low = 140\nhigh = 120",
        r"low end 140 is not below its high end 120",
        "low = 140",
    ),
    "limit that is no number": ("low = 140", 'low = "deep"', r"'low' must be a number", 'low = "deep"'),
    "limit that is true": ("low = 140", "low = true", r"'low' must be a number", "low = true"),
    "limit that is not finite": ("low = 140", "low = nan", r"'low' must be a number", "low = nan"),
    "negative margin": ("margin = 10", "margin = -1", r"'margin' must not be negative", "margin = -1"),
    "long sentence": (
        "as high as you can",
        "as high as you can and then a little bit more",
        r"'say' has 14 words, keep it to 10",
        "say =",
    ),
    "priority of nought": ("priority = 1", "priority = 0", r"whole number from 1", "priority = 0"),
    "priority in halves": ("priority = 1", "priority = 1.5", r"whole number from 1", "priority = 1.5"),
    "unknown view of a cue": (
        'priority = 1\nviews = ["side"]',
        'priority = 1\nviews = ["top"]',
        r"'views' holds 'top', known are",
        'views = ["top"]',
    ),
    "view that no card shows": (
        'priority = 1\nviews = ["side"]',
        'priority = 1\nviews = ["front"]',
        r"no filming card shows a view of the cue 'reach' \(front\)",
        'views = ["front"]',
    ),
    "empty list": ('faults = ["ribs flare"]', "faults = []", r"'faults' is empty", "faults"),
    "list of numbers": ('faults = ["ribs flare"]', "faults = [1]", r"must be a list of texts", "faults"),
    "empty text": ('title = "Wall slide"', 'title = " "', r"'title' must be a text", "title"),
    "number for a text": ('title = "Wall slide"', "title = 3", r"'title' must be a text", "title"),
    "unknown family": ('family = "standing"', 'family = "hanging"', r"'family' is 'hanging'", "family"),
    "no swing": ("min_swing = 40", "min_swing = 0", r"'min_swing' must be above zero", "min_swing"),
    "durations exchanged": ("longest_rep_s = 20", "longest_rep_s = 0.5", r"must be above 'shortest_rep_s'", "longest"),
    "half a second driver": (
        "min_swing = 40",
        "min_swing = 40\nsecond_min_swing = 9",
        r"the driver has no 'second_signal'",
        "[driver]",
    ),
    "flag that is a text": ("margin = 10", 'margin = 10\nsafety = "yes"', r"'safety' must be true or false", "safety"),
    "orientation": ('orientation = "portrait"', 'orientation = "tall"', r"'orientation' is 'tall'", "orientation"),
    "driver as a number": ("[driver]\nsignal", "driver = 3\n[drive]\nsignal", r"has no 'driver'|unknown key", ""),
    "cue as a single table": ("[[cue]]", "[cue]", r"'cue' must be written as tables, each under \[\[cue\]\]", "[cue]"),
    "table nobody knows": ("[[filming]]", "[extra]\na = 1\n\n[[filming]]", r"unknown key 'extra'", "[extra]"),
}


@pytest.mark.parametrize("case", WRONG, ids=str)
def test_what_is_wrong_is_said_in_one_sentence_with_file_and_line(case: str, write) -> None:
    old, new, words, marker = WRONG[case]
    assert old in VALID
    text = VALID.replace(old, new, 1)
    with pytest.raises(MovementError, match=words) as caught:
        check_movement(write(text))
    message = str(caught.value)
    assert "\n" not in message
    assert message.startswith("wall-slide.toml")
    assert message.endswith((".", "?"))
    assert not message.endswith(("..", "?."))
    if marker:
        line = 1 + text[: text.index(marker)].count("\n")
        assert f"line {line}:" in message, message


def test_a_source_that_lacks_its_text_is_refused_at_its_own_line(write) -> None:
    text = VALID.replace('text = "Our club\'s own."\n', "")
    with pytest.raises(MovementError, match=r"wall-slide.toml, line 11: the source of the movement has no 'text'"):
        check_movement(write(text))


def test_a_cue_named_twice_is_refused(write) -> None:
    head, tail = VALID.split("[[cue]]")
    cue, filming = tail.split("[[filming]]")
    with pytest.raises(MovementError, match="'reach' stands twice"):
        check_movement(write(f"{head}[[cue]]{cue}[[cue]]{cue}[[filming]]{filming}"))


def test_a_view_that_no_card_shows_is_refused_for_the_movement(write) -> None:
    text = VALID.replace('views = ["side"]', 'views = ["back"]', 1)
    with pytest.raises(MovementError, match=r"line 5: no filming card shows a view of the movement \(back\)"):
        check_movement(write(text))


def test_a_text_that_is_no_toml_is_refused_with_its_line(write) -> None:
    with pytest.raises(MovementError, match=r"wall-slide.toml is not valid TOML: .*line 2"):
        check_movement(write('title = "a"\nfamily = standing\n'))


def test_every_variant_is_kept_and_a_cue_may_have_a_title_of_its_own() -> None:
    movement = load_movement("push-up-to-inverted-v")
    assert [v.name for v in movement.harder] == ["slow", "feet raised"]
    assert movement.cue("hold-the-v").heading == "Hold the V"
    assert load_movement("squat").cue("hip-past-90").heading == "Hip past 90"


def test_a_file_that_is_missing_or_no_text_is_refused(tmp_path: Path) -> None:
    with pytest.raises(MovementError, match=r"There is no file .*absent.toml: check"):
        load_movement(tmp_path / "absent.toml")
    (tmp_path / "picture.toml").write_bytes(b"\xff\xd8\xff\xe0")
    with pytest.raises(MovementError, match=r"picture.toml cannot be read"):
        load_movement(tmp_path / "picture.toml")


def test_an_unknown_name_offers_the_nearest(tmp_path: Path) -> None:
    with pytest.raises(UnknownName, match="did you mean squat"):
        load_movement("sqaut")
    with pytest.raises(UnknownName, match="no movement called"):
        load_movement("wall-slide", workspace=tmp_path)


def test_a_workspace_adds_its_own_movements(tmp_path: Path, write) -> None:
    (tmp_path / "movements").mkdir()
    write(VALID, "movements/wall-slide.toml")
    names = list_movements(workspace=tmp_path)
    assert "wall-slide" in names
    assert names == tuple(sorted({*list_movements(), "wall-slide"}))
    assert load_movement("wall-slide", workspace=tmp_path).title == "Wall slide"


def test_a_workspace_must_not_repeat_a_name_of_the_package(tmp_path: Path, write) -> None:
    (tmp_path / "movements").mkdir()
    write(VALID, "movements/squat.toml")
    with pytest.raises(MovementError, match=r"'squat' comes with the package.*movements/squat.toml"):
        list_movements(workspace=tmp_path)


def test_lines_are_found_through_lists_long_texts_and_dotted_keys() -> None:
    text = '''\
a = 1
many = [
    "x = 1",  # not a key
    "[table]",
]
long = """
b = 2
"""
deep.inner = 3
[one.two]
c = 4
[[row]]
d = 5
[row.sub]
e = 6
[[row]]
d = 7
'''
    places = line_numbers(text)
    assert places[("a",)] == 1
    assert places[("many",)] == 2
    assert ("b",) not in places
    assert places[("deep", "inner")] == 9
    assert places[("one", "two", "c")] == 11
    assert places[("row", 0, "d")] == 13
    assert places[("row", 0, "sub", "e")] == 15
    assert places[("row", 1, "d")] == 17
    assert line_of(places, ("row", 1, "d", "deeper")) == 17
    assert line_of(places, ("nowhere",)) is None
