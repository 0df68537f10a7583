"""How far the first reading has come, in words."""

from __future__ import annotations

import pytest

from cuebook.widgets.progress import Teller, in_the_cell, progress_words


@pytest.mark.parametrize(
    ("share", "gone_s", "words"),
    [
        (0.01, 0.6, "Reading a.mp4: 1 %."),
        (0.4, 1.0, "Reading a.mp4: 40 %."),
        (0.4, 6.0, "Reading a.mp4: 40 %, about 9 s left."),
        (0.1, 60.0, "Reading a.mp4: 10 %, about 9 min left."),
        (1.0, 15.0, "Reading a.mp4: 100 %, now the repetitions and cues."),
    ],
)
def test_the_words(share, gone_s, words) -> None:
    assert progress_words("a.mp4", share, gone_s) == words


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
