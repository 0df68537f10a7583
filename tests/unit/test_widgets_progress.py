"""How far the first reading has come, in words."""

from __future__ import annotations

import pytest

from cuebook.widgets.progress import Teller, in_the_cell, progress_words, time_left


@pytest.mark.parametrize(
    ("share", "left_s", "words"),
    [
        (0.01, None, "Reading a.mp4: 1 %."),
        (0.4, 9.2, "Reading a.mp4: 40 %, about 9 s left."),
        (0.4, 43.0, "Reading a.mp4: 40 %, about 45 s left."),
        (0.1, 540.0, "Reading a.mp4: 10 %, about 9 min left."),
        (1.0, None, "Reading a.mp4: 100 %, now the repetitions and cues."),
    ],
)
def test_the_words(share, left_s, words) -> None:
    assert progress_words("a.mp4", share, left_s) == words


def test_the_time_left_is_never_far_from_the_truth() -> None:
    """A model that takes 27 s to wake, one slow first picture, then an even pace of 80 s."""
    course = [(27.0, 0.005), *((35.0 + 0.2 * k, 0.005 + 0.995 * k / 400) for k in range(1, 401))]
    told = {course[k][0]: time_left(course[: k + 1]) for k in range(len(course))}
    assert all(told[t] is None for t in told if t < 37.0), "not a word while the pace is unknown"
    guesses = {t: left for t, left in told.items() if left is not None and t < 105.0}
    assert min(guesses) < 60.0, "it is told for most of the reading"
    for t, left in guesses.items():
        assert left == pytest.approx(115.0 - t, rel=0.35)


def test_where_the_pace_changes_no_time_is_told() -> None:
    slow_then_fast = [(float(t), 0.001 * t) for t in range(1, 41)] + [(41.0 + t, 0.04 + 0.02 * t) for t in range(8)]
    assert time_left(slow_then_fast) is None
    assert time_left([(0.0, 0.1), (6.0, 0.1)]) is None


def test_what_is_quick_says_nothing_and_the_rest_is_not_said_too_often() -> None:
    said, clock = [], [0.0]
    tell = Teller("a.mp4", said.append, clock=lambda: clock[0])
    for k in range(1, 101):
        clock[0] = 0.1 * k
        tell(k / 100)
    assert 15 < len(said) <= 26, "at most one in 0.4 s"
    assert said == list(dict.fromkeys(said))
    assert said[-1].startswith("Reading a.mp4: 100 %")
    quick, clock[0] = [], 0.0
    tell = Teller("a.mp4", quick.append, clock=lambda: clock[0])
    for share in (0.3, 0.6, 1.0):
        clock[0] += 0.1
        tell(share)
    assert quick == []


def test_outside_a_notebook_nothing_is_shown() -> None:
    with in_the_cell("a.mp4") as progress:
        assert progress is None
